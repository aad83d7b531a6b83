"""What the machine had too little of, in words: memory, or threads.

Whatever a library says of it comes in here as an exception; who asked for what is known only where
the exception tells.
"""

import errno
import math

from inkmix.base.errors import Fault

_NO_ROOM = ("cannot allocate memory", "failed to map segment", "memory allocation failed")
"""As the C library, the loader of libraries and their authors word it, within other messages."""
_NO_THREAD = "can't start new thread"
_DO = "close other programs, lift the limit that was set, or use a machine with more memory"


def shortage(error: BaseException) -> Fault | None:
    """The fault, where an exception or one that it arose from tells of a shortage."""
    seen: list[BaseException] = []
    one: BaseException | None = error
    while one is not None and one not in seen:
        if _NO_THREAD in str(one):
            found = "no more threads can be started"
            return Fault(where=_where(error), found=found, do=_DO)
        if _is_of_memory(one):
            return Fault(where=_where(error), found=_needed(one), do=_DO)
        seen.append(one)
        one = one.__cause__ or one.__context__
    return None


def _is_of_memory(error: BaseException) -> bool:
    if isinstance(error, MemoryError):
        return True
    if isinstance(error, OSError) and error.errno == errno.ENOMEM:
        return True
    words = str(error).lower()
    return isinstance(error, OSError | ImportError) and any(said in words for said in _NO_ROOM)


def _where(error: BaseException) -> str:
    """What was being done, which the notes of an exception say."""
    doing = getattr(error, "__notes__", ())
    return f"memory, {doing[0]}" if doing else "memory"


def _needed(error: BaseException) -> str:
    """How much was asked for at last, where NumPy says it."""
    shape, dtype = getattr(error, "shape", None), getattr(error, "dtype", None)
    if shape is None or dtype is None:
        return "there is not enough, and how much is needed is not known"
    count = math.prod(shape) * dtype.itemsize
    sides = " × ".join(f"{side}" for side in shape)
    return f"{_size(count)} more are needed for {sides} numbers and are not available"


def _size(count: int) -> str:
    if count >= 2**30:
        return f"{count / 2**30:.1f} GiB"
    return f"{count / 2**20:.0f} MiB" if count >= 2**20 else f"{count / 1024:.0f} KiB"
