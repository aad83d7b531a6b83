"""Rows of a reference picture as the picture library would hold them, in bounded memory.

PNG and TIFF of plain kinds come by rows through the readers of plates. What these do not read
(palettes, JPEG, pictures marked as turned) is held whole, up to MAX_HELD_BYTES; a larger JPEG is
decoded at a half, a quarter or an eighth of its size, by leaving out its fine waves: that is the
mean of the encoded numbers of 2 x 2, 4 x 4 or 8 x 8 pixels within a step or two, except at edges.
"""

import logging
import warnings
from collections.abc import Callable
from contextlib import nullcontext
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageOps
from PIL.JpegImagePlugin import JpegImageFile
from PIL.PngImagePlugin import PngImageFile
from PIL.TiffImagePlugin import TiffImageFile

from inkmix.base.errors import Fault, PictureError
from inkmix.base.inputs import opened_input
from inkmix.base.streams import nothing_on_stderr
from inkmix.base.words import size_of
from inkmix.plates.files.raster import Raster, label
from inkmix.plates.files.scratch.room import ScratchRoom
from inkmix.plates.files.sniff import PNG_SIGNATURE, format_of
from inkmix.plates.files.tiff.tags import EXTRA_SAMPLES, ORIENTATION, PHOTOMETRIC
from inkmix.plates.plate import open_raster

# The library warns of odd tags and logs them; what matters here becomes a fault or a note.
warnings.filterwarnings("ignore", category=UserWarning, module=r"PIL\.TiffImagePlugin")
logging.getLogger("PIL").addHandler(logging.NullHandler())

MAX_HELD_BYTES = 2**27
"""Of a picture held whole: 33 million pixels in colour, 134 million of a palette or in grey."""

_BYTES = {"1": 1, "L": 1, "P": 1, "I;16": 2}  # a pixel in memory; 4 in any other mode
_WAVE_BYTES = 6  # a pixel of a progressive JPEG, all of whose waves are held
_SCALES = {1: "", 2: "half", 4: "a quarter", 8: "an eighth"}
_OPENED: dict[str, Callable[[Path], Image.Image]] = {
    "PNG": PngImageFile,
    "TIFF": TiffImageFile,
    "JPEG": JpegImageFile,
}
_COLOURS = {"1": 1, "L": 1, "I;16": 1, "LA": 1, "RGB": 3, "RGBA": 3, "CMYK": 4}


class Pieces(Protocol):
    """A picture that gives its rows."""

    @property
    def size(self) -> tuple[int, int]:
        """Width and height, upright."""

    def piece(self, rows: slice, cols: slice) -> Image.Image:
        """A window of it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldPieces:
    """A picture that is decoded."""

    picture: Image.Image

    @property
    def size(self) -> tuple[int, int]:
        """Width and height."""
        return self.picture.size

    def piece(self, rows: slice, cols: slice) -> Image.Image:
        """A window of it."""
        return self.picture.crop((cols.start, rows.start, cols.stop, rows.stop))


@dataclass(frozen=True, slots=True, kw_only=True)
class RowPieces:
    """A picture in a file that is read by rows."""

    raster: Raster
    mode: str
    samples: tuple[int, ...]

    @property
    def size(self) -> tuple[int, int]:
        """Width and height."""
        return self.raster.facts.width_px, self.raster.facts.height_px

    def piece(self, rows: slice, cols: slice) -> Image.Image:
        """A window of it."""
        planes = [self._plane(rows, cols, sample) for sample in self.samples]
        pixels = planes[0] if len(planes) == 1 else np.stack(planes, axis=-1)
        size = (cols.stop - cols.start, rows.stop - rows.start)
        piece = Image.frombytes(self.mode, size, pixels.tobytes())
        return piece.convert("RGBA") if self.mode == "RGBa" else piece

    def _plane(self, rows: slice, cols: slice, sample: int) -> NDArray[np.generic]:
        facts = self.raster.facts
        numbers = self.raster.read(rows, cols, sample)
        if facts.zero_is == "white" and sample != facts.alpha:
            numbers = facts.top - numbers
        if self.mode == "I;16":
            return numbers.astype("<u2")
        return (numbers >> 8 if facts.bits == 16 else numbers * (255 // facts.top)).astype(np.uint8)


def opened_header(path: Path) -> Image.Image | None:
    """The picture with its header read and nothing decoded; None if it is no PNG, TIFF or JPEG."""
    opened = _OPENED.get(format_of(path) or "")
    return None if opened is None else opened(path)


def orientation_of(path: Path, picture: Image.Image) -> int:
    """Its orientation tag, 1-8; 1 where it stands upright."""
    if isinstance(picture, PngImageFile) and "exif" not in picture.info:
        picture.info.update(_late_exif(path))
    # The PNG class would decode the picture to look for a tag behind it.
    code = int(Image.Image.getexif(picture).get(ORIENTATION, 1))  # Exif has TIFF's
    return code if 1 <= code <= 8 else 1


def row_pieces(path: Path, picture: Image.Image, *, room: ScratchRoom) -> RowPieces | None:
    """The picture by rows; None where the readers of plates do not know its kind.

    Raises
    ------
    PlateError
        If they cannot read it: all faults are KindFaults where the file may be whole.
    """
    mode = picture.mode
    if isinstance(picture, JpegImageFile):
        return None
    raster = open_raster(path, room=room)
    if not is_plain(picture):
        return None
    facts = raster.facts
    samples = list(range(_COLOURS[mode]))
    if mode in ("RGBA", "LA") or (mode != "I;16" and "transparency" in picture.info):
        samples.append(facts.samples if facts.alpha is None else facts.alpha)
        mode = "LA" if len(samples) == 2 else "RGBA"
    if max(samples) >= facts.samples or (mode == "I;16" and facts.bits != 16):
        return None
    if mode == "RGBA" and _is_premultiplied(picture):
        mode = "RGBa"
    return RowPieces(raster=raster, mode="L" if mode == "1" else mode, samples=tuple(samples))


def held_pieces(
    path: Path, picture: Image.Image, *, orientation: int, faults: tuple[Fault, ...] = ()
) -> tuple[HeldPieces, tuple[str, ...]]:
    """The picture decoded and upright, and what has to be said of its size.

    `faults` are those that kept it from being read by rows, and are the reason to refuse it if it
    is too large to be held.

    Raises
    ------
    PictureError
        If it cannot be held, not even reduced while it is decoded.
    """
    scale = _scale(picture, copies=1 if orientation == 1 else 2)
    if not scale:
        raise PictureError(faults or _too_large(path, picture))
    picture.draft(None, (picture.width // scale, picture.height // scale))
    with nothing_on_stderr() if picture.format == "TIFF" else nullcontext():
        picture.load()  # its decoder of TIFF writes there what it finds damaged
    light = _light_up(picture)
    upright = light if orientation == 1 else ImageOps.exif_transpose(light)
    notes = (f"the reference picture was read at {_SCALES[scale]} of its size",)
    return HeldPieces(picture=upright), notes if scale > 1 else ()


def _light_up(picture: Image.Image) -> Image.Image:
    """The picture with 0 for black: where 0 is white, the library turns 8 bits over, 16 not."""
    tags: Any = getattr(picture, "tag_v2", {})
    if picture.mode != "I;16" or tags.get(PHOTOMETRIC) != 0:
        return picture
    return Image.fromarray(~np.asarray(picture))


def _scale(picture: Image.Image, *, copies: int) -> int:
    """By what the picture is reduced while it is decoded, so that so many copies can be held.

    0 if nothing is enough.
    """
    px, each = picture.width * picture.height, copies * _BYTES.get(picture.mode, 4)
    is_jpeg, is_progressive = isinstance(picture, JpegImageFile), "progressive" in picture.info
    if is_jpeg and is_progressive and px * _WAVE_BYTES > MAX_HELD_BYTES:
        return 0
    scales = _SCALES if is_jpeg else (1,)
    return next((scale for scale in scales if px * each <= MAX_HELD_BYTES * scale**2), 0)


def _too_large(path: Path, picture: Image.Image) -> Fault:
    megabytes = MAX_HELD_BYTES // 10**6
    return Fault(
        where=label(path),
        found=f"is {size_of(picture.width, picture.height, 'px')}",
        expected=f"a {picture.format} picture of its kind must be held whole, in {megabytes} MB",
        do="export it as an RGB PNG or TIFF without palette or orientation tag, or reduce it",
    )


def is_plain(picture: Image.Image) -> bool:
    """Whether its numbers are grey, RGB or CMYK as they are (TIFF 6.0, tag 262)."""
    tags: Any = getattr(picture, "tag_v2", {})
    return picture.mode in _COLOURS and tags.get(PHOTOMETRIC, 1) in (0, 1, 2, 5)


def _is_premultiplied(picture: Image.Image) -> bool:
    """Whether colours were multiplied by alpha (TIFF 6.0, section 18: extra samples of kind 1)."""
    tags: Any = getattr(picture, "tag_v2", {})
    extra = tags.get(EXTRA_SAMPLES, ())
    return bool((extra if isinstance(extra, tuple) else (extra,))[:1] == (1,))


def _late_exif(path: Path) -> dict[Any, Any]:
    """Exif of a PNG that stands behind its pixels, which are skipped."""
    with opened_input(path) as file:
        file.seek(len(PNG_SIGNATURE))
        while len(head := file.read(8)) == 8 and head[4:] != b"IEND":
            count = int.from_bytes(head[:4])
            if head[4:] == b"eXIf":
                return {"exif": b"Exif\x00\x00" + file.read(count)}
            file.seek(count + 4, 1)
    return {}
