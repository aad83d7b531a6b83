"""Which TIFF pages are accepted. Each refusal says what was found, what is needed, what to do."""

from collections.abc import Iterator
from typing import Any

from inkmix.base.errors import Fault
from inkmix.base.words import size_of
from inkmix.plates.files.limits import MAX_CHANNELS, MAX_PLATE_PX, MAX_SIDE_PX
from inkmix.plates.files.raster import KindFault
from inkmix.plates.files.tiff.layout import Layout
from inkmix.plates.files.tiff.tags import IMAGE_DEPTH, ORIENTATION

COMPRESSIONS = {
    1: "none",
    4: "G4",
    5: "LZW",
    8: "deflate",
    32773: "packbits",
    32946: "deflate",
    50000: "zstd",
}
_WITHOUT_PREDICTOR = (1, 4, 32773)
"""TIFF 6.0, section 14, has it for LZW; libtiff undoes it for these others, too: deflate, zstd."""
_HEAD_BYTES = 8  # TIFF 6.0, section 2; a place of 0 stands for one that was never written
AS_TOLD = "width, bits and channels must be what the file says they are"
_GREY = "export it as greyscale"
_PHOTOMETRIC = {
    0: "",
    1: "",
    2: "",
    3: "a palette picture (indexed colour)",
    4: "a transparency mask",
    5: "",
    6: "a YCbCr colour picture",
    8: "a CIELab colour picture",
    9: "an ICCLab colour picture",
}
_TURNED = {
    2: "mirrored",
    3: "turned by 180°",
    4: "flipped",
    6: "turned by 90°",
    8: "turned by 270°",
}
_UINT = 1


def page_faults(page: Any, *, where: str) -> tuple[Fault, ...]:
    """Everything about a page that keeps it from being read."""
    size = tuple(size_faults(page.imagewidth, page.imagelength, where=where))
    if size:
        return size
    checks = (_colour, _numbers, _packing, _channels, _orientation)
    return tuple(
        KindFault(where=where, found=found, expected=expected, do=do)
        for check in checks
        for found, expected, do in check(page)
    )


def size_faults(width_px: int, height_px: int, *, where: str) -> Iterator[Fault]:
    """Faults of a size in pixels, whatever the file format."""
    size = f"is {size_of(width_px, height_px, 'px')}"
    if not width_px or not height_px:
        yield Fault(where=where, found=size, expected="a picture with pixels is needed")
    elif max(width_px, height_px) > MAX_SIDE_PX or width_px * height_px > MAX_PLATE_PX:
        limit = f"the limit is {MAX_SIDE_PX} px a side and {MAX_PLATE_PX // 10**6} million in all"
        yield KindFault(where=where, found=size, expected=limit, do="check its size and resolution")


def segment_faults(layout: Layout, *, where: str, size: int) -> tuple[Fault, ...]:
    """Faults of strips or tiles that are missing or lie outside the file."""
    do = "export or copy it again"
    found = min(len(layout.offsets), len(layout.byte_counts))
    if found < layout.count:
        said = f"is damaged: it lists {found} strips or tiles"
        return (Fault(where=where, found=said, expected=f"{layout.count} are needed", do=do),)
    sizes = layout.byte_counts[: layout.count]
    if min(sizes) < 0:  # as guessed where they are not told (tag 279), beyond the end of the file
        said = "is damaged: strips or tiles have a negative length"
        return (Fault(where=where, found=said, expected="a whole file is needed", do=do),)
    if min(layout.offsets[: layout.count]) < _HEAD_BYTES:
        said = "is damaged: strips or tiles begin in the head of the file"
        return (Fault(where=where, found=said, expected="a whole file is needed", do=do),)
    ends = [start + count for start, count in zip(layout.offsets, sizes, strict=False)]
    if max(ends) > size:
        first = next(index for index, end in enumerate(ends) if end > size)
        said = f"is cut off: {size} bytes, up to {layout.place_of(first)}"
        expected = f"it says it has {max(ends)}"
        return (Fault(where=where, found=said, expected=expected, do=do),)
    short = [index for index, count in enumerate(sizes) if not count or _is_short(layout, index)]
    if short:
        others = f" and {len(short) - 1} others" if len(short) > 1 else ""
        said = f"is damaged: {layout.place_of(short[0])}{others} are missing or end early"
        return (Fault(where=where, found=said, expected="a whole file is needed", do=do),)
    return tuple(_overlong(layout, where))


def _overlong(layout: Layout, where: str) -> Iterator[Fault]:
    """The fault of unpacked strips or tiles that hold more than their rows, by the first of them.

    Packed ones show that when they are unpacked.
    """
    if layout.compression != 1:
        return
    for index, count in enumerate(layout.byte_counts[: layout.count]):
        needed = layout.needed_bytes(index)
        if count > needed and not layout.may_hold(index, count):
            found = (
                f"is damaged: {layout.place_of(index)} has {count} bytes where {needed} are needed"
            )
            yield Fault(where=where, found=found, expected=AS_TOLD, do="export it again")
            return


def _is_short(layout: Layout, index: int) -> bool:
    """Whether an unpacked strip holds fewer bytes than its rows need."""
    top, stop = layout.rows_of(index)
    return layout.is_plain and layout.byte_counts[index] < (stop - top) * layout.row_bytes


def _colour(page: Any) -> Iterator[tuple[str, str, str]]:
    name = _PHOTOMETRIC.get(int(page.photometric), f"colour of kind {int(page.photometric)}")
    if name:
        yield f"is {name}", "a greyscale picture is needed", _GREY


def _numbers(page: Any) -> Iterator[tuple[str, str, str]]:
    bits = page.bitspersample
    if int(page.sampleformat or _UINT) != _UINT:
        kind = "floating point" if int(page.sampleformat) == 3 else "signed"
        needed, do = "8 or 16 bits without sign are needed", "export it in 8 or 16 bits"
        yield f"holds {bits}-bit {kind} numbers", needed, do
    elif bits not in (1, 8, 16):
        yield (
            f"holds {bits} bits a pixel",
            "1, 8 or 16 bits are needed",
            "export it in 8 or 16 bits",
        )


def _packing(page: Any) -> Iterator[tuple[str, str, str]]:
    code = int(page.compression)
    if code not in COMPRESSIONS:
        name = getattr(page.compression, "name", str(code))
        known = ", ".join(dict.fromkeys(COMPRESSIONS.values()))
        yield f"is packed with {name}", f"read are {known}", "export it with LZW or deflate"
    if int(page.predictor) not in (1, 2):
        yield f"uses predictor {int(page.predictor)}", "1 and 2 are read", "export it again"
    elif int(page.predictor) == 2 and code in _WITHOUT_PREDICTOR:
        found = f"uses predictor 2 where the packing is {COMPRESSIONS[code]}"
        expected = (
            "differences go with LZW, deflate or zstd only; else readers do not agree on them"
        )
        yield found, expected, "export it again"


def _channels(page: Any) -> Iterator[tuple[str, str, str]]:
    if page.samplesperpixel > MAX_CHANNELS:
        yield f"has {page.samplesperpixel} channels", f"the limit is {MAX_CHANNELS}", _GREY
    if page.tags.valueof(IMAGE_DEPTH, 1) != 1:
        yield "is a stack of pictures", "one flat picture is needed", _GREY


def _orientation(page: Any) -> Iterator[tuple[str, str, str]]:
    code = page.tags.valueof(ORIENTATION, 1)
    if code not in (0, 1):
        turned = _TURNED.get(code, "turned and mirrored")
        yield (
            f"is marked as {turned} (orientation tag {code})",
            "programs disagree on whether to follow that mark",
            "turn the picture itself and export it without the mark",
        )
