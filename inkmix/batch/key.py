"""From what a spread's answer follows: the digests of its inputs, and the key of the whole.

Two runs with one key would write the same report. What decides nothing about it is left out:
waivers, other spreads, how many workers.
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

from inkmix.base.canonical import pieces
from inkmix.base.file_state import state_of
from inkmix.batch.digests import FileDigests
from inkmix.batch.program import program_digest
from inkmix.book.meant.inputs import input_files
from inkmix.book.meant.plates import SpreadFiles
from inkmix.book.paths import fill
from inkmix.book.values import Book
from inkmix.checks import table
from inkmix.checks.finding import Finding
from inkmix.plates.files.snapshots import FileSnapshot, Snapshot, needs_digest

REST_DIGITS = 12  # enough that nobody gets two by chance
GROUND_DIGITS = 4  # they only explain


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SpreadInputs:
    """All that a spread's answer follows from, as it is now.

    Parameters
    ----------
    book : Book
        As it holds for the spread.
    digests : mapping of str to str
        SHA-256 of each file by its path from the book's folder; "absent" where there is none.
    seen : Snapshot
        How each file was found before that.
    checks : tuple of str
        Names of the checks that run.
    """

    book: Book
    found: SpreadFiles
    digests: Mapping[str, str]
    seen: Snapshot
    checks: tuple[str, ...]

    def key(self) -> str:
        """SHA-256, hex, of all that decides the report of the spread."""
        book, found = self.book, self.found
        return _digest_of(
            (
                program_digest(),
                self.checks,
                (book.path.name, book.digest, book.notes),
                (found.name, found.notes, self._files()),
                tuple(sorted(self.digests.items())),
            )
        )

    def rests_on(self, finding: Finding) -> str:
        """Hex digits for the state of all that a finding rests on, as its check tells it.

        Twelve for all of it, then four for each of its grounds, by which people are told which of
        them changed.
        """
        check = table.named(finding.check)
        said = dict(zip(check.grounds, check.rests_on(finding, self), strict=True))
        whole = _digest_of((finding.check, *said.values()))[:REST_DIGITS]
        return "-".join((whole, *(_digest_of(one)[:GROUND_DIGITS] for one in said.values())))

    def _files(self) -> tuple[tuple[str, str | None], ...]:
        """The plate of each ink, in lay-down order."""
        plates = self.found.files.items()
        return tuple(
            (ink, None if path is None else _name(self.book, path)) for ink, path in plates
        )

    def plates(self) -> tuple[object, ...]:
        """The digest of each plate, how the book says that it is read, and where it lies."""
        book = self.book
        digests = tuple((ink, file and self.digests[file]) for ink, file in self._files())
        inks = tuple((ink.name, ink.plate, ink.polarity, ink.channel) for ink in book.inks)
        how = book.plates.ppi, book.plates.channels, book.plates.page
        return digests, inks, how, book.strip

    def press(self) -> tuple[object, ...]:
        """What inks, paper and press are, measurements included."""
        book = self.book
        texts = (book.paper.measurements, *(ink.measurements for ink in book.inks))
        digests = tuple(self.of_file(text) for text in (*texts, book.press.overprints))
        return book.paper, book.inks, book.press.process, book.press.edge_growth_mm, digests

    def of_file(self, text: str | None) -> str | None:
        """The digest of a file that the book names, however it is written."""
        if text is None:
            return None
        return self.digests[_name(self.book, self.book.folder / fill(text, spread=self.found.name))]


def read_inputs(
    book: Book, found: SpreadFiles, files: FileDigests, *, checks: Collection[str] | None = None
) -> SpreadInputs:
    """The inputs of a spread; `book` as it holds for it.

    Raises
    ------
    PlateError
        Where a file that is there cannot be read.
    """
    states = {path: state_of(path) for path in input_files(book, found)}
    is_fresh = {path: needs_digest(state) for path, state in states.items()}
    digests = {path: files.of(path, name=_name(book, path)) for path in states}
    return SpreadInputs(
        book=book,
        found=found,
        checks=tuple(sorted(table.names() if checks is None else checks)),
        digests={_name(book, path): digest for path, digest in digests.items()},
        seen=Snapshot(
            files=tuple(
                FileSnapshot(path=path, state=state, digest=digests[path] if is_fresh[path] else "")
                for path, state in states.items()
            )
        ),
    )


def _digest_of(value: object) -> str:
    sha = sha256()
    for piece in pieces(value):
        sha.update(piece)
    return sha.hexdigest()


def _name(book: Book, path: Path) -> str:
    return path.relative_to(book.folder).as_posix()
