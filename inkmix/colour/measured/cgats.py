"""CGATS.17 / ISO 28178 keyword text, read into measured tables.

Everything is told at once, each fault with line and column; what was accepted although it is not
as the standard has it stands in the notes of the table.
"""

from inkmix.colour.measured.headings import READINGS, TONES, Needed
from inkmix.colour.measured.sections import read_sections
from inkmix.colour.measured.table import MeasurementTable
from inkmix.colour.measured.tabled import raise_faults, table_of_sections
from inkmix.colour.measured.tokens import decode_lines


def parse_cgats(data: bytes, *, where: str) -> MeasurementTable:
    """The measured table that a CGATS text holds.

    Parameters
    ----------
    data : bytes
        UTF-8 or latin-1 text, any line ends.
    where : str
        The file's name, for messages and as the table's source.

    Raises
    ------
    MeasurementError
        All faults of the file (at most 20 and a count of the rest), each with line and column.
    """
    return _parsed(data, where=where, needed=READINGS)


def parse_patch_list(data: bytes, *, where: str) -> MeasurementTable:
    """The table of a CGATS text that says what is printed, whether or not it holds readings.

    Parameters and errors are those of `parse_cgats`.
    """
    return _parsed(data, where=where, needed=TONES)


def _parsed(data: bytes, *, where: str, needed: Needed) -> MeasurementTable:
    sections = read_sections(decode_lines(data, where=where), where=where)
    if not sections.fields:
        raise_faults(sections.faults, where)  # what follows from it need not be said
    return table_of_sections(sections, where=where, needed=needed)
