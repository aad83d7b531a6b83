"""Choose inks that are to print together: what is asked beside the book, and the whole answer."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType

from inkmix.base.arguments import names_of, path_of
from inkmix.base.errors import InkmixError
from inkmix.book.values import Book
from inkmix.colour.written import ToldColour
from inkmix.jobs.checking.reference import open_spread_reference
from inkmix.jobs.palettes.at_hand import AtHand, plates_at_hand
from inkmix.jobs.palettes.facts import PaletteFacts
from inkmix.jobs.palettes.gather import chosen, with_plates
from inkmix.jobs.palettes.told import tones_of_book, tones_of_colours, tones_of_picture
from inkmix.jobs.palettes.wishes import (
    Candidates,
    Ground,
    Tones,
    file_candidates,
    ground_of,
    swatch_candidates,
    wish_of,
)
from inkmix.jobs.refusals import refuse_limit, refuse_no_book
from inkmix.mixes.palettes.shortlist import Progress, silent
from inkmix.mixes.palettes.task import task_of
from inkmix.plates.files.scratch.room import TEMPORARY, ScratchRoom
from inkmix.plates.reference.picture import Reference, open_reference


@dataclass(frozen=True, slots=True, kw_only=True)
class PaletteRequest:
    """What to choose, and from what.

    Parameters
    ----------
    choose : int
        Inks to choose, 1-6, beside the fixed ones.
    fixed, excluded : str or sequence of str
        Names of candidates.
    candidates : str or sequence of str
        Ink sets, or CGATS files of inks; empty: the sets of the book's inks.
    colours : tuple of ToldColour
        Intended tones; empty: those of the picture, else of the book.
    colours_from : str
        Where the colours stand.
    picture : str, Path or None
        Picture whose main colours are the intended tones, and which the plates are to come near.
    weights : mapping of str to float
        By measure.
    limit_pct : float or None
        Ink limit instead of the book's, 100-800 %.
    spread : str or None
    with_plates : bool
        Whether plates are looked for.
    """

    choose: int
    fixed: str | Sequence[str] = ()
    excluded: str | Sequence[str] = ()
    candidates: str | Sequence[str] = ()
    colours: tuple[ToldColour, ...] = ()
    colours_from: str = ""
    picture: str | Path | None = None
    weights: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
    limit_pct: float | None = None
    spread: str | None = None
    with_plates: bool = True


def choose_inks(
    book: Book,
    asked: PaletteRequest,
    *,
    book_words: str = ".",
    room: ScratchRoom | None = None,
    say: Callable[[str], None] | None = None,
    progress: Progress | None = None,
) -> PaletteFacts:
    """The best palettes for a book, with its plates in them where they are at hand.

    Parameters
    ----------
    asked : PaletteRequest
        What to choose, and from what.
    book_words : str
        The book as a command names it.
    room : ScratchRoom or None
        For plates that cannot be read by windows; None: the system's temporary folder.
    say : callable or None
        Told what people should know before the answer.
    progress : callable or None
        Told what is being done, how much of it is done, and of how much.

    Raises
    ------
    InkmixError
        With all that is wrong with book, files and wish, as far as it can be told at once.

    Examples
    --------
    ::

        asked = inkmix.PaletteRequest(choose=1, fixed=("Soot", "Fjord"), with_plates=False)
        facts = inkmix.choose_inks(inkmix.read_book("night-ferry"), asked)
        best = facts.choice.ranked[0]
        assert {"Soot", "Fjord"} < set(best.inks) and len(best.inks) == 3
        assert best.figures["darkest_L"] < 30  # L* of the darkest mix within the ink limit
    """
    refuse_no_book(book)
    refuse_limit(asked.limit_pct)
    tell, at_hand = progress or silent, None
    if asked.with_plates:
        at_hand, note = plates_at_hand(book, asked.spread, room=room or TEMPORARY)
        if note and say is not None:
            say(note)
    ground = ground_of(book if at_hand is None else at_hand.spread.book, limit_pct=asked.limit_pct)
    candidates = _candidates(ground, names_of(asked.candidates, what="candidates"))
    tones = _tones(ground, asked, at_hand)
    wish = wish_of(
        ground, candidates, tones, k=asked.choose, fixed=names_of(asked.fixed, what="fixed"),
        excluded=names_of(asked.excluded, what="excluded"), weights=asked.weights,
    )  # fmt: skip
    task_of(wish)  # refuses before anything is searched
    picture = _picture(asked, at_hand)
    facts = chosen(ground, candidates, tones, wish, progress=tell)
    if at_hand is None:
        return facts
    return with_plates(
        facts,
        ground=ground,
        candidates=candidates,
        spread=at_hand.spread.name,
        sampled=at_hand.sampled,
        notes=at_hand.notes,
        picture=picture,
        sheet=at_hand.spread.sheet,
        book_words=book_words,
        progress=tell,
    )


def _candidates(ground: Ground, names: tuple[str, ...]) -> Candidates:
    files = [name for name in names if Path(name).suffix]
    sets = tuple(name for name in names if name not in files)
    found = swatch_candidates(ground, sets) if sets or not files else None
    for file in files:
        found = file_candidates(ground, Path(file), beside=found)
    assert found is not None
    return found


def _tones(ground: Ground, asked: PaletteRequest, at_hand: AtHand | None) -> Tones:
    if asked.colours:
        return tones_of_colours(asked.colours, ground, file=asked.colours_from)
    if asked.picture is not None:
        return tones_of_picture(path_of(asked.picture, what="picture"), ground)
    return tones_of_book(ground, None if at_hand is None else at_hand.sampled)


def _picture(asked: PaletteRequest, at_hand: AtHand | None) -> Reference | None:
    """What the plates are to come near: the picture asked for where it shows the sheet."""
    if at_hand is None:
        return None
    if asked.picture is not None:
        try:
            return open_reference(path_of(asked.picture, what="picture"), at_hand.spread.sheet)
        except InkmixError:
            return None  # a picture of something else, which gave its colours only
    return open_spread_reference(at_hand.spread)
