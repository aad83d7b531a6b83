"""However a sheet is cut into windows, by however many threads, compiled or not, one check says the
same: not a bit of a result hangs on it."""

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from PIL import Image

sys.path.insert(0, str(Path(__file__).parents[1]))  # the plates are shared with other tests
from cut_books import BOOKS, COLS, ROWS
from separations import SPREAD, PhotoBook

import inkmix.checks.window
import inkmix.plates.files.raster
import inkmix.plates.set
import inkmix.press.table.lookup
from inkmix.base import loops
from inkmix.jobs.answer import SpreadResult
from inkmix.jobs.check import check_spread
from inkmix.jobs.printing.predict import Wanted, write_predictions
from inkmix.jobs.spread import open_uncounted
from inkmix.plates.windows import WindowGrid

ALL_PX = ROWS * COLS
WANTED = (
    ("all.png", {}),
    ("all.tif", {}),
    ("screen.png", {"on_screen": True}),
    ("some.tif", {"inks": ("Fjord", "Rowan"), "adapt_to_paper": True}),
)


@dataclass(frozen=True, kw_only=True)
class Cut:
    """How the work is cut: pixels of windows, threads, numpy or compiled, trials, look-ups."""

    window_px: int
    threads: int = 1
    is_plain: bool = False
    trial_px: int = ALL_PX
    chunk_px: int = 1 << 16


WHOLE = Cut(window_px=1 << 20)
MANY = 12
SOME = st.builds(
    Cut,
    window_px=st.integers(1, ALL_PX) | st.integers(600, 8000),  # the latter: pieces of a row
    threads=st.integers(1, 4),
    is_plain=st.booleans() if loops.are_compiled() else st.just(True),
    trial_px=st.integers(20 * COLS, ALL_PX),
    chunk_px=st.integers(997, 1 << 16),
)


@contextmanager
def cut_like(cut: Cut) -> Iterator[None]:
    """The limits of windows, the cores that may be used and the loops, changed for a while."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(inkmix.plates.files.raster, "MAX_WINDOW_PX", cut.window_px)
        patch.setattr(inkmix.plates.set, "MAX_WINDOW_PX", cut.window_px)
        patch.setattr(inkmix.checks.window, "BAND_PX", cut.trial_px)
        patch.setattr(inkmix.press.table.lookup, "CHUNK_PX", cut.chunk_px)
        patch.setattr(os, "sched_getaffinity", lambda _: range(cut.threads), raising=False)
        if cut.is_plain:
            patch.setenv(loops.SWITCH, "numpy")
        loops.are_compiled.cache_clear()
        try:
            yield
        finally:
            patch.undo()
            loops.are_compiled.cache_clear()


@dataclass(frozen=True, kw_only=True, repr=False)
class Case:
    """A book with what is said of it, and its predicted print, in one window and one thread.

    Without words of its own: hypothesis would have all pixels written out for each example.
    """

    photo: PhotoBook
    result: SpreadResult
    print_srgb8: np.ndarray
    predicted: dict[str, np.ndarray]
    mask_verdict: str
    screened: int


@pytest.fixture(
    scope="module", params=[("strips", "fail", 2), ("tiles", "pass", 0), ("mixed", "pass", 1)]
)
def case(request, tmp_path_factory) -> Case:
    name, mask_verdict, screened = request.param
    photo = BOOKS[name](tmp_path_factory.mktemp(name))
    result, print_srgb8 = checked(photo, WHOLE)
    return Case(
        photo=photo,
        mask_verdict=mask_verdict,
        screened=screened,
        result=result,
        print_srgb8=print_srgb8,
        predicted=pixels_of(predicted(photo, WHOLE)),
    )


def checked(photo: PhotoBook, cut: Cut) -> tuple[SpreadResult, np.ndarray]:
    """All that is said of the book, and the picture written in the same pass."""
    path = photo.folder / "print.png"
    with cut_like(cut):
        result = check_spread(photo.book, SPREAD, picture=path)
    return result, pixels(path)


def predicted(photo: PhotoBook, cut: Cut) -> dict[str, Path]:
    """Pictures of the print and of the screen."""
    folder = photo.folder / f"by {cut.threads}"
    folder.mkdir(exist_ok=True)
    paths = {name: folder / name for name, _ in WANTED}
    with cut_like(cut):
        spread = open_uncounted(photo.book, SPREAD)
        write_predictions(spread, [Wanted(path=paths[name], **how) for name, how in WANTED])
    return paths


def pixels(path: Path) -> np.ndarray:
    with Image.open(path) as picture:
        return np.asarray(picture)


def pixels_of(paths: dict[str, Path]) -> dict[str, np.ndarray]:
    return {name: pixels(path) for name, path in paths.items()}


def grid(photo: PhotoBook, window_px: int) -> WindowGrid:
    with cut_like(Cut(window_px=window_px)):
        return open_uncounted(photo.book, SPREAD).plates.windows()


def test_the_case_has_something_to_say_of_everything(case):
    found = case.result
    assert {finding.check for finding in found.findings} == {"total ink", "night", "named tones"}
    assert [night.verdict for night in found.facts["nights"]] == [case.mask_verdict, "pass"]
    assert found.facts["total_ink"].areas > 1
    assert found.facts["total_ink"].specks > 1
    assert all(0 < night.reached_pct <= 100 for night in found.facts["nights"])
    assert any(finding.remedies for finding in found.findings)
    assert found.reference.mean_de00 > 1
    assert sum(ink.screened for ink in found.inks) == case.screened
    assert case.print_srgb8.shape == (ROWS, COLS, 3)


def test_windows_are_cut_across_and_down(case):
    assert grid(case.photo, 5000).cols < COLS
    assert grid(case.photo, 1000).rows < ROWS
    assert len(list(grid(case.photo, 600))) > 16
    assert len(list(grid(case.photo, WHOLE.window_px))) == 1


@settings(max_examples=1, deadline=None)
@example(cut=Cut(window_px=1000, threads=4, is_plain=True))
@given(cut=SOME)
def test_any_cut_by_any_threads_gives_the_same_check(case, cut):
    compare_checks(case, cut)


@pytest.mark.long
@settings(max_examples=MANY, deadline=None)
@given(cut=SOME)
def test_many_cuts_by_any_threads_give_the_same_check(case, cut):
    compare_checks(case, cut)


def compare_checks(case: Case, cut: Cut) -> None:
    result, print_srgb8 = checked(case.photo, cut)
    assert result.pictures == case.result.pictures
    assert replace(result, pictures={}) == replace(case.result, pictures={})
    assert np.array_equal(print_srgb8, case.print_srgb8)


@settings(max_examples=1, deadline=None)
@example(cut=Cut(window_px=1000, threads=3, is_plain=True))
@given(cut=SOME)
def test_any_cut_gives_the_same_pixels_and_any_threads_the_same_bytes(case, cut):
    compare_pixels(case, cut)


@pytest.mark.long
@settings(max_examples=MANY, deadline=None)
@given(cut=SOME)
def test_many_cuts_give_the_same_pixels_and_any_threads_the_same_bytes(case, cut):
    compare_pixels(case, cut)


def compare_pixels(case: Case, cut: Cut) -> None:
    paths = predicted(case.photo, cut)
    one_by_one = predicted(case.photo, replace(cut, threads=1, is_plain=False))
    for name, path in paths.items():
        assert np.array_equal(pixels(path), case.predicted[name])
        assert path.read_bytes() == one_by_one[name].read_bytes()
