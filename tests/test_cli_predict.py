"""`inkmix predict`: pictures with profile, some plates, pairs; loose files and their inks."""

import io
import json
from pathlib import Path

import numpy as np
import pytest
from drawn_book import (
    BOOK,
    HEIGHT_PX,
    INKS,
    PPI,
    WIDTH_PX,
    changed,
    command,
    digests,
    draw_book,
    plate_of,
    plates,
)
from PIL import Image, ImageCms
from plate_files import write_png, write_tiff

from inkmix.cli.main import run
from inkmix.demo.write import write_demo


@pytest.fixture
def book(tmp_path: Path) -> Path:
    return draw_book(tmp_path / "book")


def pixels(path: Path) -> np.ndarray:
    with Image.open(path) as picture:
        assert picture.mode == "RGB"
        return np.array(picture).astype(int)


def luminance(srgb8: np.ndarray) -> np.ndarray:
    """Y from 0 to 100, by IEC 61966-2-1."""
    encoded = srgb8 / 255
    linear = np.where(encoded <= 0.04045, encoded / 12.92, ((encoded + 0.055) / 1.055) ** 2.4)
    return 100 * linear @ np.array([0.2126, 0.7152, 0.0722])


@pytest.mark.parametrize("ending", ["png", "tif"])
def test_a_picture_with_profile_and_resolution(ending, book, capfd):
    before = digests(book)
    target = book / "out" / f"print.{ending}"
    ran = command(capfd, "predict", book, "--to", target)
    assert (ran.code, ran.out) == (0, "")
    assert f"written: {target}" in ran.err
    with Image.open(target) as picture:
        assert picture.size == (WIDTH_PX, HEIGHT_PX)
        assert picture.info["dpi"] == pytest.approx((PPI, PPI), abs=0.02)
        profile = ImageCms.ImageCmsProfile(io.BytesIO(picture.info["icc_profile"]))
    assert "sRGB" in ImageCms.getProfileDescription(profile)
    after = digests(book)
    assert {path: after[path] for path in before} == before


def test_png_and_tiff_hold_the_same_colours(book, capfd):
    for ending in ("png", "tif"):
        assert command(capfd, "predict", book, "--to", book / f"a.{ending}").code == 0
    np.testing.assert_array_equal(pixels(book / "a.png"), pixels(book / "a.tif"))


def test_a_subset_lacks_the_other_inks(book, capfd):
    some, one = book / "some.png", book / "one.png"
    assert command(capfd, "predict", book, "--inks", "Soot, Fjord", "--to", some).code == 0
    assert command(capfd, "predict", book, "--inks", "Rowan", "--to", one).code == 0
    whole = book / "predicted" / "front.png"
    assert command(capfd, "predict", book).code == 0
    assert (luminance(pixels(whole)) <= luminance(pixels(some)) + 0.5).all()  # of 100; rounding
    bare = pixels(one)[0, -1]
    paper = pixels(one)[plates()["Rowan"] == 255]
    assert (paper == bare).all()
    assert pixels(one)[-1, -1, 0] > pixels(one)[-1, -1, 2]  # brick: red above blue


def test_one_picture_an_ink(book, capfd):
    ran = command(capfd, "predict", book, "--each", "--to", book / "out" / "a.png")
    assert ran.code == 0
    names = sorted(path.name for path in (book / "out").iterdir())
    assert names == sorted(f"a-{ink}.png" for ink in INKS)
    alone = book / "alone.png"
    assert command(capfd, "predict", book, "--inks", "Fjord", "--to", alone).code == 0
    assert alone.read_bytes() == (book / "out" / "a-Fjord.png").read_bytes()


def test_the_pair_differs_where_inks_lie_on_each_other(book, capfd):
    assert command(capfd, "predict", book, "--pair", "--to", book / "a.png").code == 0
    printed, on_screen = pixels(book / "a.png"), pixels(book / "a-on-screen.png")
    assert np.abs(printed - on_screen)[:, :90].max() > 10


def test_paper_as_white(book, capfd):
    for ink in INKS:
        write_tiff(plate_of(book, ink), np.full_like(plates()[ink], 255 - INKS.index(ink)), PPI)
    assert command(capfd, "predict", book, "--inks", "Soot", "--to", book / "a.png").code == 0
    ran = command(
        capfd, "predict", book, "--inks", "Soot", "--adapt-to-paper", "--to", book / "w.png"
    )
    assert ran.code == 0
    assert (pixels(book / "w.png") == 255).all()
    assert (pixels(book / "a.png") < 250).any()


def test_the_old_name_of_an_option_is_refused_with_the_new_one(book, capfd):
    ran = command(capfd, "predict", book, "--paper-white", "--to", book / "w.png")
    assert (ran.code, ran.out) == (2, "")
    assert "--paper-white: has another name now; write --adapt-to-paper" in ran.err


@pytest.mark.parametrize("ending", ["png", "tif"])
def test_pictures_say_what_their_white_is_and_mix_understands_it(book, capfd, ending):
    """Bare paper is mixed of no ink, whichever way it is shown."""
    for ink in INKS:
        write_tiff(plate_of(book, ink), np.full_like(plates()[ink], 255 - INKS.index(ink)), PPI)
    shown, adapted = book / f"a.{ending}", book / f"w.{ending}"
    assert command(capfd, "predict", book, "--inks", "Soot", "--to", shown).code == 0
    adapt = ("--adapt-to-paper", "--to", adapted)
    assert command(capfd, "predict", book, "--inks", "Soot", *adapt).code == 0
    for path in (shown, adapted):
        ran = command(capfd, "mix", f"{path}@5,5", "--book", book, "--json")
        (one,) = json.loads(ran.out)["colours"]
        assert one["exact"]["total_pct"] < 1
        assert one["exact"]["de00"] < 0.5  # sRGB of 8 bits


def test_colours_outside_srgb_are_counted_and_said(tmp_path, capfd):
    text = changed("lab = [52, 58, 40]", "lab = [60, 10, 95]")
    folder = draw_book(tmp_path / "book", text)
    ran = command(capfd, "predict", folder, "--inks", "Rowan")
    assert ran.code == 0
    assert "% of the pixels hold colours that sRGB cannot show" in ran.err


def test_the_same_bytes_twice(book, capfd):
    assert command(capfd, "predict", book, "--pair", "--each").code == 0
    first = digests(book)
    assert command(capfd, "predict", book, "--pair", "--each").code == 0
    assert digests(book) == first


# --- loose files ---------------------------------------------------------------------------------


def test_loose_files_with_guessed_inks(book, capfd):
    files = [plate_of(book, ink) for ink in INKS]
    ran = command(capfd, "predict", *files, "--to", book / "a.png")
    assert ran.code == 0
    for ink in INKS:
        assert f"guessed: {ink} is taken as night-ferry/{ink}" in ran.err
    assert pixels(book / "a.png").shape == (HEIGHT_PX, WIDTH_PX, 3)


def test_loose_files_with_told_inks_follow_the_order_told(book, capfd):
    files = [plate_of(book, ink) for ink in INKS]
    told = [f"--ink={ink}=night-ferry/{ink}" for ink in INKS]
    ran = command(capfd, "predict", *files, *told, "--to", book / "a.png")
    assert ran.code == 0
    assert "guessed" not in ran.err
    guessed = command(capfd, "predict", *files, "--to", book / "b.png")
    assert guessed.code == 0
    np.testing.assert_array_equal(pixels(book / "a.png"), pixels(book / "b.png"))


def test_a_screen_colour_is_only_a_hint(book, capfd):
    solid = book / "Blot.png"
    write_png(solid, np.zeros((20, 30), np.uint8), PPI)
    ran = command(capfd, "predict", solid, "--ink", "Blot=#000000", "--to", book / "a.png")
    assert ran.code == 0
    assert pixels(book / "a.png").min() > 20  # a printed black is no hole in the screen


def test_every_caution_is_repeated_where_an_ink_is_swapped(tmp_path, capfd):
    """A fluorescent hue of ours on a paper told by its Lab, beside an ink known by a screen."""
    write_demo(tmp_path / "ferry", ppi=20)
    file = tmp_path / "ferry" / "book.toml"
    text = file.read_text(encoding="utf-8")
    for old, new in (
        ('swatch = "night-ferry/uncoated"', 'lab = [94, 0, 2]\nclass = "uncoated"'),
        ('swatch = "night-ferry/Fog"', 'srgb = "#abb5ba"'),
    ):
        assert old in text
        text = text.replace(old, new)
    file.write_text(text, encoding="utf-8")
    assert (
        run(["predict", str(file.parent), "--ink", "Rowan=Flare", "--to", str(tmp_path / "p.png")])
        == 0
    )
    said = capfd.readouterr().err
    for words in (
        "note: Flare comes with inkmix and is invented",
        "note: Flare is known on night-ferry/coated",
        "caution: The model was tested with bright inks on coated paper only",
        "unproven: Flare is fluorescent",
        "hint only: Fog is known by a screen colour",
    ):
        assert words in said


@pytest.mark.parametrize("name", ["C-40 Flare Brick", "c-40 flare brick"])
def test_cautions_name_the_ink_of_a_shade_card_that_prints(book, capfd, name):
    """A red brighter than process inks; its plate is that of Rowan."""
    (book / "card.csv").write_text("name,lab\nC-40 Flare Brick,56 72 50\n", encoding="utf-8")
    card = book / "card.csv"
    given = ("--candidates", card, "--ink", f"rowan={name}", "--to", book / "a.png")
    ran = command(capfd, "predict", book, *given)
    assert ran.code == 0, ran.err
    said = [line for line in ran.err.splitlines() if "brick" in line.casefold()]
    assert any(line.startswith(("caution:", "unproven:")) for line in said), ran.err
    assert all("C-40 Flare Brick" in line and "Rowan" not in line for line in said)


def test_loose_files_whose_resolution_is_told(book, capfd):
    loose = book / "Soot.tif"
    write_tiff(loose, plates()["Soot"], None)
    assert command(capfd, "predict", loose, "--to", book / "a.png").code == 3
    ran = command(capfd, "predict", loose, "--ppi", "150", "--to", book / "a.png")
    assert ran.code == 0
    with Image.open(book / "a.png") as picture:
        assert picture.info["dpi"] == pytest.approx((150, 150), abs=0.02)


def test_the_folder_at_hand_is_taken_where_none_is_named(book, capfd, monkeypatch):
    monkeypatch.chdir(book)
    assert command(capfd, "predict").code == 0
    assert (book / "predicted" / "front.png").exists()


# --- another lay-down order -----------------------------------------------------------------------

TONES = """
[[tones]]
name = "brick"
mix = { Soot = 20, Rowan = 80 }
intended = "#b35a4a"
tolerance_de00 = 40

[[tones]]
name = "harbour"
mix = { Fjord = 90, Rowan = 90 }
"""
OPAQUE = BOOK.replace("lab = [52, 58, 40]", "lab = [52, 58, 40]\nopacity = 0.7") + TONES


def said_of(ran) -> list[str]:
    return ran.out.splitlines()


def test_tones_that_another_order_would_change_are_told_and_drawn(tmp_path, capfd):
    folder = draw_book(tmp_path / "book", OPAQUE)
    before = digests(folder)
    target = tmp_path / "order.png"
    ran = command(capfd, "predict", folder, "--order", "--to", target)
    assert ran.code == 0
    assert "This order is predicted: Soot, Fjord, Rowan." in ran.err
    assert f"written: {target}" in ran.err
    harbour, brick = said_of(ran)
    # A red that covers: under the blue it is gone. Of two moves that come to the same the shorter.
    assert harbour.startswith("Fjord printed last instead of second: harbour much less red and ")
    assert brick.startswith("Rowan printed first instead of last: brick ")
    assert digests(folder) == before
    drawn = pixels(target)
    width, half = drawn.shape[1], drawn.shape[1] // 2
    row = drawn[round(45 / 25.4 * 200)]  # through the first two fields
    left, right = row[round(0.1 * width)], row[round(0.4 * width)]
    assert left[0] > right[0] + 30
    assert (row[half] == drawn[2, 2]).all()  # paper between the tones
    again = tmp_path / "again.png"
    assert command(capfd, "predict", folder, "--order", "--to", again).code == 0
    assert again.read_bytes() == target.read_bytes()


def test_without_a_picture_none_is_written_and_no_plates_are_needed(tmp_path, capfd):
    folder = tmp_path / "book"
    folder.mkdir()
    (folder / "book.toml").write_text(OPAQUE, encoding="utf-8")
    ran = command(capfd, "predict", folder, "--order")
    assert (ran.code, len(said_of(ran))) == (0, 2)
    assert [path.name for path in folder.iterdir()] == ["book.toml"]


def test_a_swapped_ink_is_called_by_what_prints_and_counts_where_it_is_laid(tmp_path, capfd):
    book = OPAQUE.replace("lab = [94, 0, 3]\nclass = \"uncoated\"",
                          "swatch = \"night-ferry/uncoated\"")  # fmt: skip
    folder = draw_book(tmp_path / "book", book)
    ran = command(capfd, "predict", folder, "--order", "--ink", "Rowan=Gull")
    assert ran.code == 0
    assert "This order is predicted: Soot, Fjord, Gull." in ran.err
    assert sorted(line.partition(": ")[0] for line in said_of(ran)) == [
        "Fjord printed last instead of second", "Gull printed first instead of last",
    ]  # fmt: skip


def test_solids_of_two_inks_stand_in_for_tones(book, capfd):
    ran = command(capfd, "predict", book, "--order")
    assert ran.code == 0
    assert "No tones are named, so these are solids of two inks over each other." in ran.err
    assert all(" + " in line for line in said_of(ran))


def test_an_order_that_hardly_matters_is_told_so_and_not_drawn(tmp_path, capfd):
    faint = BOOK + TONES.replace("20, Rowan = 80", "1, Rowan = 2").replace("90", "2")
    folder, target = draw_book(tmp_path / "book", faint), tmp_path / "order.png"
    ran = command(capfd, "predict", folder, "--order", "--to", target)
    assert (ran.code, ran.out) == (0, "")
    assert "no named tone changes by dE00 1 or more" in ran.err
    assert f"not written: {target}: there is nothing to show" in ran.err
    assert not target.exists()


@pytest.mark.parametrize(
    ("options", "named"),
    [
        (("--inks", "Soot"), "--inks"),
        (("--each",), "--each"),
        (("--pair",), "--pair"),
        (("--adapt-to-paper",), "--adapt-to-paper"),
        (("--ppi", "200"), "--ppi"),
        (("--paper", "night-ferry/coated"), "--paper"),
        (("--process", "sheet-fed offset"), "--process"),
    ],
)
def test_options_that_say_nothing_of_an_order_are_refused(options, named, book, capfd):
    ran = command(capfd, "predict", book, "--order", *options)
    assert (ran.code, ran.out) == (2, "")
    assert f"{named}: is given together with --order" in ran.err


def test_all_such_options_are_named_at_once(book, capfd):
    ran = command(capfd, "predict", book, "--order", "--pair", "--each", "--ppi", "200")
    assert ran.err.count("is given together with --order") == 3


def test_the_order_of_loose_plates(book, capfd):
    files = [plate_of(book, ink) for ink in ("Rowan", "Soot")]
    ran = command(capfd, "predict", *files, "--order")
    assert ran.code == 0
    assert "printed in the order Soot, Rowan (as their measured mixtures were printed)" in ran.err
    assert len(said_of(ran)) == 1
    told = [f"--ink={ink}=night-ferry/{ink}" for ink in ("Rowan", "Soot")]
    ran = command(capfd, "predict", *files, *told, "--order", "--paper", "night-ferry/coated")
    assert "This order is predicted: Rowan, Soot." in ran.err
    refused = command(capfd, "predict", *files, "--order", "--spread", "front")
    assert (refused.code, "--spread: is given together with --order" in refused.err) == (2, True)
    missing = command(capfd, "predict", book / "Rust.tif", "--order")
    assert (missing.code, "there is no such file" in missing.err) == (2, True)


def test_an_untold_plate_is_laid_down_among_those_told(book, capfd):
    files = [plate_of(book, ink) for ink in INKS]
    told = ["--ink=Rowan=night-ferry/Rowan", "--ink=Soot=night-ferry/Soot"]
    ran = command(capfd, "predict", *files, *told, "--order")
    order = (
        "Rowan, Soot, Fjord (the inks given in the order given, the others where they usually come"
    )
    assert f"printed in the order {order}" in ran.err


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (None, "wave.jpg: does not exist"),
        (
            b"hello",
            "wave.jpg: is not a picture file that inkmix knows, but a TIFF or PNG is needed",
        ),
        (b"\xff\xd8\xff\xe0\0\x10JFIF\0", "wave.jpg: is a JPEG file"),
    ],
)
def test_what_is_called_a_picture_is_spoken_of_as_one(content, said, tmp_path, capfd):
    if content is not None:
        (tmp_path / "wave.jpg").write_bytes(content)
    ran = command(capfd, "predict", tmp_path / "wave.jpg", "--to", tmp_path / "p.png")
    assert ran.code == 3
    assert said in ran.err
    assert "TOML" not in ran.err
    ran = command(capfd, "check", tmp_path / "wave.jpg")
    assert ran.code == 2
    assert "TOML" not in ran.err
