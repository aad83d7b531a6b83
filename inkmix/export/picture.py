"""Pictures in sRGB, written band by band: PNG or TIFF, with profile and resolution.

No colour is computed here; blocks of 8-bit pixels come in, a file goes out whole or not at all.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from inkmix.base.errors import Fault, OutputError
from inkmix.export import png_stream, tiff_stream
from inkmix.export.aside import refuse_foreign, replacing
from inkmix.export.png_stream import PngStream
from inkmix.export.shape import PictureShape
from inkmix.export.srgb_profile import srgb_profile
from inkmix.export.tiff_stream import TiffStream
from inkmix.plates.files.raster import label

__all__ = [
    "PictureShape",
    "PictureWriter",
    "picture_writer",
    "refuse_target",
    "srgb_profile",
    "write_picture",
]

_BAND_ROWS = 64
_PNG, _TIFF = (PngStream, png_stream.MARK), (TiffStream, tiff_stream.MARK)
_KINDS: dict[str, tuple[type[PngStream] | type[TiffStream], bytes]] = {
    ".png": _PNG,
    ".tif": _TIFF,
    ".tiff": _TIFF,
}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PackedBlock:
    """A block of a picture, ready to be written."""

    pixels: int
    packed: Any


class PictureWriter:
    """Takes the blocks of one picture in raster order: a band from left to right, then the next."""

    def __init__(self, stream: PngStream | TiffStream, shape: PictureShape) -> None:
        self._stream, self._shape = stream, shape
        self._left = shape.width_px * shape.height_px

    def pack(self, srgb8: NDArray[np.uint8], *, row: int, col: int = 0) -> PackedBlock:
        """A block (rows, cols, 3) uint8 whose first pixel is given; any thread may ask.

        Raises
        ------
        ValueError
            If it is no block of the picture.
        """
        self._refuse_misfit(srgb8, row, col)
        packed = self._stream.pack(srgb8, row=row, col=col)
        return PackedBlock(pixels=srgb8.shape[0] * srgb8.shape[1], packed=packed)

    def _refuse_misfit(self, srgb8: NDArray[np.uint8], row: int, col: int) -> None:
        shape = self._shape
        rows = min(shape.block_rows, shape.height_px - row)
        cols = min(shape.block_cols, shape.width_px - col)
        starts = row % shape.block_rows == 0 and col % shape.block_cols == 0
        if srgb8.dtype != np.uint8 or srgb8.shape != (rows, cols, 3) or not starts:
            raise ValueError(f"{srgb8.shape} {srgb8.dtype} at {row}, {col} is no block of {shape}")

    def append(self, block: PackedBlock) -> None:
        """Write the next block."""
        self._stream.append(block.packed)
        self._left -= block.pixels

    def finish(self) -> None:
        """Write what is left; all blocks must be there."""
        if self._left:
            raise ValueError(f"{self._left} pixels are missing")
        self._stream.finish()


@contextmanager
def picture_writer(path: Path | str, shape: PictureShape, *, ppi: float) -> Iterator[PictureWriter]:
    """A writer for a PNG or TIFF, by the ending of `path`; the file appears when all is written.

    Parameters
    ----------
    path : Path or str
        Ends in .png, .tif or .tiff. A missing folder is made.
    shape : PictureShape
        Size, and the size of the blocks in which it comes.
    ppi : float
        Resolution.

    Raises
    ------
    OutputError
        If the ending is unknown, folder or file cannot be written, or a file that inkmix did not
        write is there.
    """
    path = Path(path)
    stream_kind, mark = _kind(path)
    with replacing(path, mark=mark) as file:
        writer = PictureWriter(
            stream_kind(file, shape=shape, ppi=ppi, profile=srgb_profile()), shape
        )
        yield writer
        writer.finish()


def refuse_target(path: Path) -> None:
    """What can be said against writing a picture here before there is one.

    Raises
    ------
    OutputError
        If the ending is unknown, or a file that inkmix did not write is there.
    """
    refuse_foreign(path, mark=_kind(path)[1])


def _kind(path: Path) -> tuple[type[PngStream] | type[TiffStream], bytes]:
    """The stream for the ending of a name, and the mark in what it writes."""
    kind = _KINDS.get(path.suffix.lower())
    if kind is None:
        found, expected = f"ends in {path.suffix or 'nothing'}", "a picture ends in .png or .tif"
        raise OutputError(Fault(where=label(path), found=found, expected=expected))
    return kind


def write_picture(path: Path | str, srgb8: NDArray[np.uint8], *, ppi: float) -> None:
    """Write a whole picture, (rows, cols, 3) uint8."""
    height, width = srgb8.shape[:2]
    shape = PictureShape(width_px=width, height_px=height, block_rows=_BAND_ROWS, block_cols=width)
    with picture_writer(path, shape, ppi=ppi) as writer:
        for row in range(0, height, _BAND_ROWS):
            writer.append(writer.pack(srgb8[row : row + _BAND_ROWS], row=row))
