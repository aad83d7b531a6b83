"""The last unpacked strips or tiles of a page, shared by windows in several threads.

A row of tiles is needed again by the next windows, and may be as wide as the sheet. So what is kept
lies in scratch space, which is memory only while it is small.
"""

import threading
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from numpy.typing import NDArray

from inkmix.plates.files.scratch.space import Space

Fill = Callable[[NDArray[Any], int], None]
"""Unpacks a segment: (array to fill, index)."""


@dataclass(slots=True, kw_only=True, eq=False)
class _Slot:
    """Room for one segment; `holds` changes under the slot's own lock only."""

    space: Space
    place: int
    meant_for: int = -1
    holds: int = -1
    lock: threading.Lock = field(default_factory=threading.Lock)


class KeptSegments:
    """Segments by index; the one unpacked first is given up first.

    Windows come in raster order, so that is the one that no window on its way needs any more, even
    if a slow one has just used it.

    Memory: that of the room given, and a packed and an unpacked segment for each thread.
    """

    def __init__(self, slot_bytes: int, new_space: Callable[[int], Space]) -> None:
        self._slot_bytes, self._new_space, self._count = slot_bytes, new_space, 0
        self._lock = threading.Lock()
        self._by_index: OrderedDict[int, _Slot] = OrderedDict()
        self._free: list[_Slot] = []

    def have(self, count: int) -> None:
        """Have room for so many segments from now on; `new_space` is asked for what is missing."""
        with self._lock:
            missing = count - self._count
            if missing <= 0:
                return
            space = self._new_space(missing * self._slot_bytes)
            places = (number * self._slot_bytes for number in range(missing))
            self._free += [_Slot(space=space, place=place) for place in places]
            self._count = count

    def rows(self, out: NDArray[Any], index: int, *, rows: slice, fill: Fill) -> NDArray[Any]:
        """Rows of a segment; `out` has the shape and type of the whole one and may be used.

        A segment that another thread is unpacking is waited for. None is unpacked under the lock
        that all share.
        """
        while True:
            slot = self._slot(index)
            with slot.lock:
                if slot.holds == index:
                    part = out[: rows.stop - rows.start]
                    slot.space.read_into(slot.place + rows.start * out[0].nbytes, part)
                    return part
                if slot.meant_for != index:
                    continue
                slot.holds = -1
                fill(out, index)
                slot.space.write(slot.place, out)
                slot.holds = index
                return out[rows]

    def _slot(self, index: int) -> _Slot:
        with self._lock:
            slot = self._by_index.get(index)
            if slot is None:
                slot = self._free.pop() if self._free else self._by_index.popitem(last=False)[1]
                slot.meant_for = index
                self._by_index[index] = slot
            return slot
