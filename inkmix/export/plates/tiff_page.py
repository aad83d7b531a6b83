"""The strips or tiles of one page that gets other numbers, packed block by block.

They are cut as in the source; strips of the whole height and tiles too large to hold are cut anew.
What a block holds whole is packed where the block is, in any thread; what several blocks share is
put together first. Nothing is written here.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from inkmix.export.plates.packing import packed_segment
from inkmix.export.shape import PictureShape
from inkmix.plates.files.limits import MAX_SEGMENT_PX
from inkmix.plates.files.tiff.layout import Layout

_STRIP_BYTES = 2**20
"""Most bytes of a new strip before packing, where it has more than one row."""
_TILE_PX = 512
"""Side of a new tile."""
Samples = NDArray[Any]
Mask = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Piece:
    """A part of a strip or tile; `top` and `left` are in it."""

    index: int
    top: int
    left: int
    numbers: Samples


@dataclass(frozen=True, slots=True, kw_only=True)
class PackedBlock:
    """What a block brings: whole strips or tiles by number, and parts of others."""

    whole: dict[int, bytes]
    pieces: tuple[Piece, ...]


@dataclass(slots=True, kw_only=True)
class _Growing:
    """A strip or tile of which some parts are there."""

    numbers: Samples
    missing: int


class PageSegments:
    """Packs the numbers of a page.

    Parameters
    ----------
    source : Layout
        How the page lies in its file.
    shape : PictureShape
        Size of the page, and the blocks in which it comes.
    """

    def __init__(self, source: Layout, shape: PictureShape) -> None:
        self.layout = _copied_layout(source, shape)
        self.is_cut_anew = self.layout.segment_rows != source.segment_rows or (
            self.layout.segment_cols != source.segment_cols
        )
        self._growing: dict[int, _Growing] = {}

    def pack(
        self, plane: int, numbers: Samples, *, changed: Mask | None, row: int, col: int
    ) -> tuple[dict[int, bytes], list[Piece]]:
        """A block of a plane, (rows, cols, channels), packed as far as it goes; any thread.

        Strips and tiles in which no pixel is `changed`, (rows, cols), are not packed: they stay as
        they lie in the file. None: all are packed.
        """
        whole: dict[int, bytes] = {}
        pieces: list[Piece] = []
        for piece, inside in self._pieces(plane, numbers, row=row, col=col):
            if piece.numbers[..., 0].size < self._inside(piece.index):
                pieces.append(replace(piece, numbers=piece.numbers.copy()))
            elif changed is None or changed[inside].any():
                whole[piece.index] = packed_segment(self._filled(piece), self.layout)
        return whole, pieces

    def joined(self, pieces: Iterable[Piece]) -> Iterator[tuple[int, bytes]]:
        """Number and bytes of each strip or tile that is whole with these pieces."""
        for piece in pieces:
            growing = self._growing.get(piece.index)
            if growing is None:
                numbers = np.zeros(self.layout.segment_shape(piece.index), self.layout.dtype)
                growing = _Growing(numbers=numbers, missing=self._inside(piece.index))
                self._growing[piece.index] = growing
            rows, cols, _ = piece.numbers.shape
            growing.numbers[piece.top :, piece.left :][:rows, :cols] = piece.numbers
            growing.missing -= rows * cols
            if not growing.missing:
                del self._growing[piece.index]
                yield piece.index, packed_segment(growing.numbers, self.layout)

    def _pieces(
        self, plane: int, numbers: Samples, *, row: int, col: int
    ) -> Iterator[tuple[Piece, tuple[slice, slice]]]:
        """Parts of strips or tiles in a block, and where in the block they are."""
        layout, (height, width, _) = self.layout, numbers.shape
        rows, cols = slice(row, row + height), slice(col, col + width)
        for index, top, left in layout.touched(rows, cols, plane):
            down = slice(max(top - row, 0), min(top + layout.segment_rows - row, height))
            right = slice(max(left - col, 0), min(left + layout.segment_cols - col, width))
            place = {"top": max(row - top, 0), "left": max(col - left, 0)}
            yield Piece(index=index, numbers=numbers[down, right], **place), (down, right)

    def _inside(self, index: int) -> int:
        """Pixels of a strip or tile that lie in the picture."""
        top, stop = self.layout.rows_of(index)
        left = index % self.layout.across * self.layout.segment_cols
        return (stop - top) * min(self.layout.segment_cols, self.layout.width_px - left)

    def _filled(self, piece: Piece) -> Samples:
        """The numbers, filled up with zeros where a tile leaves the picture."""
        shape = self.layout.segment_shape(piece.index)
        if piece.numbers.shape == shape:
            return piece.numbers
        numbers = np.zeros(shape, self.layout.dtype)
        rows, cols, _ = piece.numbers.shape
        numbers[:rows, :cols] = piece.numbers
        return numbers


def _copied_layout(source: Layout, shape: PictureShape) -> Layout:
    """How the copy is cut: as the source where that can be held."""
    if source.segment_px <= MAX_SEGMENT_PX:
        return source
    if source.tiled:
        return replace(source, segment_rows=_TILE_PX, segment_cols=_TILE_PX)
    most = min(max(1, _STRIP_BYTES // source.row_bytes), shape.block_rows)
    rows = next(part for part in range(most, 0, -1) if shape.block_rows % part == 0)
    return replace(source, segment_rows=rows)
