"""`inkmix score` at the command line: its JSON, its words, and half a file."""

import json
from pathlib import Path

import pytest
from drawn_book import command, untouched

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
        *("data_set", "known", "paper", "patches", "de00", "dark", "screen_multiply")
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
    assert "layers multiplied on screen" in ran.out


@pytest.mark.parametrize("keep", [0.3, 0.9])
def test_score_of_half_a_file(keep, tmp_path, capfd):
    data = (REFERENCE / "fogra29l.txt").read_bytes()
    half = tmp_path / "half.txt"
    half.write_bytes(data[: int(keep * len(data))])
    with untouched(tmp_path):
        ran = command(capfd, "score", half, "--known", "ramps")
    assert (ran.code, ran.out) == (3, "")
    assert "the file is cut off: copy or export it again" in ran.err
