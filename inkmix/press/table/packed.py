"""A table as the bytes of a file, and back.

A mark, the key, the arrays, a checksum of all before it. Shapes follow from inks and depth, so
nothing in the file steers how it is read: bytes that are not exactly this table are no table.
"""

import hashlib

import numpy as np
from numpy.typing import NDArray

from inkmix.press.table.lookup import FRACTION_ONE, NODES, Lookup

MARK = b"inkmix colour table, form 1     "  # with the key 64 bytes, so that the nodes lie aligned
_CHECKSUM_BYTES = 32
_HEAD_BYTES = len(MARK) + 32

ByteArray = NDArray[np.uint8]


def packed_bytes(*, inks: int, depth: int) -> int:
    """Size of a file."""
    nodes: int = NODES[inks] ** inks
    return _HEAD_BYTES + nodes * 8 + (inks << depth) * 3 + _CHECKSUM_BYTES


def pack(lookup: Lookup, *, key: bytes) -> bytes:
    """The file of a table; its index tables are held in 3 bytes a value instead of 8."""
    cells = (lookup.offsets // lookup.strides[:, None]).astype(np.uint8)
    fractions = lookup.fractions.astype(np.uint16)  # 0 to FRACTION_ONE, which is 2 ** 15
    body = b"".join((MARK, key, lookup.nodes.tobytes(), fractions.tobytes(), cells.tobytes()))
    return body + _checksum(body)


def unpack(data: ByteArray, *, key: bytes, inks: int, depth: int) -> Lookup | None:
    """The table of a file's bytes; None if they are anything but the table of this key, whole.

    Parameters
    ----------
    data : (bytes,) uint8 ndarray
        The nodes stay in it.
    """
    if data.size != packed_bytes(inks=inks, depth=depth):
        return None
    body, checksum = data[:-_CHECKSUM_BYTES], data[-_CHECKSUM_BYTES:].tobytes()
    if body[:_HEAD_BYTES].tobytes() != MARK + key or _checksum(body.data) != checksum:
        return None
    values, grid = inks << depth, NODES[inks]
    nodes, fractions, cells = np.split(body[_HEAD_BYTES:], [grid**inks * 8, -values])
    strides = grid ** np.arange(inks - 1, -1, -1, dtype=np.int32)
    return Lookup(
        nodes=nodes.view(np.int16).reshape(-1, 4),
        offsets=cells.reshape(inks, -1) * strides[:, None],
        fractions=fractions.view(np.uint16).reshape(inks, -1).astype(np.int32),
        strides=strides,
    )


def _checksum(body: bytes | memoryview) -> bytes:
    return hashlib.blake2b(body, digest_size=_CHECKSUM_BYTES).digest()


assert FRACTION_ONE < 1 << 16
assert max(NODES.values()) <= 1 << 8
