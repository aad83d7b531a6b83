"""A new file of a book, in which it knows what an earlier book knows of the inks."""

from collections.abc import Iterator, Mapping
from pathlib import Path
from types import MappingProxyType

from inkmix.base.arguments import path_of
from inkmix.base.errors import Fault, PlateError, UsageError
from inkmix.base.inputs import read_input
from inkmix.base.output_files import Output, refuse_outputs, write_together
from inkmix.book.as_toml import said_keys
from inkmix.book.edited import Change, Edits, edited, put_in
from inkmix.book.meant.inputs import named_files, plate_files
from inkmix.book.meant.plates import look_into
from inkmix.book.meant.strays import named_paths
from inkmix.book.text import MAX_BYTES
from inkmix.book.values import BOOK_NAME, Book
from inkmix.export.plates.copies import plate_copies
from inkmix.jobs.adopting.errors import error_changes, mixes_of, next_readings
from inkmix.jobs.adopting.files import CopiedFiles
from inkmix.jobs.adopting.mixes import take_mixes
from inkmix.jobs.adopting.pair import Pair, pair_of
from inkmix.jobs.adopting.taking import OF_THE_INK, Taking, inks_taken, leave_overrides
from inkmix.jobs.adopting.values import BookAdopted
from inkmix.jobs.books import book_at
from inkmix.jobs.refusals import refuse_no_book

_ENDING = ".toml"


def adopt_inks(
    book: Book,
    other: Book,
    to: str | Path,
    *,
    inks: Mapping[str, str] = MappingProxyType({}),
) -> BookAdopted:
    """Write a new file of a book that knows of its inks what another book knows of them.

    Inks of one name are taken for the same. What is a guess there is not taken, nor what this book
    knows as well. An ink that was measured on another paper says so in the new file, and its
    expected error is larger; mixes that were measured on another paper are left out.

    Parameters
    ----------
    other : Book
        The earlier book, printed by the same process.
    to : str or Path
        The new file, NAME.toml beside the book file, which then shares its plates; or a new or
        empty folder elsewhere, which gets a copy of the whole book. Nothing is overwritten.
    inks : mapping of str to str
        For an ink of the book, what the other book calls it; it is taken over even where this book
        knows it as well.

    Raises
    ------
    UsageError
        Where both are one book, an ink is in neither, or there is nothing to take over.
    InkmixError
        Where paper or inks of a book cannot be made out, or the new file cannot be written.

    Examples
    --------
    ::

        book = inkmix.read_book("night-ferry")
        adopted = inkmix.adopt_inks(book, inkmix.read_book("day-ferry"), "night-ferry/known.toml")
        assert inkmix.read_book(adopted.path).title == book.title
        print([ink.name for ink in adopted.inks], [one.why for one in adopted.not_taken])
    """
    refuse_no_book(book)
    refuse_no_book(other)
    target = _target(book, path_of(to, what="to"))
    pair = pair_of(book, other, inks)
    files = CopiedFiles(other, beside=(target.parent, book.folder))
    taking = inks_taken(pair, files)
    take_mixes(taking, pair, files)
    leave_overrides(taking, pair)
    if taking.is_empty:
        raise UsageError(_nothing(pair, taking))
    data = read_input(book.path, most_bytes=MAX_BYTES)
    made = edited(data, _edits(pair, taking), name=book.path.name)
    _write(book, target, made, files.data)
    after = book_at(target)
    mixes = mixes_of(after)
    return BookAdopted(
        path=target,
        title=other.title,
        paper=pair.ours.paper.name,
        other_paper=pair.other.paper.name,
        is_same_paper=pair.is_same_paper,
        paper_is_guess=pair.ours.paper.guessed,
        inks=tuple(taking.inks),
        as_there=tuple(taking.as_there),
        measured=len(taking.measured),
        overprints=taking.overprints,
        condition=taking.condition,
        not_taken=tuple(taking.not_taken),
        files=tuple(files.data),
        errors=error_changes(book, after, mixes),
        next_readings=next_readings(after, mixes),
    )


def _target(book: Book, to: Path) -> Path:
    """The new book file; a folder beside or above the book's is no place for it.

    Raises
    ------
    UsageError
    """
    there = to.resolve()
    if there.suffix == _ENDING and not there.is_dir():
        if there.parent == book.folder:
            return there
        found = f"is not in {book.folder}"
        expected = "the paths of a book begin in its folder"
        do = "name a file there, or a new folder for a copy of the whole book"
    elif there.is_relative_to(book.folder):
        found = "lies in the folder of the book"
        expected = "a copy of the book lies apart from it"
        do = f"name a folder elsewhere, or a file beside the book, such as known{_ENDING}"
    elif there.is_dir() and any(there.iterdir()):
        found, expected = "holds files already", "a folder of its own is needed"
        do = "name a new or an empty folder"
    else:
        return there / BOOK_NAME
    raise UsageError(Fault(where=str(to), found=found, expected=expected, do=do))


def _nothing(pair: Pair, taking: Taking) -> Iterator[Fault]:
    """Why there is nothing to write."""
    title = pair.other.book.title
    if taking.as_there:
        yield Fault(
            where=", ".join(taking.as_there), found=f"told alike in {title}", do="nothing to do"
        )
    for one in taking.not_taken:
        yield Fault(where=one.what, found=f"not taken over: {one.why}")


def _edits(pair: Pair, taking: Taking) -> Edits:
    """What the new file says in other words than the book's."""
    names = pair.ours.book.ink_names
    comment = f"Taken over from {pair.other.book.title}."
    inks = {}
    for name, spec in taking.specs.items():
        told = {key: value for key, value in said_keys(spec) if key in OF_THE_INK}
        inks[names.index(name)] = Change(gone=OF_THE_INK, lines=put_in(told, comment))
    files = {"overprints": taking.overprints, "condition": taking.condition}
    named = {key: path for key, path in files.items() if path}
    press = Change(lines=put_in(named, comment) if named else ())
    more = [
        line
        for one in taking.measured
        for line in ("[[measured]]", *put_in(dict(said_keys(one))), "")
    ]
    return Edits(inks=inks, press=press, more=(f"# {comment}", *more) if more else ())


def _write(book: Book, target: Path, made: bytes, files: Mapping[str, bytes]) -> None:
    """The new file and what it names beside, which comes first; into a folder the whole book."""
    outputs = {Output(path=target.parent / name): data for name, data in files.items()}
    outputs[Output(path=target)] = made
    refuse_outputs(outputs)
    if target.parent != book.folder:
        _copy_rest(book, target.parent)
    write_together(outputs)


def _copy_rest(book: Book, folder: Path) -> None:
    """All that the book names, and its plates where they are at hand."""
    for paths in _rest(book):
        copies = {path: folder / path.relative_to(book.folder) for path in paths if path.is_file()}
        if copies:
            with plate_copies(folder, (), untouched=copies):
                pass


def _rest(book: Book) -> Iterator[tuple[Path, ...]]:
    """Files that are copied together: what is named for no spread alone, then spread by spread."""
    yield tuple(book.folder / text for text in named_paths(book) if "{" not in text)
    try:
        spreads = look_into(book).spreads
    except PlateError:
        return  # inks are chosen long before there are plates
    for spread in spreads:
        yield tuple(dict.fromkeys((*named_files(book, spread.name), *plate_files(spread))))
