"""Writing the index of a batch into its folder, whole or not at all.

The files take their names together, `batch.json` last. What a run that is not complete says is no
answer for scripts: then the tables and junit.xml of an earlier run go, and only the page and
batch.json are written.
"""

from pathlib import Path

from inkmix.base.errors import Fault, OutputError
from inkmix.base.output_files import Output, refuse_outputs, write_together
from inkmix.book.values import BOOK_NAME
from inkmix.jobs.book_answer import BatchResult
from inkmix.pages.folders import (
    DATA_NAME,
    FINDINGS_NAME,
    INDEX_NAME,
    JUNIT_NAME,
    SPREADS_NAME,
    TONES_NAME,
)
from inkmix.pages.index.junit import SUITES, junit_xml
from inkmix.pages.index.page import render_index
from inkmix.pages.index.tables import (
    FINDINGS_MARK,
    SPREADS_MARK,
    TONES_MARK,
    findings_csv,
    spreads_csv,
    tones_csv,
)

MARKS = {
    INDEX_NAME: b'content="inkmix',
    SPREADS_NAME: SPREADS_MARK,
    FINDINGS_NAME: FINDINGS_MARK,
    TONES_NAME: TONES_MARK,
    JUNIT_NAME: f'<testsuites name="{SUITES}"'.encode(),
    DATA_NAME: b'"inkmix"',
}
"""What tells our files, in the order in which they take their names."""


def write_index(result: BatchResult, folder: Path, *, document: bytes) -> None:
    """Write page, tables, junit.xml and `document` as batch.json; the folder is made if missing.

    Raises
    ------
    OutputError
        Where the folder or a file in it cannot be written, another run writes there, or a file of
        that name is not of inkmix.
    """
    contents = _contents(result) | {DATA_NAME: document}
    outputs = _outputs(folder)
    files = {outputs[name]: data for name, data in contents.items()}
    write_together(files, gone=[output for output in outputs.values() if output not in files])


def refuse_index(folder: Path) -> None:
    """What can be said against a folder before there is anything to write; nothing is made.

    Raises
    ------
    OutputError
        Where it cannot be written, is a book's own, or holds a file of that name which is not of
        inkmix.
    """
    refuse_outputs(_outputs(folder).values())
    if (folder / BOOK_NAME).exists():
        found, do = "is the folder of a book", "name a folder of its own for the reports"
        raise OutputError(Fault(where=str(folder), found=found, do=do))


def _contents(result: BatchResult) -> dict[str, bytes]:
    page = {INDEX_NAME: render_index(result)}
    if not result.complete:
        return page
    tables = {SPREADS_NAME: spreads_csv(result), FINDINGS_NAME: findings_csv(result)}
    if result.colours:
        tables[TONES_NAME] = tones_csv(result)
    return page | tables | {JUNIT_NAME: junit_xml(result)}


def _outputs(folder: Path) -> dict[str, Output]:
    return {name: Output(path=folder / name, mark=mark) for name, mark in MARKS.items()}
