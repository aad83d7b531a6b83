"""Writing a file aside and putting it in place whole, so that nobody ever finds half a file.

Pictures and pages go through `replacing`; what is in them is not known here, but for the mark by
which a file that the program wrote can be told from everybody else's, which is never replaced.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

from inkmix.base.atomic_files import BusyError, aside_of, folder_for, part_of
from inkmix.base.errors import Fault, OutputError
from inkmix.base.inputs import opened_input, special_kind
from inkmix.plates.files.raster import label

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
        If the folder or the file cannot be written, another run writes it, or a file without the
        mark is there.
    """
    refuse_foreign(path, mark=mark)
    refuse_place(path)
    try:
        with folder_for(path), part_of(path) as part:
            yield part.file
            part.flush()
            part.take_place()
    except BusyError as error:
        raise _busy(path) from error
    except OSError as error:
        if isinstance(error, OutputError) or _is_of_another(error, path):
            raise
        raise _refusal(path, error.strerror or str(error)) from error


def _is_of_another(error: OSError, path: Path) -> bool:
    """Whether an error names a file that has nothing to do with writing this one."""
    if not isinstance(error.filename, str):  # those of writing name none
        return False
    return Path(error.filename) not in (path, aside_of(path), *path.parents)


def refuse_foreign(path: Path, *, mark: bytes) -> None:
    """A file that is there already may only be replaced if the program wrote it.

    Raises
    ------
    OutputError
        If it did not, or that cannot be told.
    """
    _refuse_special(path)
    try:
        if not path.is_file():
            return
        with opened_input(path) as file:
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


def refuse_place(path: Path) -> None:
    """No file can be written where a folder, a device, a pipe or a socket is, nor below a file.

    Raises
    ------
    OutputError
        Where one of these is there.
    """
    _refuse_special(path)
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


def _refuse_special(path: Path) -> None:
    """What is no file is never replaced, though renaming would do it, nor is it written to."""
    kind = special_kind(path)
    if kind is not None:
        found, expected = f"is {kind}", "a file is to be written"
        do = "choose another name"
        raise OutputError(Fault(where=label(path), found=found, expected=expected, do=do))


def _busy(path: Path) -> OutputError:
    found, do = "another run is writing it", "wait for it, or choose another name"
    return OutputError(Fault(where=label(path), found=found, do=do))


def _refusal(path: Path, why: str) -> OutputError:
    found, do = f"cannot be written ({why})", "check rights and room, or choose another folder"
    return OutputError(Fault(where=label(path), found=found, do=do))
