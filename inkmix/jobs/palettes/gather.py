"""From a wish to all that is shown: the search, the present inks, plates in the best palettes."""

import shlex
from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType

import numpy as np

from inkmix.book.values import Book
from inkmix.jobs.candidates import Candidates
from inkmix.jobs.palettes.facts import InPalette, Names, PaletteFacts, PlatesShown
from inkmix.jobs.palettes.wishes import Ground, Tones
from inkmix.mixes.assigned.aims import aimed_at_picture, aimed_at_print
from inkmix.mixes.assigned.assign import most_mixes
from inkmix.mixes.assigned.plates import SampledPlates, main_mixes
from inkmix.mixes.assigned.printed import PrintedIn, picture_of, printed_in
from inkmix.mixes.assigned.table import small_table
from inkmix.mixes.nearest import found_for_all
from inkmix.mixes.palettes.choice import choose
from inkmix.mixes.palettes.shortlist import Progress, silent
from inkmix.mixes.palettes.task import MOST_CHOSEN
from inkmix.mixes.palettes.values import Measured, Wish
from inkmix.mixes.values import Aims, Found
from inkmix.plates.reference.picture import Reference
from inkmix.press.condition import PressCondition, press_condition
from inkmix.press.inks import Ink
from inkmix.press.swatches.by_name import is_invented_ink
from inkmix.press.values import MAX_INKS
from inkmix.sheet.geometry import Sheet

MOST_MIXES = 12
"""Of each tone, of differing sets of inks: enough that one of few inks is among them."""


def chosen(
    ground: Ground,
    candidates: Candidates,
    tones: Tones,
    wish: Wish,
    *,
    progress: Progress = silent,
) -> PaletteFacts:
    """Search, and gather what belongs to the best palettes.

    Raises
    ------
    UsageError
        If the wish cannot be worked on; with every reason.
    """
    choice = choose(wish, progress=progress)
    present = _present(ground, wish)
    shown = [*choice.front, *([present] if present else [])]
    conditions = MappingProxyType({one.inks: condition_of(wish, one.inks) for one in shown})
    return PaletteFacts(
        title=ground.book.title,
        wish=wish,
        choice=choice,
        present=present,
        conditions=conditions,
        mixes=_mixes(wish, conditions),
        limit=ground.limit,
        candidates_from=" and ".join(filter(None, ("the book’s own inks", candidates.words))),
        tones_from=tones.words,
        screen=tones.screen,
        invented=any(is_invented_ink(spec.swatch) for spec in ground.book.inks if spec.swatch),
        hues=candidates.hues,
        candidates_notes=candidates.notes,
    )


def condition_of(wish: Wish, inks: Names) -> PressCondition:
    """The press condition of some candidates, told by themselves alone."""
    by_name = {ink.name: ink for ink in wish.candidates}
    return press_condition(wish.paper, [by_name[name] for name in inks], process=wish.process)


def _present(ground: Ground, wish: Wish) -> Measured | None:
    """The book's own inks, measured as every palette is."""
    own = [ink.name for ink in ground.own]
    fixed = tuple(name for name in wish.fixed if name in own)
    k = len(own) - len(fixed)
    if not 1 <= k <= MOST_CHOSEN or len(own) > MAX_INKS:
        return None
    own_wish = replace(wish, k=k, fixed=fixed, excluded=(), candidates=ground.own)
    (only,) = choose(own_wish).ranked
    return only


def _mixes(
    wish: Wish, conditions: Mapping[Names, PressCondition]
) -> Mapping[Names, tuple[Found, ...]]:
    """How each palette gives each wished tone, in whole percents."""
    if not wish.tones:
        return MappingProxyType({})
    labs = np.array([tone.lab for tone in wish.tones])
    aims = Aims(ink_limit_pct=wish.ink_limit_pct, step_pct=1, least_pct=wish.process.min_tone_pct)
    return MappingProxyType({
        inks: tuple(found_for_all(condition, labs, aims, most=MOST_MIXES))
        for inks, condition in conditions.items()
    })  # fmt: skip


def with_plates(
    facts: PaletteFacts,
    *,
    ground: Ground,
    candidates: Candidates,
    spread: str,
    sampled: SampledPlates,
    notes: Names = (),
    picture: Reference | None = None,
    sheet: Sheet | None = None,
    book_words: str = ".",
    progress: Progress = silent,
) -> PaletteFacts:
    """The facts with the plates of a spread in every palette of the front.

    Parameters
    ----------
    sampled : SampledPlates
        Of plates that are named as the book's own inks.
    picture : Reference or None
        What the print is to look like; None: as it is now. Needs the sheet.
    book_words : str
        The book as a command names it.
    """
    now = press_condition(
        facts.wish.paper, _inks_of(ground, sampled.names), process=facts.wish.process
    )
    table = small_table(now)
    most = max(len(one.inks) for one in facts.choice.front)
    mixes = main_mixes(sampled, most=most_mixes(max(most, len(sampled.names)), len(sampled.names)))
    if picture is not None and sheet is not None:
        aimed = aimed_at_picture(
            picture, sampled=sampled, mixes=mixes, sheet=sheet, paper=facts.wish.paper
        )
    else:
        aimed = aimed_at_print(table, mixes)
    palettes = [facts.conditions[one.inks] for one in facts.choice.front]
    found = printed_in(
        palettes, sampled, mixes=mixes, aimed=aimed,
        progress=lambda done, of: progress("plates", done, of),
    )  # fmt: skip
    of = {
        one.inks: InPalette(
            assigned=printed.assigned,
            srgb8=printed.srgb8,
            command=_command(ground.book, candidates, printed, spread, book_words),
        )
        for one, printed in zip(facts.choice.front, found, strict=True)
        if printed is not None
    }
    return replace(
        facts,
        plates=PlatesShown(
            spread=spread,
            plates=sampled.names,
            now=picture_of(table, sampled.tone_pct),
            aimed_at=aimed.words,
            of=MappingProxyType(of),
            notes=notes,
        ),
    )


def _inks_of(ground: Ground, names: Names) -> list[Ink]:
    own = {ink.name: ink for ink in ground.own}
    return [own[name] for name in names]


def _command(
    book: Book, candidates: Candidates, printed: PrintedIn, spread: str, book_words: str
) -> str:
    """What prints the plates in the palette at full size; empty where an ink is no swatch."""
    own = {spec.name: spec.swatch for spec in book.inks}
    swatches = {**candidates.swatch, **own}
    swaps = []
    for plate, ink in zip(printed.assigned.plates, printed.assigned.best.inks, strict=True):
        if plate == ink:
            continue
        swatch = swatches.get(ink)
        if swatch is None:
            return ""
        if swatch != own[plate]:
            swaps += ["--ink", f"{plate}={swatch.rpartition('/')[2]}"]
    if not swaps:
        return ""
    return shlex.join(["inkmix", "predict", book_words, "--spread", spread, *swaps])
