"""What a reader of one file format gives: facts, and rectangles of the numbers in the file.

Nothing here knows inks; the turn from numbers to ink amount is made in plate.py.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from io import BufferedReader
from pathlib import Path
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from inkmix.base.errors import Fault, PassingFault, PlateError
from inkmix.base.inputs import opened_input
from inkmix.plates.files.limits import MAX_WINDOW_PX

Samples = NDArray[np.uint8] | NDArray[np.uint16]
"""Numbers of a file, or ink amount: uint8, or uint16 where the file has 16 bits."""


_SHORT = 3
"""Parts of an absolute path that is told whole: its root, a folder and a name."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RasterFacts:
    """What the header of a file says.

    Parameters
    ----------
    path : Path
        The file.
    format : str
        "TIFF" or "PNG".
    width_px, height_px, samples, bits : int
        Size, channels, and bits of each channel (1, 8 or 16).
    kind : str
        "grey", "rgb", "separated" or "channels" (several without a meaning).
    zero_is : str
        What the number 0 means: "black" (dark is low), "white" (dark is high) or "no ink".
    alpha : int or None
        Index of the channel that hides parts of the picture.
    names : tuple of str
        Ink names in the file, by channel; empty if it holds none.
    dot_range : (int, int) or None
        Numbers that stand for 0 % and 100 %, where the file says so and they are not the usual.
    ppi : float or None
        Pixels per inch; None where the file does not say.
    profile : str or None
        Name and digest of an embedded colour profile.
    rows_per_segment : int
        Rows of a strip or tile.
    cols_per_segment : int or None
        Columns of a tile; None for strips.
    notes : tuple of str
        What was accepted and has to be said.
    """

    path: Path
    format: str
    width_px: int
    height_px: int
    samples: int
    bits: int
    kind: str
    zero_is: str
    alpha: int | None = None
    names: tuple[str, ...] = ()
    dot_range: tuple[int, int] | None = None
    ppi: float | None = None
    profile: str | None = None
    rows_per_segment: int = 1
    cols_per_segment: int | None = None
    notes: tuple[str, ...] = ()

    @property
    def top(self) -> int:
        """Largest number of a channel: 1, 255 or 65535."""
        return int(2**self.bits - 1)


class Raster(Protocol):
    """An opened file."""

    @property
    def facts(self) -> RasterFacts:
        """What the header says."""

    def read(self, rows: slice, cols: slice, sample: int) -> Samples:
        """Numbers in the file, (rows, cols); 1-bit data as 0 and 1."""


@dataclass(frozen=True, slots=True, kw_only=True)
class KindFault(Fault):
    """A whole file of a kind that no plate is; another reader may know it."""


def label(path: Path) -> str:
    """The name of a file as messages give it: relative, or its folder and name.

    >>> label(Path("plates/Soot.tif")), label(Path("/books/strip/Soot.tif"))
    ('plates/Soot.tif', 'strip/Soot.tif')
    """
    is_whole = not path.is_absolute() or len(path.parts) <= _SHORT
    return path.as_posix() if is_whole else "/".join(path.parts[-2:])


def refusal(path: Path, found: str, expected: str = "", do: str = "") -> PlateError:
    """The error for one file with one fault."""
    return PlateError(Fault(where=label(path), found=found, expected=expected, do=do))


def out_of_reach(path: Path, error: OSError) -> PlateError:
    """The error for a file that could be read a moment ago, and may be again."""
    found = f"cannot be read any more ({error.strerror or error})"
    do = "leave the files where they are until all is done"
    return PlateError(PassingFault(where=label(path), found=found, do=do))


@contextmanager
def opened_file(path: Path) -> Iterator[BufferedReader]:
    """A file to read from; that it is gone or out of reach by now is a fault of the plate."""
    try:
        with opened_input(path) as file:
            yield file
    except OSError as error:
        raise out_of_reach(path, error) from error


def bands(height_px: int, width_px: int, *, rows_multiple: int = 1) -> Iterator[slice]:
    """Bands of rows over the full width, none above the window limit where rows allow it."""
    rows = max(1, MAX_WINDOW_PX // max(width_px, 1))
    if rows > rows_multiple:
        rows -= rows % rows_multiple
    for start in range(0, height_px, rows):
        yield slice(start, min(start + rows, height_px))
