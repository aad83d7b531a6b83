"""One strip or tile of a TIFF packed as its page says: the other way round of the reader's unpack.

Predictor, byte order, packing, order of bits; every packing that is read for 8 and 16 bits.
"""

from collections.abc import Callable
from typing import Any

import imagecodecs
import numpy as np
from numpy.typing import NDArray

from inkmix.export.deflated import deflated
from inkmix.plates.files.tiff.layout import Layout


def packed_segment(numbers: NDArray[Any], layout: Layout) -> bytes:
    """Bytes of a strip or tile (rows, cols, channels) uint8 or uint16."""
    if layout.predictor == 2:
        numbers = _differences(numbers)
    numbers = numbers.astype(f"{layout.byteorder}u{layout.bits // 8}", copy=False)
    data = _PACKERS[layout.compression](np.ascontiguousarray(numbers))
    return bytes(imagecodecs.bitorder_encode(data)) if layout.fill_order == 2 else data


def _differences(numbers: NDArray[Any]) -> NDArray[Any]:
    """From each pixel to its right neighbour, channel by channel (TIFF 6.0, section 14)."""
    differences = numbers.copy()
    differences[:, 1:] -= numbers[:, :-1]
    return differences


def _packed_bits(numbers: NDArray[Any]) -> bytes:
    """Each row by itself (TIFF 6.0, section 9)."""
    rows = numbers.reshape(len(numbers), -1).view(np.uint8)
    return bytes(imagecodecs.packbits_encode(rows, axis=-1))


def _plain(numbers: NDArray[Any]) -> bytes:
    return numbers.tobytes()


def _lzw(numbers: NDArray[Any]) -> bytes:
    return bytes(imagecodecs.lzw_encode(numbers.tobytes()))


def _zstd(numbers: NDArray[Any]) -> bytes:
    return bytes(imagecodecs.zstd_encode(numbers.tobytes()))


_PACKERS: dict[int, Callable[[NDArray[Any]], bytes]] = {
    1: _plain,
    5: _lzw,
    8: deflated,
    32946: deflated,
    32773: _packed_bits,
    50000: _zstd,
}
