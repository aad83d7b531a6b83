"""A whole book mended: corrected copies of its plates, checked again, shown before and after."""

from collections.abc import Collection, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

from inkmix.base.arguments import path_of, text_of
from inkmix.base.errors import InkmixError, OutputError
from inkmix.base.names import composed
from inkmix.batch.digests import FileDigests
from inkmix.batch.key import read_inputs
from inkmix.batch.summary import kept
from inkmix.book.meant.plates import SpreadFiles, find_spread, look_into
from inkmix.book.values import Book
from inkmix.checks import table
from inkmix.checks.finding import Finding
from inkmix.jobs.books import read_book
from inkmix.jobs.check import check_spread
from inkmix.jobs.mending.folder import MendedFolder
from inkmix.jobs.mending.recipe import BookRecipe, SpreadRecipe, read_recipe
from inkmix.jobs.mending.spread import Asked, mend_spread, rechecked
from inkmix.jobs.mending.values import BookMended, SpreadMended, WaivedFinding
from inkmix.jobs.refusals import refuse_no_book
from inkmix.jobs.spread import Progress, no_progress, open_uncounted
from inkmix.jobs.waivers import with_waivers
from inkmix.pages.folders import PAGE_NAME, REPORTS, report_folder
from inkmix.pages.mending.write import mended_outputs, write_mended
from inkmix.pages.report.view import numbered
from inkmix.pages.report.write import write_report
from inkmix.plates.files.scratch.room import ScratchRoom


@table.names_told
def mend_book(
    book: Book,
    to: str | Path,
    *,
    spread: str | None = None,
    checks: str | Collection[str] | None = None,
    again: str | Path | None = None,
    give_up_lights: bool = False,
    room: ScratchRoom | None = None,
    progress: Progress | None = None,
) -> BookMended:
    """Write corrected copies of a book's plates into a folder, check them, and show what changed.

    What gets written is a whole book; the plates it comes from are never changed. Where there is
    nothing to mend, nothing is written. A prediction is no proof: the printer has the last word.

    Parameters
    ----------
    to : str or Path
        The folder: a new one, an empty one, or one that was written so before.
    spread : str or None
        Name of the only spread that is mended, others are copied as they are; None: all.
    checks : str, collection of str, or None
        Names of the checks whose findings are mended: {checks}. None: all. All of them judge
        the copies.
    again : str, Path or None
        A recipe.json of an earlier run, whose corrections are made again; what no longer fits is
        said in `misfits`. None: corrections are searched for.
    give_up_lights : bool
        Whether corrections are made that turn lights dark, or take half the texture of a night;
        otherwise they are named in `undone`. What a recipe's correction cost when it was made, it
        may cost again.
    room : ScratchRoom or None
        For files that cannot be read by windows; None: the folder.
    progress : callable or None
        Told what is being done and how far it is, 0-1.

    Raises
    ------
    InkmixError
        Where an input cannot be used, or the folder cannot be written.

    Examples
    --------
    ::

        book = inkmix.read_book("night-ferry")
        mended = inkmix.mend_book(book, "night-ferry-mended")
        for one in mended.spreads:
            print(one.spread, one.was, one.verdict, [plate.ink for plate in one.plates])
        assert not mended.is_changed or inkmix.read_book("night-ferry-mended").title == book.title
    """
    refuse_no_book(book)
    names, folder = table.asked_for(checks), path_of(to, what="folder")
    recipe = None if again is None else read_recipe(path_of(again, what="recipe"))
    spreads = look_into(book).spreads
    target = MendedFolder(
        book=book,
        spreads=spreads,
        folder=folder,
        last=tuple(mended_outputs(folder)),
        taken=(book.folder / REPORTS,),
    )
    target.refuse()
    chosen = _chosen(book, spreads, spread)
    run = _Run(
        target,
        names,
        give_up_lights=give_up_lights,
        room=room or ScratchRoom(folder=folder),
        progress=progress or no_progress,
    )
    run.refuse_unreadable(chosen)
    return run.mended(chosen, recipe)


def _chosen(
    book: Book, spreads: Sequence[SpreadFiles], name: str | None
) -> tuple[SpreadFiles, ...]:
    if name is None:
        return tuple(spreads)
    wanted = composed(text_of(name, what="spread"))
    return (find_spread(book, wanted),)


class _Run:
    """One run over a book."""

    def __init__(
        self,
        target: MendedFolder,
        names: Collection[str],
        *,
        give_up_lights: bool,
        room: ScratchRoom,
        progress: Progress,
    ) -> None:
        self._target, self._book, self._names = target, target.book, names
        self._give_up_lights = give_up_lights
        self._room, self._progress, self._begun = room, progress, False

    def refuse_unreadable(self, chosen: Sequence[SpreadFiles]) -> None:
        """Refuse spreads that cannot be opened, all together, before anything is written."""
        errors = []
        for files in chosen:
            try:
                open_uncounted(self._book, files.name, room=self._room)
            except InkmixError as error:
                errors.append(error)
        if errors:
            faults = dict.fromkeys(fault for error in errors for fault in error.faults)
            raise type(errors[0])(faults)

    def mended(self, chosen: Sequence[SpreadFiles], recipe: BookRecipe | None) -> BookMended:
        """Spread by spread; the book comes last, and is then checked."""
        asked = Asked(
            book=self._book,
            checks=self._names,
            to=self._target,
            room=self._room,
            give_up_lights=self._give_up_lights,
            waived=self._waived,
            begin=self._begin,
            progress=self._progress,
        )
        with self._saying_what_is_left():
            made = [
                mend_spread(asked, files, None if recipe is None else recipe.of(files.name))
                for files in chosen
            ]
        result = BookMended(
            title=self._book.title,
            spreads=tuple(mended for mended, _ in made),
            copied=self._others(chosen),
            misfits=() if recipe is None else tuple(self._misfits(recipe)),
        )
        if not result.is_changed:
            return result
        with self._saying_what_is_left():
            return self._finished(result, self._kept(recipe, [found for _, found in made]))

    @contextmanager
    def _saying_what_is_left(self) -> Iterator[None]:
        """Errors of writing that say what lies in the folder once anything was begun."""
        try:
            yield
        except OutputError as error:
            if not self._begun:
                raise
            left = (
                f"what was written before stays in {self._target.folder}, which may hold only a "
                "part of the book: run the same again, or remove the folder"
            )
            faults = [
                replace(one, do="; ".join(filter(None, (one.do, left)))) for one in error.faults
            ]
            raise OutputError(faults) from error

    def _waived(self, files: SpreadFiles, findings: Sequence[Finding]) -> tuple[WaivedFinding, ...]:
        """Findings that the book waives, told as in a batch; no file is read where it has none."""
        waivers = [one for one in self._book.waivers if one.spread in (None, files.name)]
        if not waivers:
            return ()
        inputs = read_inputs(self._book.for_spread(files.name), files, FileDigests())
        items = numbered(findings)
        shown = with_waivers(
            [kept(item, inputs.rests_on) for item in items], waivers, spread=files.name
        )
        return tuple(
            WaivedFinding(finding=item.finding, by=one.waiver.by, reason=one.waiver.reason)
            for item, one in zip(items, shown, strict=True)
            if one.waiver is not None
        )

    def _kept(self, recipe: BookRecipe | None, found: Sequence[SpreadRecipe]) -> BookRecipe:
        """What fresh exports are corrected by: a recipe stays whole, whatever it did this time."""
        title, inks = self._book.title, self._book.ink_names
        if recipe is not None:
            return replace(recipe, title=title, inks=inks)
        older = self._target.older_recipe() or BookRecipe(title=title, inks=inks, spreads=())
        names = [one.name for one in self._target.spreads]
        return replace(older.with_searched(found, self._names, spreads=names), inks=inks)

    def _others(self, chosen: Sequence[SpreadFiles]) -> tuple[str, ...]:
        wanted = {files.name for files in chosen}
        return tuple(one.name for one in self._target.spreads if one.name not in wanted)

    def _misfits(self, recipe: BookRecipe) -> Iterator[str]:
        here = {spread.name for spread in self._target.spreads}
        for one in recipe.spreads:
            if one.spread not in here and one.corrections:
                yield f"{one.spread}: there is no spread of this name now."
        if recipe.inks != self._book.ink_names:
            was, now = ", ".join(recipe.inks), ", ".join(self._book.ink_names)
            yield f"The inks were {was}, and are {now} now."

    def _begin(self) -> None:
        """Before the first plate is written."""
        if not self._begun:
            self._target.begin()
            self._begun = True

    def _finished(self, result: BookMended, recipe: BookRecipe) -> BookMended:
        """The rest of the book, the checks on the copies, the page."""
        changed = {one.spread for one in result.spreads if one.is_changed}
        for files in self._target.spreads:
            if files.name not in changed:
                self._target.copy(files)
        gone = self._target.finish(recipe, changed=changed)
        copies = read_book(self._target.folder / self._book.path.name)
        spreads = tuple(
            self._checked(copies, one) if one.is_changed else one for one in result.spreads
        )
        done = replace(result, spreads=spreads, gone=gone)
        write_mended(done, self._target.folder)
        return done

    def _checked(self, copies: Book, mended: SpreadMended) -> SpreadMended:
        """All checks on the copies, whatever was mended, and the report."""
        result = check_spread(
            copies,
            mended.spread,
            room=self._room,
            remedies=False,  # what they could do to plates is done
            progress=self._progress,
        )
        place = f"{REPORTS}/{report_folder(mended.spread)}"
        write_report(result, self._target.folder / place)
        return rechecked(mended, result, names=self._names, report=f"{place}/{PAGE_NAME}")
