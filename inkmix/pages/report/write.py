"""Writing `report.html` and `report.json` into a folder, whole or not at all.

An older `report.json` goes before, the new one comes last and holds the digest of the page, so that
a reader can tell a pair that belongs together.
"""

from collections.abc import Mapping
from pathlib import Path

from inkmix.base.arguments import path_of
from inkmix.base.output_files import Output, refuse_outputs, write_together
from inkmix.jobs.answer import SpreadResult
from inkmix.pages.folders import JSON_NAME, KEPT_NAME, PAGE_NAME
from inkmix.pages.report.json_report import report_bytes, report_document
from inkmix.pages.report.page import render_page

MARKS = {
    PAGE_NAME: b'content="inkmix ',
    KEPT_NAME: b'"kept by": "inkmix"',
    JSON_NAME: b'"name": "inkmix"',
}
"""What tells our files, in the order in which they take their names."""


def write_report(result: SpreadResult, folder: str | Path) -> tuple[Path, Path]:
    """Write report.html and report.json of a checked spread, and return their paths.

    Both are there whole or not at all; older ones of inkmix are replaced, other files never.

    Parameters
    ----------
    result : SpreadResult
        As `check_spread` returns it.
    folder : str or Path
        Made where it is missing.

    Raises
    ------
    OutputError
        Where the folder or a file in it cannot be written, another run writes there, or a file of
        that name is not of inkmix.

    Examples
    --------
    ::

        book = inkmix.read_book("night-ferry")
        result = inkmix.check_spread(book, "night-ferry")
        page, data = inkmix.write_report(result, "my-reports/night-ferry")
        assert page.name == "report.html" and data.name == "report.json"
    """
    place = path_of(folder, what="folder")
    write_files(report_files(result), place)
    return place / PAGE_NAME, place / JSON_NAME


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
    """Write a report's files, and what is kept beside them, together.

    Raises
    ------
    OutputError
        As `write_report`.
    """
    outputs = _outputs(folder)
    files = {outputs[name]: contents[name] for name in outputs if name in contents}
    write_together(files, gone=[outputs[JSON_NAME]])


def refuse_folder(folder: Path) -> None:
    """What can be said against a folder before there is a report to write; nothing is made.

    Raises
    ------
    OutputError
        Where it cannot be written, or holds a file of that name which is not of inkmix.
    """
    outputs = _outputs(folder)
    refuse_outputs([outputs[PAGE_NAME], outputs[JSON_NAME]])


def _outputs(folder: Path) -> dict[str, Output]:
    return {name: Output(path=folder / name, mark=mark) for name, mark in MARKS.items()}
