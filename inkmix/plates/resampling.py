"""One plate at the resolution and depth of its set: means of finer pixels, growth at edges.

Large factors are worked on in bands, so that a window of a fine line plate stays as small in memory
as one of a tone plate. What the set is, is told in set.py.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkmix.plates.files.raster import Samples, bands
from inkmix.plates.plate import Plate
from inkmix.plates.survey.screened import (
    box_mean,
    disc_halo,
    disc_mean,
    disc_radius_px,
    grown,
    growth_halo,
)
from inkmix.plates.windows import scaled, widened
from inkmix.sheet.geometry import MM_PER_INCH


@dataclass(frozen=True, slots=True, kw_only=True)
class CommonPlate:
    """A plate as its set uses it.

    Parameters
    ----------
    plate : Plate
        The plate at its own resolution.
    factor : int
        How many times finer than the set it is.
    ppi : float
        Resolution of the set.
    depth : int
        8 or 16 bits, of the set.
    edge_growth_mm : float or None
        Growth of a screened plate; None for a plate of tones.
    """

    plate: Plate
    factor: int
    ppi: float
    depth: int
    edge_growth_mm: float | None

    def for_colour(self, rows: slice, cols: slice) -> NDArray[np.integer]:
        """Ink amount that makes colour, (rows, cols) of the set."""
        read = self._tones if self.edge_growth_mm is None else self._grown
        return self._reduced(read, rows, cols)

    def for_total(self, rows: slice, cols: slice) -> NDArray[np.integer]:
        """Ink amount that counts for total ink, (rows, cols) of the set."""
        if self.edge_growth_mm is None:
            return self._reduced(self._tones, rows, cols)
        radius_px = disc_radius_px(self.ppi)
        halo = disc_halo(radius_px)
        plane = self._reduced(self._two_tone, widened(rows, halo), widened(cols, halo))
        return disc_mean(plane, radius_px=radius_px)

    def _reduced(
        self, read: Callable[[slice, slice], Samples], rows: slice, cols: slice
    ) -> NDArray[np.integer]:
        """A rectangle of the set out of bands of the plate."""
        fine_cols = scaled(cols, self.factor)
        parts = [
            box_mean(self._deep(read(scaled(band, self.factor), fine_cols)), factor=self.factor)
            for band in fine_bands(rows, cols, factor=self.factor)
        ]
        return parts[0] if len(parts) == 1 else np.concatenate(parts)

    def _tones(self, rows: slice, cols: slice) -> Samples:
        return read_beyond(self.plate, rows, cols)

    def _grown(self, rows: slice, cols: slice) -> Samples:
        growth_px = (self.edge_growth_mm or 0.0) * self.ppi * self.factor / MM_PER_INCH
        halo = growth_halo(growth_px)
        return grown(self._inked(widened(rows, halo), widened(cols, halo)), growth_px=growth_px)

    def _two_tone(self, rows: slice, cols: slice) -> Samples:
        return self._inked(rows, cols).view(np.uint8) * np.uint8(255)

    def _inked(self, rows: slice, cols: slice) -> NDArray[np.bool_]:
        return read_beyond(self.plate, rows, cols) > self.plate.header.full // 2

    def _deep(self, plane: NDArray[np.integer]) -> NDArray[np.integer]:
        """At the depth of the set: 255 becomes 65535."""
        if self.depth == 16 and plane.dtype == np.uint8:
            return plane.astype(np.uint16) * np.uint16(257)
        return plane


def fine_bands(rows: slice, cols: slice, *, factor: int) -> Iterator[slice]:
    """Bands of a rectangle of the set that stay within a window's size on a finer plate.

    On a plate as fine as the set it is left whole, as it is cut along the strips of the file.
    """
    if factor == 1:
        yield rows
        return
    width_px = (cols.stop - cols.start) * factor**2
    for band in bands(rows.stop - rows.start, width_px):
        yield slice(rows.start + band.start, rows.start + band.stop)


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
