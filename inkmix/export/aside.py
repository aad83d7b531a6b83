"""Writing a file aside and putting it in place whole, so that nobody ever finds half a file.

Pictures and pages go through `replacing`; what is in them is not known here, but for the mark by
which a file that the program wrote can be told from everybody else's, which is never replaced.
"""

import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import BinaryIO

from inkmix.errors import Fault, OutputError
from inkmix.plates.raster import label

HEAD_BYTES = 1024  # the mark stands in these


@contextmanager
def replacing(path: Path, *, mark: bytes) -> Iterator[BinaryIO]:
    """A file to write to; it takes the name `path` at the end, and vanishes on any error.

    Parameters
    ----------
    mark : bytes
        Stands in the first bytes of every file of this kind that the program writes.

    Raises
    ------
    OutputError
        If the folder or the file cannot be written, or a file without the mark is there.
    """
    refuse_foreign(path, mark=mark)
    aside = path.with_name(f".{path.name}.part")
    made: list[Path] = []
    try:
        made = _make_folder(path)
        with aside.open("wb") as file:
            yield file
            file.flush()
            os.fsync(file.fileno())
        aside.replace(path)
    except OSError as error:
        _is_gone(aside, made)
        if isinstance(error, OutputError):
            raise
        raise _refusal(path, error.strerror or str(error)) from error
    except BaseException:
        _is_gone(aside, made)
        raise


def refuse_foreign(path: Path, *, mark: bytes) -> None:
    """A file that is there already may only be replaced if the program wrote it.

    Raises
    ------
    OutputError
        If it did not, or that cannot be told.
    """
    try:
        if not path.is_file():
            return
        with path.open("rb") as file:
            head = file.read(HEAD_BYTES)
    except OSError as error:
        raise _refusal(path, error.strerror or str(error)) from error
    if head and mark not in head:
        raise OutputError(
            Fault(
                where=label(path),
                found="is there already, and was not written by inkmix",
                expected="files of others are never overwritten",
                do="choose another name, or move that file away",
            )
        )


def aside_is_gone(aside: Path) -> None:
    """Remove a half-written file; that it cannot be removed is no second error."""
    try:
        aside.unlink(missing_ok=True)
    except OSError:
        return


def _is_gone(aside: Path, made: list[Path]) -> None:
    """Remove a half-written file, and the folders made for it where nothing else is in them."""
    aside_is_gone(aside)
    for folder in made:
        with suppress(OSError):
            folder.rmdir()


def _make_folder(path: Path) -> list[Path]:
    """Make the folder of a file; the folders that were not there, innermost first."""
    if path.parent.exists() and not path.parent.is_dir():
        raise OutputError(
            Fault(
                where=label(path.parent),
                found="is a file",
                expected="a folder is needed for what is written",
                do="choose another folder",
            )
        )
    if path.is_dir():
        found, expected = "is a folder", "a file of that name is to be written"
        raise OutputError(Fault(where=label(path), found=found, expected=expected))
    missing = [folder for folder in path.parents if not folder.exists()]
    path.parent.mkdir(parents=True, exist_ok=True)
    return missing


def _refusal(path: Path, why: str) -> OutputError:
    found, do = f"cannot be written ({why})", "check rights and room, or choose another folder"
    return OutputError(Fault(where=label(path), found=found, do=do))
