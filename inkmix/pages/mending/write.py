"""Writing `mended.html` and `mending.json` beside a mended book, whole or not at all."""

from collections.abc import Iterator
from pathlib import Path

from inkmix.base.output_files import Output, write_together
from inkmix.jobs.mending.values import BookMended
from inkmix.pages.mending.document import JSON_NAME, mending_bytes
from inkmix.pages.mending.page import PAGE_MARK, PAGE_NAME, render_page

MARKS = {PAGE_NAME: PAGE_MARK, JSON_NAME: b'"name": "inkmix"'}
"""What tells our files, in the order in which they take their names."""


def mended_outputs(folder: Path) -> Iterator[Output]:
    """The files that are written beside a mended book."""
    for name, mark in MARKS.items():
        yield Output(path=folder / name, mark=mark)


def write_mended(book: BookMended, folder: Path) -> None:
    """Write page and data.

    Raises
    ------
    OutputError
        Where they cannot be written, or a file of that name is not of inkmix.
    """
    contents = {PAGE_NAME: render_page(book), JSON_NAME: mending_bytes(book)}
    write_together({one: contents[one.path.name] for one in mended_outputs(folder)})
