"""From a book, and what is asked beside it, to a wish: candidates, tones, limits.

What can be done with them is the search's.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from inkmix.book.meant.condition import resolve_inks, resolve_limits, resolve_paper
from inkmix.book.values import Book, Told
from inkmix.jobs.candidates import Candidates, candidates_for
from inkmix.mixes.palettes.values import Wish, WishedTone
from inkmix.press.inks import Ink, Paper
from inkmix.press.processes import find_process

ASKED = "asked"
"""Whose word a limit is that was given for this choice only."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tones:
    """Intended tones, and where they come from."""

    tones: tuple[WishedTone, ...]
    words: str
    screen: Mapping[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Ground:
    """What the book says of paper, process, inks and limit."""

    book: Book
    paper: Paper
    own: tuple[Ink, ...]
    limit: Told | None


def ground_of(book: Book, *, limit_pct: float | None = None) -> Ground:
    """What a book says that holds for every palette.

    Parameters
    ----------
    limit_pct : float or None
        An ink limit instead of the book's.

    Raises
    ------
    InkmixError
        With the faults of paper and inks.
    """
    paper = replace(resolve_paper(book), guessed=book.paper.is_guess)
    inks = resolve_inks(book, paper)
    pairs = zip(inks, book.inks, strict=True)
    own = tuple(ink for ink, spec in pairs if spec.hit_of is None)
    limit = resolve_limits(book, paper).ink_limit_pct
    if limit_pct is not None:
        limit = Told(value=limit_pct, whose=ASKED)
    return Ground(book=book, paper=paper, own=own, limit=limit)


def candidates_of(ground: Ground, names: tuple[str, ...] = ()) -> Candidates:
    """What may be chosen beside the book's own inks, as `candidates_for` finds it."""
    specs = ground.book.inks
    taken = {spec.name for spec in specs} | {spec.swatch for spec in specs if spec.swatch}
    return candidates_for(ground.book, ground.paper, names, taken=taken)


def wish_of(
    ground: Ground,
    candidates: Candidates,
    tones: Tones,
    *,
    k: int,
    fixed: tuple[str, ...],
    excluded: tuple[str, ...],
    weights: Mapping[str, float],
) -> Wish:
    """What to search for; `task_of` says what is wrong with it."""
    return Wish(
        k=k,
        candidates=(*ground.own, *candidates.inks),
        paper=ground.paper,
        process=find_process(ground.book.press.process),
        ink_limit_pct=None if ground.limit is None else ground.limit.value,
        fixed=fixed,
        excluded=excluded,
        ordered=tuple(ink.name for ink in ground.own),
        tones=tones.tones,
        weights=weights,
    )
