"""The sRGB profile that is put into every picture: own bytes, the same on every machine and day.

ICC.1:2010 (profile version 4.3), display class, matrix and parametric curve; numbers of
IEC 61966-2-1, primaries adapted to D50 by Bradford.
"""

import functools
import hashlib
import struct

from inkmix.colour.colorimetry import WHITE_XYZ100, srgb1_to_xyz100

_NAME = "sRGB (IEC 61966-2-1)"
_COPYRIGHT = "No copyright, use freely"
_DATE = (2026, 1, 1, 0, 0, 0)
"""Fixed: profile bytes must not tell when they were made."""
_HEADER_BYTES = 128
_GAMMA = (2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045)
"""g, a, b, c, d of ICC.1:2010, table 65, function type 3; from IEC 61966-2-1, equations 5 and 6."""
_BRADFORD_D65_TO_D50 = (
    (1.0478573, 0.0229075, -0.0501623),
    (0.0295705, 0.9904755, -0.0170615),
    (-0.0092405, 0.0150530, 0.7519708),
)
"""From the white (0.3127, 0.3290) of IEC 61966-2-1 to D50. Only said in the profile (tag chad);
nothing is computed with it. A test holds it against another library."""


@functools.cache
def srgb_profile() -> bytes:
    """Bytes of an ICC profile for sRGB."""
    tags = _tags()
    table, body = b"", b""
    places: dict[bytes, int] = {}
    start = _HEADER_BYTES + 4 + 12 * len(tags)
    for name, data in tags:
        if data not in places:
            places[data] = start + len(body)
            body += data + b"\0" * (-len(data) % 4)
        table += name + struct.pack(">II", places[data], len(data))
    content = struct.pack(">I", len(tags)) + table + body
    return _with_id(_header(_HEADER_BYTES + len(content)) + content)


def _tags() -> tuple[tuple[bytes, bytes], ...]:
    primaries = srgb1_to_xyz100(((1, 0, 0), (0, 1, 0), (0, 0, 1))) / 100
    curve = b"para" + struct.pack(">IHH", 0, 3, 0) + b"".join(map(_fixed, _GAMMA))
    return (
        (b"desc", _text(_NAME)),
        (b"cprt", _text(_COPYRIGHT)),
        (b"wtpt", _xyz(*(value / 100 for value in WHITE_XYZ100))),
        (
            b"chad",
            b"sf32\0\0\0\0" + b"".join(_fixed(v) for row in _BRADFORD_D65_TO_D50 for v in row),
        ),
        (b"rXYZ", _xyz(*primaries[0])),
        (b"gXYZ", _xyz(*primaries[1])),
        (b"bXYZ", _xyz(*primaries[2])),
        (b"rTRC", curve),
        (b"gTRC", curve),
        (b"bTRC", curve),
    )


def _header(size: int) -> bytes:
    """ICC.1:2010, table 17; the profile ID comes last, over the rest."""
    head = struct.pack(">I4sI", size, b"\0\0\0\0", 0x04300000) + b"mntrRGB XYZ "
    head += struct.pack(">6H", *_DATE) + b"acsp" + bytes(28)
    head += b"".join(_fixed(value / 100) for value in WHITE_XYZ100)
    return head.ljust(_HEADER_BYTES, b"\0")


def _with_id(profile: bytes) -> bytes:
    """ICC.1:2010, 7.2.18: MD5 over the profile with flags, intent and ID zero, as they are here."""
    digest = hashlib.md5(profile, usedforsecurity=False).digest()
    return profile[:84] + digest + profile[100:]


def _text(text: str) -> bytes:
    """multiLocalizedUnicodeType with one record."""
    data = text.encode("utf-16-be")
    return b"mluc" + struct.pack(">III2s2sII", 0, 1, 12, b"en", b"GB", len(data), 28) + data


def _xyz(x: float, y: float, z: float) -> bytes:
    return b"XYZ \0\0\0\0" + _fixed(x) + _fixed(y) + _fixed(z)


def _fixed(value: float) -> bytes:
    """s15Fixed16Number."""
    return struct.pack(">i", round(float(value) * 65536))
