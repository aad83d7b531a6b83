"""Looking for changes: a run, then another whenever inputs changed and came to rest, and so on.

Files are asked for how they are found, not read; nothing depends on what a file system tells by
itself, so that shared folders can be watched too. A book that is wrong for a while ends nothing.
"""

import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path

from inkmix.base.errors import Fault, InkmixError
from inkmix.base.file_state import State, state_of
from inkmix.base.output_files import held
from inkmix.batch.digests import FileDigests
from inkmix.batch.document import read_before
from inkmix.batch.recall import recalled
from inkmix.batch.rows import unreadable
from inkmix.batch.run import Wanted, one_run
from inkmix.batch.task import RUN_NAME
from inkmix.batch.vouchers import Vouchers
from inkmix.batch.worker_pool import StandingCrew
from inkmix.book.meant.inputs import input_files
from inkmix.book.meant.plates import BookFolder, look_into
from inkmix.book.values import Book
from inkmix.jobs.book_answer import BatchResult
from inkmix.jobs.books import book_at

LOOK_EVERY_S = 0.5
LOOK_SHARE = 0.05
"""At most this share of the time goes into looking for changes."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Seen:
    """A book and its folder as they were found, or why they could not be.

    Parameters
    ----------
    states : mapping of Path to State
        Of the book and every input.
    """

    states: dict[Path, State]
    book: Book | None = None
    found: BookFolder | None = None
    faults: tuple[Fault, ...] = ()

    def is_same(self, other: "Seen") -> bool:
        """Whether nothing changed from one to the other."""
        mine, theirs = (
            None if seen.found is None else seen.found.spreads for seen in (self, other)
        )
        return (self.states, mine, self.faults) == (other.states, theirs, other.faults)


def watch_book(
    path: Path,
    wanted: Wanted,
    *,
    done: Callable[[BatchResult], None],
    refused: Callable[[tuple[Fault, ...]], None],
) -> None:
    """Run, and run again after every change; ends by an exception or a signal only.

    Every run is compared with the last one before the watch.

    Parameters
    ----------
    path : Path
        The book file.
    done : callable of BatchResult
        Told how the book stands after each run.
    refused : callable of faults
        Told what is wrong with the book or its folder, instead of a run.
    """
    crew = StandingCrew(wanted.crew)
    wanted = replace(wanted, crew=crew, watched=True)
    with held(wanted.to / RUN_NAME), recalled(path.resolve().parent) as digests:
        watch = _Watch(wanted, digests, done=done, refused=refused)
        before = None
        try:
            while True:
                before = _at_rest(path, before)
                watch.turn(before)
        finally:
            crew.dismiss()


class _Watch:
    """How the book stood when it could last be used."""

    def __init__(
        self,
        wanted: Wanted,
        digests: FileDigests,
        *,
        done: Callable[[BatchResult], None],
        refused: Callable[[tuple[Fault, ...]], None],
    ) -> None:
        self._wanted, self._digests = wanted, digests
        self._done, self._refused = done, refused
        self._vouchers, self._before = Vouchers(), read_before(wanted.to)
        self._result: BatchResult | None = None

    def turn(self, seen: Seen) -> None:
        """Check what changed, or show what is wrong with the book."""
        wanted = self._wanted
        if seen.book is None or seen.found is None:
            if self._result is not None:
                wanted.show(replace(self._result, refused=seen.faults), self._before.last)
            self._refused(seen.faults)
            return
        self._result = one_run(
            seen.book,
            seen.found,
            wanted,
            digests=self._digests,
            vouchers=self._vouchers,
            before=self._before,
        )
        self._before = replace(self._before, unreadable=unreadable(self._result.rows))
        self._wanted = replace(wanted, again=False)  # it was asked for once
        self._done(self._result)


def _at_rest(path: Path, before: Seen | None) -> Seen:
    """What is there once it differs from before, and did not change between two looks."""
    now = look(path)
    while True:
        began = time.monotonic()
        later = look(path)
        if later.is_same(now) and (before is None or not now.is_same(before)):
            return now
        now = later
        time.sleep(max(LOOK_EVERY_S, (time.monotonic() - began) / LOOK_SHARE))


def look(path: Path) -> Seen:
    """A book and its folder as they are now."""
    states = {path: state_of(path)}
    try:
        book = book_at(path)
        found = look_into(book)
    except InkmixError as error:
        return Seen(states=states, faults=error.faults)
    with suppress(OSError):
        for spread in found.spreads:
            files = input_files(book, spread)
            states.update((file, state_of(file)) for file in files if file not in states)
    return Seen(states=states, book=book, found=found)
