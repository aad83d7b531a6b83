"""What corrections did to pixels; the twin is in checks/trials/tally.py."""

from typing import Any

import numpy as np

from inkmix.base.kernels.jit import inner, loop

_CHUNK = 2048  # pixels whose buffers stay in the first cache


@loop
def count_changes(
    before: Any, after: Any, total: Any, limit: int, most: Any, taken: Any
) -> tuple[int, int, int, int]:
    """Compare planes (I, rows, cols) with what became of them; `total` is the ink afterwards.

    Adds to `most` and `taken` (I,) of int64, the greatest loss of each plane and the sum of losses.
    Returns the highest total, pixels over `limit`, those of them that changed, and pixels that lost
    anything.
    """
    highest = over = left = losing = 0
    plates, rows, cols = before.shape
    changed, lost = np.empty(_CHUNK, np.uint8), np.empty(_CHUNK, np.uint8)
    for row in range(rows):
        for start in range(0, cols, _CHUNK):
            stop = min(start + _CHUNK, cols)
            changed[:], lost[:] = 0, 0
            for plate in range(plates):
                one, other = before[plate, row, start:stop], after[plate, row, start:stop]
                _compare(one, other, changed, lost)
                most[plate] = max(most[plate], _greatest(one, other))
                taken[plate] += _sum(one, other)
            sums = total[row, start:stop]
            for at in range(stop - start):
                is_over = sums[at] > limit
                over += is_over
                left += is_over & (changed[at] != 0)
                losing += lost[at]
                highest = max(highest, sums[at])
    return highest, over, left, losing


@inner
def _compare(one: Any, other: Any, changed: Any, lost: Any) -> None:
    for at in range(one.shape[0]):
        changed[at] |= np.uint8(one[at] != other[at])
        lost[at] |= np.uint8(one[at] > other[at])


@inner
def _greatest(one: Any, other: Any) -> Any:
    greatest = np.int32(0)
    for at in range(one.shape[0]):
        greatest = max(greatest, np.int32(one[at]) - np.int32(other[at]))
    return greatest


@inner
def _sum(one: Any, other: Any) -> int:
    total = 0
    for at in range(one.shape[0]):
        less: Any = np.int32(one[at]) - np.int32(other[at])
        total += max(less, 0)
    return total
