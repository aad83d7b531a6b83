"""The readings of a form, each mix once, as a file for the printer or another program."""

from pathlib import Path

from inkmix.base.arguments import path_of
from inkmix.base.errors import Fault, UsageError
from inkmix.export.measurements import write_table
from inkmix.jobs.calibrating.values import Calibration
from inkmix.press.calibration.averaged import averaged_table


def write_averages(calibration: Calibration, path: str | Path) -> Path:
    """Write the readings that a calibration used, repeats averaged.

    Parameters
    ----------
    calibration : Calibration
    path : path
        Ends in .txt (CGATS text, ISO 28178), .cxf (CxF3, ISO 17972) or .csv.

    Returns
    -------
    Path
        The same.

    Raises
    ------
    UsageError
        A name that ends otherwise; what a camera saw.
    OutputError
        A file of that name is there, or none can be written.

    Examples
    --------
    ::

        found = inkmix.calibrate_book(inkmix.read_book("night-ferry"), "readings.txt")
        path = inkmix.write_averages(found, "night-ferry/for-the-printer.cxf")
        assert path.exists()
    """
    where = path_of(path, what="path")
    if calibration.photograph is not None:
        raise UsageError(
            Fault(
                where=where.name,
                found="a camera read the form",
                expected="a file of readings is taken for an instrument’s, and nights pass by it",
                do="measure the form, and write what the instrument read",
            )
        )
    said = f"{calibration.book.title}: {calibration.press.origin.measurements}, repeats averaged"
    write_table(averaged_table(calibration.readings, descriptor=said), where)
    return where
