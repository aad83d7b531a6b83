"""Reading the reference picture of a whole sheet: what the artist saw, as sRGB, by windows.

It is only compared with, so it may be of any size; its proportions must be those of the sheet.
Where its rows come from stands in rows.py, how they become sRGB in colour.py.
"""

import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from inkmix.base.errors import Fault, PictureError, PlateError
from inkmix.base.words import size_of
from inkmix.colour.whites import told_white
from inkmix.plates.files.png.colour import UnknownCodingError, colour_chunks
from inkmix.plates.files.raster import KindFault, label
from inkmix.plates.files.scratch.room import TEMPORARY, ScratchRoom
from inkmix.plates.files.snapshots import snapshot_of
from inkmix.plates.files.sniff import sniff
from inkmix.plates.plate import open_raster
from inkmix.plates.reference.colour import CALLED, MODES, ToSrgb, to_srgb
from inkmix.plates.reference.rows import (
    Pieces,
    held_pieces,
    is_plain,
    opened_header,
    orientation_of,
    row_pieces,
)
from inkmix.sheet.geometry import Sheet

_PROPORTION = 0.01
_FIRST_ON_ITS_SIDE = 5  # orientation tags from here on turn by 90 degrees
_DESCRIPTION = 270  # tag of TIFF 6.0
_PIECE_PX = 2**18  # converted at once; the library takes several copies of it


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Reference:
    """A reference picture.

    Parameters
    ----------
    path : Path
        Its file.
    covers : str
        "sheet" (with bleed) or "trim": what its edges are.
    notes : tuple of str
        What is done to it and has to be said.
    pieces : Pieces
        Its rows.
    colour : ToSrgb
        Their way to sRGB.
    white : str or None
        What its white stands for, "paper" or "absolute", where the picture says so itself.
    """

    path: Path
    covers: str
    notes: tuple[str, ...]
    pieces: Pieces
    colour: ToSrgb
    white: str | None = None

    @property
    def width_px(self) -> int:
        """Width, upright."""
        return self.pieces.size[0]

    @property
    def height_px(self) -> int:
        """Height, upright."""
        return self.pieces.size[1]

    def read(self, rows: slice, cols: slice) -> NDArray[np.uint8]:
        """A window of it in 8-bit sRGB, (rows, cols, 3); any number of threads may ask.

        Raises
        ------
        PictureError
            If the file turns out to be damaged, or there is no room for what it needs.
        """
        srgb8 = np.empty((rows.stop - rows.start, cols.stop - cols.start, 3), np.uint8)
        step = max(1, _PIECE_PX // max(1, srgb8.shape[1]))
        try:
            for start in range(0, len(srgb8), step):
                stop = min(start + step, len(srgb8))
                piece = self.pieces.piece(slice(rows.start + start, rows.start + stop), cols)
                srgb8[start:stop] = self.colour.of(piece)
        except PlateError as error:
            raise PictureError(error.faults) from error
        except Exception as error:  # decoders raise whatever they like on damaged data
            raise _unreadable(self.path) from error
        return srgb8


def open_reference(
    path: Path | str,
    sheet: Sheet | None,
    *,
    room: ScratchRoom = TEMPORARY,
    called: str = CALLED,
) -> Reference:
    """The reference picture of a sheet; `room` is for what cannot be read by rows.

    `called` is what its notes call it, where it is another picture.

    Without a sheet any proportions will do; it is asked for its colours then, so a profile that
    cannot be used is a reason to refuse it, not to take it as sRGB.

    Raises
    ------
    PictureError
        If it cannot be read, its colour is unknown, or its proportions are not the sheet's.
    """
    path = Path(path)
    try:
        with snapshot_of([path]).held():
            opened = _opened_whole(path, sheet, room)
    except PlateError as error:  # it was changed meanwhile
        raise PictureError(error.faults) from error
    return replace(opened, notes=tuple(note.replace(CALLED, called) for note in opened.notes))


def _opened_whole(path: Path, sheet: Sheet | None, room: ScratchRoom) -> Reference:
    try:
        with _quiet(), opened_header(path) or _no_picture(path) as picture:
            return _opened(path, picture, sheet, room)
    except PictureError:
        raise
    except FileNotFoundError as error:
        raise _refusal(path, "does not exist", "", "check the name and the folder") from error
    except Exception as error:  # decoders raise whatever they like on damaged data
        raise _what_is_wrong(path) from error


@contextmanager
def _quiet() -> Iterator[None]:
    """Without warnings of the picture library, which end on the terminal."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        yield


def _opened(path: Path, picture: Image.Image, sheet: Sheet | None, room: ScratchRoom) -> Reference:
    if picture.mode not in MODES:
        expected, do = "8-bit RGB is needed", "export it as sRGB PNG"
        raise _refusal(path, f"holds pixels of kind {picture.mode}", expected, do)
    orientation = orientation_of(path, picture)
    size = picture.size if orientation < _FIRST_ON_ITS_SIDE else picture.size[::-1]
    covers = "sheet" if sheet is None else _covers(path, size, sheet)
    chunks = colour_chunks(path) if picture.format == "PNG" else None
    try:
        colour = to_srgb(picture.mode, picture.info, chunks)
        if sheet is None and colour.trouble:  # what is asked for are the colours themselves
            raise UnknownCodingError(colour.trouble)
    except UnknownCodingError as error:
        expected, do = "its colours cannot be known from that", "export it as sRGB PNG"
        raise _refusal(path, str(error), expected, do) from None
    turn_notes = () if size == picture.size else ("turned as its orientation tag says",)
    pieces, size_notes = _pieces(path, picture, orientation, room)
    return Reference(
        path=path,
        covers=covers,
        notes=(*turn_notes, *size_notes, *colour.notes),
        pieces=pieces,
        colour=colour,
        white=told_white(_description(picture)),
    )


def _description(picture: Image.Image) -> object:
    """What a PNG or TIFF says of itself, before its pixels are read."""
    tags: Any = getattr(picture, "tag_v2", {})
    return tags.get(_DESCRIPTION) or picture.info.get("Description", "")


def _pieces(
    path: Path, picture: Image.Image, orientation: int, room: ScratchRoom
) -> tuple[Pieces, tuple[str, ...]]:
    """Its rows, or all of it where it has to be held; and what has to be said of that."""
    faults: tuple[Fault, ...] = ()
    try:
        rows = row_pieces(path, picture, room=room)
    except PlateError as error:
        if not all(isinstance(fault, KindFault) for fault in error.faults):
            raise PictureError(error.faults) from error
        rows = None
        faults = error.faults if orientation == 1 and is_plain(picture) else ()
    if rows is not None and orientation == 1:
        return rows, ()
    return held_pieces(path, picture, orientation=orientation, faults=faults)


def _covers(path: Path, size: tuple[int, int], sheet: Sheet) -> str:
    """Which rectangle has the picture's proportions, within 1 %; the nearer one."""
    ratio = size[0] / size[1]
    candidates = {
        "sheet": sheet.width_px / sheet.height_px,
        "trim": sheet.trim_width_mm / sheet.trim_height_mm,
    }
    covers = min(candidates, key=lambda name: abs(ratio / candidates[name] - 1))
    if abs(ratio / candidates[covers] - 1) <= _PROPORTION:
        return covers
    raise _refusal(
        path,
        f"is {size_of(size[0], size[1], 'px')}, width to height {ratio:.3f}",
        f"the sheet has {candidates['sheet']:.3f} with bleed and {candidates['trim']:.3f} trimmed",
        "export the whole sheet, neither cropped nor stretched",
    )


def _no_picture(path: Path) -> Image.Image:
    raise _unreadable(path)


def _what_is_wrong(path: Path) -> PictureError:
    """What the readers of plates have against a file that the library cannot open."""
    try:
        sniff(path)
    except PlateError:
        return _unreadable(path)
    try:
        open_raster(path)
    except PlateError as error:
        if not any(isinstance(fault, KindFault) for fault in error.faults):
            return PictureError(error.faults)
    return _unreadable(path)


def _unreadable(path: Path) -> PictureError:
    expected, do = "a whole PNG, TIFF or JPEG picture is needed", "export it again"
    return _refusal(path, "cannot be read as a picture", expected, do)


def _refusal(path: Path, found: str, expected: str = "", do: str = "") -> PictureError:
    return PictureError(Fault(where=label(path), found=found, expected=expected, do=do))
