"""The predicted print against a reference picture of the whole, window by window.

Two questions are kept apart. From arm's length: the mean light of blocks, on a grid of at most
MAP_PX cells, whatever the sizes of the two; grain and a register of a pixel vanish in it as they do
to the eye. Pixel by pixel: only where each pixel of the reference is one of the plates. All that
windows bring is whole numbers. Reading, and painting the map, are done elsewhere.
"""

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from inkmix.base.arrays import FloatArray, read_only
from inkmix.checks.reference.difference import (
    BINS,
    STEPS_PER_DE00,
    DifferenceCounter,
    on_paper,
    on_white,
)
from inkmix.checks.reference.facts import ReferenceFacts, ReferencePixels
from inkmix.checks.reference.reduced import Grid, Patch, Sums, grid_over
from inkmix.checks.window import Counts
from inkmix.colour.colorimetry import (
    WHITE_XYZ100,
    delta_e00,
    encode_srgb1,
    srgb1_to_xyz100,
    xyz100_to_lab,
)
from inkmix.plates.files.raster import bands

MAP_PX = 1200  # longest side of the map
_CELLS_AT_ONCE = 1 << 16


class WantedPicture(Protocol):
    """What the artist wants, in sRGB."""

    @property
    def width_px(self) -> int:
        """Width."""

    @property
    def height_px(self) -> int:
        """Height."""

    def read(self, rows: slice, cols: slice) -> NDArray[np.uint8]:
        """A window of it, (rows, cols, 3)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ReferencePart:
    """What one window brought: pixels by steps of dE00, and sums of light."""

    steps: Counts | None = None
    printed: Patch | None = None
    wanted: Patch | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ReferenceSums:
    """What all windows so far brought; changed in place."""

    steps: Counts
    printed: Sums
    wanted: Sums | None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ReferenceResult:
    """Facts, and the colour difference of every cell of the map, (rows, cols), dE00."""

    facts: ReferenceFacts
    de00: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ReferenceCheck:
    """The comparison of one spread.

    Parameters
    ----------
    wanted : WantedPicture
        The reference.
    rows, cols : slice
        The part of the plates that it shows.
    paper_xyz100 : (3,) ndarray
        Under D50, what its white is: the paper, or that of the screen.
    ppi : float
        Resolution of the plates.
    file, picture : str
        Its name, and the key under which the map will be shown.
    """

    wanted: WantedPicture
    rows: slice
    cols: slice
    paper_xyz100: FloatArray
    ppi: float
    file: str
    picture: str

    @property
    def is_by_pixels(self) -> bool:
        """Whether each pixel of the reference is one of the plates."""
        return self._shape == (self.wanted.height_px, self.wanted.width_px)

    def start(self) -> ReferenceSums:
        """Nothing yet."""
        return ReferenceSums(
            steps=np.zeros(BINS, np.int64),
            printed=self._grid.start(),
            wanted=self._grid.start() if self.is_by_pixels else None,
        )

    def part(self, rows: slice, cols: slice, srgb8: NDArray[np.uint8]) -> ReferencePart:
        """What a window of the plates brings; `srgb8` (rows, cols, 3) is its predicted colour.

        May be called by several threads at once.
        """
        down, across = _common(rows, self.rows), _common(cols, self.cols)
        if down is None or across is None:
            return ReferencePart()
        printed = srgb8[_shifted(down, rows.start), _shifted(across, cols.start)]
        place = _shifted(down, self.rows.start), _shifted(across, self.cols.start)
        patch = self._grid.sums(*place, printed)
        if not self.is_by_pixels:
            return ReferencePart(printed=patch)
        wanted = self.wanted.read(*place)
        steps = np.zeros(BINS, np.int64)
        self._counter().add(steps, printed, wanted)
        return ReferencePart(steps=steps, printed=patch, wanted=self._grid.sums(*place, wanted))

    def merge(self, sums: ReferenceSums, part: ReferencePart) -> ReferenceSums:
        """The sums with a window's part added to them, in any order; one thread at a time."""
        if part.printed is not None:
            part.printed.add_to(sums.printed)
        if part.wanted is not None and sums.wanted is not None:
            part.wanted.add_to(sums.wanted)
        if part.steps is not None:
            np.add(sums.steps, part.steps, out=sums.steps)
        return sums

    def finish(self, sums: ReferenceSums) -> ReferenceResult:
        """What all windows of the plates say together; the reference is read now if not before."""
        linear = self._wanted_linear(sums)
        paper = self.paper_xyz100 / WHITE_XYZ100
        de00 = _de00(self._grid.mean_linear(sums.printed), linear, paper)
        facts = ReferenceFacts(
            file=self.file,
            mean_de00=float(de00.mean()),
            p95_de00=float(np.percentile(de00, 95)),
            max_de00=float(de00.max()),
            map_ppi=self.ppi * self._grid.across.cells / self._shape[1],
            picture=self.picture,
            pixels=_pixels(sums.steps, self.ppi) if self.is_by_pixels else None,
        )
        return ReferenceResult(facts=facts, de00=read_only(de00))

    @property
    def _shape(self) -> tuple[int, int]:
        return self.rows.stop - self.rows.start, self.cols.stop - self.cols.start

    @property
    def _grid(self) -> Grid:
        wanted = self.wanted.height_px, self.wanted.width_px
        return grid_over(self._shape, cells=_cells(self._shape, wanted))

    def _counter(self) -> DifferenceCounter:
        return DifferenceCounter(
            ratios_of_first=on_white(), ratios_of_second=on_paper(self.paper_xyz100)
        )

    def _wanted_linear(self, sums: ReferenceSums) -> FloatArray:
        if sums.wanted is not None:
            return self._grid.mean_linear(sums.wanted)
        shape = self.wanted.height_px, self.wanted.width_px
        grid = grid_over(shape, cells=_cells(self._shape, shape))
        whole, cols = grid.start(), slice(0, shape[1])
        for rows in bands(*shape):
            grid.sums(rows, cols, self.wanted.read(rows, cols)).add_to(whole)
        return grid.mean_linear(whole)


def _cells(shape: tuple[int, int], other: tuple[int, int]) -> tuple[int, int]:
    """A grid no finer than either picture, at most MAP_PX along its longer side."""
    rows, cols = min(shape[0], other[0]), min(shape[1], other[1])
    longest = max(rows, cols)
    if longest <= MAP_PX:
        return rows, cols
    return max(1, round(rows * MAP_PX / longest)), max(1, round(cols * MAP_PX / longest))


def _common(first: slice, second: slice) -> slice | None:
    start, stop = max(first.start, second.start), min(first.stop, second.stop)
    return slice(start, stop) if start < stop else None


def _shifted(span: slice, by: int) -> slice:
    return slice(span.start - by, span.stop - by)


def _de00(printed: FloatArray, wanted: FloatArray, paper: FloatArray) -> FloatArray:
    """dE00 (rows, cols) of linear sRGB, the second with the paper as its white."""
    de00 = np.empty(printed.shape[:2])
    step = max(1, _CELLS_AT_ONCE // printed.shape[1])
    for start in range(0, len(de00), step):
        part = slice(start, start + step)
        first, second = (srgb1_to_xyz100(encode_srgb1(light[part])) for light in (printed, wanted))
        de00[part] = delta_e00(xyz100_to_lab(first), xyz100_to_lab(second * paper))
    return de00


def _pixels(steps: Counts, ppi: float) -> ReferencePixels:
    """Mean, worst twentieth and most of counted steps."""
    total, levels = int(steps.sum()), np.arange(BINS)
    upto = np.searchsorted(np.cumsum(steps), -(-95 * total // 100))
    return ReferencePixels(
        ppi=ppi,
        mean_de00=int((steps * levels).sum()) / total / STEPS_PER_DE00,
        p95_de00=int(upto) / STEPS_PER_DE00,
        max_de00=int(np.flatnonzero(steps)[-1]) / STEPS_PER_DE00,
    )
