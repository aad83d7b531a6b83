"""Thumbnails of the page: made to fit together, and turned into addresses that hold them."""

from base64 import b64encode
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from io import BytesIO

from PIL import Image

BUDGET_BYTES = 12_000_000
"""Of all data URIs together."""

QUALITY = 72
SCALES = tuple(0.8**k for k in range(9))  # down to a sixth of the side
SAMPLE = 40  # from which the scale is guessed; all are coded once where the guess holds
_PER_BYTE = 4 / 3  # base64
_HEAD = "data:image/jpeg;base64,"


@dataclass(frozen=True, slots=True, kw_only=True)
class Thumbnail:
    """An address that holds a picture, and its size in pixels."""

    uri: str
    width: int
    height: int


def fit_thumbnails(
    pictures: Mapping[int, bytes], *, budget_bytes: int = BUDGET_BYTES
) -> dict[int, Thumbnail]:
    """The pictures as thumbnails whose addresses take at most `budget_bytes` together.

    Untouched where they fit, else coded anew, all at one scale. What is no JPEG is left out; all
    are where not even the smallest scale fits.
    """
    sound = {key: data for key, data in pictures.items() if _size(data)}
    if _total(list(sound.values())) <= budget_bytes:
        return {key: _thumbnail(data) for key, data in sound.items()}
    for scale in _scales(list(sound.values()), budget_bytes):
        fitted = {key: _smaller(data, scale) for key, data in sound.items()}
        if _total(list(fitted.values())) <= budget_bytes:
            return {key: _thumbnail(data) for key, data in fitted.items()}
    return {}


def _scales(pictures: Sequence[bytes], budget_bytes: int) -> list[float]:
    """Scales worth trying, largest first, as far as some of the pictures tell."""
    some = pictures[:: max(1, len(pictures) // SAMPLE)]
    share = budget_bytes * len(some) / len(pictures)
    return [scale for scale in SCALES if _total([_smaller(p, scale) for p in some]) <= share]


def _total(pictures: Sequence[bytes]) -> float:
    return sum(len(data) * _PER_BYTE + len(_HEAD) + 4 for data in pictures)


def _size(data: bytes) -> tuple[int, int] | None:
    try:
        with Image.open(BytesIO(data), formats=("JPEG",)) as picture:
            return picture.size
    except (OSError, ValueError, SyntaxError):
        return None


def _thumbnail(data: bytes) -> Thumbnail:
    width, height = _size(data) or (0, 0)
    return Thumbnail(uri=_HEAD + b64encode(data).decode("ascii"), width=width, height=height)


@lru_cache(maxsize=4 * 1024)  # a book that is watched is written again when one spread changes
def _smaller(data: bytes, scale: float) -> bytes:
    with Image.open(BytesIO(data), formats=("JPEG",)) as picture:
        size = (max(1, round(picture.width * scale)), max(1, round(picture.height * scale)))
        picture.draft("RGB", size)
        small = picture.convert("RGB").resize(size, Image.Resampling.BOX)
    buffer = BytesIO()
    small.save(buffer, "JPEG", quality=QUALITY, optimize=True)
    return min(data, buffer.getvalue(), key=len)
