"""Files that are being written: beside their place, under a lock that dies with the run.

So nobody ever finds half a file under its own name, two runs never write into one, and what a
killed run left is told from what a living one writes. What is in a file is not known here. What
leaves the program goes through `output_files`, which puts these steps together.
"""

import errno
import os
import stat
import sys
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path
from typing import BinaryIO, cast

from inkmix.base.shutdown import held_together, undone_when_left

if sys.platform == "win32":
    import msvcrt
else:
    import fcntl

ENDING = ".inkmix-part"
_LOCK_BYTE = 2**62  # Windows locks bytes; this one is in no file


class BusyError(OSError):
    """Another run that is alive writes this file."""

    def __init__(self, path: Path) -> None:
        super().__init__(errno.EBUSY, "another run is writing to it", str(path))


class Part:
    """One file that is being written.

    Parameters
    ----------
    path : Path
        Where it will be.
    file : BinaryIO
        To write to.
    """

    def __init__(self, path: Path) -> None:
        self.path, self.aside = path, aside_of(path)
        self.file = _held(self.aside)

    def flush(self) -> None:
        """Bring it to the disk."""
        self.file.flush()
        os.fsync(self.file.fileno())

    def is_empty(self) -> bool:
        """Whether nothing was written; after `flush`."""
        return os.fstat(self.file.fileno()).st_size == 0

    def take_place(self) -> None:
        """Give it its name; a file that has it goes."""
        if sys.platform == "win32":  # no open file can be renamed there
            self.file.close()
        self.aside.replace(self.path)

    def take_free_place(self) -> None:
        """Give it its name, unless something has it by now.

        Raises
        ------
        FileExistsError
            If something has; it stays.
        """
        try:
            os.link(self.aside, self.path)
        except OSError:  # taken, or a file system without second names
            if os.path.lexists(self.path):
                raise
            self.take_place()
        else:
            self.aside.unlink()

    def discard(self) -> None:
        """Remove it where it has not taken its place; that it cannot be is no second error."""
        with suppress(OSError, ValueError):
            is_ours = _is_at(self.file, self.aside)  # else another run may be writing there by now
            if sys.platform == "win32":
                self.file.close()
            if is_ours:
                self.aside.unlink()
        with suppress(OSError):
            self.file.close()


def aside_of(path: Path) -> Path:
    """Where a file is while it is written: always the same, so that two runs meet there."""
    return path.with_name(f".{path.name}{ENDING}")


@contextmanager
def part_of(path: Path) -> Iterator[Part]:
    """A file to write, discarded in the end unless it took its place.

    Raises
    ------
    BusyError
        If another run writes it.
    OSError
        If it cannot be made.
    """
    clear_dead(path.parent)
    with ExitStack() as stack:
        with held_together():  # from its first moment it is known
            part = Part(path)
            stack.callback(part.discard)
            stack.enter_context(undone_when_left(part.discard))
        yield part


@contextmanager
def folder_for(path: Path) -> Iterator[None]:
    """Make the folder of a file; if that fails after all, folders made for it go again."""
    missing = [folder for folder in path.parents if not folder.exists()]

    def remove() -> None:
        for folder in missing:  # innermost first
            with suppress(OSError):  # others may use it by now
                folder.rmdir()

    with undone_when_left(remove):
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            yield
        except BaseException:
            remove()
            raise


def clear_dead(folder: Path) -> None:
    """Remove what killed runs left in a folder; what a living one writes is locked, and stays."""
    for aside in folder.glob(f".*{ENDING}"):
        with suppress(OSError), _plain_file(aside, os.O_RDWR) as file:
            if _lock(file, aside) and _is_at(file, aside):
                if sys.platform == "win32":
                    file.close()
                aside.unlink()


def _held(aside: Path) -> BinaryIO:
    """An empty file that only we write.

    Whoever discards it or gives it its name may do so between opening and locking: then what was
    opened is not there any more, and the next try makes a new one.
    """
    while True:
        with ExitStack() as stack:
            file = stack.enter_context(_plain_file(aside, os.O_WRONLY | os.O_CREAT))
            _lock(file, aside)
            if _is_at(file, aside):
                file.truncate()
                stack.pop_all()
                return file


def _plain_file(aside: Path, flags: int) -> BinaryIO:
    """Open a file that may be there already; nothing else is opened, and nothing waited for.

    Raises
    ------
    OSError
        If something lies there that is no file of ours: a pipe would wait for who reads it.
    """
    for name in ("O_BINARY", "O_NOFOLLOW", "O_NONBLOCK"):
        flags |= getattr(os, name, 0)
    with suppress(FileNotFoundError):
        _refuse_no_file(aside.lstat(), aside)
    mode = "r+b" if flags & os.O_RDWR else "wb"
    with ExitStack() as stack:
        file = stack.enter_context(
            open(aside, mode, opener=lambda name, _: os.open(name, flags, 0o666))
        )
        _refuse_no_file(os.fstat(file.fileno()), aside)  # it may have been exchanged since
        stack.pop_all()
    return cast(BinaryIO, file)


def _refuse_no_file(status: os.stat_result, aside: Path) -> None:
    if not stat.S_ISREG(status.st_mode):
        why = f"{aside.name} is in the way and is not a file; remove it"
        raise OSError(errno.EEXIST, why, str(aside))


def _lock(file: BinaryIO, path: Path) -> bool:
    """Lock a file for as long as it is open; False where the file system knows no locks."""
    try:
        if sys.platform == "win32":
            file.seek(_LOCK_BYTE)
            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
            file.seek(0)
        else:
            fcntl.flock(file.fileno(), fcntl.LOCK_EX | fcntl.LOCK_NB)
    except (BlockingIOError, PermissionError) as error:
        raise BusyError(path) from error
    except OSError:
        return False
    return True


def _is_at(file: BinaryIO, path: Path) -> bool:
    """Whether an open file still has this name."""
    try:
        return os.path.samestat(os.fstat(file.fileno()), path.lstat())
    except FileNotFoundError:
        return False
