"""How a file is found, by what tells that it is not what it was. Nothing is opened here.

Whoever writes to a file, gives it other times, rights or names sets its time of change, which
nobody can set otherwise. Clocks of file systems are coarse, though: of two changes within one step
the second leaves all times as they are.
"""

import os
import time
from pathlib import Path

State = tuple[int, ...] | None
"""Device, inode, size, times of content and of change in ns; None where there is no file."""

TELLS_CHANGES = os.name == "posix"
"""Elsewhere the fifth number of a state is the time of birth, which no change sets."""
REST_S = 3  # the coarsest clock, that of memory cards, has steps of 2 s

_TIMES = slice(3, 5)
_NS = 1_000_000_000


def state_of(path: Path) -> State:
    """How a file is found now."""
    try:
        return state_in(path.stat())
    except OSError:
        return None


def state_in(status: os.stat_result) -> tuple[int, ...]:
    """The same of a file that is open, or was looked at."""
    return status.st_dev, status.st_ino, status.st_size, status.st_mtime_ns, status.st_ctime_ns


def has_rested(state: tuple[int, ...]) -> bool:
    """Whether its last change is so old that any other from now on would show."""
    return max(state[_TIMES]) < time.time_ns() - REST_S * _NS
