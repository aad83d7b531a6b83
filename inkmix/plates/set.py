"""The plates of one spread as one thing: one size, one resolution, one depth, read by windows.

Whether files belong together is told in agreement.py; here they are opened and put together.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from inkmix.errors import Fault, PlateError
from inkmix.plates.agreement import Agreement, ExpectedSize, agree
from inkmix.plates.duplicates import duplicate_faults
from inkmix.plates.limits import MAX_WINDOW_PX
from inkmix.plates.plate import (
    EmptyPlate,
    FilePlate,
    Plate,
    PlateHeader,
    PlateSource,
    open_raster,
    plate_of,
)
from inkmix.plates.raster import Raster, Samples
from inkmix.plates.screened import (
    MM_PER_INCH,
    box_mean,
    disc_halo,
    disc_mean,
    disc_radius_px,
    grown,
    growth_halo,
)
from inkmix.plates.windows import Window, band_windows, common_rows, scaled, widened

__all__ = ["ExpectedSize", "PlateSet", "PlateSource", "open_set"]

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

    @property
    def inks(self) -> tuple[str, ...]:
        """Inks in lay-down order."""
        return tuple(plate.header.ink for plate in self.plates)

    @property
    def full(self) -> int:
        """Ink amount of 100 %: 255 or 65535."""
        return 65535 if self.depth == 16 else 255

    def windows(self) -> Iterator[Window]:
        """Full-width bands in raster order, at most 2 Mpx, aligned to strips where these fit."""
        return band_windows(self.height_px, self.width_px, segment_rows=self._segment_rows())

    def read(self, rows: slice, cols: slice) -> Samples:
        """Ink amount for colour, (I, rows, cols) uint8 or uint16; screened plates after growth."""
        return self._stack([self._for_colour(i, rows, cols) for i in range(len(self.plates))])

    def read_for_total(self, rows: slice, cols: slice) -> Samples:
        """Ink amount for total ink, (I, rows, cols): tone values of the files, without growth.

        A screened plate gives its mean over a disc of 1 mm.
        """
        return self._stack([self._for_total(i, rows, cols) for i in range(len(self.plates))])

    def with_screened(self, inks: Iterable[str]) -> "PlateSet":
        """The same set, with these plates also treated as screened."""
        names = frozenset(inks)
        marks = zip(self.screened, self.inks, strict=True)
        return replace(self, screened=tuple(was or ink in names for was, ink in marks))

    def _stack(self, planes: list[NDArray[np.integer]]) -> Samples:
        out = np.empty((len(planes), *planes[0].shape), np.uint16 if self.depth == 16 else np.uint8)
        for index, plane in enumerate(planes):
            out[index] = plane
        return out

    def _for_colour(self, index: int, rows: slice, cols: slice) -> NDArray[np.integer]:
        factor = self.factors[index]
        rows, cols = scaled(rows, factor), scaled(cols, factor)
        if not self.screened[index]:
            return box_mean(self._deep(read_beyond(self.plates[index], rows, cols)), factor=factor)
        growth_px = self.edge_growth_mm * self.ppi * factor / MM_PER_INCH
        ink = self._inked(index, rows, cols, halo=growth_halo(growth_px))
        return box_mean(self._deep(grown(ink, growth_px=growth_px)), factor=factor)

    def _for_total(self, index: int, rows: slice, cols: slice) -> NDArray[np.integer]:
        if not self.screened[index]:
            return self._for_colour(index, rows, cols)
        radius_px, factor = disc_radius_px(self.ppi), self.factors[index]
        halo = disc_halo(radius_px)
        wide = (scaled(widened(rows, halo), factor), scaled(widened(cols, halo), factor))
        ink = self._inked(index, *wide, halo=0)
        plane = box_mean(self._deep(ink.view(np.uint8) * np.uint8(255)), factor=factor)
        return disc_mean(plane, radius_px=radius_px)

    def _inked(self, index: int, rows: slice, cols: slice, *, halo: int) -> NDArray[np.bool_]:
        plate = self.plates[index]
        amount = read_beyond(plate, widened(rows, halo), widened(cols, halo))
        return amount > plate.header.full // 2

    def _deep(self, plane: NDArray[np.integer]) -> NDArray[np.integer]:
        """At the depth of the set: 255 becomes 65535."""
        if self.depth == 16 and plane.dtype == np.uint8:
            return plane.astype(np.uint16) * np.uint16(257)
        return plane

    def _segment_rows(self) -> int:
        rows = (
            max(1, plate.header.rows_per_segment // factor)
            for plate, factor in zip(self.plates, self.factors, strict=True)
        )
        return common_rows(tuple(rows), limit=max(1, MAX_WINDOW_PX // self.width_px))


def read_beyond(plate: Plate, rows: slice, cols: slice) -> Samples:
    """Ink amount of a rectangle that may leave the plate; outside, the edge goes on."""
    header = plate.header
    row_index = np.clip(np.arange(rows.start, rows.stop), 0, header.height_px - 1)
    col_index = np.clip(np.arange(cols.start, cols.stop), 0, header.width_px - 1)
    top, left = int(row_index[0]), int(col_index[0])
    inside = plate.read(slice(top, int(row_index[-1]) + 1), slice(left, int(col_index[-1]) + 1))
    if inside.shape == (len(row_index), len(col_index)):
        return inside
    beyond: Samples = inside[np.ix_(row_index - top, col_index - left)]
    return beyond


def open_set(
    files: Mapping[str, PlateSource | None],
    *,
    ppi: float | None = None,
    expect: ExpectedSize | None = None,
    absent: str = "refuse",
    edge_growth_mm: float = 0.0,
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

    Raises
    ------
    PlateError
        With all faults of all files.
    """
    plates, faults = _opened(files)
    faults += _absent_faults(files, absent)
    headers = [plate.header for plate in plates]
    agreement = agree(headers, ppi=ppi, expect=expect)
    faults += [*agreement.faults, *duplicate_faults(headers)]
    if faults or not plates:
        raise PlateError(faults)
    return _assembled(files, plates, agreement, edge_growth_mm=edge_growth_mm)


def _opened(files: Mapping[str, PlateSource | None]) -> tuple[list[FilePlate], list[Fault]]:
    """Plates that could be opened, and the faults of the others; each file is opened once."""
    rasters: dict[tuple[Path, int], Raster] = {}
    plates: list[FilePlate] = []
    faults: list[Fault] = []
    for ink, source in files.items():
        if source is None:
            continue
        try:
            key = (source.path, source.page)
            if key not in rasters:
                rasters[key] = open_raster(source.path, page=source.page)
            plates.append(plate_of(rasters[key], source, ink=ink, ppi=None))
        except PlateError as error:
            faults += [fault for fault in error.faults if fault not in faults]
    return plates, faults


def _absent_faults(files: Mapping[str, PlateSource | None], absent: str) -> list[Fault]:
    if absent not in ABSENT:
        return [Fault(where="absent", found=repr(absent), expected='it is "refuse" or "empty"')]
    missing = [ink for ink, source in files.items() if source is None]
    if len(missing) == len(files):
        return [Fault(where="plates", found="none was found", do="check folder and pattern")]
    if absent == "empty":
        return []
    do = 'add it, or write absent = "empty" in the book'
    expected = "every ink needs a plate"
    return [Fault(where=i, found="has no plate", expected=expected, do=do) for i in missing]


def _assembled(
    files: Mapping[str, PlateSource | None],
    plates: list[FilePlate],
    agreement: Agreement,
    *,
    edge_growth_mm: float,
) -> PlateSet:
    opened = {
        plate.header.ink: replace(plate, header=replace(plate.header, ppi=agreement.ppi * factor))
        for plate, factor in zip(plates, agreement.factors, strict=True)
    }
    factors = dict(zip(opened, agreement.factors, strict=True))
    all_plates = tuple(opened.get(ink) or _empty(ink, agreement) for ink in files)
    return PlateSet(
        plates=all_plates,
        width_px=agreement.width_px,
        height_px=agreement.height_px,
        ppi=agreement.ppi,
        depth=max([8, *(plate.header.bits for plate in plates)]),
        factors=tuple(factors.get(ink, 1) for ink in files),
        screened=tuple(plate.header.screened for plate in all_plates),
        edge_growth_mm=edge_growth_mm,
        notes=(*agreement.notes, *_absent_notes(files)),
    )


def _empty(ink: str, agreement: Agreement) -> EmptyPlate:
    header = PlateHeader(
        path=None,
        ink=ink,
        width_px=agreement.width_px,
        height_px=agreement.height_px,
        bits=8,
        ppi=agreement.ppi,
    )
    return EmptyPlate(header=header)


def _absent_notes(files: Mapping[str, PlateSource | None]) -> tuple[str, ...]:
    return tuple(
        f"{ink}: no plate in this spread, it prints nothing"
        for ink, source in files.items()
        if source is None
    )
