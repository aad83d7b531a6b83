"""The press-condition file, as an output: where it goes, and its bytes."""

from pathlib import Path

from inkmix.base.errors import InkmixError
from inkmix.base.output_files import Output
from inkmix.press.calibration.press_file import MARK, PressFile, press_file_text
from inkmix.press.swatches.files import read_press_file

ENDING = ".toml"
_MOST_BESIDE = 100  # files of one name; nobody measures a press more often under one


def press_output(folder: Path, stem: str, press: PressFile) -> Output:
    """Where a press file goes: never over one that was made of other readings.

    Parameters
    ----------
    stem : str
        Its name without the ending; a number is added where readings of another day have it.
    """
    for number in range(1, _MOST_BESIDE):
        path = folder / f"{stem}{f'-{number}' if number > 1 else ''}{ENDING}"
        if not path.exists() or _is_of_same_readings(path, press):
            break
    return Output(path=path, mark=MARK)


def _is_of_same_readings(path: Path, press: PressFile) -> bool:
    try:
        return read_press_file(path).origin.sha256 == press.origin.sha256
    except InkmixError:
        return False


def press_bytes(press: PressFile) -> bytes:
    """The file; same press, same bytes."""
    return press_file_text(press).encode()
