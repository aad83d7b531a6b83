"""Bytes kept aside: in memory, or in a file without a name. How much, and where, is in room.py.

Files are read and written by rows, never mapped: mapped pages would count as memory of the program.
"""

import errno
import os
import tempfile
import threading
import time
import weakref
from collections.abc import Callable
from contextlib import ExitStack, suppress
from pathlib import Path
from typing import Any, BinaryIO, Protocol

import numpy as np
from numpy.typing import NDArray

from inkmix.base.errors import PlateError

PREFIX = ".inkmix-scratch-"
"""Begins the name of a scratch file, for the moment in which it has one."""
FULL = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)
"""Errors of a disk without room."""
_STALE_S = 3600


class Space(Protocol):
    """Bytes that may be written and read anywhere, from several threads."""

    def write(self, offset: int, data: NDArray[Any]) -> None:
        """Put a contiguous array at a place."""

    def read_into(self, offset: int, out: NDArray[Any]) -> None:
        """Fill a contiguous array from a place."""


class MemorySpace:
    """Bytes in memory."""

    def __init__(self, count: int) -> None:
        self._bytes = np.zeros(count, np.uint8)

    def write(self, offset: int, data: NDArray[Any]) -> None:
        """Put a contiguous array at a place."""
        flat = data.reshape(-1).view(np.uint8)
        self._bytes[offset : offset + flat.size] = flat

    def read_into(self, offset: int, out: NDArray[Any]) -> None:
        """Fill a contiguous array from a place."""
        flat = out.reshape(-1).view(np.uint8)
        flat[:] = self._bytes[offset : offset + flat.size]


class FileSpace:
    """Bytes in a nameless file."""

    def __init__(self, file: BinaryIO, full: Callable[[], PlateError]) -> None:
        self._file, self._full = file, full
        self._lock = threading.Lock()
        weakref.finalize(self, file.close)

    def write(self, offset: int, data: NDArray[Any]) -> None:
        """Put a contiguous array at a place; PlateError where the disk is full."""
        left = data.reshape(-1).view(np.uint8).data
        try:
            while left:
                done = self._put(offset, left)
                left, offset = left[done:], offset + done
        except OSError as error:
            raise self._full() from error

    def read_into(self, offset: int, out: NDArray[Any]) -> None:
        """Fill a contiguous array from a place."""
        left = out.reshape(-1).view(np.uint8).data
        while left:
            done = self._get(offset, left)
            left, offset = left[done:], offset + done

    def _put(self, offset: int, data: memoryview) -> int:
        if hasattr(os, "pwrite"):
            return os.pwrite(self._file.fileno(), data, offset)
        with self._lock:
            self._file.seek(offset)
            return self._file.write(data)

    def _get(self, offset: int, out: memoryview) -> int:
        if hasattr(os, "preadv"):
            return _some(os.preadv(self._file.fileno(), [out], offset))
        with self._lock:
            self._file.seek(offset)
            return _some(self._file.readinto(out))  # type: ignore[attr-defined]


def _some(count: int) -> int:
    """A file never ends where it was reserved or written; this keeps a loop from standing still."""
    if not count:
        raise EOFError("scratch file ends early")
    return count


def clear_stale(folder: Path) -> None:
    """Remove what a killed program left: where files need a name, for the moment they have it."""
    for path in folder.glob(f"{PREFIX}*"):
        with suppress(OSError):
            if time.time() - path.stat().st_mtime > _STALE_S:
                path.unlink()


def nameless_file(folder: Path, count: int) -> BinaryIO:
    """A file of so many bytes that is gone when it is closed; OSError where none can be had."""
    with ExitStack() as stack:
        file = stack.enter_context(tempfile.TemporaryFile(dir=folder, prefix=PREFIX, buffering=0))
        _reserve(file.fileno(), count)
        stack.pop_all()
        return file


def _reserve(handle: int, count: int) -> None:
    """Take the room at once where the system can, so that two plates do not count on the same."""
    if not hasattr(os, "posix_fallocate"):
        os.truncate(handle, count)
        return
    try:
        os.posix_fallocate(handle, 0, count)
    except OSError as error:
        if error.errno in FULL:
            raise
        os.truncate(handle, count)
