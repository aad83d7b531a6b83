"""One spread, opened: plates that belong together, on a press condition.

What is wrong with book, inks and files is found when it is opened (`open_uncounted`); what only
pixels show, when they were counted beside the colours (`counted`).
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

from inkmix.base.arguments import text_of
from inkmix.base.errors import Fault, PlateError, UsageError
from inkmix.base.listed_files import listed_digests, undoubted_files
from inkmix.base.names import composed
from inkmix.base.quoting import listed
from inkmix.book.meant.collected_faults import all_of
from inkmix.book.meant.condition import (
    Limits,
    resolve_condition,
    resolve_edge_growth,
    resolve_limits,
)
from inkmix.book.meant.inputs import named_files, plate_files
from inkmix.book.meant.plates import SpreadFiles, book_spreads, find_spread
from inkmix.book.meant.sheet import expected_size, resolve_sheet
from inkmix.book.meant.sources import Sources, spread_sources
from inkmix.book.values import Book
from inkmix.plates.files.scratch.room import TEMPORARY, ScratchRoom
from inkmix.plates.files.snapshots import NO_FILES, TRIES, Snapshot, snapshot_of, while_at_rest
from inkmix.plates.found.listing import printable
from inkmix.plates.set import PlateSet, open_set
from inkmix.plates.survey.surveyed import PlateSurvey, survey_faults, survey_notes
from inkmix.press.condition import PressCondition
from inkmix.sheet.geometry import Sheet

#: Told what is being done and how far it is, 0-1.
Progress = Callable[[str, float], None]


def no_progress(doing: str, share: float) -> None:
    """Say nothing."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Spread:
    """A spread ready to be predicted or checked.

    Parameters
    ----------
    condition : PressCondition
        For the pixels: plates that are made of dots already are marked as such.
    tone_condition : PressCondition
        For mixes told in tone values: their dots gain as usual, whatever the plates are made of.
    surveys : tuple of PlateSurvey
        One a plate, in lay-down order; none while the pixels were not counted.
    notes : tuple of str
        What was accepted and has to be said.
    room : ScratchRoom
        For pictures that cannot be read by windows.
    seen : Snapshot
        All files that it rests on, as they were before any was read.
    again : callable or None
        Opens it anew, uncounted, as its files are by then.
    """

    book: Book
    name: str
    condition: PressCondition
    tone_condition: PressCondition
    limits: Limits
    plates: PlateSet
    surveys: tuple[PlateSurvey, ...]
    sheet: Sheet
    notes: tuple[str, ...]
    room: ScratchRoom = TEMPORARY
    seen: Snapshot = NO_FILES
    again: "Callable[[], Spread] | None" = None

    def as_on_screen(self) -> "Spread":
        """The same with plates as their files are: nothing grows on a screen."""
        return replace(self, plates=replace(self.plates, screened=(False,) * len(self.plates.inks)))

    def counted(self, surveys: Sequence[PlateSurvey]) -> "Spread":
        """The same, knowing its pixels: plates that turn out to be made of dots gain as such.

        Raises
        ------
        PlateError
            With all faults that only pixels show.
        """
        if faults := survey_faults(surveys):
            raise PlateError(faults)
        surveys = self._undoubted(surveys)
        screened = [found.header.ink for found in surveys if found.screened]
        # A plate that prints twice would say everything twice.
        notes = dict.fromkeys((*self.notes, *survey_notes(surveys)))
        return replace(self._screened(screened), surveys=tuple(surveys), notes=tuple(notes))

    def _undoubted(self, surveys: Sequence[PlateSurvey]) -> Sequence[PlateSurvey]:
        """Corrected copies, unchanged, of plates that raised no doubt raise none: a night is dark.

        No plate is turned by a correction.
        """
        if not any(found.may_be_inverted for found in surveys):
            return surveys
        folder = self.book.folder
        sound = undoubted_files(folder)
        known = {digest for name, digest in listed_digests(folder).items() if name in sound}
        if any(found.digest not in known for found in surveys if found.digest is not None):
            return surveys
        return [replace(found, may_be_inverted=False, hides_lights=False) for found in surveys]

    def _screened(self, inks: Sequence[str]) -> "Spread":
        """The same, with these plates as plates of dots."""
        if not inks:
            return self
        return replace(
            self,
            condition=self.tone_condition.with_screened(inks),
            plates=self.plates.with_screened(inks),
        )


def choose_spread(book: Book, name: str | None) -> str:
    """The spread asked for; the only one where none is named.

    Raises
    ------
    UsageError
        Where several are there and none is named.
    """
    if name is not None:
        return composed(text_of(name, what="spread"))  # shells hand out names as the disk has them
    spreads = book_spreads(book)
    if len(spreads) == 1:
        return spreads[0].name
    names = [printable(spread.name) for spread in spreads]
    found = f"{len(names)} spreads: {listed(names)}"
    raise UsageError(Fault(where=book.path.name, found=found, do="name one (--spread NAME)"))


def open_uncounted(
    book: Book,
    name: str,
    *,
    found: SpreadFiles | None = None,
    room: ScratchRoom = TEMPORARY,
    progress: Progress = no_progress,
    tries: int = TRIES,
) -> Spread:
    """Open the plates of one spread without counting their pixels.

    Parameters
    ----------
    found : SpreadFiles or None
        Its files; None: they are looked for.
    room : ScratchRoom
        For files that cannot be read by windows; best beside what will be written.
    tries : int
        How often in all it is tried where a file is changed meanwhile.

    Raises
    ------
    InkmixError
        With all faults of book, inks and plate files that can be found at once.
    """
    progress("opening plates", 0.0)
    once = partial(_opened_once, book, name, found, room)
    return replace(while_at_rest(once, tries=tries), again=once)


def _opened_once(book: Book, name: str, found: SpreadFiles | None, room: ScratchRoom) -> Spread:
    ours = book.for_spread(name)
    named = snapshot_of(named_files(ours, name))
    with named.held():
        both: list[Any] = all_of(
            [partial(resolve_condition, ours), partial(_found, book, name, found, room)]
        )
    condition, (plates, seen, notes) = both
    spread = _spread(ours, name, condition, plates, room=room, notes=(*ours.notes, *notes))
    return replace(spread, seen=named + seen)


def open_loose(book: Book, sources: Sources, *, room: ScratchRoom = TEMPORARY) -> Spread:
    """Open plates that no pattern finds, uncounted: `book` tells inks, paper and process only.

    Raises
    ------
    InkmixError
        With all faults of inks and plates.
    """
    once = partial(_loose_once, book, sources, room)
    return replace(while_at_rest(once), again=once)


def _loose_once(book: Book, sources: Sources, room: ScratchRoom) -> Spread:
    seen = snapshot_of(source.path for source in sources.values() if source is not None)
    with seen.held():
        both: list[Any] = all_of(
            [partial(resolve_condition, book), partial(_opened, book, "", sources, room)]
        )
    condition, plates = both
    spread = _spread(book, "", condition, plates, room=room, notes=())
    return replace(spread, seen=seen)


def _found(
    book: Book, name: str, found: SpreadFiles | None, room: ScratchRoom
) -> tuple[PlateSet, Snapshot, tuple[str, ...]]:
    """The opened plates of a spread, their files before that, and notes on how they were found."""
    files = find_spread(book, name) if found is None else found
    seen = snapshot_of(plate_files(files))
    with seen.held():
        sources = spread_sources(book, files)
        return _opened(book.for_spread(name), name, sources, room), seen, files.notes


def _opened(book: Book, name: str, sources: Sources, room: ScratchRoom) -> PlateSet:
    return open_set(
        sources,
        ppi=book.plates.ppi,
        expect=expected_size(book, name),
        absent=book.plates.absent,
        edge_growth_mm=resolve_edge_growth(book).value,
        room=room,
    )


def _spread(
    book: Book,
    name: str,
    condition: PressCondition,
    plates: PlateSet,
    *,
    room: ScratchRoom,
    notes: tuple[str, ...],
) -> Spread:
    """A set of plates on its press condition."""
    spread = Spread(
        book=book,
        name=name,
        condition=condition,
        tone_condition=condition,
        limits=resolve_limits(book, condition.paper),
        plates=plates,
        surveys=(),
        sheet=resolve_sheet(
            book, name, width_px=plates.width_px, height_px=plates.height_px, ppi=plates.ppi
        ),
        notes=tuple(dict.fromkeys((*notes, *plates.notes))),
        room=room,
    )
    marks = zip(plates.inks, plates.screened, strict=True)
    return spread._screened([ink for ink, is_screened in marks if is_screened])
