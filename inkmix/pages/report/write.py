"""Writing `report.html` and `report.json` into a folder, whole or not at all.

Both files are written beside their places, flushed to the disk, then renamed; an older
`report.json` goes before, the new one comes last and holds the digest of the page, so that a reader
can tell a pair that belongs together. Files that inkmix did not write are never replaced.
"""

import os
import time
from collections.abc import Iterable, Iterator, Mapping
from contextlib import ExitStack, contextmanager
from pathlib import Path

from inkmix.base.atomic_files import BusyError, folder_for, look_whether_writable, part_of
from inkmix.base.errors import Fault, OutputError
from inkmix.base.shutdown import held_together
from inkmix.jobs.answer import SpreadResult
from inkmix.pages.report.json_report import report_bytes, report_document
from inkmix.pages.report.names import JSON_NAME, PAGE_NAME
from inkmix.pages.report.page import render_page

if os.name == "posix":
    import fcntl

OURS = b"inkmix"  # stands in the first lines of both files
HEAD_BYTES = 400
PATIENCE_S = 1.0


def write_report(result: SpreadResult, folder: Path) -> tuple[Path, Path]:
    """Write both files and return their paths; the folder is made where it is missing.

    Raises
    ------
    OutputError
        Where the folder or a file in it cannot be written, another run writes there, or a file of
        that name is not a report of inkmix.
    """
    write_files(report_files(result), folder)
    return folder / PAGE_NAME, folder / JSON_NAME


def report_files(result: SpreadResult) -> dict[str, bytes]:
    """The bytes of both files, by name.

    Raises
    ------
    OutputError
        Where the result cannot be shown.
    """
    page = render_page(result)
    return {PAGE_NAME: page, JSON_NAME: report_bytes(report_document(result, page=page))}


def write_files(contents: Mapping[str, bytes], folder: Path) -> None:
    """Write a report's files, and what else belongs beside them, together; report.json last.

    Raises
    ------
    OutputError
        As `write_report`.
    """
    try:
        with folder_for(folder / JSON_NAME), _alone_in(folder):
            _refuse_foreign(folder, contents)
            _write_all(folder, contents)
    except OutputError:
        raise
    except BusyError as error:
        raise OutputError(_busy(folder)) from error
    except OSError as error:
        raise OutputError(_fault(folder, error)) from error


def refuse_folder(folder: Path) -> None:
    """What can be said against a folder before there is a report to write; nothing is made.

    Raises
    ------
    OutputError
        Where it cannot be written, or holds a file of that name which is not a report of inkmix.
    """
    try:
        look_whether_writable(folder)
    except OSError as error:
        raise OutputError(_fault(folder, error)) from error
    _refuse_foreign(folder, (PAGE_NAME, JSON_NAME))


def _fault(folder: Path, error: OSError) -> Fault:
    return Fault(
        where=str(error.filename or folder),
        found=f"the report cannot be written here ({error.strerror or error})",
        do="choose another folder, or make room or rights in this one",
    )


@contextmanager
def _alone_in(folder: Path) -> Iterator[None]:
    """Hold the folder while it is written; the system lets go of it when a run dies."""
    if os.name != "posix":  # no lock on a folder there; those of the files keep two runs apart
        yield
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        _lock(handle, folder)
        yield
    finally:
        os.close(handle)


def _lock(handle: int, folder: Path) -> None:
    """Lock a folder; who writes there needs a moment only, so that is waited for."""
    until = time.monotonic() + PATIENCE_S
    while True:
        try:
            return fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError as error:
            if time.monotonic() > until:
                raise OutputError(_busy(folder)) from error
        time.sleep(PATIENCE_S / 50)


def _busy(folder: Path) -> Fault:
    found = "another run is writing its report here"
    return Fault(where=str(folder), found=found, do="wait for it, or choose another folder")


def _refuse_foreign(folder: Path, names: Iterable[str]) -> None:
    foreign = [folder / name for name in names if _is_foreign(folder / name)]
    if foreign:
        raise OutputError(
            [
                Fault(
                    where=str(path),
                    found="there already, and not a report of inkmix",
                    do="move it away, or choose another folder",
                )
                for path in foreign
            ]
        )


def _is_foreign(path: Path) -> bool:
    if not path.exists():
        return False
    if not path.is_file():
        return True
    with path.open("rb") as file:
        head = file.read(HEAD_BYTES)
    return bool(head) and OURS not in head


def _write_all(folder: Path, contents: Mapping[str, bytes]) -> None:
    names = sorted(contents, key=lambda name: name == JSON_NAME)
    with ExitStack() as stack:
        parts = [stack.enter_context(part_of(folder / name)) for name in names]
        for part, name in zip(parts, names, strict=True):
            part.file.write(contents[name])
            part.flush()
        with held_together():
            # An older one is not of this page, should the program be killed just now.
            (folder / JSON_NAME).unlink(missing_ok=True)
            for part in parts:
                part.take_place()
    _flush_folder(folder)


def _flush_folder(folder: Path) -> None:
    """Make the renaming itself last, where the system can do that."""
    if os.name == "posix":
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
