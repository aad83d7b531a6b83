"""Writes the press file and its page into a folder, whole or not at all."""

from pathlib import Path

from inkmix.base.arguments import path_of
from inkmix.base.output_files import Output, write_together
from inkmix.export.press_file import press_bytes, press_output
from inkmix.jobs.calibrating.values import Calibration
from inkmix.pages.calibration.page import ENDING, PAGE_MARK, render_page


def write_calibration(calibration: Calibration, folder: str | Path) -> tuple[Path, ...]:
    """Write what is known of a press, and a page on it.

    Parameters
    ----------
    folder : path
        Best inside the book's folder, since a book names no file outside.

    Returns
    -------
    tuple of Path
        The press-condition file, and its page beside it.

    Raises
    ------
    OutputError
        Where it cannot be written, or files are there that inkmix did not write.

    Examples
    --------
    ::

        found = inkmix.calibrate_book(inkmix.read_book("night-ferry"), "readings.txt")
        press_file, page = inkmix.write_calibration(found, "night-ferry/press")
        assert (press_file.name, page.name) == ("readings.toml", "readings.html")
    """
    stem = Path(calibration.press.origin.measurements.split(",")[0]).stem
    output = press_output(path_of(folder, what="folder"), stem, calibration.press)
    page = Output(path=output.path.with_suffix(ENDING), mark=PAGE_MARK)
    whole = {
        output: press_bytes(calibration.press),
        page: render_page(calibration, output.path),
    }
    write_together(whole)
    return output.path, page.path
