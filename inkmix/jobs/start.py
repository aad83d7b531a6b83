"""A first book for the plates of a folder, and the schema that helps whoever edits it."""

from pathlib import Path

from inkmix.base.arguments import path_of
from inkmix.book.first.folder import Started, write_first_book, write_schema
from inkmix.checks import table


def start_book(folder: str | Path) -> Started:
    """Write a commented book.toml from the plates that lie in a folder; what is guessed is marked.

    Raises
    ------
    OutputError
        There is a book already, or the folder cannot be written.
    PlateError
        There are no plates, or none that can be read.

    Examples
    --------
    ::

        started = inkmix.start_book("loose")
        assert started.path.name == "book.toml" and started.guesses and started.next_steps
    """
    return write_first_book(path_of(folder, what="folder"), form=table.book_form())


def write_book_schema(folder: str | Path) -> Path:
    """Write the JSON Schema of book.toml beside it, for editors, checks' tables among the others.

    Raises
    ------
    OutputError
        There is such a file already, or the folder cannot be written.
    """
    return write_schema(path_of(folder, what="folder"), form=table.book_form())
