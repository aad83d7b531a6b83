"""One copy of a plate file, TIFF or PNG, and the pages of it that get other numbers.

Here ink amounts become numbers of the file, and channels that do not change come from the source.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, BinaryIO

import numpy as np
from numpy.typing import NDArray

from inkmix.export.plates.png_copy import PngCopy
from inkmix.export.plates.tiff_copy import TiffCopy, TiffPageCopy
from inkmix.export.plates.tiff_page import Mask, PackedBlock, PageSegments, Piece
from inkmix.export.png_stream import PngBand, PngPart
from inkmix.export.shape import PictureShape
from inkmix.plates.files.png.reader import PngRaster
from inkmix.plates.files.raster import Samples
from inkmix.plates.files.source import source_of
from inkmix.plates.files.tiff.reader import TiffRaster
from inkmix.plates.plate import FilePlate

PackedPage = PackedBlock | PngBand | PngPart


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangedNumbers:
    """The numbers of a page, channel by channel: those of plates as they become, others as read."""

    plates: tuple[FilePlate, ...]
    channels: int

    def block(self, before: Samples, after: Samples, *, row: int, col: int) -> "_Block":
        """A block of it; before and after are (plates, rows, cols)."""
        rows, cols = slice(row, row + before.shape[1]), slice(col, col + before.shape[2])
        made: dict[int, Samples] = {}
        changed: dict[int, Mask] = {}
        for plate, old, new in zip(self.plates, before, after, strict=True):
            channels = range(plate.header.channel, plate.header.channel + plate.alike)
            numbers = plate.numbers(new, before=old, rows=rows, cols=cols)
            made |= dict.fromkeys(channels, numbers)
            changed |= dict.fromkeys(channels, old != new)
        return _Block(page=self, made=made, changed=changed, rows=rows, cols=cols)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Block:
    """Numbers of a rectangle: those that are made, by channel, and where they are not as before."""

    page: ChangedNumbers
    made: dict[int, Samples]
    changed: dict[int, Mask]
    rows: slice
    cols: slice

    def channel(self, index: int) -> Samples:
        """One channel, (rows, cols)."""
        if index in self.made:
            return self.made[index]
        return self.page.plates[0].raster.read(self.rows, self.cols, index)

    def all(self) -> NDArray[Any]:
        """All channels, (rows, cols, channels)."""
        planes = [self.channel(index) for index in range(self.page.channels)]
        return planes[0][..., np.newaxis] if len(planes) == 1 else np.stack(planes, axis=-1)


class TiffPageWriter:
    """A page of a TIFF; planes that lie apart and do not change are left to the copy."""

    def __init__(
        self, numbers: ChangedNumbers, segments: PageSegments, target: TiffPageCopy
    ) -> None:
        self._numbers, self._segments, self._target = numbers, segments, target

    def pack(self, before: Samples, after: Samples, *, row: int, col: int) -> PackedBlock:
        """A block, (plates, rows, cols) each; any thread may ask."""
        block = self._numbers.block(before, after, row=row, col=col)
        whole: dict[int, bytes] = {}
        pieces: list[Piece] = []
        for plane, numbers, changed in self._planes(block):
            packed, parts = self._segments.pack(plane, numbers, changed=changed, row=row, col=col)
            whole |= packed
            pieces += parts
        return PackedBlock(whole=whole, pieces=tuple(pieces))

    def append(self, packed: Any) -> None:
        """Write the next block."""
        self._target.append(packed)

    def _planes(self, block: _Block) -> Iterator[tuple[int, NDArray[Any], Mask | None]]:
        """Planes that have to be packed, (rows, cols, channels) each, and where they change."""
        is_cut_anew = self._segments.is_cut_anew
        if not self._segments.layout.planar:
            anywhere: Mask = np.logical_or.reduce(list(block.changed.values()))
            yield 0, block.all(), None if is_cut_anew else anywhere
            return
        for plane in range(self._numbers.channels) if is_cut_anew else sorted(block.made):
            changed = None if is_cut_anew else block.changed[plane]
            yield plane, block.channel(plane)[..., np.newaxis], changed


class PngWriter:
    """The picture of a PNG."""

    def __init__(self, numbers: ChangedNumbers, target: PngCopy) -> None:
        self._numbers, self._target = numbers, target

    def pack(self, before: Samples, after: Samples, *, row: int, col: int) -> PngBand | PngPart:
        """A block, (plates, rows, cols) each; any thread may ask."""
        block = self._numbers.block(before, after, row=row, col=col)
        return self._target.pack(block.all(), col=col)

    def append(self, packed: Any) -> None:
        """Write the next block."""
        self._target.append(packed)


PageWriter = TiffPageWriter | PngWriter


class FileCopy:
    """One file that is written; pages are asked for before the first block."""

    def __init__(self, file: BinaryIO, source: Path) -> None:
        self._file, self._source = file, source_of(source)
        self._copy: TiffCopy | PngCopy | None = None

    def page(self, plates: Sequence[FilePlate], shape: PictureShape) -> PageWriter:
        """The writer of the plates of one page."""
        raster = plates[0].raster
        if isinstance(raster, TiffRaster):
            return self._tiff_page(raster, tuple(plates), shape)
        assert isinstance(raster, PngRaster)
        self._copy = PngCopy(self._file, self._source, width_px=shape.width_px)
        numbers = ChangedNumbers(plates=tuple(plates), channels=raster.format.channels)
        return PngWriter(numbers, self._copy)

    @property
    def notes(self) -> list[str]:
        """What is not as it was."""
        return self._copy.notes if self._copy else []

    def finish(self) -> None:
        """Write what is left."""
        if self._copy:
            self._copy.finish()

    def _tiff_page(
        self, raster: TiffRaster, plates: tuple[FilePlate, ...], shape: PictureShape
    ) -> TiffPageWriter:
        if not isinstance(self._copy, TiffCopy):
            self._copy = TiffCopy(self._file, self._source)
        segments = PageSegments(raster.layout, shape)
        target = self._copy.page(plates[0].header.page, source=raster.layout, segments=segments)
        numbers = ChangedNumbers(plates=plates, channels=raster.layout.samples)
        return TiffPageWriter(numbers, segments, target)
