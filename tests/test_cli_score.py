"""`inkmix score` at the command line: its JSON, its words, and half a file."""

import json
from pathlib import Path

import pytest
from drawn_book import command, untouched
from made_charts import INKS, made_table

from inkmix.base.words import percent
from inkmix.colour.measured.written_cgats import cgats_text
from inkmix.jobs.score import notes_on_paper
from inkmix.press.swatches.files import read_measurements

REFERENCE = Path(__file__).parent / "reference"
FIGURES = {"mean", "median", "p95", "max"}
DARK = {"lightest_L", "patches", "mean_abs_dL", "p95_abs_dL"}


def test_score_as_json_has_just_these_keys(capfd):
    with untouched(REFERENCE):
        ran = command(
            capfd,
            *("score", REFERENCE / "fogra29l.txt", "--known", "solids", "--paper", "uncoated"),
            "--json",
        )
    assert (ran.code, ran.err) == (0, "")
    result = json.loads(ran.out)
    assert set(result) == {
        *("data_set", "known", "extra", "paper", "order", "order_told", "order_by", "inks"),
        *("patches", "de00", "dark", "by_inks", "inside", "worst", "screen_multiply"),
        *("told_besides", "notes"),
    }
    assert (result["order"], result["order_told"]) == (["K", "C", "M", "Y"], False)
    assert set(result["inside"]) == {"de00", "L", "dark_L"}
    assert set(result["worst"][0]) == {
        *("tone_pct", "lab_measured", "lab_predicted", "de00", "expected_de00")
    }
    assert set(result["de00"]) == FIGURES
    assert set(result["dark"]) == DARK
    assert set(result["screen_multiply"]) == {"de00", "dark"}
    assert set(result["screen_multiply"]["de00"]) == FIGURES
    assert set(result["screen_multiply"]["dark"]) <= DARK
    assert (result["known"], result["paper"]) == ("solids", "uncoated")
    assert result["de00"]["mean"] < result["screen_multiply"]["de00"]["mean"]


def test_score_in_words(capfd):
    ran = command(capfd, "score", REFERENCE / "fogra29l.txt", "--known", "ramps")
    assert (ran.code, ran.err) == (0, "")
    assert "told ramps on coated paper" in ran.out
    assert "K, C, M, Y (proposed, as it was not given; the printer knows)" in ran.out
    assert "Process inks by their colour" in ran.out
    assert "as a screen shows it" in ran.out
    assert "Within the stated error" in ran.out
    told = command(
        capfd, "score", REFERENCE / "fogra29l.txt", "--known", "pairs", "--order", "KCMY"
    )
    assert "Lay-down order: K, C, M, Y (as told)" in told.out


@pytest.fixture
def bright(tmp_path):
    """A chart of seven made-up inks as a file."""
    path = tmp_path / "bright.txt"
    path.write_text(cgats_text(made_table(*tuple(INKS)[:7])), encoding="utf-8")
    return path


def test_bright_inks_in_words(bright, capfd):
    """At most some 40 lines of at most 132 characters, and the same figures as in JSON."""
    asked = ("score", bright, "--known", "ramps", "--extra", "12")
    ran = command(capfd, *asked)
    assert (ran.code, ran.err) == (0, "")
    lines = ran.out.splitlines()
    assert len(lines) <= 42
    assert max(map(len, lines)) <= 132
    assert "told ramps and 12 of its mixtures besides" in lines[0]
    assert "Spot ink Plum: opacity 0 (usual for spot inks)" in lines
    result = json.loads(command(capfd, *asked, "--json").out)
    (row,) = [line.split() for line in lines if line.startswith("all ")]
    figures = result["de00"]
    assert row[1:] == [
        f"{result['patches']}",
        *(f"{figures[name]:.2f}" for name in ("mean", "median", "p95", "max")),
    ]
    assert f"dE00 {percent(100 * result['inside']['de00'])}" in ran.out
    first = lines[lines.index("Farthest off:") + 2]
    assert first.split()[0] == f"{result['worst'][0]['de00']:.2f}"
    for name, tone in result["worst"][0]["tone_pct"].items():
        assert f"{name} {tone:g}" in first


@pytest.mark.parametrize("extra", ["0", "-2", "301"])
def test_a_number_of_mixtures_that_nobody_can_tell(extra, bright, capfd):
    ran = command(capfd, "score", bright, "--known", "ramps", "--extra", extra)
    assert (ran.code, ran.out) == (2, "")
    assert f"--extra: {extra}, but 1 to 300 mixtures can be told besides" in ran.err
    assert "leave it out to tell none" in ran.err


def test_an_order_that_leaves_inks_out_or_names_one_twice(bright, capfd):
    order = "Night,Plum,Plum,Sea,Rose,Moss,Mist"
    ran = command(capfd, "score", bright, "--known", "ramps", "--order", order)
    assert (ran.code, ran.out) == (2, "")
    assert '"Plum" is named 2 times, but each ink is printed once' in ran.err
    assert "Straw left out, but every ink of the chart has its place" in ran.err


@pytest.mark.parametrize("keep", [0.3, 0.9])
def test_score_of_half_a_file(keep, tmp_path, capfd):
    data = (REFERENCE / "fogra29l.txt").read_bytes()
    half = tmp_path / "half.txt"
    half.write_bytes(data[: int(keep * len(data))])
    with untouched(tmp_path):
        ran = command(capfd, "score", half, "--known", "ramps")
    assert (ran.code, ran.out) == (3, "")
    assert "the file is cut off: copy or export it again" in ran.err


@pytest.mark.parametrize(
    ("chart", "paper", "said"),
    [
        ("fogra29l", "coated", "the chart says uncoated paper, coated was taken"),
        ("fogra29l", "newsprint", "the bare paper has L* 96, where newsprint papers have some 76"),
        ("fogra29l", "uncoated", None),
        ("fogra39l", "coated", None),
        ("tr002", "newsprint", None),
        ("tr002", "coated", "the bare paper has L* 80, where coated papers have some 88 to 98"),
    ],
)
def test_what_speaks_against_the_paper_told_is_said(chart, paper, said):
    table = read_measurements(REFERENCE / f"{chart}.txt")
    notes = list(notes_on_paper(table, paper))
    assert bool(notes) == (said is not None)
    assert said is None or any(note.startswith(said) for note in notes)
