"""Writing a file aside and putting it in place whole, so that nobody ever finds half a file.

Every file that the program writes goes through `replacing`; what is in the file is not known here.
"""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

from inkmix.errors import Fault, OutputError
from inkmix.plates.raster import label


@contextmanager
def replacing(path: Path) -> Iterator[BinaryIO]:
    """A file to write to; it takes the name `path` at the end, and vanishes on any error.

    Raises
    ------
    OutputError
        If the folder or the file cannot be written.
    """
    aside = path.with_name(f".{path.name}.part")
    try:
        _make_folder(path)
        with aside.open("wb") as file:
            yield file
            file.flush()
            os.fsync(file.fileno())
        aside.replace(path)
    except OSError as error:
        aside_is_gone(aside)
        if isinstance(error, OutputError):
            raise
        raise _refusal(path, error.strerror or str(error)) from error
    except BaseException:
        aside_is_gone(aside)
        raise


def aside_is_gone(aside: Path) -> None:
    """Remove a half-written file; that it cannot be removed is no second error."""
    try:
        aside.unlink(missing_ok=True)
    except OSError:
        return


def _make_folder(path: Path) -> None:
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
    path.parent.mkdir(parents=True, exist_ok=True)


def _refusal(path: Path, why: str) -> OutputError:
    found, do = f"cannot be written ({why})", "check rights and room, or choose another folder"
    return OutputError(Fault(where=label(path), found=found, do=do))
