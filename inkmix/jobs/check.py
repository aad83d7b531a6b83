"""Check one spread: open, walk the windows once, judge, try remedies, put the answer together."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from functools import cache, partial
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from inkmix.base.errors import PictureError
from inkmix.book.meant.plates import SpreadFiles
from inkmix.book.values import Book
from inkmix.checks.facts import NightFacts
from inkmix.checks.finding import (
    FAIL,
    NAMED_TONES,
    NIGHT,
    NOT_CHECKED,
    TOTAL_INK,
    UNSURE,
    Finding,
    worst,
)
from inkmix.checks.headline import headline
from inkmix.checks.night.check import NightResult
from inkmix.checks.night.remedies import night_remedies
from inkmix.checks.orders.check import NightAtHand
from inkmix.checks.tones.check import TonesResult, check_tones
from inkmix.checks.total_ink.check import TotalInkCheck
from inkmix.checks.total_ink.counts import ink_sum
from inkmix.checks.total_ink.remedies import with_ink_remedies
from inkmix.checks.trials.steps import StepGround
from inkmix.checks.trials.trials import PixelSource, Trials
from inkmix.checks.window import Planes
from inkmix.export.picture import PictureWriter
from inkmix.jobs import facts, notes
from inkmix.jobs.answer import SpreadResult
from inkmix.jobs.areas import NightOnSpread, guessed_masks, notes_of, open_nights
from inkmix.jobs.colourings import print_colouring, screen_colouring
from inkmix.jobs.crops import crop_pictures
from inkmix.jobs.gather import Gathered, Gathering, gather
from inkmix.jobs.orders import order_facts
from inkmix.jobs.papers import other_papers
from inkmix.jobs.pictures import jpeg_bytes
from inkmix.jobs.predict import print_writer
from inkmix.jobs.reference import (
    ComparedReference,
    compared_reference,
    open_spread_reference,
    reference_check,
)
from inkmix.jobs.spread import Progress, Spread, no_progress, open_uncounted
from inkmix.jobs.targets import refuse_targets
from inkmix.plates.files.scratch.room import TEMPORARY, ScratchRoom
from inkmix.plates.files.snapshots import TRIES, while_at_rest
from inkmix.plates.masks.mask import RuleMask
from inkmix.plates.reference.picture import Reference
from inkmix.press.table.colouring import Colouring

# A report that is silent on a check would read as if it had passed.
_UNASKED = {TOTAL_INK: NOT_CHECKED, NIGHT: NOT_CHECKED, NAMED_TONES: NOT_CHECKED}
MOST_SEARCHED = 20
"""Night areas of a spread that remedies are searched for: a search takes a third of a second."""

_NO_PLANES = np.empty((0, 0, 0), np.uint8)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Judged:
    """What the checks say, with remedies."""

    tones: TonesResult
    findings: tuple[Finding, ...]


def check_spread(
    book: Book,
    name: str,
    *,
    found: SpreadFiles | None = None,
    picture: Path | None = None,
    room: ScratchRoom = TEMPORARY,
    progress: Progress = no_progress,
    tries: int = TRIES,
) -> SpreadResult:
    """Everything that can be said about one spread of a book.

    Parameters
    ----------
    name : str
        Name of the spread.
    found : SpreadFiles or None
        Its files; None: they are looked for.
    picture : Path or None
        Where to write the predicted print at full size, in the same pass.
    room : ScratchRoom
        For files that cannot be read by windows; best beside what will be written.
    progress : callable
        Told what is being done and how far it is, 0-1.
    tries : int
        How often in all it is tried where a file is changed meanwhile.

    Raises
    ------
    InkmixError
        Where an input cannot be used; all faults that can be found at once.
    """

    def checked() -> SpreadResult:
        spread = open_uncounted(book, name, found=found, room=room, progress=progress, tries=1)
        if picture is not None:
            refuse_targets(spread, [picture])
        with spread.seen.held():
            return _checked(spread, picture, progress)

    return while_at_rest(checked, tries=tries)


def _checked(spread: Spread, picture: Path | None, progress: Progress) -> SpreadResult:
    reference = open_spread_reference(spread)
    looked = _looked_at(spread, reference, picture, progress)
    progress("trying remedies", 0.0)
    judged = _judge(looked)
    progress("drawing the report", 0.0)
    findings, crops = crop_pictures(
        looked.spread,
        looked.printed,
        judged.findings,
        overview=looked.gathered.as_printed,
    )
    compared = None
    if reference is not None and looked.gathered.reference is not None:
        compared = compared_reference(reference, looked.gathered.reference)
    result = _result(looked, replace(judged, findings=findings), compared=compared)
    return replace(result, pictures={**result.pictures, **crops})


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LookedAt:
    """A spread after all its pixels went by."""

    spread: Spread
    printed: Colouring
    nights: Sequence[NightOnSpread]
    gathered: Gathered


def _looked_at(
    spread: Spread, reference: Reference | None, picture: Path | None, progress: Progress
) -> LookedAt:
    """One pass; a second one where only the first shows that a plate is made of dots."""
    looked = _one_pass(spread, reference, picture, progress)
    if looked.spread.plates.screened == spread.plates.screened:
        return looked
    return _one_pass(looked.spread, reference, picture, progress)


def _one_pass(
    spread: Spread, reference: Reference | None, picture: Path | None, progress: Progress
) -> LookedAt:
    nights = open_nights(spread)
    progress("preparing the press model", 0.0)
    printed = print_colouring(spread)
    with _writer(spread, picture) as writer:
        gathering = Gathering(
            spread,
            printed=printed,
            screen=screen_colouring(spread),
            total_ink=_total_ink(spread),
            nights=[(night.check, night.mask) for night in nights],
            guessed=guessed_masks(nights, spread.plates),
            reference=None if reference is None else reference_check(spread, reference),
            writer=writer,
        )
        gathered = gather(gathering, progress=progress)
        counted = _without_faults(spread, gathered)  # else no picture is kept
        if writer is not None:
            spread.seen.check()
    return LookedAt(spread=counted, printed=printed, nights=nights, gathered=gathered)


def _without_faults(spread: Spread, gathered: Gathered) -> Spread:
    """The spread, counted.

    Raises
    ------
    PlateError, PictureError
        With what only pixels show to be wrong.
    """
    counted = spread.counted(gathered.surveys)
    if gathered.inverted_masks:
        raise PictureError(gathered.inverted_masks)
    return counted


@contextmanager
def _writer(spread: Spread, picture: Path | None) -> Iterator[PictureWriter | None]:
    """A writer for the print at full size, if one is wanted."""
    if picture is None:
        yield None
        return
    with print_writer(spread.plates, picture) as writer:
        yield writer


def _total_ink(spread: Spread) -> TotalInkCheck:
    limit = spread.limits.ink_limit_pct
    return TotalInkCheck(
        sheet=spread.sheet,
        limit_pct=None if limit is None else limit.value,
        whose="user" if limit is None else limit.whose,
        min_area_mm2=spread.book.min_area_mm2,
    )


def _judge(looked: LookedAt) -> Judged:
    spread, gathered, nights = looked.spread, looked.gathered, looked.nights
    limit = spread.limits.ink_limit_pct
    limit_pct = None if limit is None else limit.value
    tones = check_tones(spread.tone_condition, spread.book.tones, ink_limit_pct=limit_pct)
    trials = Trials(
        source=_pixel_source(spread, looked.printed, nights),
        ground=StepGround(plates=spread.plates.inks, sheet=spread.sheet, ink_limit_pct=limit_pct),
        nights=[
            (night.check, result) for night, result in zip(nights, gathered.nights, strict=True)
        ],
    )
    papers = cache(partial(other_papers, spread.book, spread.condition))
    skipped = _not_searched(gathered.nights)
    at_night = tuple(
        result.finding
        if index in skipped
        else replace(
            result.finding, remedies=night_remedies(night.check, result, trials, papers=papers)
        )
        for index, (night, result) in enumerate(zip(nights, gathered.nights, strict=True))
    )
    ink = with_ink_remedies(gathered.total_ink.findings, spread.condition, trials)
    return Judged(tones=tones, findings=(*at_night, *ink, *tones.findings))


def _not_searched(nights: Sequence[NightResult]) -> frozenset[int]:
    """Which nights get no remedies: those that miss least, where there are too many to serve."""
    missing = [index for index, night in enumerate(nights) if night.facts.verdict in (FAIL, UNSURE)]
    lightest = sorted(missing, key=lambda index: _excess_L(nights[index].facts), reverse=True)
    return frozenset(lightest[MOST_SEARCHED:])


def _excess_L(facts: NightFacts) -> float:
    return (facts.value_L or 0.0) - (facts.lightest_L or 0.0)


def _search_notes(nights: Sequence[NightResult]) -> tuple[str, ...]:
    missing = sum(night.facts.verdict in (FAIL, UNSURE) for night in nights)
    if missing <= MOST_SEARCHED:
        return ()
    return (
        f"{missing} night areas are too light or unsure; remedies were looked for in the "
        f"{MOST_SEARCHED} that miss most: mend these, then check again",
    )


def _pixel_source(
    spread: Spread, printed: Colouring, nights: Sequence[NightOnSpread]
) -> PixelSource:
    masks = {night.area.name: night.mask for night in nights}
    plates = spread.plates

    def read(rows: slice, cols: slice) -> tuple[Planes, NDArray[np.int32]]:
        amounts, tones = plates.read_both(rows, cols)
        return amounts, ink_sum(tones)

    def night_mask(name: str, rows: slice, cols: slice) -> NDArray[np.bool_]:
        mask = masks[name]
        by_plates = isinstance(mask, RuleMask)  # only then are the files read once more
        return mask.read(rows, cols, plates.read_for_total(rows, cols) if by_plates else _NO_PLANES)

    return PixelSource(read=read, lightness=printed.lightness, night_mask=night_mask)


def _result(
    looked: LookedAt, judged: Judged, *, compared: ComparedReference | None
) -> SpreadResult:
    spread, gathered, verdicts = looked.spread, looked.gathered, _verdicts(looked, judged)
    pair = {
        "screen": jpeg_bytes(gathered.on_screen),
        "print": jpeg_bytes(gathered.as_printed.srgb8),
    }
    orders = order_facts(spread, judged.tones.facts, _nights_at_hand(looked))
    inks, plate_pictures = facts.inks(
        spread, gathered.mean_tone_pct, whole_pct=gathered.whole_tone_pct
    )
    return SpreadResult(
        title=spread.book.title,
        spread=spread.name,
        verdict=worst(tuple(verdicts.values())),
        sentence=headline({**_UNASKED, **verdicts}, judged.findings),
        condition=facts.condition(spread, gathered.mean_tone_pct),
        sheet=facts.sheet(spread.sheet),
        inks=inks,
        total_ink=gathered.total_ink.facts,
        nights=tuple(night.facts for night in gathered.nights),
        tones=judged.tones.facts,
        pairs=judged.tones.pairs,
        findings=judged.findings,
        out_of_srgb_pct=gathered.outside_srgb_pct,
        screen_difference=notes.screen_difference(gathered.mean_lightness_miss),
        reference=None if compared is None else compared.facts,
        tone_orders=orders.tones,
        night_orders=orders.nights,
        ask_printer=notes.ask_printer(spread, orders.questions),
        not_checked=notes.not_checked(spread.book, len(looked.nights)),
        method=notes.method(spread),
        warnings=(
            *spread.notes,
            *notes_of(looked.nights, spread.sheet),
            *_search_notes(gathered.nights),
            *(() if compared is None else compared.notes),
        ),
        digests=facts.digests(spread, looked.printed.lookup),
        pictures={
            **pair,
            **plate_pictures,
            **({} if compared is None else {compared.facts.picture: compared.picture}),
        },
    )


def _nights_at_hand(looked: LookedAt) -> Iterator[NightAtHand]:
    for night, result in zip(looked.nights, looked.gathered.nights, strict=True):
        yield NightAtHand(
            name=night.check.name,
            counts=result.counts,
            outcome=result.outcome,
            lightest_L=night.check.lightest_L,
            share_pct=night.check.share_pct,
        )


def _verdicts(looked: LookedAt, judged: Judged) -> dict[str, str]:
    """Verdict of each check, worst first within it; a check with nothing to do is left out."""
    verdicts = {TOTAL_INK: looked.gathered.total_ink.facts.verdict}
    if looked.gathered.nights:
        verdicts[NIGHT] = worst([night.facts.verdict for night in looked.gathered.nights])
    if judged.tones.facts:
        verdicts[NAMED_TONES] = worst([tone.verdict for tone in judged.tones.facts])
    return {check: said for check, said in verdicts.items() if said != NOT_CHECKED} or verdicts
