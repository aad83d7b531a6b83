"""What in a plate file shows the picture as it was: it would not be true of a corrected copy.

Layers that an editor keeps inside the file, reduced pictures and thumbnails. Bytes in, bytes out.
"""

import re
from collections.abc import Iterator

LAYERS = (37724, 50784)
"""Private tags in which editors keep a layered copy of the picture (common practice)."""
RESOURCES, XMP = 34377, 700
"""Tag of an editor's own resources, which come in blocks, and of XMP."""
ANIMATION = (b"acTL", b"fcTL", b"fdAT")
"""Chunks of further pictures (PNG, third edition, 11.3.6)."""
_THUMBNAILS = (1033, 1036)
"""Resources that hold a small picture (common practice, from memory)."""
_XMP_THUMBNAILS = re.compile(rb"<xmp:Thumbnails\b.*?</xmp:Thumbnails>", re.DOTALL)
_HEAD = 6


def without_thumbnails(code: int, data: bytes) -> bytes | None:
    """The value of RESOURCES or XMP without small pictures; None where it cannot be taken apart."""
    if code == XMP:
        return _XMP_THUMBNAILS.sub(b"", data)
    blocks = list(_blocks(data))
    whole = sum(len(block) for _, block in blocks)
    if data[whole:].strip(b"\0"):
        return None
    kept = (block for number, block in blocks if number not in _THUMBNAILS)
    return b"".join(kept) + data[whole:]


def _blocks(data: bytes) -> Iterator[tuple[int, bytes]]:
    """Number and bytes of each block, as far as they are whole.

    A block is four letters, its number, a name with its length, and content with its length; name
    and content are filled up to even lengths.
    """
    start = 0
    while start + _HEAD < len(data) and data[start : start + 4].isalnum():
        content = start + _HEAD + (data[start + _HEAD] + 2) // 2 * 2 + 4
        size = int.from_bytes(data[content - 4 : content])
        if content + size > len(data):
            return
        stop = content + (size + 1) // 2 * 2
        yield int.from_bytes(data[start + 4 : start + _HEAD]), data[start:stop]
        start = stop
