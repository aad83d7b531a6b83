"""Measured tables as files that other programs read: CGATS text, CxF3, CSV."""

from collections.abc import Callable
from pathlib import Path

from inkmix.base.errors import Fault, UsageError
from inkmix.base.output_files import Output, refuse_outputs, write_together
from inkmix.base.quoting import quoted
from inkmix.base.words import either
from inkmix.colour.measured.cxf.written import cxf_text
from inkmix.colour.measured.table import MeasurementTable
from inkmix.colour.measured.written_cgats import cgats_text
from inkmix.colour.measured.written_csv import csv_text

WRITERS: dict[str, Callable[[MeasurementTable], str]] = {
    ".txt": cgats_text,
    ".cxf": cxf_text,
    ".csv": csv_text,
}
"""By the ending of a file's name."""


def refuse_target(path: Path) -> None:
    """Refuse a name whose ending tells no format, or that is taken; before any work is done.

    Raises
    ------
    UsageError, OutputError
    """
    if path.suffix.lower() not in WRITERS:
        raise UsageError(
            Fault(
                where=path.name,
                found=f"ends in {quoted(path.suffix)}" if path.suffix else "has no ending",
                expected=f"readings are written as CGATS text, CxF or CSV: {either(list(WRITERS))}",
                do="choose a name that ends so",
            )
        )
    refuse_outputs((Output(path=path),))


def write_table(table: MeasurementTable, path: Path) -> None:
    """Write a table in the format that the file's name ends in; nothing is replaced.

    Raises
    ------
    UsageError
        The name tells no format.
    OutputError
        A file is there, or none can be written.
    """
    refuse_target(path)
    text = WRITERS[path.suffix.lower()](table)
    write_together({Output(path=path): text.encode()})
