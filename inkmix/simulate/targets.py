"""What can be said against writing a picture of a spread, before anything is computed."""

from collections.abc import Collection, Iterator, Sequence
from pathlib import Path

from inkmix.book.values import Book
from inkmix.errors import Fault, OutputError, UsageError
from inkmix.export.picture import refuse_target
from inkmix.resolve.plates import spread_file
from inkmix.simulate.spread import Spread


def refuse_inks(book: Book, inks: Collection[str]) -> None:
    """Inks asked for must be inks of the book.

    Raises
    ------
    UsageError
        With every other name.
    """
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


def _inputs(spread: Spread) -> Iterator[Path]:
    book = spread.book
    yield book.path
    yield from (p.header.path for p in spread.plates.plates if p.header.path is not None)
    for text in (book.reference, *(night.mask for night in book.nights)):
        if text is not None:
            yield spread_file(book, text, spread.name, key="picture")
