"""Reading the reference picture of a whole sheet: what the artist saw, as sRGB, reduced.

It is only compared with, so it may be of any size; its proportions must be those of the sheet.
"""

import io
import warnings
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageCms, ImageOps

from inkmix.errors import Fault, PictureError
from inkmix.plates.raster import label
from inkmix.sheet import Sheet

_FORMATS = ("PNG", "TIFF", "JPEG")
_MAX_PX = 178_000_000
"""Where the picture library refuses a picture as a bomb (twice its own warning limit)."""
_PROPORTION = 0.01
_MODES = ("RGB", "RGBA", "L", "LA", "P", "CMYK", "1", "I;16")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Reference:
    """A reference picture.

    Parameters
    ----------
    srgb8 : (rows, cols, 3) uint8
        Reduced by a box filter.
    covers : str
        "sheet" (with bleed) or "trim": what its edges are.
    notes : tuple of str
        What was done to it and has to be said.
    """

    srgb8: NDArray[np.uint8]
    covers: str
    notes: tuple[str, ...] = ()


def open_reference(path: Path | str, sheet: Sheet, *, max_width_px: int) -> Reference:
    """The reference picture at most `max_width_px` wide.

    Raises
    ------
    PictureError
        If it cannot be read, its colour is unknown, or its proportions are not the sheet's.
    """
    path = Path(path)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            with Image.open(path, formats=_FORMATS) as picture:
                return _read(path, picture, sheet, max_width_px)
    except PictureError:
        raise
    except FileNotFoundError as error:
        raise _refusal(path, "does not exist", "", "check the name and the folder") from error
    except Image.DecompressionBombError as error:
        limit = f"a reference picture is read up to {_MAX_PX // 10**6} million pixels"
        raise _refusal(path, "is too large", limit, "reduce it") from error
    except Exception as error:  # decoders raise whatever they like on damaged data
        expected, do = "a whole PNG, TIFF or JPEG picture is needed", "export it again"
        raise _refusal(path, "cannot be read as a picture", expected, do) from error


def _read(path: Path, picture: Image.Image, sheet: Sheet, max_width_px: int) -> Reference:
    if picture.mode not in _MODES:
        expected, do = "8-bit RGB is needed", "export it as sRGB PNG"
        raise _refusal(path, f"holds pixels of kind {picture.mode}", expected, do)
    upright = ImageOps.exif_transpose(picture)
    notes = () if upright.size == picture.size else ("turned as its orientation tag says",)
    covers = _covers(path, upright.size, sheet)
    rgb, colour_notes = _to_srgb(path, upright)
    width = min(max_width_px, rgb.width)
    height = max(1, round(rgb.height * width / rgb.width))
    reduced = rgb.resize((width, height), Image.Resampling.BOX)
    srgb8 = np.array(reduced, np.uint8)
    srgb8.flags.writeable = False
    return Reference(srgb8=srgb8, covers=covers, notes=(*notes, *colour_notes))


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
        f"is {size[0]} x {size[1]} px, width to height {ratio:.3f}",
        f"the sheet has {candidates['sheet']:.3f} with bleed and {candidates['trim']:.3f} trimmed",
        "export the whole sheet, neither cropped nor stretched",
    )


def _to_srgb(path: Path, picture: Image.Image) -> tuple[Image.Image, tuple[str, ...]]:
    profile = picture.info.get("icc_profile")
    flat, notes = _flat(picture)
    if not profile:
        if flat.mode == "CMYK":
            do = "export it as sRGB PNG"
            raise _refusal(path, "is CMYK without a profile", "its colours are unknown", do)
        return flat.convert("RGB"), (
            *notes,
            "the reference picture has no profile and is taken as sRGB",
        )
    source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
    name = ImageCms.getProfileDescription(source).strip()
    if "sRGB" in name and flat.mode == "RGB":
        return flat, notes
    converted = ImageCms.profileToProfile(
        flat, source, ImageCms.createProfile("sRGB"), outputMode="RGB"
    )
    return converted or flat, (*notes, f"converted from {name} to sRGB")


def _flat(picture: Image.Image) -> tuple[Image.Image, tuple[str, ...]]:
    """Without palette, alpha or 16 bits."""
    if picture.mode == "I;16":
        high = (np.array(picture) >> 8).astype(np.uint8)
        return Image.fromarray(high), ("16 bits reduced to 8",)
    if picture.mode in ("RGBA", "LA") or "transparency" in picture.info:
        over_white = Image.new("RGBA", picture.size, "white")
        over_white.alpha_composite(picture.convert("RGBA"))
        return over_white.convert("RGB"), ("transparent parts shown on white",)
    return (picture.convert("RGB") if picture.mode in ("P", "1") else picture), ()


def _refusal(path: Path, found: str, expected: str = "", do: str = "") -> PictureError:
    return PictureError(Fault(where=label(path), found=found, expected=expected, do=do))
