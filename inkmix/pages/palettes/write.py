"""Writes the page on palettes to a file."""

from pathlib import Path

from inkmix.base.errors import Fault, OutputError
from inkmix.base.output_files import Output, refuse_outputs, write_together
from inkmix.jobs.palettes.facts import PaletteFacts
from inkmix.pages.palettes.page import PAGE_MARK, render_page


def refuse_page(path: Path) -> None:
    """What can be said against writing the page here, before anything is computed.

    Raises
    ------
    OutputError
        A name that is no page's, or a file that inkmix did not write.
    """
    if path.suffix.lower() not in (".html", ".htm"):
        found, expected = f"ends in {path.suffix or 'nothing'}", "a page ends in .html"
        raise OutputError(Fault(where=str(path), found=found, expected=expected))
    refuse_outputs([_output(path)])


def write_page(path: Path, facts: PaletteFacts) -> None:
    """Write the page, whole or not at all.

    Raises
    ------
    OutputError
        Where it cannot be written, or a file is there that inkmix did not write.
    """
    write_together({_output(path): render_page(facts)})


def _output(path: Path) -> Output:
    return Output(path=path, mark=PAGE_MARK)
