"""Writing the index of a batch into its folder, whole or not at all.

Every file is written beside its place and flushed; when all are, they take their names in one go,
`batch.json` last. What a run that is not complete says is no answer for scripts: then the tables
and junit.xml of an earlier run go, and only the page and batch.json are written. Two runs are kept
apart by the locks of the files that are being written.

Files that inkmix did not write are never replaced: each of ours is known by a mark in its first
bytes (the page and batch.json by the program's name, tables by their first column, junit.xml by the
name of its suites).
"""

import os
from contextlib import ExitStack
from pathlib import Path

from inkmix.base.atomic_files import BusyError, folder_for, look_whether_writable, part_of
from inkmix.base.errors import Fault, OutputError
from inkmix.base.shutdown import held_together
from inkmix.book.values import BOOK_NAME
from inkmix.jobs.book_answer import BatchResult
from inkmix.pages.folders import (
    DATA_NAME,
    FINDINGS_NAME,
    INDEX_NAME,
    JUNIT_NAME,
    SPREADS_NAME,
)
from inkmix.pages.index.junit import SUITES, junit_xml
from inkmix.pages.index.page import render_index
from inkmix.pages.index.tables import FIRST_COLUMN, findings_csv, spreads_csv

WHEN_COMPLETE = (SPREADS_NAME, FINDINGS_NAME, JUNIT_NAME)

MARKS = {
    INDEX_NAME: b'content="inkmix',
    SPREADS_NAME: FIRST_COLUMN.encode(),
    FINDINGS_NAME: FIRST_COLUMN.encode(),
    JUNIT_NAME: f'<testsuites name="{SUITES}"'.encode(),
    DATA_NAME: b'"inkmix"',
}
HEAD_BYTES = 400


def write_index(result: BatchResult, folder: Path, *, document: bytes) -> None:
    """Write page, tables, junit.xml and `document` as batch.json; the folder is made if missing.

    Raises
    ------
    OutputError
        Where the folder or a file in it cannot be written, another run writes there, or a file of
        that name is not of inkmix.
    """
    contents = _contents(result) | {DATA_NAME: document}
    try:
        with folder_for(folder / DATA_NAME):
            _refuse_foreign(folder)
            _write_all(folder, contents)
    except OutputError:
        raise
    except BusyError as error:
        raise OutputError(_busy(folder)) from error
    except OSError as error:
        raise OutputError(_fault(folder, error)) from error


def refuse_index(folder: Path) -> None:
    """What can be said against a folder before there is anything to write; nothing is made.

    Raises
    ------
    OutputError
        Where it cannot be written, is a book's own, or holds a file of that name which is not of
        inkmix.
    """
    try:
        look_whether_writable(folder)
        if (folder / BOOK_NAME).exists():
            found, do = "is the folder of a book", "name a folder of its own for the reports"
            raise OutputError(Fault(where=str(folder), found=found, do=do))
        _refuse_foreign(folder)
    except OutputError:
        raise
    except (OSError, RuntimeError) as error:  # a loop of links was a RuntimeError before 3.13
        raise OutputError(_fault(folder, error)) from error


def _contents(result: BatchResult) -> dict[str, bytes]:
    page = {INDEX_NAME: render_index(result)}
    if not result.complete:
        return page
    tables = {SPREADS_NAME: spreads_csv(result), FINDINGS_NAME: findings_csv(result)}
    return page | tables | {JUNIT_NAME: junit_xml(result)}


def _fault(folder: Path, error: Exception) -> Fault:
    where = getattr(error, "filename", None) or folder
    return Fault(
        where=str(where),
        found=f"the index cannot be written here ({getattr(error, 'strerror', None) or error})",
        do="choose another folder, or make room or rights in this one",
    )


def _busy(folder: Path) -> Fault:
    found = "another run is writing its index here"
    return Fault(where=str(folder), found=found, do="wait for it, or choose another folder")


def _refuse_foreign(folder: Path) -> None:
    foreign = [folder / name for name, mark in MARKS.items() if _is_foreign(folder / name, mark)]
    if foreign:
        raise OutputError(
            [
                Fault(
                    where=str(path),
                    found="there already, and not a file of inkmix",
                    do="move it away, or choose another folder",
                )
                for path in foreign
            ]
        )


def _is_foreign(path: Path, mark: bytes) -> bool:
    if not path.exists():
        return False
    if not path.is_file():
        return True
    with path.open("rb") as file:
        head = file.read(HEAD_BYTES)
    return bool(head) and mark not in head


def _write_all(folder: Path, contents: dict[str, bytes]) -> None:
    with ExitStack() as stack:
        parts = [stack.enter_context(part_of(folder / name)) for name in contents]
        for part, data in zip(parts, contents.values(), strict=True):
            part.file.write(data)
            part.flush()
        with held_together():
            for name in WHEN_COMPLETE:
                if name not in contents:
                    (folder / name).unlink(missing_ok=True)
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
