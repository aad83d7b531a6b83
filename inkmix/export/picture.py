"""Pictures in sRGB or grey, written band by band: PNG or TIFF, with profile and resolution.

No colour is computed here; blocks of pixels come in, a file goes out whole or not at all.
"""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from typing import Any, BinaryIO

import numpy as np
from numpy.typing import NDArray

from inkmix.base.errors import Fault, OutputError
from inkmix.base.output_files import Output, opened_together, refuse_outputs, write_together
from inkmix.export import png_stream, tiff_stream
from inkmix.export.png_stream import PngStream
from inkmix.export.shape import PictureShape
from inkmix.export.srgb_profile import srgb_profile
from inkmix.export.tiff_stream import TiffStream

__all__ = [
    "PictureShape",
    "PictureWriter",
    "grey_writer",
    "picture_file",
    "picture_writer",
    "picture_writers",
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

    def pack(self, pixels: NDArray[Any], *, row: int, col: int = 0) -> PackedBlock:
        """A block (rows, cols, channels) whose first pixel is given; any thread may ask.

        Raises
        ------
        ValueError
            If it is no block of the picture.
        """
        shape, size = self._shape, self._shape.block_at(row, col)
        if size is None or pixels.shape != (*size, shape.channels) or pixels.dtype != shape.dtype:
            raise ValueError(
                f"{pixels.shape} {pixels.dtype} at {row}, {col} is no block of {shape}"
            )
        packed = self._stream.pack(pixels, row=row, col=col)
        return PackedBlock(pixels=size[0] * size[1], packed=packed)

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
def picture_writers(
    paths: Sequence[Path],
    shape: PictureShape,
    *,
    ppi: float,
    descriptions: Sequence[str] | None = None,
) -> Iterator[tuple[PictureWriter, ...]]:
    """Writers for PNG or TIFF, by the ending of each path; the files appear when all are written.

    Parameters
    ----------
    paths : sequence of Path
        End in .png, .tif or .tiff. Missing folders are made.
    shape : PictureShape
        Size, and the size of the blocks in which they come.
    ppi : float
        Resolution.
    descriptions : sequence of str or None
        ASCII; what each file says of itself.

    Raises
    ------
    OutputError
        If an ending is unknown, a folder or file cannot be written, or a file that inkmix did not
        write is there.
    """
    with opened_together([_output(path) for path in paths]) as files:
        writers = tuple(
            _writer(file, path.suffix, shape, ppi=ppi, description=description)
            for file, path, description in zip(
                files, paths, descriptions or [""] * len(paths), strict=True
            )
        )
        yield writers
        for writer in writers:
            writer.finish()


@contextmanager
def picture_writer(path: Path, shape: PictureShape, *, ppi: float) -> Iterator[PictureWriter]:
    """The same for one picture."""
    with picture_writers([path], shape, ppi=ppi) as (writer,):
        yield writer


def refuse_target(path: Path) -> None:
    """What can be said against writing a picture here before there is one.

    Raises
    ------
    OutputError
        If the ending is unknown, or the file cannot be written or is not of inkmix.
    """
    refuse_outputs([_output(path)])


def picture_file(path: Path, srgb8: NDArray[np.uint8], *, ppi: float) -> tuple[Output, bytes]:
    """A whole picture, (rows, cols, 3) uint8, as a file to be written.

    Raises
    ------
    OutputError
        If the ending is unknown.
    """
    output, data = _output(path), BytesIO()
    height, width = srgb8.shape[:2]
    shape = PictureShape(width_px=width, height_px=height, block_rows=_BAND_ROWS, block_cols=width)
    writer = _writer(data, path.suffix, shape, ppi=ppi)
    for row in range(0, height, _BAND_ROWS):
        writer.append(writer.pack(srgb8[row : row + _BAND_ROWS], row=row))
    writer.finish()
    return output, data.getvalue()


def write_picture(path: Path, srgb8: NDArray[np.uint8], *, ppi: float) -> None:
    """Write a whole picture, (rows, cols, 3) uint8; errors as of `picture_writers`."""
    write_together(dict([picture_file(path, srgb8, ppi=ppi)]))


def _output(path: Path) -> Output:
    """The file, with the mark that stands in pictures of its ending."""
    kind = _KINDS.get(path.suffix.lower())
    if kind is None:
        found, expected = f"ends in {path.suffix or 'nothing'}", "a picture ends in .png or .tif"
        raise OutputError(Fault(where=str(path), found=found, expected=expected))
    return Output(path=path, mark=kind[1])


def grey_writer(file: BinaryIO, shape: PictureShape, *, is_png: bool, ppi: float) -> PictureWriter:
    """A writer of a grey picture without profile, 0 is black, to an open file."""
    kind = PngStream if is_png else TiffStream
    return PictureWriter(kind(file, shape=shape, ppi=ppi), shape)


def _writer(
    file: BinaryIO, ending: str, shape: PictureShape, *, ppi: float, description: str = ""
) -> PictureWriter:
    stream = _KINDS[ending.lower()][0](
        file, shape=shape, ppi=ppi, profile=srgb_profile(), description=description
    )
    return PictureWriter(stream, shape)
