"""Colour profiles in pictures: small matrix profiles and others, their fields and tags spoilt.

Also what is sound and yet not what its name says: a linear profile called sRGB.
"""

import random
import struct
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from icc_profiles import float_nodes, float_table, lut8, lut16, lut_a_to_b, named
from PIL import Image, ImageCms

from fuzz.cases import NUMBERS, Asked, cut, flipped, moved
from fuzz.png_chunks import png_document
from fuzz.tiff_writer import tiff_bytes, tiff_document

NAME = "profiles"
_PRIMARIES = {  # XYZ of the colorants under D50, as their standards' profiles hold them
    "sRGB": ((0.4360, 0.2225, 0.0139), (0.3851, 0.7169, 0.0971), (0.1431, 0.0606, 0.7141)),
    "Adobe RGB": ((0.6097, 0.3111, 0.0195), (0.2053, 0.6257, 0.0609), (0.1492, 0.0632, 0.7446)),
}
_NAMES = ("sRGB", "sRGB IEC61966-2.1", "linear sRGB", "a wide one", "", "Ö" * 40, "\x1b[31mred")


@dataclass(slots=True, kw_only=True)
class ProfileDocument:
    """A profile as header and tags (ICC.1:2022, section 7), and the picture that it is put into."""

    header: bytearray
    tags: list[tuple[bytes, bytes]]
    grey: bool
    place: str
    on_bytes: list[tuple[str, int]] = field(default_factory=list)


def build(rng: random.Random) -> ProfileDocument:
    """A sound profile of version 2 or 4 in a PNG, TIFF or JPEG of its colour space."""
    grey = rng.random() < 0.2
    version = rng.choice((2, 4))
    header = bytearray(128)
    header[8] = version
    header[12:24] = b"mntr" + (b"GRAY" if grey else b"RGB ") + b"XYZ "
    header[36:40] = b"acsp"
    header[68:80] = _fixed(0.9642, 1.0, 0.8249)
    curve = _curve(rng)
    tags = [
        (b"desc", _description(rng.choice(_NAMES), version)),
        (b"cprt", _text("none", version)),
        (b"wtpt", b"XYZ \0\0\0\0" + _fixed(0.9642, 1.0, 0.8249)),
    ]
    if grey:
        tags.append((b"kTRC", curve))
    else:
        colorants = rng.choice(tuple(_PRIMARIES.values()))
        names = (b"rXYZ", b"gXYZ", b"bXYZ")
        tags += [
            (n, b"XYZ \0\0\0\0" + _fixed(*xyz)) for n, xyz in zip(names, colorants, strict=True)
        ]
        tags += [(name, curve) for name in (b"rTRC", b"gTRC", b"bTRC")]
    place = rng.choice(("png", "png", "tiff", "jpeg"))
    return ProfileDocument(header=header, tags=tags, grey=grey, place=place)


def _fixed(*numbers: float) -> bytes:
    return struct.pack(f">{len(numbers)}i", *(round(number * 65536) for number in numbers))


def _curve(rng: random.Random) -> bytes:
    match rng.randrange(4):
        case 0:
            return struct.pack(">4sII", b"curv", 0, 0)  # linear
        case 1:
            return struct.pack(">4sIIHxx", b"curv", 0, 1, rng.choice((256, 461, 563, 640)))
        case 2:
            steps = [round(65535 * (k / 63) ** 2.2) for k in range(64)]
            return struct.pack(">4sII64H", b"curv", 0, 64, *steps)
        case _:
            srgb = (2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045)
            return struct.pack(">4sIHxx", b"para", 0, 3) + _fixed(*srgb)


def _description(text: str, version: int) -> bytes:
    if version == 4:
        return _text(text, version)
    plain = text.encode("latin-1", "replace") + b"\0"
    return b"desc\0\0\0\0" + struct.pack(">I", len(plain)) + plain + bytes(78)


def _text(text: str, version: int) -> bytes:
    if version == 2:
        return b"text\0\0\0\0" + text.encode("ascii", "replace") + b"\0"
    wide = text.encode("utf-16-be")
    return b"mluc" + struct.pack(">IIIHHII", 0, 1, 12, 0x656E, 0x5553, len(wide), 28) + wide


def profile_bytes(document: ProfileDocument) -> bytes:
    """The profile: header, table of tags, contents on multiples of four."""
    body, table = bytearray(), bytearray(struct.pack(">I", len(document.tags)))
    start = 132 + 12 * len(document.tags)
    for name, content in document.tags:
        table += name + struct.pack(">II", start + len(body), len(content))
        body += content + bytes(-len(content) % 4)
    data = bytearray(document.header) + table + body
    if len(data) >= 4:
        data[:4] = struct.pack(">I", len(data))
    return bytes(data)


# --- damages -------------------------------------------------------------------------------------


def header_changed(document: ProfileDocument, rng: random.Random) -> None:
    """Version, class, colour space, connection space, signature or intent."""
    at = rng.choice((8, 12, 16, 20, 36, 64))
    words = (b"CMYK", b"GRAY", b"RGB ", b"Lab ", b"XYZ ", b"prtr", b"link", b"nmcl", b"\0\0\0\0")
    document.header[at : at + 4] = rng.choice(words)


def tag_moved(document: ProfileDocument, rng: random.Random) -> None:
    """A tag removed, doubled, swapped."""
    moved(document.tags, rng)


def tag_number_changed(document: ProfileDocument, rng: random.Random) -> None:
    """Four bytes of a tag become a number where counting goes wrong."""
    if document.tags:
        at = rng.randrange(len(document.tags))
        name, content = document.tags[at]
        place = rng.randrange(0, max(1, len(content) - 3), 4)
        fresh = struct.pack(">I", rng.choice(NUMBERS) & 0xFFFFFFFF)
        document.tags[at] = (name, content[:place] + fresh + content[place + 4 :])


def tag_cut(document: ProfileDocument, rng: random.Random) -> None:
    """A tag ends early."""
    if document.tags:
        at = rng.randrange(len(document.tags))
        name, content = document.tags[at]
        document.tags[at] = (name, cut(content, rng))


def table_added(document: ProfileDocument, rng: random.Random) -> None:
    """A table, whole or not, or a name, that says as many nodes or letters as it likes."""
    side, count = rng.choice((2, 3, 3, 17, 255)), rng.choice(NUMBERS) & 0xFFFFFFFF
    name, head = rng.choice((
        (b"A2B0", lut8(side)),
        (b"A2B0", lut16(side)),
        (b"A2B0", lut_a_to_b(side)),
        (b"D2B0", float_table(float_nodes(side))),
        (b"desc", named(count)),
    ))  # fmt: skip
    more = b"" if name in (b"desc", b"D2B0") else rng.randbytes(rng.choice((0, 24, 1000, 40_000)))
    document.tags = [tag for tag in document.tags if tag[0] != name]
    document.tags.insert(rng.randint(0, len(document.tags)), (name, head + more))


def curves_differ(document: ProfileDocument, rng: random.Random) -> None:
    """One channel has another curve: a sound profile, of an odd device."""
    for at, (name, _) in enumerate(document.tags):
        if name == b"gTRC":
            document.tags[at] = (name, _curve(rng))


def other_pixels(document: ProfileDocument, rng: random.Random) -> None:
    """A grey profile in a picture in colour, or the other way round."""
    document.grey = not document.grey


def bytes_flipped(document: ProfileDocument, rng: random.Random) -> None:
    """Bits of the whole profile."""
    document.on_bytes.append(("flip", rng.getrandbits(32)))


def bytes_cut(document: ProfileDocument, rng: random.Random) -> None:
    """The profile ends early."""
    document.on_bytes.append(("cut", rng.getrandbits(32)))


DAMAGES = (
    *(header_changed, tag_moved, tag_number_changed, tag_cut, curves_differ, other_pixels),
    table_added,
    *(bytes_flipped, bytes_cut),
)


def write(document: ProfileDocument, folder: Path, rng: random.Random) -> Asked:
    """A picture that holds the profile, to be read as a reference, or a pixel of it as a colour."""
    data = profile_bytes(document)
    for how, seed in document.on_bytes:
        data = {"flip": flipped, "cut": cut}[how](data, random.Random(seed))
    name = _picture(document, data, folder)
    if rng.random() < 0.1:
        words = ("mix", f"{name}@3,3", "--book", "@book", "--json")
        return Asked(call="command", words=words)
    return Asked(call="reference", words=(name,))


def _picture(document: ProfileDocument, profile: bytes, folder: Path) -> str:
    steps = np.arange(8 * 12 * 3).reshape(8, 12, 3) * 41 % 256
    pixels = steps[..., :1] if document.grey else steps
    pixels = pixels.astype(np.uint8)
    if document.place == "png":
        (folder / "whole.png").write_bytes(png_document(pixels, bits=8, profile=profile).written())
        return "whole.png"
    if document.place == "tiff":
        kind = 1 if document.grey else 2
        tiff = tiff_document(pixels, bits=8, photometric=kind, profile=profile)
        (folder / "whole.tif").write_bytes(tiff_bytes(tiff))
        return "whole.tif"
    picture = Image.fromarray(pixels[..., 0] if document.grey else pixels)
    picture.save(folder / "whole.jpg", icc_profile=profile[:60_000])
    return "whole.jpg"


def usual_profile() -> bytes:
    """sRGB as Pillow makes it, with a date that is always the same."""
    data = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    data[24:36] = bytes(12)
    return bytes(data)
