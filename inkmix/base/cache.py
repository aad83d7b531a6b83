"""The user's cache: where it is, how a file gets there, and which go when there are too many.

Files are written aside and renamed, so that several programs may read and write at once, in folders
that nobody else may enter: some of it is run, and all of it is believed. Nothing here knows what is
in a file, and nothing in the cache is needed. Every function may raise OSError.
"""

import errno
import os
import stat
from contextlib import suppress
from pathlib import Path

import platformdirs

from inkmix.base.atomic_files import BusyError, part_of

#: Environment variable that names the folder for whatever is kept between runs.
SWITCH = "INKMIX_CACHE"


def cache_folder(kind: str) -> Path:
    """The folder for files of one kind; it need not be there yet.

    Raises
    ------
    OSError
        If there is no home to keep anything in.
    """
    told = os.environ.get(SWITCH)
    return (Path(told) if told else _users_cache()) / kind


def _users_cache() -> Path:
    """Without a home some versions of platformdirs raise, others leave "~" as it is."""
    try:
        folder = Path(platformdirs.user_cache_dir("inkmix", appauthor=False))
    except RuntimeError:
        folder = Path()
    if not folder.is_absolute():
        raise FileNotFoundError("there is no home folder")
    return folder


def private_folder(kind: str) -> Path:
    """The folder for files of one kind, made where it is missing, which only its owner may enter.

    Raises
    ------
    OSError
        If it cannot be made, or if somebody else can have put something there; `strerror` says what
        to do.
    """
    folder = cache_folder(kind)
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    _refuse_others(folder)
    return folder


def _refuse_others(folder: Path) -> None:
    """Whoever writes there has the owner believe it, or run it, so nobody else may.

    A folder that others could only look into is closed to them.
    """
    if os.name != "posix":  # elsewhere the user's own folders are closed by lists of rights
        return
    status = folder.stat()
    if status.st_uid != os.geteuid():
        raise PermissionError(
            errno.EPERM,
            f"it belongs to another user; set {SWITCH} to a folder of yours",
            str(folder),
        )
    if status.st_mode & (stat.S_IWGRP | stat.S_IWOTH):
        raise PermissionError(
            errno.EPERM,
            "others can write to it; delete it, and the next run makes a safe one",
            str(folder),
        )
    if status.st_mode & (stat.S_IRWXG | stat.S_IRWXO):
        folder.chmod(0o700)


def read_own_file(path: Path) -> bytes:
    """What is in a plain file of our own.

    Raises
    ------
    OSError
        If it cannot be read, is no file, a link, or somebody else's.
    """
    flags = os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0)
    with open(
        path, "rb", opener=lambda name, _: os.open(name, flags | getattr(os, "O_BINARY", 0))
    ) as file:
        status = os.fstat(file.fileno())
        if not stat.S_ISREG(status.st_mode):
            raise OSError(errno.EINVAL, "it is not a file", str(path))
        if os.name == "posix" and status.st_uid != os.geteuid():
            raise PermissionError(errno.EPERM, "it belongs to another user", str(path))
        return file.read()


def mark_used(path: Path) -> None:
    """Let a file count as used now."""
    with suppress(OSError):  # a folder that may be read only
        os.utime(path)


def write_file(path: Path, data: bytes, *, most_bytes: int) -> None:
    """Put a file in place whole, unless another run is doing so, and make room for it.

    Parameters
    ----------
    most_bytes : int
        That all files of the folder with its ending may have together.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    try:
        with part_of(path) as part:
            part.file.write(data)
            part.file.flush()
            part.take_place()
    except BusyError:  # what another run puts there is as good
        return
    make_room(path.parent, path.suffix, most_bytes=most_bytes)


def make_room(folder: Path, suffix: str, *, most_bytes: int) -> None:
    """Remove the files not used for longest beyond the bound."""
    room = most_bytes
    for path, _, size in _by_last_use(folder, suffix):
        room -= size
        if room < 0:
            _remove(path)


def _by_last_use(folder: Path, suffix: str) -> list[tuple[Path, float, int]]:
    """Files of ours with the time of their last use and their size, latest first."""
    found = []
    for path in folder.glob(f"*{suffix}"):
        with suppress(OSError):  # gone meanwhile
            status = path.stat()
            found.append((path, status.st_mtime, status.st_size))
    return sorted(found, key=lambda file: file[1], reverse=True)


def _remove(path: Path) -> None:
    with suppress(OSError):  # another program may hold it, or be quicker
        path.unlink()
