"""Second readers: what inkmix accepted must be what others read from the same file.

Each referee returns what differs, in words; nothing where both agree, or where the other reader
refuses the file. KNOWN says where they differ by right.
"""

import json
import re
import tomllib
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageCms, ImageOps

KNOWN = {
    "DotRange": "inkmix stretches numbers whose 0 % and 100 % are told (tag 336), others do not",
    "Pillow, min is white": "Pillow turns photometric 0 over, so that its numbers are light",
    "Pillow, 16 bits": "Pillow keeps the upper half of grey with alpha and of RGB of 16 bits",
    "Pillow, several inks": "Pillow takes 4 inks for CMYK and turns them over or not by their kind",
    "Pillow, too many": "Pillow paints strips and tiles beyond those of the picture over the first",
    "Pillow, planes of 16 bits": "Pillow reads other numbers where RGB of 16 bits lies in planes",
    "Pillow, G4": "damaged G4 has no check sum; what is made of it hangs on the library's version",
    "alpha": "inkmix shows clear parts on white, Pillow keeps the colour below",
    "D2B": "LittleCMS goes by tables of floating point, inkmix leaves them out (ICC.1, 8.10.2)",
    "nested": "inkmix may refuse nests that no person writes and tomllib reads",
    "64 bits": "TOML promises whole numbers of 64 bits, tomllib reads longer ones",
}

Told = Mapping[str, Any]


def plate(file: Path, answer: Path, told: Told) -> str:
    """Ink amount against tifffile and Pillow."""
    said = np.load(answer / "plate.npz")
    amount, channel, bits = said["amount"], int(said["channel"]), int(said["bits"])
    light = ~amount
    for name, reader in (("tifffile", _by_tifffile), ("Pillow", _by_pillow)):
        other = _or_none(reader, file, channel, bits)
        if other is None:
            continue
        rows = other[: len(light)]
        mine = light >> (light.dtype.itemsize * 8 - 8 * rows.dtype.itemsize)
        if rows.shape != mine.shape:
            return f"{name} reads {other.shape}, inkmix {light.shape}"
        if not np.array_equal(rows, mine):
            share = np.mean(rows != mine)
            return f"{name} reads other numbers in {share:.1%} of the pixels"
    return ""


def _or_none(reader: Callable[..., Any], *arguments: Any) -> Any:
    """What a reader gives; None where it refuses, or stumbles."""
    try:
        return reader(*arguments)
    except Exception:
        return None


def _by_tifffile(file: Path, channel: int, bits: int) -> NDArray | None:
    """Light, 0 = dark, of one channel."""
    import tifffile

    with tifffile.TiffFile(file) as tiff:
        page = tiff.pages[0]
        if 336 in page.tags:
            return None  # DotRange
        numbers = page.asarray(maxworkers=1)
        kind, planes = int(page.photometric), int(page.planarconfig) == 2
        if page.samplesperpixel > 1:
            numbers = numbers[channel] if planes else numbers[..., channel]
        elif planes:
            numbers = numbers.squeeze()  # a single plane is a stack of one to it
    if bits == 1:
        numbers = numbers.astype(np.uint8) * np.uint8(255)
    return numbers if kind in (1, 2) else ~numbers


def _by_pillow(file: Path, channel: int, bits: int) -> NDArray | None:
    """Light, 0 = dark, of one channel; the upper half of 16 bits where it gives no more."""
    with Image.open(file, formats=("PNG", "TIFF")) as picture:
        tags: Any = getattr(picture, "tag_v2", {})
        if picture.width * picture.height > 2**22 or 336 in tags or tags.get(262) == 5:
            return None
        if tags.get(259) in (2, 3, 4):
            return None
        if tags.get(284) == 2 and tags.get(277, 1) > 1 and 16 in tuple(tags.get(258, ())):
            return None
        if _has_too_many(picture, tags):
            return None
        picture.load()
        mode, kind = picture.mode, tags.get(262, 1)
    if mode == "1":
        return np.asarray(picture.convert("L"))
    if mode.startswith("I;16"):
        numbers = np.array(picture).astype(np.uint16)
        return ~numbers if kind == 0 else numbers  # grey of 16 bits it leaves as it is
    if mode not in ("L", "LA", "RGB", "RGBA") or bits == 1:
        return None
    numbers = np.asarray(picture)
    return numbers if numbers.ndim == 2 else numbers[..., channel]


def _has_too_many(picture: Image.Image, tags: Any) -> bool:
    """Whether there are more strips or tiles than the picture has (TIFF 6.0, sections 3 and 15)."""
    places = tags.get(324 if 324 in tags else 273, ())
    width, height = tags.get(322, picture.width), tags.get(323, tags.get(278, picture.height))
    across, down = -(-picture.width // width), -(-picture.height // height)
    planes = tags.get(277, 1) if tags.get(284) == 2 else 1
    return len(places) > across * down * planes


def mask(file: Path, answer: Path, told: Told) -> str:
    """The share of the sheet that is marked, against Pillow, where the mask has its size."""
    from fuzz.pictures import MASK_PX

    share = float(np.load(answer / "mask.npz")["share"])
    with Image.open(file) as picture:
        if picture.size != MASK_PX or picture.mode not in ("1", "L"):
            return ""
        light = np.asarray(picture.convert("L"))
    other = float(np.mean(light > 127))
    return "" if abs(share - other) < 1e-12 else f"Pillow marks {other:.4f}, inkmix {share:.4f}"


def reference(file: Path, answer: Path, told: Told) -> str:
    """sRGB against Pillow and LittleCMS: converted, or as it is where a note speaks of that."""
    said = np.load(answer / "reference.npz")
    srgb8, notes = said["srgb8"], " ".join(said["notes"])
    with Image.open(file) as opened:
        profile = opened.info.get("icc_profile")
        tags = dict(getattr(opened, "tag_v2", {}))
        if _has_too_many(opened, tags):
            return ""
        is_min_white = tags.get(262) == 0
        picture = ImageOps.exif_transpose(opened)
        if "transparency" in opened.info or opened.mode in ("RGBA", "LA", "CMYK"):
            return ""  # alpha; inks have no colour without their profile
    if picture.mode.startswith("I;16"):
        light = (np.array(picture) >> 8).astype(np.uint8)
        picture = Image.fromarray(~light if is_min_white else light)  # 16 bits it leaves as are
    plain = np.asarray(picture.convert("RGB"))[: len(srgb8)]
    if plain.shape != srgb8.shape:
        return f"Pillow reads {plain.shape}, inkmix {srgb8.shape}"
    converted = _or_none(_to_srgb, picture, profile) if profile else plain
    if converted is not None and _near(converted[: len(srgb8)], srgb8):
        return ""
    if _near(plain, srgb8) and (not profile or converted is None or "profile" in notes):
        return ""
    off = np.abs(
        (plain if converted is None else converted[: len(srgb8)]).astype(int) - srgb8
    ).max()
    return f"LittleCMS converts to other colours, up to {off} steps off"


def _to_srgb(picture: Image.Image, profile: bytes) -> NDArray:
    import io

    by_others = profile[:1332].replace(b"D2B", b"d2b") + profile[1332:]  # 100 tags
    source = ImageCms.ImageCmsProfile(io.BytesIO(by_others))
    is_grey = picture.mode == "L" and source.profile.xcolor_space.strip() == "GRAY"
    flat = picture if is_grey else picture.convert("RGB")
    target = ImageCms.createProfile("sRGB")
    made = ImageCms.profileToProfile(flat, source, target, outputMode="RGB")
    assert made is not None
    return np.asarray(made)


def _near(first: NDArray, second: NDArray, steps: int = 2) -> bool:
    """Within the rounding of 8-bit curves."""
    return int(np.abs(first.astype(int) - second).max(initial=0)) <= steps


def measurements(file: Path, answer: Path, told: Told) -> str:
    """Numbers against those that the generator wrote, where nothing befell them."""
    if not told:
        return ""
    table = np.load(answer / "table.npz")
    columns, cells = told["columns"], np.array(told["rows"])
    for kind in ("XYZ", "LAB"):
        at = [k for k, name in enumerate(columns) if name.startswith(f"{kind}_")]
        if at and not np.allclose(table[kind], cells[:, at].astype(float), atol=1e-9):
            return f"{kind} is not what stands in the file"
    tones = [k for k, name in enumerate(columns) if "_" not in name or name.startswith("CMYK")]
    if not np.allclose(table["tone"], cells[:, tones].astype(float), atol=1e-9):
        return "tone values are not those of the file"
    return ""


def book(file: Path, answer: Path, told: Told) -> str:
    """Whether it is TOML, against tomllib."""
    said = json.loads((answer / "book.json").read_text())
    data = file.read_bytes().removeprefix(b"\xef\xbb\xbf")
    try:
        text = data.decode("utf-8")
        tomllib.loads(text)
        other = ""
    except (ValueError, RecursionError) as error:
        other = str(error) or type(error).__name__
    if said["is_toml"] == (not other):
        return ""
    if said["is_toml"]:
        return f"tomllib refuses it ({other}), inkmix does not"
    is_text = bool(text.strip()) and "\0" not in text and len(data) <= 10**6
    is_known = not is_text or _is_nested(text) or bool(re.search(r"\d[\d_]{17}", text))
    return "" if is_known else f"tomllib reads it, inkmix says: {said['why'][:200]}"


def _is_nested(text: str) -> bool:
    """More than sixteen brackets, or parts of a key, in a row."""
    return bool(re.search(r"(?:[\[{]\s*(?:[\w-]+\s*=\s*)?){17}|(?:[\w\"'-]+\s*\.\s*){16}", text))


def colours(file: Path, answer: Path, told: Told) -> str:
    """Screen colours and differences against colour-science."""
    import colour

    said = np.load(answer / "labs.npz")
    labs, screens, paper = said["labs"], said["screens"], said["paper"]
    off = np.abs(colour.delta_E(labs[:1], labs, method="CIE 2000") - said["de00"]).max()
    if off > 1e-6:
        return f"dE00 is {off:.2g} off"
    for lab, screen in zip(labs, screens, strict=True):
        if screen and np.abs(_on_paper(screen, paper) - lab).max() > _ROUNDED_LAB:
            return f"{screen} is {_on_paper(screen, paper)} by colour-science, {lab} here"
    return ""


_ROUNDED_LAB = 0.05
"""Its matrix of sRGB is that of the standard, rounded to four places: up to 0.02 in a*."""


def _on_paper(screen: str, paper_xyz100: NDArray) -> NDArray:
    """Lab of a screen colour whose white is the paper: XYZ under D50, by shares of white."""
    import colour

    d50 = np.array([0.96422, 1.0, 0.82521])
    xy = colour.XYZ_to_xy(d50)
    srgb1 = np.array([int(screen[k : k + 2], 16) for k in (1, 3, 5)]) / 255
    adapted = {"chromatic_adaptation_transform": "Bradford"}
    xyz = colour.RGB_to_XYZ(srgb1, "sRGB", illuminant=xy, apply_cctf_decoding=True, **adapted)
    return np.asarray(colour.XYZ_to_Lab(xyz / d50 * paper_xyz100 / 100, xy))


REFEREES: dict[str, Callable[[Path, Path, Told], str]] = {
    "plate": plate,
    "mask": mask,
    "reference": reference,
    "measurements": measurements,
    "book": book,
    "colours": colours,
}
"""By call. That of books is asked about refused ones, too."""
