"""A run over every spread of a book: what is unchanged is taken from before, the rest given out.

From before counts only what a run of this user wrote, and as it was written.

The folder is held for as long as the run lives. What is known is shown before anything is given
out, now and then, and in the end, so that a page is there and true, whatever happens to the run.
"""

import time
from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass, replace
from itertools import chain
from pathlib import Path

from inkmix.base.errors import Fault, InkmixError, PlateError
from inkmix.base.ordered_threads import in_order
from inkmix.base.output_files import held
from inkmix.base.words import listing
from inkmix.batch.compare import LastRun
from inkmix.batch.digests import FileDigests
from inkmix.batch.document import Before, read_before
from inkmix.batch.key import read_inputs
from inkmix.batch.recall import recalled
from inkmix.batch.rows import Fared, batch_result
from inkmix.batch.spread_record import Kept, is_whole, read_kept
from inkmix.batch.task import RUN_NAME, Outcome, Task, lost, task_for
from inkmix.batch.vouchers import Vouchers, faults_digest
from inkmix.batch.worker_pool import Crew, each_done
from inkmix.book.meant.plates import BookFolder, SpreadFiles, look_into
from inkmix.book.values import Book
from inkmix.checks import table
from inkmix.jobs.book_answer import BatchResult
from inkmix.pages.folders import report_folder

SHOW_SHARE = 0.04
"""At most this share of the time goes into showing what is known so far."""
SHOW_EVERY_S = 5.0


@dataclass(frozen=True, slots=True, kw_only=True)
class HowFar:
    """How far a run is: spreads done, of those taken from before, and all."""

    done: int
    reused: int
    all: int


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Wanted:
    """How a run is to be done.

    Parameters
    ----------
    to : Path
        Folder of the reports.
    show : callable of BatchResult and LastRun
        Given what is known, and what it is compared with.
    tell : callable of HowFar
        Told at the beginning, and whenever a spread is done.
    strict : bool
        What is unsure counts as failing.
    again : bool
        Unchanged spreads are checked too.
    watched : bool
        More runs follow; before anything is checked, quick pictures of it are shown.
    checks : collection of str or None
        Names of the checks to run; None: all of the table.
    """

    to: Path
    crew: Crew
    show: Callable[[BatchResult, LastRun | None], None]
    tell: Callable[[HowFar], None]
    strict: bool = False
    again: bool = False
    watched: bool = False
    checks: Collection[str] | None = None

    @property
    def check_names(self) -> tuple[str, ...]:
        """The checks to run."""
        return tuple(sorted(table.names() if self.checks is None else self.checks))


def run_batch(book: Book, wanted: Wanted) -> BatchResult:
    """Check every spread of a book and say how the book stands.

    Raises
    ------
    InkmixError
        Where the book has no spread, the folder cannot be written, or workers cannot be had.
    """
    found = look_into(book)
    with held(wanted.to / RUN_NAME), recalled(book.folder) as digests:
        return one_run(
            book,
            found,
            wanted,
            digests=digests,
            vouchers=Vouchers(),
            before=read_before(wanted.to),
        )


def one_run(
    book: Book,
    found: BookFolder,
    wanted: Wanted,
    *,
    digests: FileDigests,
    vouchers: Vouchers,
    before: Before,
) -> BatchResult:
    """The same in a folder that is held already, after what is known from before."""
    run = _Run(book, found, wanted, digests=digests, vouchers=vouchers, before=before)
    run.tell()
    tasks = run.tasks()
    if (first := next(tasks, None)) is not None:
        run.give_out(chain((first,), tasks))
    return run.show_now(complete=True)


class _Run:
    """What is known so far."""

    def __init__(
        self,
        book: Book,
        found: BookFolder,
        wanted: Wanted,
        *,
        digests: FileDigests,
        vouchers: Vouchers,
        before: Before,
    ) -> None:
        self._book, self._wanted = book, wanted
        self._digests, self._vouchers, self._before = digests, vouchers, before
        self._spreads = found.spreads
        self._notes = (
            *book.notes,
            *found.notes,
            *found.strays,
            *before.notes,
            *_left_out(wanted.check_names),
        )
        self._fared = {spread.name: Fared() for spread in found.spreads}
        self._done = self._reused = 0
        self._next_show = time.monotonic() + SHOW_EVERY_S

    def tasks(self) -> Iterator[Task]:
        """The spreads that have to be checked; what is known without is entered at once."""
        look = _unfit if self._wanted.again else self._known
        threads = 1 if self._digests.known else None  # where little is read they gain nothing
        looked = in_order(look, self._spreads, threads=threads)
        for found, known in zip(self._spreads, looked, strict=True):
            if known is not None:
                self._reused += not found.faults
                self._enter(found.name, known)
            else:
                book, checks = self._book.for_spread(found.name), self._wanted.check_names
                yield task_for(book, found, self._wanted.to, checks=checks)

    def give_out(self, tasks: Iterator[Task]) -> None:
        """Have spreads checked; before that show where the run stands, in a watch with pictures."""
        from inkmix.batch.work import (
            check_one,
            preview_one,
        )  # where nothing changed it is not needed

        if self._wanted.watched:
            listed = list(tasks)
            each_done(self._wanted.crew, preview_one, listed, self._take_preview)
            tasks = iter(listed)
        self.show_now(complete=False)
        each_done(self._wanted.crew, check_one, tasks, self.take)

    def take(self, outcome: Outcome) -> None:
        """Enter what a worker brought."""
        self._digests.learn(outcome.read)
        kept = None if outcome.faults else self._kept(outcome)
        if kept is None and not outcome.faults:
            outcome = lost(outcome.name, _unseen(self._folder(outcome.name)))
        fared = _told(outcome) if kept is None else Fared(checked=kept.checked)
        if outcome.key:
            record = faults_digest(fared) if kept is None else kept.digest
            self._vouchers.vouch(outcome.key, record)
        self._enter(outcome.name, fared)

    def tell(self) -> None:
        """Say how far it is."""
        self._wanted.tell(HowFar(done=self._done, reused=self._reused, all=len(self._spreads)))

    def show_now(self, *, complete: bool) -> BatchResult:
        """Show and give what is known."""
        began = time.monotonic()
        result = batch_result(
            self._book,
            self._fared,
            last=self._before.last,
            notes=self._notes,
            complete=complete,
            strict=self._wanted.strict,
            watched=self._wanted.watched,
            checks=self._wanted.check_names,
        )
        self._wanted.show(result, self._before.last)
        now = time.monotonic()
        self._next_show = now + max(SHOW_EVERY_S, (now - began) / SHOW_SHARE)
        return result

    def _take_preview(self, outcome: Outcome) -> None:
        """A spread that has none says why when it is checked."""
        self._fared[outcome.name] = Fared(preview=outcome.preview)

    def _enter(self, name: str, fared: Fared) -> None:
        self._fared[name] = fared
        self._done += 1
        self.tell()
        if time.monotonic() > self._next_show:
            self.show_now(complete=False)

    def _folder(self, name: str) -> Path:
        return self._wanted.to / report_folder(name)

    def _kept(self, outcome: Outcome) -> Kept | None:
        """What a worker says that it wrote, if it can be seen from here."""
        kept = read_kept(self._folder(outcome.name))
        return kept if kept is not None and kept.digest == outcome.record else None

    def _known(self, found: SpreadFiles) -> Fared | None:
        """How a spread fared before, if nothing changed; None if it has to be checked."""
        folder, unreadable = self._folder(found.name), self._before.unreadable.get(found.name)
        kept = read_kept(folder)
        if found.faults or (kept is None and unreadable is None):
            return _unfit(found)
        try:
            book, checks = self._book.for_spread(found.name), self._wanted.check_names
            inputs = read_inputs(book, found, self._digests, checks=checks)
        except InkmixError:  # said by who checks it
            return None
        key, is_own = inputs.key(), self._vouchers.is_own
        if unreadable is not None and is_own(key, faults_digest(unreadable)):
            return replace(unreadable, faults_key=key)
        if kept is not None and is_own(key, kept.digest) and is_whole(kept.checked, folder):
            return Fared(checked=kept.checked)
        return None


def _left_out(names: Collection[str]) -> tuple[str, ...]:
    """What has to be said where not all checks run."""
    missing = [name for name in table.names() if name not in names]
    return (f"left out of this run: {listing(missing)}",) if missing else ()


def _unfit(found: SpreadFiles) -> Fared | None:
    """A spread whose files do not fit together by their names."""
    if not found.faults:
        return None
    return Fared(faults=found.faults, exit_code=PlateError.exit_code)


def _told(outcome: Outcome) -> Fared:
    """What was told of a spread that could not be checked."""
    return Fared(faults=outcome.faults, faults_key=outcome.key, exit_code=outcome.exit_code)


def _unseen(folder: Path) -> Fault:
    found = "a worker says that it wrote a report here, which cannot be seen"
    do = "let every worker see the same folder under the same path"
    return Fault(where=str(folder), found=found, do=do)
