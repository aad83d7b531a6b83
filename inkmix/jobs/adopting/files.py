"""Measurement files of the other book, and what they are called beside the new one."""

from collections.abc import Callable, Iterable, Iterator
from pathlib import Path, PurePosixPath

from inkmix.base.errors import Fault, MeasurementError
from inkmix.base.inputs import read_input
from inkmix.base.names import folded
from inkmix.base.quoting import clipped
from inkmix.book.keys import MAX_TEXT
from inkmix.book.paths import inside
from inkmix.book.values import Book
from inkmix.colour.measured.tokens import MAX_BYTES

FOLDER = "adopted"


class CopiedFiles:
    """Files that are copied, each once and under a free name in a folder of their own.

    Attributes
    ----------
    data : dict of str to bytes
        What goes where, as paths beside the new book.

    Parameters
    ----------
    beside : iterable of Path
        Folders in which no name may be taken already: the new book's, and that of the old one.
    """

    def __init__(self, other: Book, *, beside: Iterable[Path]) -> None:
        self.data: dict[str, bytes] = {}
        self._other = other
        self._named: dict[str, str] = {}
        self._made: dict[str, str] = {}
        there = [folder / FOLDER for folder in beside]
        held = (path for folder in there if folder.is_dir() for path in folder.iterdir())
        self._taken = {folded(path.name) for path in held}

    def path_of(self, text: str) -> str:
        """The path beside the new book of a file that the other book names.

        Raises
        ------
        BookError, MeasurementError
            As the file is read.
        """
        if text not in self._named:
            self._named[text] = self.written(text, self._read(text))
        return self._named[text]

    def made(self, name: str, make: Callable[[], bytes]) -> str:
        """The path beside the new book of a file that is made when it is first asked for."""
        if name not in self._made:
            self._made[name] = self.written(name, make())
        return self._made[name]

    def written(self, text: str, data: bytes) -> str:
        """The path beside the new book of a file of these bytes; of a path its name counts."""
        name = next(one for one in _names(text) if folded(one) not in self._taken)
        self._taken.add(folded(name))
        path = f"{FOLDER}/{name}"
        self.data[path] = data
        return path

    def _read(self, text: str) -> bytes:
        path = inside(self._other.folder, text, where=f"{self._other.path}: {text}")
        try:
            return read_input(path, most_bytes=MAX_BYTES)
        except OSError as error:
            found = f"cannot be read ({error.strerror or type(error).__name__})"
            raise MeasurementError(Fault(where=clipped(str(path), 1000), found=found)) from None


def _names(text: str) -> Iterator[str]:
    """The file's own name, then with numbers; short enough for a path of a book."""
    path = PurePosixPath(text)
    number = 1
    while True:
        ending = path.suffix[:20] if number == 1 else f" {number}{path.suffix[:20]}"
        yield path.stem[: MAX_TEXT - len(FOLDER) - 1 - len(ending)] + ending
        number += 1
