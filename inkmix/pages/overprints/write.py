"""Writes a sheet to files: the ending of a name decides the form.

What is in them is decided elsewhere; every file is there whole or not at all.
"""

from collections.abc import Iterator, Sequence
from pathlib import Path

from inkmix.base.errors import Fault, OutputError, UsageError
from inkmix.base.output_files import Output, refuse_outputs, write_together
from inkmix.base.quoting import quoted
from inkmix.base.words import size_of
from inkmix.export.picture import picture_file
from inkmix.jobs.overprints.sheet import OverprintSheet
from inkmix.jobs.ranges import SHEET_PPI
from inkmix.pages.overprints.layout import PAGES_MM

USUAL_PPI = 200.0
MOST_PIXELS = 100_000_000
"""A sheet of these is drawn in some 800 MB: A2 at 500 ppi."""

_PNG, _SVG, _PDF, _CSV, _JSON = ".png", ".svg", ".pdf", ".csv", ".json"
ENDINGS = (_PNG, _SVG, _PDF, _CSV, _JSON)
_DRAWN = (_PNG, _SVG, _PDF)
_MM_PER_INCH = 25.4


def refuse_sheets(paths: Sequence[Path], *, page: str, ppi: float) -> None:
    """What can be said against writing sheets to these paths before anything is computed.

    Raises
    ------
    OutputError
        An ending that no form has, a name given twice, a file that inkmix did not write.
    UsageError
        A page or a resolution out of range.
    """
    faults = [*_size_faults(paths, page=page, ppi=ppi)]
    if faults:
        raise UsageError(faults)
    for path in paths:
        if path.suffix.lower() not in ENDINGS:
            found = f"ends in {path.suffix or 'nothing'}"
            expected = f"it must end in one of {', '.join(ENDINGS)}"
            faults.append(Fault(where=str(path), found=found, expected=expected))
        elif sum(other.absolute() == path.absolute() for other in paths) > 1:
            faults.append(Fault(where=str(path), found="is to be written twice"))
    if faults:
        raise OutputError(dict.fromkeys(faults))
    refuse_outputs(map(_output, paths))


def _size_faults(paths: Sequence[Path], *, page: str, ppi: float) -> list[Fault]:
    if page not in PAGES_MM:
        expected = f"it must be one of {', '.join(PAGES_MM)}"
        return [Fault(where="page", found=f"is {quoted(page)}", expected=expected)]
    if faults := SHEET_PPI.faults(ppi):
        return [*faults]
    width, height = (round(side / _MM_PER_INCH * ppi) for side in PAGES_MM[page])
    if any(path.suffix.lower() == _PNG for path in paths) and width * height > MOST_PIXELS:
        most = int((MOST_PIXELS / width / height) ** 0.5 * ppi)
        found = f"{size_of(width, height, 'px')} on {page}"
        do = f"take at most {most} ppi, or write a PDF"
        return [Fault(where="ppi", found=found, expected="100 million pixels at most", do=do)]
    return []


def write_sheets(
    sheet: OverprintSheet, paths: Sequence[Path], *, page: str = "A3", ppi: float = USUAL_PPI
) -> None:
    """Write a sheet as PNG, SVG, PDF, CSV or JSON, by the ending of each path.

    Same sheet, same bytes. SVG and PDF are at true size.

    Parameters
    ----------
    page : {"A4", "A3", "A2"}
        Long side across.
    ppi : float
        Resolution of a PNG, 36-600.

    Raises
    ------
    OutputError, UsageError
        As `refuse_sheets`, or if a file cannot be written.
    """
    refuse_sheets(paths, page=page, ppi=ppi)
    write_together(dict(_files(sheet, paths, page=page, ppi=ppi)))


def _files(
    sheet: OverprintSheet, paths: Sequence[Path], *, page: str, ppi: float
) -> Iterator[tuple[Output, bytes]]:
    drawing = None
    if any(path.suffix.lower() in _DRAWN for path in paths):
        from inkmix.pages.overprints.draw import drawn

        drawing = drawn(sheet, page=page)
    for path in paths:
        ending = path.suffix.lower()
        if drawing is not None and ending == _PNG:
            yield picture_file(path, drawing.srgb8(ppi=ppi), ppi=ppi)
        elif drawing is not None and ending == _SVG:
            yield _output(path), drawing.svg()
        elif drawing is not None and ending == _PDF:
            yield _output(path), drawing.pdf(title=sheet.title)
        else:
            yield _output(path), _table(sheet, ending)


def _table(sheet: OverprintSheet, ending: str) -> bytes:
    from inkmix.pages.overprints.table import sheet_csv, sheet_json

    return sheet_csv(sheet) if ending == _CSV else sheet_json(sheet)


def _output(path: Path) -> Output:
    """The file, with what stands at the head of every file of this form."""
    from inkmix.export.png_stream import MARK as PNG_MARK
    from inkmix.pages.overprints.canvas import MARK
    from inkmix.pages.overprints.table import FIRST_COLUMN, JSON_MARK

    csv = FIRST_COLUMN.encode()
    marks = {_PNG: PNG_MARK, _SVG: MARK, _PDF: MARK, _CSV: csv, _JSON: JSON_MARK}
    return Output(path=path, mark=marks[path.suffix.lower()])
