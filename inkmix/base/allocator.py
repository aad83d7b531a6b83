"""One heap for all threads, where the C library would make one for each.

What a thread frees stays in its heap, so each window that was ever worked on by some thread would
count as memory of the program for good: 327 MiB of a check instead of 299. Threads seldom wait for
the heap, for they ask it for few and large pieces. Only the command line asks for that.
"""

import ctypes
import gc
import sys

_WORTH_PX = 4_000_000
_M_ARENA_MAX = -8  # malloc.h of the GNU C library


def share_one_heap() -> None:
    """From now on threads share the heap; elsewhere than with the GNU C library nothing changes."""
    if not sys.platform.startswith("linux"):
        return
    try:
        ctypes.CDLL(None).mallopt(_M_ARENA_MAX, 1)
    except (AttributeError, OSError):  # another C library
        return


def give_back(worked_on_px: int) -> None:
    """Return to the system what is free within the heap: what is long-lived may lie above it.

    Between two long pieces of work on so many pixels: what only refers to itself goes as well.
    After few of them there is little to be had, and to look for it takes a tenth of a second.
    """
    if worked_on_px < _WORTH_PX:
        return
    gc.collect()
    if not sys.platform.startswith("linux"):
        return
    try:
        ctypes.CDLL(None).malloc_trim(0)
    except (AttributeError, OSError):  # another C library
        return
