"""The folder of a mended book: which files go where, and what is refused.

It is a whole book: plates lie where the book has them, and so does all else that it names. It is
no book before book.toml lies in it, which comes after all plates.
"""

from collections.abc import Collection, Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from inkmix.base.atomic_files import ENDING
from inkmix.base.errors import Fault, OutputError, UsageError
from inkmix.base.inputs import input_digest
from inkmix.base.listed_files import LIST_NAME, listed_digests
from inkmix.base.output_files import Output, refuse_outputs
from inkmix.book.meant.double_hits import own_files
from inkmix.book.meant.inputs import named_files, plate_files
from inkmix.book.meant.plates import SpreadFiles
from inkmix.book.values import Book
from inkmix.export.plates.copies import copies_beside, plate_copies
from inkmix.jobs.mending.recipe import BookRecipe, read_recipe, recipe_bytes

RECIPE_NAME = "recipe.json"
_RECIPE_MARK = b'"name": "inkmix"'


@dataclass(frozen=True, slots=True, kw_only=True)
class MendedFolder:
    """Where the copies of a book go.

    Parameters
    ----------
    book : Book
    spreads : tuple of SpreadFiles
        All of them.
    folder : Path
    last : tuple of Output
        Files of the caller that belong to the book that is written: older ones go first of all.
    taken : tuple of Path
        Folders in which others write beside the book.
    """

    book: Book
    spreads: tuple[SpreadFiles, ...]
    folder: Path
    last: tuple[Output, ...] = ()
    taken: tuple[Path, ...] = ()

    def refuse(self) -> None:
        """What can be said against the folder before anything is computed; nothing is made.

        Raises
        ------
        OutputError
            Where inputs could be overwritten or read as plates, or what lies there is not ours.
        """
        if faults := tuple(self._faults()):
            raise OutputError(faults)
        older = [Output(path=path, known=frozenset({old})) for path, old in self._stale(())]
        refuse_outputs((self._recipe, *self.last, *older))

    def _faults(self) -> Iterator[Fault]:
        there, where = self.folder.resolve(), str(self.folder)
        do = "name a folder outside of it"
        if there == self.book.folder:
            found, expected = "is the folder of the book", "plates are never mended in place"
            yield Fault(where=where, found=found, expected=expected, do=do)
            return
        if inside := next(
            (one for one in self._plate_folders() if there.is_relative_to(one)), None
        ):
            found = f"lies in {inside.name}, where the plates of the book are looked for"
            expected = "copies would be taken for plates of the book"
            yield Fault(where=where, found=found, expected=expected, do=do)
        elif inside := next(
            (one for one in self._own_folders() if there.is_relative_to(one)), None
        ):
            found = f"lies in {inside.name}, a folder of the book's own"
            expected = "copies lie apart from what the book has"
            yield Fault(where=where, found=found, expected=expected, do=do)
        elif there.is_dir() and any(there.iterdir()) and not self._is_ours():
            found, expected = (
                "holds files that inkmix did not write",
                "a folder of its own is needed",
            )
            yield Fault(
                where=where, found=found, expected=expected, do="name a new or an empty folder"
            )

    def _plate_folders(self) -> Iterator[Path]:
        """Folders with plates, and the one that the pattern of the book begins in."""
        yield from {path.parent for spread in self.spreads for path in plate_files(spread)}
        fixed = []
        for part in PurePosixPath(self.book.plates.pattern).parts[:-1]:
            if "{" in part:
                break
            fixed.append(part)
        yield self.book.folder.joinpath(*fixed)

    def _own_folders(self) -> Iterator[Path]:
        """Folders with what the book names beside plates, and with reports on it."""
        yield from self.taken
        for path in self._named():
            if not self.book.folder.is_relative_to(path.parent):
                yield path.parent

    def _is_ours(self) -> bool:
        """Written by an earlier run, be it one that was killed before it wrote the list."""
        if (self.folder / LIST_NAME).exists():
            return True
        files = (path for path in self.folder.rglob("*") if not path.is_dir())
        return all(path.name.endswith(ENDING) for path in files)

    @property
    def _recipe(self) -> Output:
        return Output(path=self.folder / RECIPE_NAME, mark=_RECIPE_MARK)

    @property
    def _book_file(self) -> Path:
        return self.folder / self.book.path.name

    def place(self, path: Path) -> Path:
        """Where a file of the book goes."""
        return self.folder / path.relative_to(self.book.folder)

    def begin(self) -> None:
        """Copy what the book names beside plates; what an earlier run finished with goes first."""
        paths = {
            path: self.place(path)
            for path in self._named()
            if path.is_file() and path not in self._all_plates()
        }
        with plate_copies(self.folder, (), untouched=paths, gone=tuple(self._older())):
            pass

    def _named(self) -> Iterator[Path]:
        seen: dict[Path, None] = {}
        for spread in self.spreads:
            seen |= dict.fromkeys(named_files(self.book, spread.name))
        schema = self.book.folder / f"{self.book.path.stem}.schema.json"
        yield from (seen | {schema: None}) if schema.is_file() else seen

    def _all_plates(self) -> frozenset[Path]:
        return frozenset(path for spread in self.spreads for path in plate_files(spread))

    def _older(self) -> Iterator[Output]:
        """The book and what else an earlier run finished with, where nobody changed it since.

        Not the recipe: corrections outlive a run that fails, and --again may name this very one.
        """
        listed = listed_digests(self.folder).get(self.book.path.name)
        if listed and self._book_file.is_file() and input_digest(self._book_file) == listed:
            yield Output(path=self._book_file, known=frozenset({listed}))
        yield from (one for one in self.last if one.path.is_file())

    def copies(self, spread: SpreadFiles, *, changed: bool) -> dict[Path, Path]:
        """Where each plate file of a spread goes.

        Copies of plates that print twice are left out where plates change: they would be of others.
        """
        own = own_files(self.book.for_spread(spread.name), spread.files) if changed else ()
        needless = {path for _, _, path in own}
        paths = dict.fromkeys(plate_files(spread))
        return {path: self.place(path) for path in paths if path not in needless}

    def copy(self, spread: SpreadFiles) -> None:
        """Copy the plates of a spread as they are."""
        with plate_copies(self.folder, (), untouched=self.copies(spread, changed=False)):
            pass

    def older_recipe(self) -> BookRecipe | None:
        """What an earlier run kept of this book; None where it kept nothing that can be read."""
        try:
            older = read_recipe(self._recipe.path)
        except UsageError:
            return None
        return older if older.title == self.book.title else None

    def finish(self, recipe: BookRecipe, *, changed: Collection[str]) -> tuple[str, ...]:
        """Write the book, and the recipe beside it: from now on the folder is a whole book.

        Parameters
        ----------
        changed : collection of str
            Spreads of which plates are corrected.

        Returns
        -------
        tuple of str
            Files of an earlier run that no longer belong to the book, and went; as paths in the
            folder.
        """
        stale = tuple(self._stale(changed))
        gone = [Output(path=path, known=frozenset({digest})) for path, digest in stale]
        book = {self.book.path: self._book_file}
        with plate_copies(
            self.folder, (), untouched=book, beside=(self._recipe,), gone=gone
        ) as written:
            written.beside[0].write(recipe_bytes(recipe, name=RECIPE_NAME))
        for path, _ in stale:
            self._tidy(path.parent)
        return tuple(path.relative_to(self.folder).as_posix() for path, _ in stale)

    def _stale(self, changed: Collection[str]) -> Iterator[tuple[Path, str]]:
        """Files of an earlier run that the book does not have now, each with its digest by then."""
        plates = {
            to
            for spread in self.spreads
            for to in self.copies(spread, changed=spread.name in changed).values()
        }
        wanted = {*plates, self._book_file, self._recipe.path, *map(self.place, self._named())}
        for name, digest in listed_digests(self.folder).items():
            path = self.folder / name
            is_wanted = path in wanted or not plates.isdisjoint(copies_beside(path))
            if not is_wanted and path.is_file():
                yield path, digest

    def _tidy(self, folder: Path) -> None:
        """Folders that are left empty go, too."""
        with suppress(OSError):
            while folder != self.folder:
                folder.rmdir()
                folder = folder.parent
