"""The plates of one spread as one thing: one size, one resolution, one depth, read by windows.

Whether files belong together is told in agreement.py; how one plate comes to the common resolution,
in resampling.py.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from inkmix.base.errors import Fault, PlateError
from inkmix.base.ordered_threads import each_in_order
from inkmix.plates.agreement import Agreement, agree
from inkmix.plates.files.limits import MAX_WINDOW_PX
from inkmix.plates.files.raster import Raster, Samples
from inkmix.plates.files.scratch.room import TEMPORARY, ScratchRoom
from inkmix.plates.found.duplicates import duplicate_faults
from inkmix.plates.kept import KeptPlanes, bytes_of, dtype_of, kept_planes
from inkmix.plates.mismatch import ExpectedSize
from inkmix.plates.plate import (
    EmptyPlate,
    FilePlate,
    Plate,
    PlateHeader,
    PlateSource,
    open_raster,
    plate_of,
)
from inkmix.plates.resampling import CommonPlate
from inkmix.plates.windows import Window, WindowGrid, common_rows, window_grid

Files = Mapping[str, PlateSource | None]
ABSENT = ("refuse", "empty")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PlateSet:
    """All plates of a spread, in lay-down order.

    Parameters
    ----------
    plates : tuple of Plate
        One for each ink; an EmptyPlate where the spread lacks one.
    width_px, height_px : int
        Size at the common, that is the lowest, resolution.
    ppi : float
        The common resolution.
    depth : int
        8, or 16 if any plate has 16 bits.
    factors : tuple of int
        How many times finer each plate is than the set.
    screened : tuple of bool
        Plates that gain at their edges.
    edge_growth_mm : float
        That gain.
    notes : tuple of str
        What was accepted and has to be said, each with its file.
    kept : KeptPlanes or None
        Pixels that were read, for those who read them again.
    """

    plates: tuple[Plate, ...]
    width_px: int
    height_px: int
    ppi: float
    depth: int
    factors: tuple[int, ...]
    screened: tuple[bool, ...]
    edge_growth_mm: float = 0.0
    notes: tuple[str, ...] = ()
    kept: KeptPlanes | None = None

    @property
    def inks(self) -> tuple[str, ...]:
        """Inks in lay-down order."""
        return tuple(plate.header.ink for plate in self.plates)

    @property
    def full(self) -> int:
        """Ink amount of 100 %: 255 or 65535."""
        return 65535 if self.depth == 16 else 255

    @property
    def sheet_px(self) -> int:
        """Pixels of the sheet."""
        return self.width_px * self.height_px

    def windows(self) -> WindowGrid:
        """Windows in raster order, aligned to strips or tiles."""
        return window_grid(
            self.height_px,
            self.width_px,
            segment_rows=self._segment_rows(),
            segment_cols=self._segment_cols(),
            window_px=MAX_WINDOW_PX,
        )

    def is_as_in_file(self, index: int) -> bool:
        """Whether `read` gives the plate of an index as its file has it, pixel by pixel."""
        is_same_size = self.factors[index] == 1 and not self.screened[index]
        return is_same_size and self.plates[index].header.full == self.full

    def read(self, rows: slice, cols: slice) -> Samples:
        """Ink amount for colour, (I, rows, cols) uint8 or uint16; screened plates after growth."""
        if self.kept is None:
            return self._stack(plate.for_colour(rows, cols) for plate in self._common())
        known = self.kept.whole(rows=rows, cols=cols)
        if known is None:
            known = replace(self, kept=None).read(rows, cols)
            self.kept.put(known, rows=rows, cols=cols)
        return known

    def read_for_total(self, rows: slice, cols: slice) -> Samples:
        """Ink amount for total ink, (I, rows, cols): tone values of the files, without growth.

        A screened plate gives its mean over a disc of 1 mm.
        """
        return self._stack(plate.for_total(rows, cols) for plate in self._common())

    def read_both(self, rows: slice, cols: slice) -> tuple[Samples, Samples]:
        """What `read` and `read_for_total` give; plates that are the same in both are read once."""
        amounts = self.read(rows, cols)
        if not any(self.screened):
            return amounts, amounts
        tones = amounts.copy()
        for index, plate in enumerate(self._common()):
            if self.screened[index]:
                tones[index] = plate.for_total(rows, cols)
        return amounts, tones

    def sample_into(
        self, out: NDArray[Any], values: Callable[[Samples], NDArray[Any]], *, step: int
    ) -> None:
        """Fill `out` (rows, cols, K) with values of every `step`-th pixel; nothing is averaged.

        Parameters
        ----------
        values : callable
            From ink amounts (I, rows, cols) to (rows, cols, K), in any thread.
        """

        def sample(window: Window) -> tuple[int, int, NDArray[Any]]:
            top, left = window.rows.start, window.cols.start
            amounts = self.read(window.rows, window.cols)
            amounts = amounts[:, -top % step :: step, -left % step :: step]
            return -(-top // step), -(-left // step), values(amounts)

        def take(part: tuple[int, int, NDArray[Any]]) -> None:
            row, col, some = part
            out[row : row + some.shape[0], col : col + some.shape[1]] = some

        each_in_order(sample, self.windows(), take)

    def with_screened(self, inks: Iterable[str]) -> "PlateSet":
        """The same set, with these plates also treated as screened."""
        names = frozenset(inks)
        marks = zip(self.screened, self.inks, strict=True)
        screened = tuple(was or ink in names for was, ink in marks)
        return replace(self, screened=screened, kept=None)

    def keeping(self, room: ScratchRoom) -> "PlateSet":
        """The same set, keeping what is read in scratch space, if there is ample room.

        Who asks sees to it that no file changes meanwhile. Plates of dots are never kept.
        """
        if any(self.screened):
            return self
        sheet = slice(0, self.height_px), slice(0, self.width_px)
        most_bytes = bytes_of([sheet], len(self.plates), dtype_of(self.full))
        kept = kept_planes(
            [sheet], room, planes=len(self.plates), full=self.full, leaving=2 * most_bytes
        )
        return replace(self, kept=kept)

    def _common(self) -> Iterator[CommonPlate]:
        columns = zip(self.plates, self.factors, self.screened, strict=True)
        for plate, factor, screened in columns:
            yield CommonPlate(
                plate=plate,
                factor=factor,
                ppi=self.ppi,
                depth=self.depth,
                edge_growth_mm=self.edge_growth_mm if screened else None,
            )

    def _stack(self, planes: Iterable[NDArray[np.integer]]) -> Samples:
        deep = np.uint16 if self.depth == 16 else np.uint8
        return np.stack([plane.astype(deep, copy=False) for plane in planes])

    def _segment_rows(self) -> int:
        rows = (
            max(1, plate.header.rows_per_segment // factor)
            for plate, factor in zip(self.plates, self.factors, strict=True)
        )
        return common_rows(tuple(rows), limit=MAX_WINDOW_PX // min(self.width_px, MAX_WINDOW_PX))

    def _segment_cols(self) -> int | None:
        """Columns of the widest tiles; None where no plate is in tiles."""
        cols = [
            max(1, plate.header.cols_per_segment // factor)
            for plate, factor in zip(self.plates, self.factors, strict=True)
            if plate.header.cols_per_segment is not None
        ]
        return max(cols, default=None)


def open_set(
    files: Files,
    *,
    ppi: float | None = None,
    expect: ExpectedSize | None = None,
    absent: str = "refuse",
    edge_growth_mm: float = 0.0,
    room: ScratchRoom = TEMPORARY,
) -> PlateSet:
    """The plates of one spread, after they were found to belong together.

    Parameters
    ----------
    files : mapping of ink to PlateSource or None
        In lay-down order; None where the spread has no plate of an ink.
    ppi : float or None
        Resolution of the coarsest plates, where the files do not say it or say it wrongly.
    expect : ExpectedSize or None
        Size that the sheet should have.
    absent : str
        "refuse", or "empty": an ink without a plate prints nothing.
    edge_growth_mm : float
        Growth at the edges of 1-bit and screened plates, by process.
    room : ScratchRoom
        For plates that cannot be read by windows.

    Raises
    ------
    PlateError
        With all faults of all files.
    """
    plates, faults = _opened(files, room=room)
    faults += _absent_faults(files, absent)
    headers = [plate.header for plate in plates]
    agreement = agree(headers, ppi=ppi, expect=expect)
    faults += [*agreement.faults, *duplicate_faults(plates)]
    if faults or not plates:
        raise PlateError(faults)
    return _assembled(files, plates, agreement, edge_growth_mm=edge_growth_mm)


def _opened(files: Files, *, room: ScratchRoom) -> tuple[list[FilePlate], list[Fault]]:
    """Plates that could be opened, and the faults of the others; a shared file is opened once."""
    rasters: dict[tuple[Path, int], Raster] = {}
    plates: list[FilePlate] = []
    faults: list[Fault] = []
    for ink, source in files.items():
        if source is None:
            continue
        try:
            key = (source.path, source.page)
            if key not in rasters:
                rasters[key] = open_raster(source.path, page=source.page, room=room)
            plates.append(plate_of(rasters[key], source, ink=ink))
        except PlateError as error:
            faults += [fault for fault in error.faults if fault not in faults]
    return plates, faults


def _absent_faults(files: Files, absent: str) -> list[Fault]:
    """Faults of inks without a plate; none where that is allowed and one plate is there."""
    if absent not in ABSENT:
        return [Fault(where="absent", found=repr(absent), expected='it is "refuse" or "empty"')]
    missing = [ink for ink, source in files.items() if source is None]
    if len(missing) == len(files):
        return [Fault(where="plates", found="none was found", do="check folder and pattern")]
    if absent == "empty":
        return []
    do = 'add it, or write absent = "empty" in the book'
    expected = "every ink needs a plate"
    return [Fault(where=ink, found="has no plate", expected=expected, do=do) for ink in missing]


def _absent_notes(files: Files) -> tuple[str, ...]:
    """What has to be said about inks without a plate."""
    return tuple(
        f"{ink}: no plate in this spread, it prints nothing"
        for ink, source in files.items()
        if source is None
    )


def _assembled(
    files: Files, plates: list[FilePlate], agreement: Agreement, *, edge_growth_mm: float
) -> PlateSet:
    factors = dict(zip((p.header.ink for p in plates), agreement.factors, strict=True))
    by_ink = {plate.header.ink: _at_ppi(plate, factors, agreement.ppi) for plate in plates}
    width_px, height_px = agreement.width_px, agreement.height_px
    size = {"width_px": width_px, "height_px": height_px}
    in_order = tuple(
        by_ink.get(ink) or _empty_plate(ink, ppi=agreement.ppi, **size) for ink in files
    )
    return PlateSet(
        plates=in_order,
        width_px=width_px,
        height_px=height_px,
        ppi=agreement.ppi,
        depth=max([8, *(plate.header.bits for plate in plates)]),
        factors=tuple(factors.get(ink, 1) for ink in files),
        screened=tuple(plate.header.screened for plate in in_order),
        edge_growth_mm=edge_growth_mm,
        notes=(*agreement.notes, *_absent_notes(files)),
    )


def _at_ppi(plate: FilePlate, factors: Mapping[str, int], ppi: float) -> FilePlate:
    """The plate with the resolution that the set gives it."""
    header = replace(plate.header, ppi=ppi * factors[plate.header.ink])
    return replace(plate, header=header)


def _empty_plate(ink: str, *, width_px: int, height_px: int, ppi: float) -> EmptyPlate:
    """The plate of an ink that the spread lacks."""
    header = PlateHeader(
        path=None, ink=ink, width_px=width_px, height_px=height_px, bits=8, ppi=ppi
    )
    return EmptyPlate(header=header)
