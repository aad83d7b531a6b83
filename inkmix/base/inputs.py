"""Files that somebody names: opened only where they are plain files, and read only up to a bound.

A device never ends, a pipe may never begin, so whatever is no file is refused before it is opened.
What is in a file is not known here. Every function raises OSError, with words in its `strerror`.
"""

import errno
import os
import stat
from collections.abc import Iterator
from contextlib import contextmanager
from hashlib import file_digest
from io import BufferedReader
from pathlib import Path

from inkmix.base.file_state import state_in

_TRIES = 3
_SPECIAL = {
    stat.S_IFCHR: "a device",
    stat.S_IFBLK: "a device",
    stat.S_IFIFO: "a pipe",
    stat.S_IFSOCK: "a socket",
}


def special_kind(path: Path) -> str | None:
    """What lies there if it is neither a file nor a folder: "a device", "a pipe" or "a socket".

    None also where nothing is there, or where nobody may look.
    """
    try:
        return _kind(path.stat().st_mode)
    except (OSError, ValueError):  # a name with a zero byte is a ValueError
        return None


@contextmanager
def opened_input(path: Path) -> Iterator[BufferedReader]:
    """A plain file to read from.

    Raises
    ------
    OSError
        If it cannot be opened, or is a device, a pipe or a socket; those are not opened.
    """
    _refuse(path.stat().st_mode, path)
    with open(path, "rb", opener=_opener) as file:
        _refuse(os.fstat(file.fileno()).st_mode, path)  # it may have been exchanged since
        yield file


def input_digest(path: Path) -> str:
    """SHA-256 of a plain file, hex, read in pieces.

    Raises
    ------
    OSError
        As of `opened_input`.
    """
    with opened_input(path) as file:
        return file_digest(file, "sha256").hexdigest()


def read_input(path: Path, *, most_bytes: int) -> bytes:
    """All bytes of a plain file.

    Raises
    ------
    OSError
        If it cannot be read, is no plain file, is being written to, or holds more than
        `most_bytes`; then no more than that was read.
    """
    tries = (_unchanged(path, most_bytes + 1) for _ in range(_TRIES))
    data = next((data for data in tries if data is not None), None)
    if data is None:
        raise OSError(errno.EBUSY, "changes while it is read", str(path))
    if len(data) > most_bytes:
        raise OSError(errno.EFBIG, f"larger than {_size(most_bytes)}", str(path))
    return data


def _unchanged(path: Path, count: int) -> bytes | None:
    """The first bytes of a file; None where somebody wrote to it meanwhile."""
    with opened_input(path) as file:
        before = state_in(os.fstat(file.fileno()))
        data = file.read(count)
        return data if state_in(os.fstat(file.fileno())) == before else None


def _refuse(mode: int, path: Path) -> None:
    kind = _kind(mode)
    if kind is not None:
        raise OSError(errno.EINVAL, f"{kind}, not a file", str(path))


def _kind(mode: int) -> str | None:
    return _SPECIAL.get(stat.S_IFMT(mode))


def _opener(path: str, flags: int) -> int:
    """Whatever has that name by now: a pipe is not waited for."""
    return os.open(path, flags | getattr(os, "O_NONBLOCK", 0))


def _size(count: int) -> str:
    return f"{count / 1e6:.0f} MB" if count >= 10**6 else f"{count / 1000:.0f} kB"
