"""A PNG again, with other numbers: every chunk but those of the pixels is kept.

Bytes only; files: copies.py. Clauses are those of the PNG specification, third edition.
"""

from typing import Any, BinaryIO

from numpy.typing import NDArray

from inkmix.export.plates.stale import ANIMATION
from inkmix.export.png_stream import PngBand, PngPart, PngPixels, chunk
from inkmix.plates.files.png.chunks import walked_chunks
from inkmix.plates.files.raster import label
from inkmix.plates.files.sniff import PNG_SIGNATURE
from inkmix.plates.files.source import SourceFile

_HEADER, _PIXELS, _END, _CLEAR = b"IHDR", b"IDAT", b"IEND", b"tRNS"
_BIT_BOUND = (b"sBIT", b"bKGD")
"""Chunks whose numbers are those of the depth (11.3.2.4, 11.3.4.1)."""
_FRAME_BYTES = 12
"""Length, kind and check sum of a chunk."""
_PIECE_BYTES = 2**20
_DEPTH_AT, _INTERLACE_AT = 8, 12
_WHOLE_BYTE = 8
_WHY = {
    _CLEAR: "the colour that is clear (tRNS) is left out: a corrected tone could be the same",
    **dict.fromkeys(ANIMATION, "further pictures in it are left out: they would show the old one"),
}


class PngCopy:
    """Writes one PNG.

    Parameters
    ----------
    file : BinaryIO
        To write to.
    source : SourceFile
        The PNG as it is.
    width_px : int
        Its width.
    """

    def __init__(self, file: BinaryIO, source: SourceFile, *, width_px: int) -> None:
        self._file, self._source = file, source
        self._notes: dict[str, None] = {}
        self._behind: list[tuple[int, int]] = []
        file.write(PNG_SIGNATURE)
        self._copy_chunks()
        self._pixels = PngPixels(file, width_px=width_px)

    @property
    def notes(self) -> list[str]:
        """What is not as it was, and has to be said."""
        return [f"{label(self._source.path)}: {sentence}" for sentence in self._notes]

    def pack(self, numbers: NDArray[Any], *, col: int) -> PngBand | PngPart:
        """A block (rows, cols, channels) uint8 or uint16; any thread may ask."""
        return self._pixels.pack(numbers, col=col)

    def append(self, packed: PngBand | PngPart) -> None:
        """Write the next block in raster order."""
        self._pixels.append(packed)

    def finish(self) -> None:
        """Write what follows the pixels."""
        self._pixels.finish()
        for span in self._behind:
            self._copy(*span)
        self._file.write(chunk(_END, b""))

    def _copy_chunks(self) -> None:
        """Write what precedes the pixels, and note what follows them."""
        is_behind, depth = False, _WHOLE_BYTE
        for kind, place, count, content in walked_chunks(self._source, kept=(_HEADER,)):
            if kind == _HEADER:
                depth = content[_DEPTH_AT]
                self._file.write(chunk(_HEADER, self._changed_header(content)))
            elif kind == _PIXELS:
                is_behind = True
            elif not self._is_left_out(kind, depth) and kind != _END:
                span = (place - _FRAME_BYTES + 4, count + _FRAME_BYTES)
                if is_behind:
                    self._behind.append(span)
                else:
                    self._copy(*span)

    def _changed_header(self, header: bytes) -> bytes:
        """Whole bytes a number, rows from top to bottom."""
        depth = header[_DEPTH_AT]
        if depth < _WHOLE_BYTE:
            self._say(f"its {depth} bits a pixel become 8, which corrected tones need")
        if header[_INTERLACE_AT]:
            self._say("its rows are no longer interlaced")
        changed = bytearray(header)
        changed[_DEPTH_AT], changed[_INTERLACE_AT] = max(depth, _WHOLE_BYTE), 0
        return bytes(changed)

    def _is_left_out(self, kind: bytes, depth: int) -> bool:
        """Whether a chunk would not be true of the copy."""
        if kind in _WHY:
            self._say(_WHY[kind])
        elif depth < _WHOLE_BYTE and kind in _BIT_BOUND:
            self._say(f"what it says of its depth ({kind.decode('ascii')}) is left out")
        else:
            return False
        return True

    def _copy(self, place: int, count: int) -> None:
        for piece in self._source.pieces(place, count, most=_PIECE_BYTES):
            self._file.write(piece)

    def _say(self, sentence: str) -> None:
        self._notes[sentence] = None
