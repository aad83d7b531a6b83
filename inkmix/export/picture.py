"""Pictures in sRGB, written band by band: PNG or TIFF, with profile and resolution.

No colour is computed here; 8-bit rows come in, a file goes out whole or not at all.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from inkmix.errors import Fault, OutputError
from inkmix.export import png_stream, tiff_stream
from inkmix.export.aside import refuse_foreign, replacing
from inkmix.export.png_stream import PngStream
from inkmix.export.srgb_profile import srgb_profile
from inkmix.export.tiff_stream import TiffStream
from inkmix.plates.raster import label

__all__ = ["PictureWriter", "picture_writer", "refuse_target", "srgb_profile", "write_picture"]

_PNG, _TIFF = (PngStream, png_stream.MARK), (TiffStream, tiff_stream.MARK)
_KINDS: dict[str, tuple[type[PngStream] | type[TiffStream], bytes]] = {
    ".png": _PNG,
    ".tif": _TIFF,
    ".tiff": _TIFF,
}


class PictureWriter:
    """Takes the rows of one picture from top to bottom."""

    def __init__(self, stream: PngStream | TiffStream, *, width_px: int, height_px: int) -> None:
        self._stream, self._width, self._left = stream, width_px, height_px

    def write_rows(self, srgb8: NDArray[np.uint8]) -> None:
        """Append rows, (rows, width, 3) uint8.

        Raises
        ------
        ValueError
            If they do not fit the picture.
        """
        rows = np.ascontiguousarray(srgb8)
        if rows.dtype != np.uint8 or rows.shape[1:] != (self._width, 3) or len(rows) > self._left:
            raise ValueError(f"{rows.shape} {rows.dtype} does not fit {self._left} more rows")
        if len(rows):
            self._stream.write_rows(rows)
        self._left -= len(rows)

    def finish(self) -> None:
        """Write what is left; all rows must be there."""
        if self._left:
            raise ValueError(f"{self._left} rows are missing")
        self._stream.finish()


@contextmanager
def picture_writer(
    path: Path | str, *, width_px: int, height_px: int, ppi: float
) -> Iterator[PictureWriter]:
    """A writer for a PNG or TIFF, by the ending of `path`; the file appears when all is written.

    Parameters
    ----------
    path : Path or str
        Ends in .png, .tif or .tiff. A missing folder is made.
    width_px, height_px : int
        Size.
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
        stream = stream_kind(
            file, width_px=width_px, height_px=height_px, ppi=ppi, profile=srgb_profile()
        )
        writer = PictureWriter(stream, width_px=width_px, height_px=height_px)
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
    with picture_writer(path, width_px=width, height_px=height, ppi=ppi) as writer:
        writer.write_rows(srgb8)
