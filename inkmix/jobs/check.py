"""Check one spread: open, walk the windows once, judge, try remedies, put the answer together.

Which checks there are, and what they look at, is told by the table of checks.
"""

from collections.abc import Collection, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Any

from inkmix.base.arguments import path_of
from inkmix.base.errors import InkmixError, PictureError
from inkmix.book.meant.collected_faults import all_of
from inkmix.book.meant.plates import SpreadFiles
from inkmix.book.values import Book
from inkmix.checks import table
from inkmix.checks.check import LEFT_OUT, Answer, Check, OpenedCheck
from inkmix.checks.finding import Finding, overall
from inkmix.checks.guesses import guesses_of
from inkmix.checks.headline import headline
from inkmix.checks.orders.of_spread import orders_of
from inkmix.checks.trials.on_plates import trials_on
from inkmix.checks.trials.trials import Trials
from inkmix.colour.whites import ABSOLUTE
from inkmix.export.picture import PictureWriter
from inkmix.jobs.answer import SpreadResult
from inkmix.jobs.checking import facts, notes
from inkmix.jobs.checking.before_after import remedies_shown
from inkmix.jobs.checking.crops import crop_pictures
from inkmix.jobs.checking.gather import Gathered, Gathering, gather
from inkmix.jobs.checking.measured import measured_notes
from inkmix.jobs.checking.press_known import press_notes
from inkmix.jobs.checking.reference import (
    ComparedReference,
    compared_reference,
    open_spread_reference,
    reference_check,
)
from inkmix.jobs.checking.spotlights import spotlights
from inkmix.jobs.printing.colourings import print_colouring, screen_colouring
from inkmix.jobs.printing.pictures import jpeg_bytes
from inkmix.jobs.printing.predict import print_writers
from inkmix.jobs.printing.targets import refuse_targets
from inkmix.jobs.ranges import TRIES
from inkmix.jobs.refusals import refuse_no_book
from inkmix.jobs.spread import Progress, Spread, choose_spread, no_progress, open_uncounted
from inkmix.plates.files.scratch.room import TEMPORARY, ScratchRoom
from inkmix.plates.files.snapshots import TRIES as USUAL_TRIES
from inkmix.plates.files.snapshots import while_at_rest
from inkmix.plates.reference.picture import Reference
from inkmix.press.table.colouring import Colouring


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Judged:
    """What the checks say: an answer each, and all findings, with remedies."""

    answers: tuple[Answer, ...]
    findings: tuple[Finding, ...]


@table.names_told
def check_spread(
    book: Book,
    name: str | None = None,
    *,
    checks: str | Collection[str] | None = None,
    found: SpreadFiles | None = None,
    picture: str | Path | None = None,
    room: ScratchRoom | None = None,
    remedies: bool = True,
    progress: Progress | None = None,
    tries: int = USUAL_TRIES,
) -> SpreadResult:
    """Everything that can be said about one spread of a book.

    Parameters
    ----------
    name : str or None
        Name of the spread; None: the only one.
    checks : str, collection of str, or None
        Names of the checks to run: {checks}. None: all. What is left out is said to be
        so; night areas are guarded against remedies all the same.
    found : SpreadFiles or None
        Its files; None: they are looked for.
    picture : str, Path or None
        Where to write the predicted print at full size, .png or .tif, in the same pass.
    room : ScratchRoom or None
        For files that cannot be read by windows, best beside what will be written; None: the
        system's temporary folder.
    remedies : bool
        False: nobody looks for them, which takes most of the time where much fails.
    progress : callable or None
        Told what is being done and how far it is, 0-1.
    tries : int
        How often in all it is tried where a file is changed meanwhile, 1-100.

    Raises
    ------
    InkmixError
        Where an input cannot be used; all faults that can be found at once.

    Examples
    --------
    ::

        book = inkmix.read_book("night-ferry")
        result = inkmix.check_spread(book, "night-ferry", checks=["total-ink", "night"])
        for finding in result.findings:
            print(finding.verdict, finding.sentence)  # worst first
        assert result.verdict in ("pass", "fail", "unsure", "no limit given", "not checked")
    """
    refuse_no_book(book)
    TRIES.refuse(tries)
    names, spread_name = table.asked_for(checks), choose_spread(book, name)
    target = None if picture is None else path_of(picture, what="picture")
    scratch, tell = room or TEMPORARY, progress or no_progress

    def checked() -> SpreadResult:
        spread = open_uncounted(
            book, spread_name, found=found, room=scratch, progress=tell, tries=1
        )
        if target is not None:
            refuse_targets(spread, [target])
        with spread.seen.held():
            return _checked(spread, names, target, tell, remedies=remedies)

    return while_at_rest(checked, tries=tries)


def _checked(
    spread: Spread,
    names: Collection[str],
    picture: Path | None,
    progress: Progress,
    *,
    remedies: bool,
) -> SpreadResult:
    reference = open_spread_reference(spread)
    looked = looked_at(spread, names, reference, picture, progress)
    progress("trying remedies", 0.0)
    judged = _judge(looked, remedies=remedies)
    progress("drawing the report", 0.0)
    findings, crops = crop_pictures(
        looked.spread,
        looked.printed,
        judged.findings,
        overview=looked.gathered.as_printed,
    )
    shown, before_after = remedies_shown(
        looked.spread,
        looked.printed,
        judged.findings,
        reduced_tone_pct=looked.gathered.reduced_tone_pct,
    )
    compared = None
    if reference is not None and looked.gathered.reference is not None:
        compared = compared_reference(reference, looked.gathered.reference)
    result = _result(looked, replace(judged, findings=findings), compared=compared)
    pictures = {**result.pictures, **crops, **before_after}
    return replace(result, remedies_shown=shown, pictures=pictures)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LookedAt:
    """A spread after all its pixels went by.

    Parameters
    ----------
    names : collection of str
        Names of the checks that are to run.
    opened : mapping of Check to OpenedCheck or None
        These and the guards among the others, each at work; None where the book asks for nothing.
    results : mapping of Check to value
        What each of them made of its counts.
    """

    spread: Spread
    printed: Colouring
    names: Collection[str]
    opened: Mapping[Check, OpenedCheck[Any, Any] | None]
    results: Mapping[Check, Any]
    gathered: Gathered


def looked_at(
    spread: Spread,
    names: Collection[str],
    reference: Reference | None,
    picture: Path | None,
    progress: Progress,
) -> LookedAt:
    """One pass; a second one where only the first shows that a plate is made of dots."""
    looked = _one_pass(spread, names, reference, picture, progress)
    if looked.spread.plates.screened == spread.plates.screened:
        return looked
    return _one_pass(looked.spread, names, reference, picture, progress)


def _one_pass(
    spread: Spread,
    names: Collection[str],
    reference: Reference | None,
    picture: Path | None,
    progress: Progress,
) -> LookedAt:
    opened = _opened(spread, names)
    working = {check: one for check, one in opened.items() if one is not None}
    progress("preparing the press model", 0.0)
    printed = print_colouring(spread)
    with _writer(spread, picture) as writer:
        gathering = Gathering(
            spread,
            printed=printed,
            screen=screen_colouring(spread),
            checks=tuple(working.values()),
            reference=None if reference is None else reference_check(spread, reference),
            writer=writer,
        )
        gathered = gather(gathering, progress=progress)
        results = dict(zip(working, gathered.results, strict=True))
        counted = spread.counted(gathered.surveys)  # with what is wrong, no picture is kept
        _refuse_faults({c: one for c, one in working.items() if c.name in names}, results)
        if writer is not None:
            spread.seen.check()
    return LookedAt(
        spread=counted,
        printed=printed,
        names=names,
        opened=opened,
        results=results,
        gathered=gathered,
    )


def _opened(spread: Spread, names: Collection[str]) -> Mapping[Check, OpenedCheck[Any, Any] | None]:
    """The checks of these names at work on a spread, and those that guard areas.

    Raises
    ------
    InkmixError
        With the faults of all files that they need.
    """
    wanted = [check for check in table.CHECKS if check.name in names]
    opened = all_of([partial(check.opened, spread) for check in wanted])
    guards = [check for check in table.CHECKS if check.is_guard and check not in wanted]
    return {
        **dict(zip(wanted, opened, strict=True)),
        **{check: _guarding(check, spread) for check in guards},
    }


def _guarding(check: Check, spread: Spread) -> OpenedCheck[Any, Any] | None:
    """A check that is left out, for its areas; None where they cannot be known."""
    try:
        return check.opened(spread)
    except InkmixError:
        return None


def _refuse_faults(
    opened: Mapping[Check, OpenedCheck[Any, Any]], results: Mapping[Check, Any]
) -> None:
    """Refuse files of checks that the pixels show to be wrong.

    Raises
    ------
    PictureError
        With all of them.
    """
    faults = [fault for check, one in opened.items() for fault in one.faults(results[check])]
    if faults:
        raise PictureError(faults)


@contextmanager
def _writer(spread: Spread, picture: Path | None) -> Iterator[PictureWriter | None]:
    """A writer for the print at full size, if one is wanted."""
    if picture is None:
        yield None
        return
    with print_writers(spread.plates, [(picture, ABSOLUTE)]) as (writer,):
        yield writer


def _judge(looked: LookedAt, *, remedies: bool) -> Judged:
    """What every check of the table says."""
    findings = told(looked)
    if remedies:
        trials, working = trials_of(looked), at_work(looked).items()
        found = (one.findings(looked.results[check], trials) for check, one in working)
        findings = table.in_order(finding for some in found for finding in some)
    return Judged(answers=answers_of(looked), findings=findings)


def told(looked: LookedAt) -> tuple[Finding, ...]:
    """The findings of every check that was asked, without remedies."""
    found = (one.told(looked.results[check]) for check, one in at_work(looked).items())
    return table.in_order(finding for some in found for finding in some)


def at_work(looked: LookedAt) -> dict[Check, OpenedCheck[Any, Any]]:
    """The checks that are to run and are asked for anything; guards are not among them."""
    return {
        check: one
        for check, one in looked.opened.items()
        if one is not None and check.name in looked.names
    }


def trials_of(looked: LookedAt) -> Trials:
    """The plates as they are, as ground for trials."""
    opened = [(check, one) for check, one in looked.opened.items() if one is not None]
    guards = [guard for check, one in opened for guard in one.guards(looked.results[check])]
    return trials_on(looked.spread, looked.printed, guards)


def answers_of(looked: LookedAt) -> tuple[Answer, ...]:
    """The answer of every check of the table."""
    return tuple(_answer(check, looked) for check in table.CHECKS)


def _answer(check: Check, looked: LookedAt) -> Answer:
    if check.name not in looked.names:
        return check.not_asked(LEFT_OUT)
    opened = looked.opened[check]
    return check.not_asked() if opened is None else opened.answer(looked.results[check])


def _result(
    looked: LookedAt, judged: Judged, *, compared: ComparedReference | None
) -> SpreadResult:
    spread, gathered, answers = looked.spread, looked.gathered, judged.answers
    pair = {
        "screen": jpeg_bytes(gathered.on_screen),
        "print": jpeg_bytes(gathered.as_printed.srgb8),
    }
    guesses = guesses_of(spread.book, spread.tone_condition)
    movable = [one for answer in answers for one in answer.movable]
    orders = orders_of(spread, movable)
    inks, plate_pictures = facts.inks(
        spread, gathered.reduced_tone_pct, whole_pct=gathered.whole_tone_pct
    )
    return SpreadResult(
        title=spread.book.title,
        spread=spread.name,
        verdict=overall(answer.verdict for answer in answers),
        sentence=headline(
            {answer.check: answer.verdict for answer in answers}, judged.findings, guesses
        ),
        condition=facts.condition(spread, gathered.reduced_tone_pct),
        sheet=facts.sheet(spread.sheet),
        inks=inks,
        answers=answers,
        findings=judged.findings,
        out_of_srgb_pct=gathered.outside_srgb_pct,
        screen_difference=notes.screen_difference(gathered.mean_lightness_miss),
        reference=None if compared is None else compared.facts,
        tone_orders=orders.tones,
        night_orders=orders.nights,
        orders_of_tones=orders.are_of_tones,
        guesses=guesses,
        ask_printer=notes.ask_printer(spread, orders.questions),
        not_checked=notes.not_checked(spread.book, answers),
        method=notes.method(spread),
        warnings=(
            *spread.notes,
            *press_notes(spread.book, spread.tone_condition, movable),
            *measured_notes(spread.book, spread.tone_condition, movable),
            *(note for answer in answers for note in answer.notes),
            *(() if compared is None else compared.notes),
        ),
        digests=facts.digests(spread, looked.printed.lookup),
        pictures={
            **pair,
            **plate_pictures,
            **spotlights(answers, gathered.as_printed.srgb8),
            **({} if compared is None else {compared.facts.picture: compared.picture}),
        },
    )
