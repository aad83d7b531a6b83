"""Pieces of a reference picture, as the picture library holds them, brought to sRGB.

Each pixel is converted by itself, so that pieces may be cut anywhere. What tells the colours is, in
this order (PNG, third edition, 4.3): the colour code of a PNG (cICP), an embedded profile, the sRGB
mark of a PNG, its gamma and primaries; a profile that cannot be used passes on to the next.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageCms

from inkmix.plates.files.png.colour import UnknownCodingError, profile_of_code, profile_of_gamma
from inkmix.plates.files.profile import ColourProfile, profile_in_png, read_profile

MODES = ("RGB", "RGBA", "L", "LA", "P", "CMYK", "1", "I;16")
_GREY = ("L", "LA", "1", "I;16")
_KINDS = {"L": "grey", "RGB": "RGB"}
CALLED = "the reference picture"
"""By its notes, here and in rows.py."""
_ASSUMED = f"{CALLED} has no profile and is taken as sRGB"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ToSrgb:
    """How the pixels of one picture become sRGB.

    Parameters
    ----------
    is_grey : bool
        Whether they are grey, alpha or a clear colour aside.
    profile : ColourProfile or None
        By which they are converted; None where the numbers are sRGB or taken for it.
    notes : tuple of str
        What is done and has to be said.
    trouble : str
        What the picture is where its own profile could not be used; mostly empty.
    """

    is_grey: bool
    profile: ColourProfile | None
    notes: tuple[str, ...]
    trouble: str = ""

    def of(self, piece: Image.Image) -> NDArray[np.uint8]:
        """8-bit sRGB (rows, cols, 3)."""
        flat = _flat(piece, is_grey=self.is_grey)
        if self.profile is None:
            return np.asarray(flat.convert("RGB"))
        numbers = flat if flat.mode == self.profile.mode else flat.convert(self.profile.mode)
        return np.asarray(ImageCms.applyTransform(numbers, self.profile.to_srgb) or numbers)


def to_srgb(
    mode: str, info: Mapping[Any, Any], chunks: Mapping[bytes, bytes] | None = None
) -> ToSrgb:
    """The way from a mode and what a file says of its colour; `chunks` are those of a PNG.

    Raises
    ------
    UnknownCodingError
        If nobody can know its colours: CMYK without a profile for it, a code that is not read.
    """
    flat, notes = _flat_mode(mode, "transparency" in info)
    embedded = info.get("icc_profile") if chunks is None else _in_png(chunks)
    told = _told(flat, embedded, chunks or {})
    return replace(told, notes=(*notes, *told.notes))


def _in_png(chunks: Mapping[bytes, bytes]) -> bytes | None:
    """The embedded profile; empty if it is damaged."""
    return (profile_in_png(chunks[b"iCCP"]) or b"") if b"iCCP" in chunks else None


def _told(flat: str, embedded: bytes | None, chunks: Mapping[bytes, bytes]) -> ToSrgb:
    """By what comes first of that which can be used."""
    if b"cICP" in chunks:
        return _by(read_profile(profile_of_code(chunks[b"cICP"])), flat)
    profile = read_profile(embedded) if embedded is not None else None
    if profile is not None and _fits(profile, flat):
        return _by(profile, flat, notes=_spread(profile, flat))
    if flat == "CMYK":
        raise UnknownCodingError(f"is CMYK {_trouble(embedded, profile)}")
    made = None if b"sRGB" in chunks else profile_of_gamma(chunks.get(b"gAMA"), chunks.get(b"cHRM"))
    other = _by(read_profile(made), flat) if made is not None else _srgb(flat)
    if embedded is not None:
        trouble = f"is {_KINDS[flat]} {_trouble(embedded, profile)}"
        taken = "" if other.profile is not None else ": it is taken as sRGB"
        note = f"{CALLED} {trouble}, which is not used{taken}"
        return replace(other, trouble=trouble, notes=(note, *other.notes))
    assumed = other.profile is None and b"sRGB" not in chunks
    return replace(other, notes=(*other.notes, *((_ASSUMED,) if assumed else ())))


def _srgb(flat: str, notes: tuple[str, ...] = ()) -> ToSrgb:
    return ToSrgb(is_grey=flat == "L", profile=None, notes=notes)


def _by(profile: ColourProfile | None, flat: str, *, notes: tuple[str, ...] = ()) -> ToSrgb:
    """Conversion by a profile; none where it changes nothing."""
    if profile is None:  # a made one that the library refuses
        raise UnknownCodingError("holds colours of a kind that is not read")
    if profile.is_srgb:
        return _srgb(flat, notes)
    converted = f"converted from {profile.name} to sRGB"
    return ToSrgb(is_grey=flat == "L", profile=profile, notes=(*notes, converted))


def _fits(profile: ColourProfile, flat: str) -> bool:
    """Whether a profile tells these pixels; grey ones also as R = G = B."""
    return profile.mode == flat or (flat, profile.mode) == ("L", "RGB")


def _spread(profile: ColourProfile, flat: str) -> tuple[str, ...]:
    """The note that grey pixels go by a profile for RGB."""
    if profile.mode == flat:
        return ()
    return (f"its greys are read as R = G = B, as its profile ({profile.name}) is for RGB",)


def _trouble(embedded: bytes | None, profile: ColourProfile | None) -> str:
    """Why there is no profile to go by."""
    if embedded is None:
        return "without a profile"
    if profile is None:
        return "with a profile that is damaged or not for pictures"
    return f"with a profile for {profile.kind} ({profile.name})"


def _flat_mode(mode: str, has_clear_colour: bool) -> tuple[str, tuple[str, ...]]:
    """The mode without palette, alpha or 16 bits, and what has to be said of that."""
    flat = "L" if mode in _GREY else "CMYK" if mode == "CMYK" else "RGB"
    if mode == "I;16":
        return flat, ("16 bits reduced to 8",)
    if mode in ("RGBA", "LA") or has_clear_colour:
        return flat, ("transparent parts shown on white",)
    return flat, ()


def _flat(piece: Image.Image, *, is_grey: bool) -> Image.Image:
    if piece.mode == "I;16":
        return Image.fromarray((np.array(piece) >> 8).astype(np.uint8))
    if piece.mode in ("RGBA", "LA") or "transparency" in piece.info:
        over_white = Image.new("RGBA", piece.size, "white")
        over_white.alpha_composite(piece.convert("RGBA"))
        return over_white.getchannel("R") if is_grey else over_white.convert("RGB")
    if is_grey:
        return piece if piece.mode == "L" else piece.convert("L")
    return piece.convert("RGB") if piece.mode == "P" else piece
