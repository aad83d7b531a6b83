"""Embedded colour profiles: name and digest, what pixels they are for, and whether one is sRGB.

What a profile is called is shown and never believed: what it does to colours is looked at. Plates
are not converted by any; reference pictures are (reference/colour.py).
"""

import hashlib
import io
import zlib
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageCms

from inkmix.plates.files.profile_tables import has_tables, says_too_much, without_float_tables

MAX_PROFILE_BYTES = 2**24
"""Of an unpacked profile: four times as much as presses with seven inks need."""

_DIGEST_LETTERS = 8
_SAME_STEPS = 2
"""Of 255, by which a profile may move a colour and still be sRGB. Tables of 1024 entries, whose
first steps are coarse, move colours by 1; a plain gamma of 2.2 moves dark ones by 9."""
_CUBE_STEPS = 9
_MODES = {"GRAY": "L", "RGB": "RGB", "CMYK": "CMYK"}
_KINDS = {"L": "grey", "RGB": "RGB", "CMYK": "CMYK"}
_OF_PIXELS = ("scnr", "mntr", "prtr", "spac")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ColourProfile:
    """A profile that can be used for pixels of one mode.

    Parameters
    ----------
    name : str
        As it calls itself.
    mode : str
        Pixels that it describes: "L", "RGB" or "CMYK".
    to_srgb : ImageCmsTransform
        From these to 8-bit RGB pixels in sRGB.
    is_srgb : bool
        Whether that changes nothing, so that numbers may stay as they are.
    """

    name: str
    mode: str
    to_srgb: Any
    is_srgb: bool

    @property
    def kind(self) -> str:
        """What it is for, in words."""
        return _KINDS[self.mode]


def profile_label(data: bytes | None) -> str | None:
    """Profile bytes as name and digest in brackets; None without a profile."""
    if not data:
        return None
    digest = hashlib.sha256(data).hexdigest()[:_DIGEST_LETTERS]
    opened = _opened(data)
    return f"{'unreadable profile' if opened is None else _name(opened)} ({digest})"


def profile_in_png(chunk: bytes) -> bytes | None:
    """The profile that an iCCP chunk holds (PNG, third edition, 11.3.2.3); None if damaged."""
    _, found, rest = chunk.partition(b"\0")
    if not found or rest[:1] != b"\0":  # the one packing that there is
        return None
    try:
        return zlib.decompressobj().decompress(rest[1:], MAX_PROFILE_BYTES)
    except zlib.error:
        return None


def read_profile(data: bytes) -> ColourProfile | None:
    """What a profile can be used for; None if it is damaged, or for no pixels that are read."""
    opened = _opened(data)
    mode = None if opened is None else _mode(opened)
    if opened is None or mode is None:
        return None
    try:
        to_srgb = ImageCms.buildTransform(opened, ImageCms.createProfile("sRGB"), mode, "RGB")
    except ImageCms.PyCMSError:
        return None
    is_srgb = not has_tables(data) and _changes_nothing(to_srgb, mode)
    return ColourProfile(name=_name(opened), mode=mode, to_srgb=to_srgb, is_srgb=is_srgb)


def _mode(opened: Any) -> str | None:
    """The pixels that a profile is for; None if that is anything else, or cannot be told."""
    try:
        is_of_pixels = opened.profile.device_class in _OF_PIXELS
        return _MODES.get(opened.profile.xcolor_space.strip()) if is_of_pixels else None
    except ValueError:  # four bytes that are no letters
        return None


def _opened(data: bytes) -> Any | None:
    if says_too_much(data):
        return None
    try:
        return ImageCms.ImageCmsProfile(io.BytesIO(without_float_tables(data)))
    except (ImageCms.PyCMSError, OSError, ValueError, TypeError):
        return None


def _name(opened: Any) -> str:
    try:
        said = ImageCms.getProfileDescription(opened).strip()
    except (ImageCms.PyCMSError, ValueError, TypeError):
        said = ""
    return "".join(sign for sign in said if sign.isprintable()) or "profile without name"


def _changes_nothing(to_srgb: Any, mode: str) -> bool:
    """Whether colours come out as they went in, within _SAME_STEPS.

    All greys and all tones of each primary try the curves, a cube of colours tries the primaries.
    """
    if mode == "CMYK":
        return False
    srgb8 = _tried()[:256] if mode == "L" else _tried()
    numbers = srgb8[:, 0] if mode == "L" else srgb8
    found = ImageCms.applyTransform(Image.fromarray(numbers[np.newaxis]), to_srgb)
    moved = np.abs(np.asarray(found, np.int64)[0] - srgb8)
    return bool(moved.max() <= _SAME_STEPS)


def _tried() -> NDArray[np.uint8]:
    """8-bit colours (N, 3); the greys come first."""
    tones = np.arange(256)
    greys = np.repeat(tones[:, np.newaxis], 3, axis=1)
    primaries = np.concatenate([greys * np.eye(3, dtype=np.int64)[row] for row in range(3)])
    steps = np.rint(np.linspace(0, 255, _CUBE_STEPS))
    cube = np.stack(np.meshgrid(steps, steps, steps, indexing="ij"), axis=-1).reshape(-1, 3)
    return np.concatenate([greys, primaries, cube]).astype(np.uint8)
