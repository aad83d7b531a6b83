"""`inkmix mix`: colours told in five ways, tables and JSON, the darkest, refusals."""

import contextlib
import json
import os
import re
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from itertools import takewhile

import numpy as np
import pytest
from drawn_book import BOOK
from plate_files import write_png

from inkmix.book.meant.condition import resolve_condition
from inkmix.cli.main import run
from inkmix.colour.colorimetry import delta_e00, srgb1_to_xyz100, xyz100_to_lab
from inkmix.colour.whites import DESCRIPTIONS
from inkmix.export.picture import PictureShape, picture_writers
from inkmix.jobs.books import read_book
from inkmix.press.swatches.by_name import list_inks, load_ink

SHIPPED = """\
format = 1
title = "Two inks"

[paper]
swatch = "night-ferry/uncoated"

[[inks]]
name = "Soot"
swatch = "night-ferry/Soot"

[[inks]]
name = "Brass"
swatch = "night-ferry/Brass"

[press]
process = "sheet-fed offset"

[plates]
pattern = "plates/{spread}/{ink}.tif"
"""

IN_REACH = "#684a50"
"""Printed by the three inks of the book: for what is out of reach, many inks more are tried."""


@pytest.fixture
def book(tmp_path, monkeypatch):
    """A folder with a book of three inks told by Lab, which is where the command runs."""
    (tmp_path / "book.toml").write_text(BOOK, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture
def shipped(book):
    (book / "book.toml").write_text(SHIPPED, encoding="utf-8")
    return book


def answers(capsys, *arguments):
    """The document of a call that succeeds."""
    assert run(["mix", *arguments, "--json"]) == 0
    return json.loads(capsys.readouterr().out)


def refused(capsys, *arguments):
    """What a call says that is refused; nothing on stdout, no traceback."""
    assert run(["mix", *arguments]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "Traceback" not in err
    return err


def test_five_ways_to_tell_one_colour(book, capsys):
    picture = np.full((4, 6, 3), 255, np.uint8)
    picture[2, 5] = (0x68, 0x4A, 0x50)
    write_png(book / "sky.png", picture)
    ways = [IN_REACH, IN_REACH[1:], "rgb(104, 74, 80)", "sky.png@5,2"]
    told = answers(capsys, *ways, "--white", "paper")["colours"]
    labs = [one["lab"] for one in told]
    assert labs == [labs[0]] * 4
    by_lab = answers(capsys, "Lab({}, {}, {})".format(*labs[0]))["colours"]
    assert by_lab[0]["mixes"] == told[0]["mixes"]
    assert answers(capsys, "#fff")["colours"][0]["exact"]["total_pct"] == 0  # bare paper


def predicted(folder, name, white, srgb8):
    """A picture as `predict` writes it."""
    shape = PictureShape(width_px=4, height_px=3, block_rows=3, block_cols=4)
    path, told = folder / name, [DESCRIPTIONS[white]]
    with picture_writers([path], shape, ppi=100, descriptions=told) as (writer,):
        writer.append(writer.pack(np.full((3, 4, 3), srgb8, np.uint8), row=0))


@pytest.mark.parametrize("ending", ["png", "tif"])
@pytest.mark.parametrize("white", ["paper", "absolute"])
def test_pictures_of_ours_say_what_their_white_is(book, capsys, ending, white):
    """Beside the same colour told by hand: of the bare paper, or through D50 (Lab of sRGB)."""
    predicted(book, f"p.{ending}", white, (0x68, 0x4A, 0x50))
    (one,) = answers(capsys, f"p.{ending}@3,2")["colours"]
    by_hand = IN_REACH
    if white == "absolute":
        xyz100 = srgb1_to_xyz100(np.array([0x68, 0x4A, 0x50]) / 255)
        by_hand = "Lab({}, {}, {})".format(*xyz100_to_lab(xyz100))
    (same,) = answers(capsys, by_hand)["colours"]
    assert one["lab"] == pytest.approx(same["lab"], abs=1e-9)
    assert one["mixes"] == same["mixes"]


def test_an_unknown_picture_is_asked_about_once(book, capsys):
    write_png(book / "sky.png", np.full((3, 4, 3), (0x68, 0x4A, 0x50), np.uint8))
    (line,) = refused(capsys, "sky.png@0,0", "sky.png@1,1").splitlines()
    assert line.startswith("inkmix: sky.png: does not say what its white is, but only pictures")
    assert "--white paper for a drawing" in line
    assert "--white absolute for a scan" in line
    absolute, paper = (
        answers(capsys, "sky.png@0,0", "--white", white)["colours"][0]["lab"]
        for white in ("absolute", "paper")
    )
    assert absolute[0] > paper[0] + 2  # lighter of a screen than of a darker white


def test_what_is_said_of_white_must_not_go_against_the_picture_nor_be_for_nothing(book, capsys):
    predicted(book, "p.png", "absolute", (90, 90, 90))
    err = refused(capsys, "p.png@0,0", "--white", "paper")
    assert "p.png: says itself that its white is that of the screen" in err
    assert "leave --white out" in err
    assert "no pixel of a picture is asked for" in refused(capsys, "#fff", "--white", "paper")
    assert "--white" in refused(capsys, "--darkest", "--white", "paper")


def test_the_document_says_what_the_model_says(book, capsys):
    document = answers(capsys, "45", "10", "-8")
    condition = resolve_condition(read_book(book / "book.toml"))
    assert document["format"] == 1
    assert document["inks"] == ["Soot", "Fjord", "Rowan"]
    assert document["ink_limit"] == {"pct": 260, "whose": "user"}
    assert (document["step_pct"], document["smallest_dot_pct"]) == (5, 3)
    (one,) = document["colours"]
    assert (one["told"], one["where"], one["lab"]) == ("45 10 -8", "colour 1", [45, 10, -8])
    for mix in (one["exact"], *one["mixes"]):
        tones = list(mix["tone_pct"].values())
        assert mix["lab"] == pytest.approx(condition.lab(tones).tolist())
        assert mix["de00"] == pytest.approx(float(delta_e00(mix["lab"], one["lab"])))
        error = condition.expected_error(tones)
        assert mix["expected_error"]["de00"] == pytest.approx(float(error.de00))
        assert mix["expected_error"]["L"] == pytest.approx(float(error.L))
        assert mix["total_pct"] == pytest.approx(sum(tones))
        assert mix["total_pct"] <= 260
    assert all(pct % 5 == 0 for mix in one["mixes"] for pct in mix["tone_pct"].values())


def test_the_same_call_writes_the_same_bytes(book, capsys):
    documents = [answers(capsys, "#406080", IN_REACH) for _ in range(2)]
    assert documents[0] == documents[1]


def test_steps_limit_and_inks_can_be_told(book, capsys):
    document = answers(capsys, "30 5 -10", "--step", "1", "--limit", "110", "--inks", "Soot, Rowan")
    assert document["ink_limit"] == {"pct": 110, "whose": "asked"}
    for mix in document["colours"][0]["mixes"]:
        assert mix["total_pct"] <= 110
        assert mix["tone_pct"]["Fjord"] == 0


def test_without_any_ink_limit_it_is_said_how_to_give_one(book, capsys):
    text = BOOK.replace("ink_limit_pct = 260\n", "").replace("sheet-fed offset", "screen print")
    (book / "book.toml").write_text(text, encoding="utf-8")
    assert run(["mix", IN_REACH]) == 0
    err = capsys.readouterr().err
    assert "no ink limit is known; give one with --limit" in err
    assert "note: screen print: the model was tested on offset prints only" in err
    assert "no tint below 6 %" in err


def test_a_table_is_aligned_and_alone_on_stdout(book, capsys):
    assert run(["mix", "dusk = #406080", "52 -10 3"]) == 0
    out, err = capsys.readouterr()
    helps = ("dusk is", "52 -10 3 is")
    head, *rows = takewhile(lambda line: not line.startswith(helps), out.splitlines())
    assert re.split(r"  +", head)[:5] == ["colour", "mix", "Soot", "Fjord", "Rowan"]
    ends = [match.end() for match in re.finditer(r"\S+", head)][2:]
    for row in rows:
        assert all(row[end - 1] != " " and row[end : end + 1] in (" ", "") for end in ends)
    assert rows[0].startswith("dusk")
    assert "\x1b" not in out
    assert "ink limit: the book allows" in err
    assert "within dE00 0.5" in err


def test_an_ink_that_would_help_is_named_with_by_how_much(shipped, capsys):
    document = answers(capsys, "52 55 35", "#808080")
    red, grey = document["colours"]
    assert grey["in_reach"] or grey["help"] is not None
    assert not red["in_reach"]
    first = red["help"][0]
    assert first["ink"].startswith("night-ferry/")
    left = red["exact"]["de00"] - first["mix"]["de00"]
    assert first["nearer_by_de00"] == pytest.approx(left)
    assert left > 5
    on_paper = [ink for ink in list_inks() if "night-ferry/uncoated" in ink.papers]
    assert red["inks_tried"] == len(on_paper) - 2
    gains = [one["nearer_by_de00"] for one in red["help"]]
    assert gains == sorted(gains, reverse=True)
    assert run(["mix", "52 55 35"]) == 0
    out = capsys.readouterr().out
    assert f"52 55 35 is out of reach by dE00 {red['exact']['de00']:.1f}. One ink more" in out
    assert f"({first['ink']})  to dE00 {first['mix']['de00']:.1f} ({left:.1f} nearer" in out


def test_the_solid_of_a_shipped_ink_is_reached_with_that_ink(shipped, capsys):
    rowan = load_ink("night-ferry/Rowan", paper="night-ferry/uncoated")
    L, a, b = xyz100_to_lab(rowan.solid_xyz100).tolist()
    (one,) = answers(capsys, f"Lab({L}, {a}, {b})")["colours"]
    (by_it,) = [help for help in one["help"] if help["ink"] == "night-ferry/Rowan"]
    assert by_it["in_reach"]
    assert by_it["mix"]["tone_pct"]["Rowan"] > 95


def test_hues_of_another_paper_are_tried_with_what_that_costs(book, capsys):
    """The paper is told by its Lab, dE00 2 from any of ours, so no ink was measured on it."""
    told = BOOK.replace("lab = [94, 0, 3]", "lab = [91, 0, 2]", 1)
    assert told != BOOK
    (book / "book.toml").write_text(told, encoding="utf-8")
    (one,) = answers(capsys, "80 0 90")["colours"]
    assert one["inks_tried"] > 15
    first = one["help"][0]
    assert first["ink"] == "night-ferry/Oilskin"  # the yellow of the set
    assert first["hue_to_ask_for"]["word"] == "light yellow"
    cost, whole = first["paper_costs_de00"], first["mix"]["expected_error"]["de00"]
    assert 1 < cost < whole
    assert run(["mix", "80 0 90"]) == 0
    out = capsys.readouterr().out
    assert f"light yellow {first['hue_to_ask_for']['hex']} (night-ferry/Oilskin)" in out
    assert f"may be off by dE00 {whole:.1f}".removesuffix(".0") in out
    assert "of it as it is known on another paper" in out
    assert out.count("is a hue to ask for, not an ink to buy") == 1


def test_what_was_measured_on_the_paper_costs_nothing_more(shipped, capsys):
    (one,) = answers(capsys, "52 55 35")["colours"]
    assert [help["paper_costs_de00"] for help in one["help"]] == [0] * len(one["help"])
    assert run(["mix", "52 55 35"]) == 0
    assert "another paper" not in capsys.readouterr().out


def test_inks_of_a_shade_card_are_tried_in_place_of_ours(book, capsys):
    """The card has the very colour that is asked for, on paper of another class."""
    (book / "card.csv").write_text("coated paper, 95, 0, -2\nSun, 80, 0, 90\nCrow, 20, 0, 0\n")
    (one,) = answers(capsys, "80 0 80", "--candidates", "card.csv")["colours"]
    assert one["inks_tried"] == 2
    assert [(help["ink"], help["hue_to_ask_for"]) for help in one["help"]] == [("Sun", None)]
    assert one["help"][0]["paper_costs_de00"] > 1
    assert run(["mix", "80 0 80", "--candidates", "card.csv"]) == 0
    assert "hue to ask for" not in capsys.readouterr().out


def test_a_card_without_a_paper_is_said(book, capsys):
    (book / "card.csv").write_text("Sun, 80, 0, 90\n")
    document = answers(capsys, "80 0 80", "--candidates", "card.csv")
    assert any("does not say which paper" in doubt for doubt in document["doubts"])
    assert document["colours"][0]["help"][0]["paper_costs_de00"] > 1


def test_candidates_beside_the_darkest_are_refused(book, capsys):
    assert run(["mix", "--darkest", "--candidates", "card.csv"]) == 2
    assert "--candidates" in capsys.readouterr().err


# --- the darkest ---------------------------------------------------------------------------------


def test_the_darkest_are_told_with_lightness(book, capsys):
    plain = answers(capsys, "--darkest", "--limit", "250")
    neutral = answers(capsys, "--darkest", "--limit", "250", "--cast", "neutral")
    twice = answers(capsys, "--darkest", "--limit", "250", "--double-hit")
    assert plain["cast"] is None
    first, flat, deep = (document["darkest"][0] for document in (plain, neutral, twice))
    assert first["de00"] is None
    assert first["expected_error"]["L"] > 0
    assert np.hypot(*flat["lab"][1:]) <= max(np.hypot(*first["lab"][1:]), 2)
    assert deep["lab"][0] < first["lab"][0]
    assert deep["tone_pct"]["Soot 2"] > 0


@pytest.mark.parametrize(("cast", "hue"), [("blue", 275), ("275", 275), ("0,-5", 270)])
def test_a_cast_is_a_word_a_hue_or_a_direction(book, capsys, cast, hue):
    (first, *_) = answers(capsys, "--darkest", "--cast", cast)["darkest"]
    found = np.degrees(np.arctan2(first["lab"][2], first["lab"][1])) % 360
    assert abs(found - hue) < 45


def test_the_darkest_as_a_table(book, capsys):
    assert run(["mix", "--darkest", "--double-hit", "--most", "2"]) == 0
    out, err = capsys.readouterr()
    assert len(out.splitlines()) == 3
    assert "Soot 2" in out.splitlines()[0]
    assert "prints the same plate twice" in err


# --- many colours --------------------------------------------------------------------------------


def test_many_colours_from_a_file(book, capsys):
    names = [f"tone {k} = {30 + k % 60} {k % 7} {-(k % 5)}" for k in range(70)]
    (book / "many.txt").write_text("# a comment\n" + "\n".join(names), encoding="utf-8")
    assert run(["mix", "--from", "many.txt"]) == 0
    out = capsys.readouterr().out.splitlines()
    rows = [line for line in out if line.startswith("tone ") and " is out of " not in line]
    assert [row.split("  ")[0] for row in rows] == [f"tone {k}" for k in range(70)]
    assert all(row.endswith("in reach") or "out of reach by" in row for row in rows)
    (book / "some.txt").write_text("# a comment\n" + "\n".join(names[:5]), encoding="utf-8")
    document = answers(capsys, "--from", "some.txt")
    assert len(document["colours"]) == 5
    assert document["colours"][3]["where"] == "some.txt, line 5"


def test_colours_from_a_pipe(book):
    done = subprocess.run(
        [sys.executable, "-m", "inkmix", "mix", "--from", "-", "--json"],
        input=f"{IN_REACH}\n50 0 0\n",
        capture_output=True,
        text=True,
        check=True,
    )
    assert [one["where"] for one in json.loads(done.stdout)["colours"]] == [
        "stdin, line 1", "stdin, line 2",
    ]  # fmt: skip


@pytest.mark.skipif(os.name != "posix", reason="pseudo-terminals are a thing of POSIX")
@pytest.mark.parametrize("no_color", ["", "1"])
def test_a_terminal_gets_colour_fields_unless_it_does_not_want_them(book, no_color):
    import pty

    controller, terminal = pty.openpty()
    subprocess.run(
        [sys.executable, "-m", "inkmix", "mix", IN_REACH],
        stdout=terminal,
        stderr=subprocess.DEVNULL,
        env={**os.environ, "NO_COLOR": no_color},
        check=True,
    )
    os.close(terminal)
    written = os.read(controller, 100_000)
    os.close(controller)
    assert (b"\x1b[48;2;" in written) == (not no_color)


def all_of(controller):
    """What a terminal shows: it gives 4 kB at a time, and a busy machine shows more than that."""
    shown = b""
    with contextlib.suppress(OSError):  # so Linux says that nobody has it open any more
        while more := os.read(controller, 100_000):
            shown += more
    return shown


@pytest.mark.skipif(os.name != "posix", reason="pseudo-terminals are a thing of POSIX")
def test_progress_on_a_terminal_leaves_the_table_to_the_pipe(book):
    import pty

    (book / "some.txt").write_text(f"{IN_REACH}\n" * 130, encoding="utf-8")
    controller, terminal = pty.openpty()
    with (
        subprocess.Popen(
            [sys.executable, "-m", "inkmix", "mix", "--from", "some.txt"],
            stdout=subprocess.PIPE,
            stderr=terminal,
        ) as running,
        ThreadPoolExecutor() as beside,
    ):
        os.close(terminal)
        shown = beside.submit(all_of, controller)  # a terminal that nobody reads fills up
        out = running.stdout.read().decode()
    assert running.returncode == 0
    assert b"130" in shown.result()
    os.close(controller)
    rows = [line for line in out.splitlines() if line.startswith(f"{IN_REACH}  ")]
    assert len(rows) == 130


# --- refusals ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ((), "nothing is asked for"),
        (("#12345",), 'colour 1: "#12345", but # is followed by three or six digits'),
        (("navy", "#fff", "rgb(1,2)"), 'colour 3: "rgb(1,2)"'),
        (("#fff", "--limit", "2"), "must be a number from 50 to 800 %"),
        (("#fff", "--limit", "inf"), "ink limit: is inf, but it must be a number from 50 to 800 %"),
        (("#fff", "--limit", "nan"), "ink limit: is nan"),
        (("#fff", "--step", "0"), "step: is 0, but it must be a number from 0.1 to 100 %"),
        (("#fff", "--inks", "Sot"), "did you mean Soot?"),
        (("#fff", "--inks", ","), "names separated by commas are needed"),
        (("#fff", "--inks", "Soot,,Fjord"), "names separated by commas are needed"),
        (("#fff", "--inks", "4"), "inks 4: is a number, but names of inks are needed"),
        (("--darkest", "--inks", "Soot,4"), "use `inkmix palette --choose 4`"),
        (("#fff", "--setp", "3"), "Did you mean '--step'"),
        (("#fff", "--cast", "red"), "--cast: is given without --darkest"),
        (("#fff", "--darkest"), "without a colour"),
        (("--darkest", "--cast", "mauve"), 'cast: is "mauve", but it must be neutral, red'),
        (("--darkest", "--cast", "361"), "a hue of 0 to 360"),
        (("none.png@1,2",), "none.png: does not exist"),
        (("--from", "none.txt"), "none.txt: cannot be read"),
        (("--from", "."), "cannot be read"),
        (("#fff", "--book", "elsewhere"), "name a book with --book, or write one with"),
    ],
)
def test_what_cannot_be_done_is_said(book, capsys, arguments, said):
    assert said in refused(capsys, *arguments)


def test_wrong_lines_of_a_file_are_told_with_those_of_the_command(book, capsys):
    (book / "some.txt").write_text("#fff\nnavy\n50 0 200\n", encoding="utf-8")
    err = refused(capsys, "teal", "--from", "some.txt")
    assert [line.split(": ")[1] for line in err.splitlines()] == [
        "colour 1", "some.txt, line 2", "some.txt, line 3",
    ]  # fmt: skip


def test_a_pixel_outside_of_its_picture_and_no_picture(book, capsys):
    write_png(book / "small.png", np.zeros((3, 4, 3), np.uint8))
    (book / "text.png").write_text("no picture", encoding="utf-8")
    err = refused(capsys, "small.png@4,0", "text.png@0,0")
    assert "pixel 4,0, but small.png has 4 × 3 px, counted from 0" in err
    assert "text.png: cannot be read as a picture" in err


def test_a_second_hit_needs_room_for_one_more_ink(book, capsys):
    more = "".join(f'[[inks]]\nname = "I{k}"\nlab = [{50 + k}, 0, {k}]\n\n' for k in range(5))
    (book / "book.toml").write_text(BOOK.replace("[press]", more + "[press]"), encoding="utf-8")
    err = refused(capsys, "--darkest", "--double-hit")
    assert "8 inks, but a second hit of Soot would be one more than the most, 8" in err
