"""Whatever the height of the bands, one check says the same: not a bit of a result hangs on it."""

import sys
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

sys.path.insert(0, str(Path(__file__).parents[1]))  # the plates are shared with other tests
from separations import (
    INKS,
    SPREAD,
    PhotoBook,
    in_steps,
    photograph,
    separated,
    write_book,
)

import inkmix.checks.trials
import inkmix.lookup
import inkmix.plates.raster
import inkmix.plates.set
import inkmix.simulate.check
import inkmix.simulate.spread
from inkmix.result import SpreadResult
from inkmix.simulate.check import check_spread

ROWS, COLS = 130, 170
MORE = """\
[strip]
panels = 2
panel_mm = [10.795, 16.51]
[total_ink]
min_area_mm2 = 0.2
[[night]]
name = "mask"
mask = "mask.png"
lightest_L = 50
[[night]]
name = "rule"
rule = [{ plate = "Soot", at_least_pct = 25 }, { plate = "Fjord", at_least_pct = 10 }]
lightest_L = 60
share_pct = 5
[[tones]]
name = "tone"
mix = { Soot = 30, Rowan = 60 }
intended = "#884433"
tolerance_de00 = 4
[reference]
picture = "wanted.png"
"""


@pytest.fixture(scope="module")
def photo(tmp_path_factory) -> PhotoBook:
    """A cat: tones, dots, a mask, a rule, a reference picture, places over the limit."""
    folder = tmp_path_factory.mktemp("cat")
    srgb1 = photograph("chelsea", slice(60, 60 + ROWS), slice(100, 100 + COLS))
    amounts = separated(srgb1, INKS[:3])
    plates = {ink: in_steps(amount) for ink, amount in amounts.items()}
    plates["Rowan"] = np.asarray(Image.fromarray(plates["Rowan"]).convert("1"))
    y, x = np.mgrid[:ROWS, :COLS]
    ellipse = ((y - 60) / 45) ** 2 + ((x - 85) / 70) ** 2 < 1
    Image.fromarray(ellipse).save(folder / "mask.png", dpi=(200, 200))
    Image.fromarray(in_steps(srgb1)).save(folder / "wanted.png")
    return write_book(folder, plates, more=MORE, ink_limit_pct=130)


@pytest.fixture(scope="module")
def whole(photo) -> SpreadResult:
    """All in one window."""
    return check_spread(photo.book, SPREAD)


def test_the_case_has_something_to_say_of_everything(whole):
    assert {finding.check for finding in whole.findings} == {"total ink", "night", "named tones"}
    assert whole.total_ink.areas > 1
    assert whole.total_ink.specks > 1
    assert all(0 < night.reached_pct < 100 for night in whole.nights)
    assert any(finding.remedies for finding in whole.findings)
    assert whole.reference.mean_de00 > 1
    assert any(ink.screened for ink in whole.inks)


@settings(max_examples=5, deadline=None)
@given(
    band_rows=st.integers(1, 131),
    trial_rows=st.integers(20, 131),
    chunk_px=st.integers(997, 1 << 16),
)
def test_any_height_of_bands_gives_the_same_result(photo, whole, band_rows, trial_rows, chunk_px):
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(inkmix.plates.raster, "MAX_WINDOW_PX", band_rows * COLS)
        patch.setattr(inkmix.plates.set, "MAX_WINDOW_PX", band_rows * COLS)
        patch.setattr(inkmix.checks.trials, "BAND_PX", trial_rows * COLS)
        patch.setattr(inkmix.lookup, "CHUNK_PX", chunk_px)
        found = check_spread(photo.book, SPREAD)
    assert found.pictures == whole.pictures
    assert found == whole
