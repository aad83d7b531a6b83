"""What can be said against writing a picture of a spread, before anything is computed."""

from collections.abc import Collection, Sequence
from pathlib import Path

from inkmix.base.errors import Fault, OutputError, UsageError
from inkmix.book.meant.inputs import input_files
from inkmix.book.meant.plates import SpreadFiles
from inkmix.book.values import Book
from inkmix.export.picture import refuse_target
from inkmix.jobs.spread import Spread


def refuse_counts(names: Collection[str], *, known: Collection[str]) -> None:
    """Where inks are to be named, a number is how many somebody wants; an ink may be called so.

    Raises
    ------
    UsageError
        With every number that is not a name for an ink.
    """
    numbers = [name for name in names if name.lstrip("+-").isdecimal() and name not in known]
    if numbers:
        raise UsageError(
            Fault(
                where=f"--inks {number}",
                found="is a number",
                expected="names of inks are needed",
                do=f"for how many inks to choose, use --choose {number} (inkmix palette)",
            )
            for number in numbers
        )


def refuse_inks(book: Book, inks: Collection[str]) -> None:
    """Inks asked for must be inks of the book.

    Raises
    ------
    UsageError
        With every other name.
    """
    refuse_counts(inks, known=book.ink_names)
    unknown = [name for name in inks if name not in book.ink_names]
    if unknown:
        choices = f"the inks are {', '.join(book.ink_names)}"
        raise UsageError(
            Fault(where=f"ink {name}", found="no plate has this name", expected=choices)
            for name in unknown
        )


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
