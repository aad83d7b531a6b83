"""The tags of a TIFF page that are relied on: there, of a fitting type, one value, not below zero.

Checked before anything is made of them. What their values mean is judged in rules.py.
"""

import struct
from collections.abc import Iterator
from typing import Any

from inkmix.base.errors import Fault

# TIFF 6.0, section 2: BYTE, SHORT and LONG stand for one another; signed ones are let pass where
# they are not negative. 13, 16 and 18 are those of directories and of BigTIFF.
_WHOLE = (1, 3, 4, 6, 8, 9, 13, 16, 17, 18)
PHOTOMETRIC, ORIENTATION, SAMPLES, ROWS_PER_STRIP = 262, 274, 277, 278
X_RESOLUTION, Y_RESOLUTION, PLANES, RESOLUTION_UNIT = 282, 283, 284, 296
INK_NAMES, DOT_RANGE, EXTRA_SAMPLES = 333, 336, 338
IMAGE_DEPTH, PROFILE = 32997, 34675
_SINGLE = {
    256: "its width",
    257: "its height",
    259: "its packing",
    PHOTOMETRIC: "what 0 means",
    266: "the order of its bits",
    ORIENTATION: "which side is up",
    SAMPLES: "its channels",
    ROWS_PER_STRIP: "the rows of a strip",
    PLANES: "how its channels lie",
    317: "its predictor",
    322: "the width of a tile",
    323: "the height of a tile",
}
_LISTS = {
    258: "its bits",
    273: "where its strips lie",
    279: "how long its strips are",
    324: "where its tiles lie",
    325: "how long its tiles are",
    DOT_RANGE: "which numbers are 0 % and 100 %",
    EXTRA_SAMPLES: "what its further channels are",
    339: "what kind of numbers it has",
}
_TYPES = frozenset({*range(1, 14), 16, 17, 18})
"""Of TIFF 6.0, section 2, of directories (13) and of BigTIFF."""

_MOST_VALUES = 2**22
"""Strips or tiles: one a row of the tallest plate, in sixteen inks."""
_AGAIN = "export it again"


def tag_faults(page: Any, *, where: str) -> tuple[Fault, ...]:
    """Faults of the tags of a page, whatever they are for."""
    said = [
        *_unreadable(page),
        *_unfit(page, _SINGLE, most=1),
        *_unfit(page, _LISTS, most=_MOST_VALUES),
        *_unknown_values(page),
    ]
    if not page.tags.get(PHOTOMETRIC):
        found = f"does not say whether 0 is black or white (tag {PHOTOMETRIC} is missing)"
        said.append((found, "that cannot be guessed: a wrong guess prints the negative"))
    return tuple(Fault(where=where, found=f, expected=e, do=_AGAIN) for f, e in said)


def _unreadable(page: Any) -> Iterator[tuple[str, str]]:
    """Tags that stand twice, or of no type that there is: libraries take one, or pass over it.

    Entries stand in ascending order (TIFF 6.0, section 2), so no tag comes again.
    """
    names, seen = _SINGLE | _LISTS, set()
    for code, kind in _entries(page):
        if code not in names:
            continue
        says = f"is damaged: tag {code}, {names[code]},"
        if code in seen:
            yield f"{says} occurs twice", "it occurs once"
        elif kind not in _TYPES:
            yield f"{says} is of a type that does not exist ({kind})", "it holds whole numbers"
        seen.add(code)


def _entries(page: Any) -> Iterator[tuple[int, int]]:
    """Code and type of each entry of the page's directory, as the file has them."""
    form, file = page.parent.tiff, page.parent.filehandle
    file.seek(page.offset)
    (count,) = struct.unpack(form.tagnoformat, file.read(form.tagnosize))
    data = file.read(count * form.tagsize)
    for start in range(0, len(data) - form.tagsize + 1, form.tagsize):
        code, kind = struct.unpack_from(form.byteorder + "HH", data, start)
        yield code, kind


def _unknown_values(page: Any) -> Iterator[tuple[str, str]]:
    """Values that mean nothing, of tags that decide where numbers lie."""
    planes = page.tags.get(PLANES)
    if planes is not None and planes.value not in (1, 2):
        yield f"is damaged: tag {PLANES}, {_SINGLE[PLANES]}, holds {planes.value}", "it is 1 or 2"
    further, samples = page.tags.get(EXTRA_SAMPLES), page.tags.get(SAMPLES)
    channels = 1 if samples is None else samples.value
    if further is not None and further.count > max(int(channels), 1):
        says = f"is damaged: tag {EXTRA_SAMPLES}, {_LISTS[EXTRA_SAMPLES]},"
        found = f"{says} tells of {further.count} channels"
        yield found, f"the file has {channels}"


def _unfit(page: Any, names: dict[int, str], *, most: int) -> Iterator[tuple[str, str]]:
    """Found and expected of each tag that cannot be what it is for."""
    for code, name in names.items():
        tag = page.tags.get(code)
        if tag is None:
            continue
        says = f"is damaged: tag {code}, {name},"
        if int(tag.dtype) not in _WHOLE:
            yield f"{says} holds no whole numbers", "it has to"
        elif not 1 <= tag.count <= most:
            yield (
                f"{says} holds {tag.count} values",
                f"it has 1 to {most}" if most > 1 else "it is one",
            )
        elif (least := _least(tag.value)) < 0:
            yield f"{says} holds {least}", "nothing in it is below 0"


def _least(value: Any) -> int:
    """The smallest of the values of a tag; bytes are never below 0."""
    if isinstance(value, bytes):
        return 0
    return int(min(value)) if isinstance(value, tuple) or hasattr(value, "__len__") else int(value)
