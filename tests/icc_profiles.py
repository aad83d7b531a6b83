"""Colour profiles written for tests, byte by byte, and real ones out of a library's pictures.

Colorants under D50: of sRGB from IEC 61966-2-1 annex and ICC's own sRGB v2 profile (rounded to four
digits), of Display P3 as published by the ICC (from memory, four digits).
"""

import struct
from pathlib import Path

import numpy as np
import skimage.data
from PIL import Image

SRGB = ((0.4361, 0.2225, 0.0139), (0.3851, 0.7169, 0.0971), (0.1431, 0.0606, 0.7141))
P3 = ((0.5151, 0.2412, -0.0011), (0.2920, 0.6922, 0.0419), (0.1571, 0.0666, 0.7841))
D50 = (0.9642, 1.0, 0.8249)
SRGB_CURVE = b"para" + struct.pack(">IHH", 0, 3, 0) + struct.pack(
    ">5i", *(round(v * 65536) for v in (2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045))
)  # fmt: skip


def real(name: str) -> bytes:
    """The profile in a picture that comes with scikit-image."""
    with Image.open(Path(skimage.data.__file__).parent / name) as picture:
        return picture.info["icc_profile"]


def gamma(value: float) -> bytes:
    """A curve of one exponent (ICC.1, curveType: u8Fixed8)."""
    return b"curv" + struct.pack(">IIH", 0, 1, round(value * 256))


def linear() -> bytes:
    """The curve that changes nothing."""
    return b"curv" + bytes(8)


def table(entries: int) -> bytes:
    """The curve of sRGB (IEC 61966-2-1) as a table."""
    at = np.linspace(0, 1, entries)
    light = np.where(at <= 0.04045, at / 12.92, ((at + 0.055) / 1.055) ** 2.4)
    values = np.rint(65535 * light).astype(">u2")
    return b"curv" + struct.pack(">II", 0, entries) + values.tobytes()


def rgb_profile(curve: bytes, colorants=SRGB, *, name: str = "sRGB", version: int = 2) -> bytes:
    """A display's profile of three colorants and one curve."""
    tags = [(b"rTRC", curve), (b"gTRC", curve), (b"bTRC", curve)]
    tags += [(c + b"XYZ", xyz(v)) for c, v in zip((b"r", b"g", b"b"), colorants, strict=True)]
    return _profile(b"RGB ", tags, name, version)


def grey_profile(curve: bytes, *, name: str = "grey") -> bytes:
    """A profile of one curve."""
    return _profile(b"GRAY", [(b"kTRC", curve)], name, 2)


def xyz(values: tuple[float, ...]) -> bytes:
    return b"XYZ \0\0\0\0" + struct.pack(">3i", *(round(v * 65536) for v in values))


def with_device_class(profile: bytes, kind: bytes) -> bytes:
    """The same of another class: b"link", b"abst"."""
    return profile[:12] + kind + profile[16:]


def with_table(profile: bytes, *, is_exact: bool = False) -> bytes:
    """The same with a table A2B0 that changes little, or says what the curve of sRGB says."""
    return with_tag(profile, b"A2B0", _deep_table() if is_exact else _rough_table())


def with_tag(profile: bytes, name: bytes, content: bytes) -> bytes:
    """The same with one tag more, at the end of the file."""
    count = int.from_bytes(profile[128:132])
    body = b"".join(
        tag + struct.pack(">II", place + 12, size)
        for tag, place, size in struct.iter_unpack(">4sII", profile[132 : 132 + 12 * count])
    ) + struct.pack(">4sII", name, len(profile) + 12, len(content))
    whole = struct.pack(">I", count + 1) + body + profile[132 + 12 * count :] + content
    return struct.pack(">I", 128 + len(whole)) + profile[4:128] + whole


def lut8(side: int) -> bytes:
    """A table of 8 bits with RGB of 3 curves (ICC.1:2022, 10.11), for nodes to follow."""
    return b"mft1" + bytes(4) + bytes([3, 3, side, 0]) + _identity() + bytes(range(256)) * 3


def lut16(side: int) -> bytes:
    """A table of 16 bits with RGB of 3 curves of 2 steps (ICC.1:2022, 10.10), for nodes."""
    head = b"mft2" + bytes(4) + bytes([3, 3, side, 0]) + _identity()
    return head + struct.pack(">HH", 2, 2) + struct.pack(">2H", 0, 65535) * 3


def lut_a_to_b(side: int) -> bytes:
    """A table of nodes of 16 bits between straight curves (ICC.1:2022, 10.12), for nodes."""
    curves, start = linear() * 3, 32
    places = struct.pack(">5I", start, 0, 0, start + 2 * len(curves), start + len(curves))
    grid = bytes([side] * 3).ljust(16, b"\0") + bytes([2, 0, 0, 0])
    return b"mAB " + bytes(4) + bytes([3, 3, 0, 0]) + places + curves * 2 + grid


def named(count: int) -> bytes:
    """A name in as many languages as is told, with one of them there (ICC.1:2022, 10.15)."""
    return (
        b"mluc"
        + struct.pack(">IIIHHII", 0, count, 12, 0x656E, 0x5553, 4, 28)
        + "od".encode("utf-16-be")
    )


def float_table(*stages: bytes) -> bytes:
    """Steps of floating point from RGB to three numbers (ICC.1:2022, 10.16)."""
    place, table = 16 + 8 * len(stages), b""
    for stage in stages:
        table += struct.pack(">II", place, len(stage))
        place += len(stage)
    return b"mpet" + bytes(4) + struct.pack(">HHI", 3, 3, len(stages)) + table + b"".join(stages)


def float_nodes(side: int) -> bytes:
    """A step by nodes (ICC.1:2022, 10.16.6), for nodes to follow."""
    grid = bytes([side] * 3).ljust(16, b"\0")
    return b"clut" + bytes(4) + struct.pack(">HH", 3, 3) + grid


def _rough_table() -> bytes:
    """2 nodes a side, and no curves."""
    nodes = np.stack(np.meshgrid([0, 1], [0, 1], [0, 1], indexing="ij"), -1).reshape(-1, 3)
    xyz = np.rint(255 * 0.5 * nodes @ np.array(SRGB)).astype(np.uint8).tobytes()
    return lut8(2) + xyz + bytes(range(256)) * 3


def _deep_table() -> bytes:
    """The curve of sRGB in 4096 steps, and 2 nodes a side (ICC.1, lut16Type; 1.0 is 32768)."""
    nodes = np.stack(np.meshgrid([0, 1], [0, 1], [0, 1], indexing="ij"), -1).reshape(-1, 3)
    xyz = np.rint(32768 * nodes @ np.array(SRGB)).astype(">u2").tobytes()
    head = b"mft2" + bytes(4) + bytes([3, 3, 2, 0]) + _identity() + struct.pack(">HH", 4096, 2)
    return head + table(4096)[12:] * 3 + xyz + struct.pack(">2H", 0, 65535) * 3


def _identity() -> bytes:
    return struct.pack(">9i", *(65536 * np.eye(3, dtype=int)).ravel().tolist())


def _profile(space: bytes, tags: list[tuple[bytes, bytes]], name: str, version: int) -> bytes:
    text = name.encode() + b"\0"
    desc = b"desc" + struct.pack(">II", 0, len(text)) + text + bytes(78)
    tags = [(b"desc", desc), (b"cprt", b"text\0\0\0\0none\0"), (b"wtpt", xyz(D50)), *tags]
    table, body, start = b"", b"", 132 + 12 * len(tags)
    for tag, data in tags:
        table += tag + struct.pack(">II", start + len(body), len(data))
        body += data + bytes(-len(data) % 4)
    head = struct.pack(">I4sI", start + len(body), b"none", version << 24) + b"mntr" + space
    head += b"XYZ " + struct.pack(">6H", 2020, 1, 1, 0, 0, 0) + b"acsp" + bytes(28) + xyz(D50)[8:]
    return head.ljust(128, b"\0") + struct.pack(">I", len(tags)) + table + body
