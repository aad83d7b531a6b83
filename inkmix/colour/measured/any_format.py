"""Measurements of whatever format, told by what the file holds and never by its name."""

import re

from inkmix.base.errors import Fault, MeasurementError
from inkmix.colour.measured.cgats import parse_cgats
from inkmix.colour.measured.csv_text import parse_csv
from inkmix.colour.measured.cxf.read import parse_cxf
from inkmix.colour.measured.table import MeasurementTable

_CGATS = re.compile(rb"^\s*+(?:BEGIN_DATA|NUMBER_OF_|CGATS|ISO28178|KEYWORD)", re.MULTILINE)
_XML = re.compile(rb"(?:\xef\xbb\xbf)?\s*+<|\xff\xfe<\0|\xfe\xff\0<")
_STARTS = {  # the first bytes of files that are taken for measurements now and then
    b"PK\x03\x04": "a zip archive, perhaps a spreadsheet",
    b"\xd0\xcf\x11\xe0": "a spreadsheet",
    b"\x1f\x8b": "a gzip archive",
    b"\xff\xd8\xff": "a photograph (JPEG)",
    b"\x89PNG": "a picture (PNG)",
    b"II*\0": "a picture (TIFF)",
    b"MM\0*": "a picture (TIFF)",
    b"%PDF": "a PDF",
}


def is_cgats(data: bytes) -> bool:
    """Whether bytes hold keywords of CGATS text."""
    return _CGATS.search(data) is not None


def is_cxf(data: bytes) -> bool:
    """Whether bytes begin as XML does."""
    return _XML.match(data) is not None


def parse_measurements(data: bytes, *, where: str) -> MeasurementTable:
    """The measured table in CGATS text, CxF3 or CSV.

    Parameters
    ----------
    data : bytes
        The whole file, or at least `tokens.MAX_BYTES` + 1 of it.
    where : str
        The file's name, for messages and as the table's source.

    Raises
    ------
    MeasurementError
        It is none of them, or not a sound one; all faults at once.
    """
    for start, what in _STARTS.items():
        if data.startswith(start):
            raise MeasurementError(_no_measurements(what, where))
    if is_cxf(data):
        return parse_cxf(data, where=where)
    parse = parse_cgats if is_cgats(data) else parse_csv
    return parse(data, where=where)


def _no_measurements(what: str, where: str) -> Fault:
    return Fault(
        where=where,
        found=f"this is {what}",
        expected="measurements are CGATS text (ISO 28178), CxF3 (ISO 17972) or CSV with a header",
        do="export the measurements as one of these",
    )
