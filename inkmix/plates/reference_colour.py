"""Pieces of a reference picture, as the picture library holds them, brought to sRGB.

Each pixel is converted by itself, so that pieces may be cut anywhere. No files here.
"""

import io
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageCms

MODES = ("RGB", "RGBA", "L", "LA", "P", "CMYK", "1", "I;16")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ToSrgb:
    """How the pixels of one picture become sRGB.

    Parameters
    ----------
    transform : ImageCmsTransform or None
        From the embedded profile; None where the numbers are sRGB or taken for it.
    notes : tuple of str
        What is done and has to be said.
    """

    transform: Any | None
    notes: tuple[str, ...]

    def of(self, piece: Image.Image) -> NDArray[np.uint8]:
        """8-bit sRGB (rows, cols, 3)."""
        flat = _flat(piece)
        if self.transform is not None:
            return np.asarray(ImageCms.applyTransform(flat, self.transform) or flat)
        return np.asarray(flat.convert("RGB"))


def to_srgb(mode: str, info: dict[Any, Any]) -> ToSrgb | None:
    """The way from a mode and what a file says of its colour; None for CMYK without a profile."""
    flat, notes = _flat_mode(mode, "transparency" in info)
    profile = info.get("icc_profile")
    if not profile:
        if flat == "CMYK":
            return None
        assumed = "the reference picture has no profile and is taken as sRGB"
        return ToSrgb(transform=None, notes=(*notes, assumed))
    source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
    name = ImageCms.getProfileDescription(source).strip()
    if "sRGB" in name and flat == "RGB":
        return ToSrgb(transform=None, notes=notes)
    transform = ImageCms.buildTransform(source, ImageCms.createProfile("sRGB"), flat, "RGB")
    return ToSrgb(transform=transform, notes=(*notes, f"converted from {name} to sRGB"))


def _flat_mode(mode: str, has_clear_colour: bool) -> tuple[str, tuple[str, ...]]:
    """The mode without palette, alpha or 16 bits, and what has to be said of that."""
    if mode == "I;16":
        return "L", ("16 bits reduced to 8",)
    if mode in ("RGBA", "LA") or has_clear_colour:
        return "RGB", ("transparent parts shown on white",)
    return ("RGB" if mode in ("P", "1") else mode), ()


def _flat(piece: Image.Image) -> Image.Image:
    if piece.mode == "I;16":
        return Image.fromarray((np.array(piece) >> 8).astype(np.uint8))
    if piece.mode in ("RGBA", "LA") or "transparency" in piece.info:
        over_white = Image.new("RGBA", piece.size, "white")
        over_white.alpha_composite(piece.convert("RGBA"))
        return over_white.convert("RGB")
    return piece.convert("RGB") if piece.mode in ("P", "1") else piece
