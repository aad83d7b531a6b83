"""What a PNG says of its colours by chunks of its own, as a profile: cICP, sRGB, gAMA, cHRM.

Only pictures whose colours count are asked; a plate's numbers are its tone values. An embedded
profile itself is looked at in profile.py.
"""

import struct
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from inkmix.colour.colorimetry import WHITE_XYZ100, display_to_xyz100
from inkmix.plates.files.png.chunks import walked_chunks
from inkmix.plates.files.profile import MAX_PROFILE_BYTES
from inkmix.plates.files.source import source_of

_KINDS = (b"cICP", b"iCCP", b"sRGB", b"gAMA", b"cHRM")
_Point = tuple[float, float]
_D65 = (0.3127, 0.3290)
_SRGB_XY = ((0.64, 0.33), (0.30, 0.60), (0.15, 0.06))
# ITU-T H.273, table 2: BT.709 and sRGB, BT.2020, P3 with D65.
_PRIMARIES = {
    1: _SRGB_XY,
    9: ((0.708, 0.292), (0.170, 0.797), (0.131, 0.046)),
    12: ((0.680, 0.320), (0.265, 0.690), (0.150, 0.060)),
}
# ICC.1:2022, table 68, function type 3: g, a, b, c, d. IEC 61966-2-1, and BT.709 read backwards.
_SRGB_CURVE = (2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045)
_BT709_CURVE = (1 / 0.45, 1 / 1.099, 0.099 / 1.099, 1 / 4.5, 0.081)
# ITU-T H.273, table 3: 16 and 18 are those of HDR screens, brighter than any paper.
_CURVES: dict[int, tuple[float, ...]] = {
    1: _BT709_CURVE,
    4: (2.2,),
    5: (2.8,),
    6: _BT709_CURVE,
    8: (1.0,),
    13: _SRGB_CURVE,
    14: _BT709_CURVE,
    15: _BT709_CURVE,
}
_HDR = (16, 18)
_GAMMA_UNIT = 100_000
_USUAL_GAMMA = (45_000, 46_000)
"""Writers of sRGB put 45455 (PNG, third edition, 11.3.2.5), or 1/2.2 rounded in another way."""
_PARAMETRIC = {1: 0, 5: 3}


class UnknownCodingError(Exception):
    """Colours coded in a way that is not read; its text says what the picture is or holds."""


def colour_chunks(path: Path) -> dict[bytes, bytes]:
    """Content of the chunks about colour that stand before the pixels; of each kind the first.

    Raises
    ------
    PlateError
        If one of the chunks up to there is damaged.
    """
    found: dict[bytes, bytes] = {}
    walked = walked_chunks(source_of(path), kept=_KINDS, until=(b"IDAT",))
    for kind, _, count, content in walked:
        if kind in _KINDS and count <= MAX_PROFILE_BYTES:
            found.setdefault(kind, content)
    return found


def profile_of_code(chunk: bytes) -> bytes:
    """A profile for what a cICP chunk says (PNG, third edition, 11.3.2.6).

    Raises
    ------
    UnknownCodingError
        If it is for an HDR screen, or of a kind that is not read.
    """
    said = "/".join(map(str, chunk))
    if len(chunk) != 4:
        raise UnknownCodingError("holds a damaged colour code (cICP)")
    primaries, curve, matrix, is_full = chunk
    if curve in _HDR:
        raise UnknownCodingError(f"holds colours for HDR screens (cICP {said})")
    if primaries not in _PRIMARIES or curve not in _CURVES or (matrix, is_full) != (0, 1):
        raise UnknownCodingError(f"holds colours of a kind that is not read (cICP {said})")
    return _made_profile(
        f"its colour code (cICP {said})", _PRIMARIES[primaries], _D65, _CURVES[curve]
    )


def profile_of_gamma(gamma: bytes | None, chromaticities: bytes | None) -> bytes | None:
    """A profile for gAMA and cHRM (PNG, third edition, 11.3.2.1 and 11.3.2.2), either alone too.

    A missing one is that of sRGB. None if there is neither, or what they say means nothing.
    """
    exponent = _number(gamma)
    if exponent is None and chromaticities is None:
        return None
    is_usual = exponent is None or _USUAL_GAMMA[0] <= exponent <= _USUAL_GAMMA[1]
    curve = _SRGB_CURVE if is_usual or not exponent else (_GAMMA_UNIT / exponent,)
    white: _Point = _D65
    primaries: Sequence[_Point] = _SRGB_XY
    if chromaticities is not None:
        if len(chromaticities) != 32:
            return None
        numbers = [number / _GAMMA_UNIT for number in struct.unpack(">8I", chromaticities)]
        white, *primaries = zip(numbers[::2], numbers[1::2], strict=True)
    try:
        return _made_profile("its gamma and primaries (gAMA, cHRM)", primaries, white, curve)
    except (ArithmeticError, np.linalg.LinAlgError, struct.error):
        return None


def _number(chunk: bytes | None) -> int | None:
    return int.from_bytes(chunk) or None if chunk is not None and len(chunk) == 4 else None


def _made_profile(
    name: str,
    primaries_xy: Sequence[_Point],
    white_xy: _Point,
    curve: tuple[float, ...],
) -> bytes:
    """An ICC profile (ICC.1:2022) of a display; one curve for all channels."""
    with np.errstate(all="raise"):
        columns = display_to_xyz100(primaries_xy, white_xy).T / 100
    tone = b"para" + struct.pack(">IHH", 0, _PARAMETRIC[len(curve)], 0) + _fixed(*curve)
    text = name.encode("utf-16-be")
    tags = [(b"desc", b"mluc" + struct.pack(">III4sII", 0, 1, 12, b"enGB", len(text), 28) + text)]
    tags.append((b"wtpt", _xyz(*(value / 100 for value in WHITE_XYZ100))))
    for channel, xyz in zip((b"r", b"g", b"b"), columns, strict=True):
        tags += [(channel + b"XYZ", _xyz(*xyz)), (channel + b"TRC", tone)]
    return _joined(tags)


def _joined(tags: Sequence[tuple[bytes, bytes]]) -> bytes:
    place, table, body = 132 + 12 * len(tags), b"", b""
    for name, data in tags:
        table += name + struct.pack(">II", place + len(body), len(data))
        body += data + b"\0" * (-len(data) % 4)
    head = struct.pack(">I4sI", place + len(body), b"\0\0\0\0", 0x04300000) + b"mntrRGB XYZ "
    head += struct.pack(">6H", 2026, 1, 1, 0, 0, 0) + b"acsp" + bytes(28)
    head += _fixed(*(value / 100 for value in WHITE_XYZ100))
    return head.ljust(128, b"\0") + struct.pack(">I", len(tags)) + table + body


def _xyz(x: float, y: float, z: float) -> bytes:
    return b"XYZ \0\0\0\0" + _fixed(x, y, z)


def _fixed(*values: float) -> bytes:
    """s15Fixed16Number (ICC.1:2022, 4.6)."""
    return b"".join(struct.pack(">i", round(float(value) * 65536)) for value in values)
