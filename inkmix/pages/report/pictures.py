"""Pictures of a page: their size, their data URI, and how they are made to fit the page's limit.

Bytes in, bytes out; the pictures come from the program itself, as PNG or JPEG.
"""

from base64 import b64encode
from collections.abc import Collection, Mapping
from io import BytesIO

from PIL import Image

from inkmix.base.errors import Fault, OutputError

PAGE_LIMIT_BYTES = 5_000_000
BUDGET_BYTES = 3_550_000  # base64 makes 4.74 MB of it, the words need up to 0.2 MB
SMALL_BYTES = 30_000  # pictures below are left alone: recoding gains nothing and costs sharpness
STEPS = tuple(  # JPEG quality and scale, first those that show least
    [(90, 1.0), (80, 1.0)] + [(78, 0.85**k) for k in range(1, 15)]
)
MEDIA = {"PNG": "image/png", "JPEG": "image/jpeg"}


def picture_size(data: bytes) -> tuple[int, int]:
    """Width and height in pixels."""
    with _opened(data) as picture:
        return picture.size


def data_uri(data: bytes) -> str:
    """A picture as an address that holds it."""
    with _opened(data) as picture:
        media = MEDIA[str(picture.format)]
    return f"data:{media};base64,{b64encode(data).decode('ascii')}"


def fit_pictures(
    pictures: Mapping[str, bytes],
    *,
    budget_bytes: int = BUDGET_BYTES,
    true_size: Collection[str] = (),
    page: str = "report.html",
) -> dict[str, bytes]:
    """The same pictures in at most `budget_bytes` together.

    Untouched where they fit; else the larger ones become JPEG, and smaller by steps, all by the
    same scale, so that a pair stays a pair. Those of `true_size` keep every pixel; an
    error names `page`.

    Raises
    ------
    OutputError
        Where even the last step does not fit.
    """
    fitted = dict(pictures)
    for quality, scale in STEPS:
        if _total(fitted) <= budget_bytes:
            return fitted
        fitted = {
            key: _smaller(data, quality, 1.0 if key in true_size else scale)
            for key, data in pictures.items()
        }
    if _total(fitted) <= budget_bytes:
        return fitted
    raise OutputError(
        Fault(
            where=page,
            found=f"{len(pictures)} pictures of {_total(pictures) / 1e6:.0f} MB",
            expected=f"a page holds at most {budget_bytes / 1e6:.1f} MB of pictures",
        )
    )


def _total(pictures: Mapping[str, bytes]) -> int:
    return sum(len(data) for data in pictures.values())


def _smaller(data: bytes, quality: int, scale: float) -> bytes:
    if len(data) <= SMALL_BYTES:
        return data
    with _opened(data) as picture:
        profile = picture.info.get("icc_profile")
        size = (max(1, round(picture.width * scale)), max(1, round(picture.height * scale)))
        small = picture.convert("RGB").resize(size, Image.Resampling.LANCZOS)
    buffer = BytesIO()
    small.save(buffer, "JPEG", quality=quality, subsampling=0, icc_profile=profile)
    return min(data, buffer.getvalue(), key=len)


def _opened(data: bytes) -> Image.Image:
    return Image.open(BytesIO(data), formats=tuple(MEDIA))
