"""Law: counts of any rectangles, made by two threads in any order, are those of the whole."""

import sys
from concurrent.futures import ThreadPoolExecutor
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

sys.path.insert(0, str(Path(__file__).parents[1]))  # drawings and inks of other tests
from counted import survey
from plate_files import write_tiff
from press_for_checks import press

from inkmix.checks.night.check import NightCheck
from inkmix.checks.total_ink.check import TotalInkCheck
from inkmix.checks.window import CheckedWindow
from inkmix.plates.overview import BlockSum, ColourOverview
from inkmix.plates.plate import PlateSource
from inkmix.plates.set import open_set
from inkmix.plates.survey.counting import Survey
from inkmix.plates.windows import Window
from inkmix.sheet.geometry import Sheet, panels_in_a_row

ROWS, COLS, INKS = 61, 97, 5
SHEET = Sheet(
    width_px=COLS,
    height_px=ROWS,
    ppi=50.8,
    panels=panels_in_a_row(1, width_mm=COLS / 2, height_mm=ROWS / 2),
)
INK = TotalInkCheck(sheet=SHEET, limit_pct=240, whose="printer", min_area_mm2=3)
NIGHT = NightCheck(
    sheet=SHEET,
    condition=press(),
    name="sky",
    mask_words="a picture",
    lightest_L=40.0,
    share_pct=90.0,
)


def cuts(length: int) -> st.SearchStrategy[list[slice]]:
    """A range cut into slices at random places."""
    marks = st.sets(st.integers(1, length - 1), max_size=5)
    return marks.map(lambda inner: [slice(*pair) for pair in pairwise([0, *sorted(inner), length])])


def by_two_threads(count, windows: list, seed: int) -> list:
    """Parts of all windows in their own order, whatever the order they were made in."""
    order = np.random.default_rng(seed).permutation(len(windows))
    with ThreadPoolExecutor(2) as pool:
        made = dict(zip(order, pool.map(lambda at: count(windows[at]), order), strict=True))
    return [made[at] for at in range(len(windows))]


def merged(merge, parts: list, seed: int):
    """Neighbours joined in an order drawn at random."""
    rng, parts = np.random.default_rng(seed), list(parts)
    while len(parts) > 1:
        at = int(rng.integers(len(parts) - 1))
        parts[at : at + 2] = [merge(parts[at], parts[at + 1])]
    return parts[0]


def sheet_of(seed: int, depth) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Blots of ink, lightness and a mask."""
    rng = np.random.default_rng(seed)
    y, x = np.mgrid[:ROWS, :COLS]
    waves = [np.sin(y / rng.uniform(3, 12) + x / rng.uniform(3, 12)) for _ in range(INKS + 2)]
    full = np.iinfo(depth).max
    planes = np.clip(np.stack(waves[:INKS]) * 0.7 * full, 0, full).astype(depth)
    lightness = np.clip(9000 + 4000 * waves[INKS], 0, 25600).astype(np.int16)
    return planes, lightness, waves[INKS + 1] > rng.uniform(-1.1, 0.5)


@settings(max_examples=30, deadline=None)
@given(
    seed=st.integers(0, 2**32 - 1),
    depth=st.sampled_from([np.uint8, np.uint16]),
    rows=cuts(ROWS),
    cols=cuts(COLS),
)
def test_checks_of_rectangles(seed, depth, rows, cols):
    planes, lightness, mask = sheet_of(seed, depth)

    def window(r: slice, c: slice) -> CheckedWindow:
        return CheckedWindow(rows=r, cols=c, planes=planes[:, r, c], lightness=lightness[r, c])

    def both(rectangle: tuple[slice, slice]):
        given = window(*rectangle)
        return INK.part(given), NIGHT.part(given, mask[rectangle])

    def merge(one, other):
        return INK.merge(one[0], other[0]), NIGHT.merge(one[1], other[1])

    parts = by_two_threads(both, [(r, c) for r in rows for c in cols], seed)
    bands = [
        merged(merge, parts[first : first + len(cols)], seed)
        for first in range(0, len(parts), len(cols))
    ]
    ink, night = merge((INK.start(), NIGHT.start()), merged(merge, bands, seed))
    whole_ink, whole_night = both((slice(0, ROWS), slice(0, COLS)))
    assert INK.finish(ink) == INK.finish(whole_ink)
    found, wanted = NIGHT.finish(night), NIGHT.finish(whole_night)
    assert (found.facts, found.finding, found.box) == (wanted.facts, wanted.finding, wanted.box)
    np.testing.assert_array_equal(found.counts.levels, wanted.counts.levels)
    np.testing.assert_array_equal(found.counts.mixes, wanted.counts.mixes)


@settings(max_examples=15, deadline=None)
@given(seed=st.integers(0, 2**32 - 1), rows=cuts(ROWS), cols=cuts(COLS), factor=st.integers(1, 30))
def test_reduced_pictures_of_rectangles_in_any_order(seed, rows, cols, factor):
    rng = np.random.default_rng(seed)
    planes = rng.integers(0, 256, (3, ROWS, COLS)).astype(np.uint8)
    size = {"width_px": COLS, "height_px": ROWS, "factor": factor}
    whole, cut = (BlockSum(**size, channels=3) for _ in range(2))
    picture, cut_picture = (ColourOverview(**size) for _ in range(2))
    srgb8 = np.moveaxis(planes, 0, -1)
    whole.take(whole.part(0, planes))
    picture.add(0, srgb8)

    def both(rectangle: tuple[slice, slice]):
        (r, c) = rectangle
        return (
            cut.part(r.start, planes[:, r, c], first_col=c.start),
            cut_picture.part(r.start, srgb8[r, c], first_col=c.start),
        )

    parts = by_two_threads(both, [(r, c) for r in rows for c in cols], seed)
    for at in rng.permutation(len(parts)):
        cut.take(parts[at][0])
        cut_picture.take(parts[at][1])
    np.testing.assert_array_equal(cut.sums, whole.sums)
    np.testing.assert_array_equal(cut_picture.srgb8(), picture.srgb8())


@pytest.fixture(scope="module")
def plates(tmp_path_factory):
    """Tones, 16 bits, line work, a finer plate, a plate twice: all that a survey tells apart."""
    folder, planes = tmp_path_factory.mktemp("plates"), sheet_of(5, np.uint8)[0]
    y, x = np.mgrid[: 2 * ROWS, : 2 * COLS]
    dots = np.where((3 * y + 7 * x) % 11 < 4, 255, 0).astype(np.uint8)
    pictures = {
        "Soot": (planes[0], 100),
        "Fjord": (planes[1].astype(np.uint16) * np.uint16(257) + np.uint16(3), 100),
        "Rowan": (dots, 200),
        "Brass": (planes[2], 100),
        "Fog": (255 - planes[0], 100),
    }
    for ink, (picture, ppi) in pictures.items():
        resolution = {"resolution": (ppi, ppi), "resolutionunit": 2}
        write_tiff(folder / f"{ink}.tif", picture, photometric="miniswhite", **resolution)
    files = {ink: PlateSource(path=folder / f"{ink}.tif") for ink in pictures}
    write_tiff(folder / "copy.tif", planes[0], photometric="miniswhite", compression="zlib",
               resolution=(100, 100), resolutionunit=2)  # fmt: skip
    twice = {"Soot 2": "copy.tif", "Soot 3": "Soot.tif"}
    files |= {ink: PlateSource(path=folder / f, hit_of="Soot") for ink, f in twice.items()}
    return open_set(files)


@settings(max_examples=15, deadline=None)
@given(seed=st.integers(0, 2**32 - 1), rows=cuts(ROWS), cols=cuts(COLS))
def test_a_survey_of_rectangles(plates, seed, rows, cols):
    whole, count = survey(plates), Survey(plate_set=plates)
    windows = [Window(rows=r, cols=c) for r in rows for c in cols]
    parts = by_two_threads(count.part, windows, seed)
    part = count.merge(count.start(), merged(count.merge, parts, seed))
    for one, other in zip(count.finish(part), whole, strict=True):
        for name in type(one).__dataclass_fields__:
            np.testing.assert_array_equal(getattr(one, name), getattr(other, name), err_msg=name)
    assert [found.repeats for found in whole] == [None] * 5 + ["Soot"] * 2
    assert [found.screened for found in whole] == [False, False, True, *[False] * 4]
