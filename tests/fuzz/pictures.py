"""Masks and reference pictures: PNG, TIFF and JPEG of many modes, spoilt like plates."""

import io
import random
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from PIL import Image

from fuzz import plates
from fuzz.cases import Asked, cut, flipped, weighted
from fuzz.png_chunks import PngDocument, forbidden, png_document
from fuzz.profiles import usual_profile
from fuzz.tiff_writer import TiffDocument, tiff_document

NAME = "pictures"
MASK_PX = (40, 24)
_MODES = ("RGB", "L", "RGBA", "LA", "P", "1", "CMYK", "I;16", "YCbCr")


@dataclass(slots=True, kw_only=True)
class PictureDocument:
    """Parts of a PNG or TIFF, or the bytes of a picture that another program wrote."""

    use: str
    plate: plates.PlateDocument | None = None
    data: bytes = b""
    ending: str = ""


def build(rng: random.Random) -> PictureDocument:
    """A sound mask or reference picture."""
    use = weighted(rng, {"mask": 2, "reference": 3})
    if use == "reference" and rng.random() < 0.4:
        return _by_pillow(rng)
    parts = _mask(rng) if use == "mask" else _in_colour(rng)
    return PictureDocument(use=use, plate=plates.PlateDocument(parts=parts))


def _mask(rng: random.Random) -> PngDocument | TiffDocument:
    factor = rng.choice((1, 1, 1, 2))
    width, height = MASK_PX[0] * factor, MASK_PX[1] * factor
    bits = weighted(rng, {1: 2, 8: 4, 16: 1})
    area = np.zeros((height, width, 1), np.uint16 if bits == 16 else np.uint8)
    top, left = rng.randrange(height - 2), rng.randrange(width - 2)
    area[top : top + rng.randint(1, 12), left : left + rng.randint(1, 20)] = 2**bits - 1
    if rng.random() < 0.5:
        interlaced, kind = rng.random() < 0.2, rng.randint(0, 5)
        return png_document(area, bits=bits, interlaced=interlaced, filters=kind)
    compression = rng.choice((1, 5, 8, 32773, 50000))
    return tiff_document(area, bits=bits, photometric=rng.choice((0, 1)), compression=compression)


def _in_colour(rng: random.Random) -> PngDocument | TiffDocument:
    bits, channels = rng.choice((8, 8, 16)), rng.choice((1, 2, 3, 3, 4))
    noise = np.random.default_rng(rng.getrandbits(32))
    dtype = np.uint16 if bits == 16 else np.uint8
    pixels = noise.integers(0, 2**bits, (rng.randint(1, 40), rng.randint(1, 40), channels), dtype)
    profile = usual_profile() if rng.random() < 0.4 and channels > 2 else b""
    if rng.random() < 0.5:
        clear = (7,) * channels if channels in (1, 3) and rng.random() < 0.2 else ()
        shape = {"interlaced": rng.random() < 0.2, "filters": rng.randint(0, 5), "clear": clear}
        return png_document(pixels, bits=bits, profile=profile, **shape)
    return tiff_document(
        pixels,
        bits=bits,
        photometric=1 if channels < 3 else 2,
        compression=rng.choice((1, 5, 8, 32773)),
        extra=(2,) if channels in (2, 4) else (),
        profile=profile,
    )


def _by_pillow(rng: random.Random) -> PictureDocument:
    mode = rng.choice(_MODES)
    noise = np.random.default_rng(rng.getrandbits(32))
    numbers = noise.integers(0, 256, (rng.randint(1, 40), rng.randint(1, 40), 3), np.uint8)
    picture = Image.fromarray(numbers)
    picture = picture.convert("L").convert("I;16") if mode == "I;16" else picture.convert(mode)
    kinds = {
        "YCbCr": ("JPEG",),
        "CMYK": ("JPEG", "TIFF"),
        "RGB": ("JPEG", "PNG", "TIFF"),
        "L": ("JPEG",),
    }
    kind = rng.choice(kinds.get(mode, ("PNG", "TIFF")))
    options = {"exif": _turned(rng)} if rng.random() < 0.3 else {}
    out = io.BytesIO()
    picture.save(out, kind, **options)
    endings = {"JPEG": ".jpg", "PNG": ".png", "TIFF": ".tif"}
    return PictureDocument(use="reference", data=out.getvalue(), ending=endings[kind])


def _turned(rng: random.Random) -> Image.Exif:
    exif = Image.Exif()
    exif[274] = rng.randint(0, 9)
    return exif


# --- damages -------------------------------------------------------------------------------------


def as_plates(document: PictureDocument, rng: random.Random) -> None:
    """What befalls plates."""
    if document.plate is None:
        whole_spoilt(document, rng)
    else:
        rng.choice(plates.DAMAGES)(document.plate, rng)


def whole_spoilt(document: PictureDocument, rng: random.Random) -> None:
    """Bits and ends of the file."""
    if document.plate is None:
        document.data = rng.choice((flipped, cut))(document.data, rng)
    else:
        rng.choice((plates.bytes_flipped, plates.bytes_cut))(document.plate, rng)


def header_spoilt(document: PictureDocument, rng: random.Random) -> None:
    """Bits near the beginning, where sizes and tables are."""
    if document.plate is None:
        head = document.data[:700]
        document.data = flipped(head, rng, most=6) + document.data[700:]
    else:
        plates.field_changed(document.plate, rng)


def use_changed(document: PictureDocument, rng: random.Random) -> None:
    """A picture given as a mask, or the other way round."""
    document.use = "mask" if document.use == "reference" else "reference"


DAMAGES = (as_plates, as_plates, as_plates, as_plates, whole_spoilt, header_spoilt, use_changed)


def write(document: PictureDocument, folder: Path, rng: random.Random) -> Asked:
    """The picture, to be read as a mask of the usual sheet or as a reference."""
    clause = ""
    if document.plate is None:
        name, data = f"picture{document.ending}", document.data
    else:
        parts = document.plate.parts
        name = "picture.png" if isinstance(parts, PngDocument) else "picture.tif"
        data = plates.plate_bytes(document.plate, rng)
        if isinstance(parts, PngDocument) and not document.plate.on_bytes:
            clause = forbidden(parts)
    (folder / name).write_bytes(data)
    return Asked(call=document.use, words=(name,), forbidden=clause)
