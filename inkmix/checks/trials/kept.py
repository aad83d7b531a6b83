"""Corrected pixels kept aside, for those who read them after whoever tried the correction."""

from collections.abc import Sequence

from inkmix.checks.window import Box
from inkmix.plates.files.scratch.room import ScratchRoom
from inkmix.plates.kept import KeptPlanes, bytes_of, dtype_of, kept_planes


class Keeping:
    """What is kept of one sheet: of corrections that are made, and of the one tried last.

    Parameters
    ----------
    room : ScratchRoom
    planes : int
    full : int
        Ink amount of 100 %: 255 or 65535.
    sheet_px : int
        No more is kept than the planes of so many pixels take, and as much stays free.
    """

    def __init__(self, room: ScratchRoom, *, planes: int, full: int, sheet_px: int) -> None:
        self._room, self._planes = room, planes
        self._full, self._dtype = full, dtype_of(full)
        self._most_bytes = self._left_bytes = sheet_px * planes * self._dtype.itemsize
        self._tried: tuple[object, object, Sequence[Box], KeptPlanes | None] | None = None

    def tried(self, source: object, correction: object, boxes: Sequence[Box]) -> KeptPlanes | None:
        """For a correction that is tried on a source; what was kept of the last such is gone."""
        if self._tried is not None:
            self._let_go(*self._tried[2:])
        kept = self._room_for(boxes)
        self._tried = source, correction, tuple(boxes), kept
        return kept

    def made(self, source: object, correction: object, boxes: Sequence[Box]) -> KeptPlanes | None:
        """For a correction that is made: what was kept of it if it was tried last; or for later."""
        last, self._tried = self._tried, None
        if last is not None:
            if last[0] is source and last[1] is correction and last[2] == tuple(boxes):
                return last[3]
            self._let_go(*last[2:])
        return self._room_for(boxes)

    def _let_go(self, boxes: Sequence[Box], kept: KeptPlanes | None) -> None:
        if kept is not None:
            self._left_bytes += bytes_of(boxes, self._planes, self._dtype)

    def _room_for(self, boxes: Sequence[Box]) -> KeptPlanes | None:
        count = bytes_of(boxes, self._planes, self._dtype)
        if not 0 < count <= self._left_bytes:
            return None
        kept = kept_planes(
            boxes, self._room, planes=self._planes, full=self._full, leaving=self._most_bytes
        )
        if kept is not None:
            self._left_bytes -= count
        return kept
