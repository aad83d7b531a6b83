"""One strip or tile of a TIFF, unpacked at once and straight into an array.

The usual packings go to their decoders without a copy in between, everything else goes the general
way of the TIFF library. A strip that is short is a fault, never
white paper. Strips too large for that are in strip_rows.py.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import imagecodecs
import numpy as np
from numpy.typing import NDArray

from inkmix.base.errors import PlateError
from inkmix.plates.files.raster import refusal
from inkmix.plates.files.source import SourceFile, damaged
from inkmix.plates.files.tiff.layout import Layout
from inkmix.plates.files.tiff.lzw import unpack_lzw
from inkmix.plates.files.tiff.rules import AS_TOLD

_LZW = 5
_MOST_FILLED_BYTES = 2**22
_TIMES = (2, 16)
"""How many times the bytes there are where 16 bits are declared as 8 or 1, or colour as grey."""
_MOST_MORE_BYTES = 2**26
_DECODERS = {
    8: imagecodecs.deflate_decode,
    32946: imagecodecs.deflate_decode,
    32773: imagecodecs.packbits_decode,
    50000: imagecodecs.zstd_decode,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Unpacker:
    """Unpacks strips or tiles of one page.

    Parameters
    ----------
    source : SourceFile
        The file.
    layout : Layout
        How the page is stored.
    general : callable
        The library's own way: (packed bytes, index) to (array, place, shape).
    """

    source: SourceFile
    layout: Layout
    general: Callable[..., Any]

    def into(self, out: NDArray[Any], packed: bytes, index: int) -> None:
        """Numbers of a strip or tile into `out`, (rows, cols, channels), contiguous.

        Raises
        ------
        PlateError
            If it is short or damaged; says which, and its rows in the picture.
        """
        if len(packed) < self.layout.byte_counts[index]:
            raise self.fault(index, "ends early")
        if not self._is_usual:
            self._general(out, packed, index)
        elif not self._quick(out, packed, index):
            raise self.fault(index, "ends early or is spoiled: it cannot be unpacked")

    def fault(self, index: int, how: str) -> PlateError:
        """The error for one strip or tile."""
        return damaged(self.source.path, f"{self.layout.place_of(index)} {how}")

    def overlong(self, index: int) -> PlateError:
        """The error for a strip or tile of more bytes than its rows need."""
        found = f"is damaged: {self.layout.place_of(index)} holds more than its rows"
        return refusal(self.source.path, found, AS_TOLD, "export it again")

    @property
    def _is_usual(self) -> bool:
        layout = self.layout
        known = layout.compression in (1, _LZW, *_DECODERS)
        return known and (layout.bits > 1 or layout.predictor == 1)

    def _quick(self, out: NDArray[Any], packed: bytes, index: int) -> bool:
        """Whether the decoder gave what `out` holds."""
        if self.layout.fill_order == 2:
            packed = bytes(imagecodecs.bitorder_decode(packed))
        if self.layout.bits > 1:
            done = self._decoded(out.reshape(-1).view(np.uint8), packed, index)
            if done:
                self.layout.finish(out)
            return done
        rows, cols, channels = out.shape
        packed_bits = np.empty((rows, -(-cols * channels // 8)), np.uint8)
        done = self._decoded(packed_bits.reshape(-1), packed, index)
        out[:] = np.unpackbits(packed_bits, axis=1, count=cols * channels).reshape(out.shape)
        return done

    def _decoded(self, flat: NDArray[np.uint8], packed: bytes, index: int) -> bool:
        """Whether `flat` was filled."""
        if self.layout.compression == 1:
            count = min(len(packed), flat.size)
            flat[:count] = np.frombuffer(packed, np.uint8, count)
            return count == flat.size
        return self._count(flat, packed) == flat.size or self._holds_more(flat, packed, index)

    def _holds_more(self, flat: NDArray[np.uint8], packed: bytes, index: int) -> bool:
        """Whether more than `flat` was unpacked, and that may be.

        Some writers fill up strips by some bytes, or the last one to the rows of the others.
        """
        full = self.layout.filled_bytes
        sizes = [flat.size + self.layout.spare_bytes]
        if flat.size < full <= max(_MOST_FILLED_BYTES, 2 * flat.size):
            sizes.append(full + self.layout.spare_bytes)
        for size in (*sizes, *(min(times * sizes[-1], _MOST_MORE_BYTES) for times in _TIMES)):
            room = np.empty(size, np.uint8)
            count = self._count(room, packed)
            if self.layout.may_hold(index, count):
                flat[:] = room[: flat.size]
                return True
            if flat.size < count <= size:
                raise self.overlong(index)
        return False

    def _count(self, flat: NDArray[np.uint8], packed: bytes) -> int:
        """Bytes that are packed; 0 where the decoder refuses, as most do where there are more."""
        try:
            if self.layout.compression == _LZW:
                return unpack_lzw(packed, flat)
            return len(_DECODERS[self.layout.compression](packed, out=flat.data))
        except Exception:  # the decoder's own kinds
            return 0

    def _general(self, out: NDArray[Any], packed: bytes, index: int) -> None:
        try:
            found = self.general(packed, index)[0][0]
        except Exception as error:  # decoders raise whatever they like on damaged data
            how = "ends early or is spoiled: it cannot be unpacked"
            raise self.fault(index, how) from error
        if found.shape[0] < out.shape[0] or found.shape[1:] != out.shape[1:]:
            raise self.fault(index, "ends early")
        out[:] = found[: out.shape[0]]
