"""One strip or tile of a TIFF, unpacked at once and straight into an array.

The usual packings go to their decoders without a copy in between; everything else, and whatever
these refuse, goes the general way of the TIFF library. A strip that is short is a fault, never
white paper. Strips too large for that are in strip_rows.py.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import imagecodecs
import numpy as np
from numpy.typing import NDArray

from inkmix.errors import PlateError
from inkmix.plates.lzw import unpack_lzw
from inkmix.plates.source import SourceFile, damaged
from inkmix.plates.tiff_layout import Layout

_LZW = 5
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
        if not (self._is_usual and self._quick(out, packed)):
            self._general(out, packed, index)

    def fault(self, index: int, how: str) -> PlateError:
        """The error for one strip or tile."""
        return damaged(self.source.path, f"{self.layout.place_of(index)} {how}")

    @property
    def _is_usual(self) -> bool:
        layout = self.layout
        known = layout.compression in (1, _LZW, *_DECODERS)
        return known and layout.fill_order == 1 and (layout.bits > 1 or layout.predictor == 1)

    def _quick(self, out: NDArray[Any], packed: bytes) -> bool:
        """Whether the decoder gave exactly what `out` holds."""
        if self.layout.bits > 1:
            done = self._decoded(out.reshape(-1).view(np.uint8), packed)
            if done:
                self.layout.finish(out)
            return done
        rows, cols, channels = out.shape
        packed_bits = np.empty((rows, -(-cols * channels // 8)), np.uint8)
        done = self._decoded(packed_bits.reshape(-1), packed)
        out[:] = np.unpackbits(packed_bits, axis=1, count=cols * channels).reshape(out.shape)
        return done

    def _decoded(self, flat: NDArray[np.uint8], packed: bytes) -> bool:
        """Whether `flat` was filled exactly."""
        if self.layout.compression == 1:
            count = min(len(packed), flat.size)
            flat[:count] = np.frombuffer(packed, np.uint8, count)
            return count == flat.size
        if self._count(flat, packed) == flat.size:
            return True
        return not self.layout.tiled and self._is_filled_up(flat, packed)

    def _is_filled_up(self, flat: NDArray[np.uint8], packed: bytes) -> bool:
        """Whether a strip that the picture ends in holds as many rows as the others."""
        full = np.empty(self.layout.segment_rows * self.layout.row_bytes, np.uint8)
        if full.size <= flat.size or self._count(full, packed) != full.size:
            return False
        flat[:] = full[: flat.size]
        return True

    def _count(self, flat: NDArray[np.uint8], packed: bytes) -> int:
        """Bytes that the decoder gave; 0 where it refuses, the general way says what is wrong."""
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
