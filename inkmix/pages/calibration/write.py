"""Writes the press file and its page into a folder, whole or not at all."""

from pathlib import Path

from inkmix.base.arguments import path_of
from inkmix.base.errors import Fault, InkmixError, OutputError
from inkmix.base.output_files import Output, write_together
from inkmix.jobs.calibrating.values import Calibration
from inkmix.pages.calibration.page import ENDING, PAGE_MARK, render_page
from inkmix.press.calibration.press_file import MARK, PressFile, press_file_text
from inkmix.press.swatches.files import read_press_file

MOST_BESIDE = 99
"""Press files of one name in a folder; nobody measures a press more often under one."""


def write_calibration(calibration: Calibration, folder: str | Path) -> tuple[Path, ...]:
    """Write what is known of a press, and a page on it.

    The file is called as the readings were; where one of that name was made of other readings, a
    number is added, so that no book loses what it goes by.

    Parameters
    ----------
    calibration : Calibration
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
    press = calibration.press
    path = _free_path(path_of(folder, what="folder"), press)
    page = path.with_suffix(ENDING)
    whole = {
        Output(path=path, mark=MARK): press_file_text(press).encode(),
        Output(path=page, mark=PAGE_MARK): render_page(calibration, path),
    }
    write_together(whole)
    return path, page


def _free_path(folder: Path, press: PressFile) -> Path:
    """Where a press file goes: never over one that was made of other readings."""
    stem = Path(press.origin.measurements.split(",")[0]).stem
    names = [stem, *(f"{stem}-{number}" for number in range(2, MOST_BESIDE + 1))]
    for path in (folder / f"{name}.toml" for name in names):
        if not path.exists() or _is_of_same_readings(path, press):
            return path
    raise OutputError(
        Fault(
            where=str(folder),
            found=f"holds {MOST_BESIDE} press files called {stem}.toml to {names[-1]}.toml, all "
            "made of other readings",
            expected="none of them is written over, since a book may go by it",
            do="write into another folder (--to), or give the file of the readings another name",
        )
    )


def _is_of_same_readings(path: Path, press: PressFile) -> bool:
    try:
        return read_press_file(path).origin.sha256 == press.origin.sha256
    except InkmixError:
        return False
