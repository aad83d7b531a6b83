"""What can be said against writing a picture of a spread, before anything is computed."""

from collections.abc import Sequence
from pathlib import Path

from inkmix.base.errors import Fault, OutputError
from inkmix.book.meant.inputs import input_files
from inkmix.book.meant.plates import SpreadFiles
from inkmix.export.picture import refuse_target
from inkmix.jobs.spread import Spread


def refuse_targets(spread: Spread, paths: Sequence[Path]) -> None:
    """What can be said against writing to these paths, before anything is computed.

    Raises
    ------
    OutputError
        A path is one of the files that the spread is made from, or a file that inkmix did not
        write, or no name of a picture.
    """
    inputs = {path.resolve() for path in _inputs(spread)}
    for path in paths:
        if path.resolve() in inputs:
            found, expected = "the prediction is made from this", "inputs are never overwritten"
            do = "choose another name"
            raise OutputError(Fault(where=str(path), found=found, expected=expected, do=do))
        refuse_target(path)


def _inputs(spread: Spread) -> tuple[Path, ...]:
    headers = [plate.header for plate in spread.plates.plates]
    files = SpreadFiles(name=spread.name, files={header.ink: header.path for header in headers})
    return spread.book.path, *input_files(spread.book, files)
