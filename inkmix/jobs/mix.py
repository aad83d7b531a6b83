"""Mixes of a book's inks: those that come nearest to colours, and the darkest."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import islice

from inkmix.base.arguments import Range, names_of
from inkmix.base.arrays import FloatArray
from inkmix.base.errors import Fault, UsageError
from inkmix.base.quoting import clipped
from inkmix.book.meant.collected_faults import all_of
from inkmix.book.meant.colours import absolute_labs
from inkmix.book.meant.condition import resolve_condition, resolve_limits
from inkmix.book.values import Book
from inkmix.colour.written import FORMS, ToldColour, told_cast, told_colour
from inkmix.jobs.ranges import MIXES
from inkmix.jobs.refusals import refuse_counts, refuse_limit, refuse_no_book
from inkmix.mixes.constraints import constraints_of
from inkmix.mixes.darkest import darkest_mixes
from inkmix.mixes.helping import MOST_COLOURS, Help, Helpers
from inkmix.mixes.nearest import COLOURS_AT_ONCE, found_for_all
from inkmix.mixes.values import EXACT_STEP_PCT, Aims, Found, Mix
from inkmix.press.condition import PressCondition

FEW = 6
"""Up to so many colours all their mixes are looked for; of more, the best of each."""

MOST = 5
"""Mixes of a colour, or darkest ones, where nobody says how many."""

STEP_PCT = 5.0

_STEPS_PCT = Range(what="step", low=EXACT_STEP_PCT, high=100, unit="%")


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """One colour that was asked for.

    Parameters
    ----------
    text, name, where : str
        As it was written, what it was called, and where that stands.
    found : Found
    helps : tuple of Help or None
        Other inks that would bring it nearer; None where nobody looked.
    inks_tried : int
        How many others were tried.
    """

    text: str
    name: str
    where: str
    found: Found
    helps: tuple[Help, ...] | None = None
    inks_tried: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Terms:
    """Under which terms mixes were looked for.

    Parameters
    ----------
    inks : tuple of str
        Of the condition, in lay-down order.
    paper, process : str
    ink_limit_pct : float or None
    whose : str
        Whose word the limit is; empty without one.
    step_pct, least_pct : float
    doubts : tuple of str
        What stands against trusting the prediction, in words.
    """

    inks: tuple[str, ...]
    paper: str
    process: str
    ink_limit_pct: float | None
    whose: str
    step_pct: float
    least_pct: float
    doubts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class MixGround:
    """What mixes are made of, and how they may be."""

    condition: PressCondition
    aims: Aims
    terms: Terms


@dataclass(frozen=True, slots=True, kw_only=True)
class NearestMixes:
    """The mixes nearest to colours.

    Parameters
    ----------
    terms : Terms
        Under which they were looked for.
    colours : tuple of ToldColour
    answers : iterator of Answer
        One a colour, in their order, each as it is found, so it can be gone through once only; keep
        them with tuple(...).
    """

    terms: Terms
    colours: tuple[ToldColour, ...]
    answers: Iterator[Answer]


@dataclass(frozen=True, slots=True, kw_only=True)
class DarkestMixes:
    """The darkest mixes, and the terms under which they were looked for."""

    terms: Terms
    mixes: tuple[Mix, ...]


def mix_ground(
    book: Book,
    *,
    step_pct: float = STEP_PCT,
    limit_pct: float | None = None,
    inks: str | Sequence[str] = (),
) -> MixGround:
    """What a book's inks may be mixed to.

    Parameters
    ----------
    step_pct : float
        Steps of the tone values, 0.1-100 %.
    limit_pct : float or None
        Greatest total ink, 50-800 %; None: the book's.
    inks : str or sequence of str
        Only this one, or these; empty: all.

    Raises
    ------
    InkmixError
        Where paper and inks cannot be put together, or nothing can be mixed within these terms.

    Examples
    --------
    ::

        book = inkmix.read_book("night-ferry")
        ground = inkmix.mix_ground(book, step_pct=1, limit_pct=150, inks=("Soot", "Rowan"))
        (answer,) = inkmix.mix_colours(ground, ["Lab(40, 30, 20)"]).answers
        assert answer.found.mixes[0].tone_pct["Fjord"] == 0
    """
    refuse_no_book(book)
    _STEPS_PCT.refuse(step_pct)
    refuse_limit(limit_pct)
    names = names_of(inks, what="inks")
    condition = resolve_condition(book)
    limit = resolve_limits(book, condition.paper).ink_limit_pct
    told_pct, whose = (None, "") if limit is None else (limit.value, limit.whose)
    aims = Aims(
        ink_limit_pct=told_pct if limit_pct is None else limit_pct,
        step_pct=step_pct,
        least_pct=condition.process.min_tone_pct,
        inks=names or None,
    )
    refuse_counts(names, known=book.ink_names)
    constraints_of(condition, aims)  # refuses before colours are looked up
    terms = _terms(condition, aims, whose=whose if limit_pct is None else "asked")
    return MixGround(condition=condition, aims=aims, terms=terms)


def _terms(condition: PressCondition, aims: Aims, *, whose: str) -> Terms:
    hints = (f"{name} is known only by a screen colour" for name in condition.hints)
    return Terms(
        inks=tuple(ink.name for ink in condition.inks),
        paper=condition.paper.name,
        process=condition.process.name,
        ink_limit_pct=aims.ink_limit_pct,
        whose=whose,
        step_pct=aims.step_pct,
        least_pct=aims.least_pct,
        doubts=(*hints, *condition.unproven),
    )


def mix_colours(
    ground: MixGround | Book,
    colours: str | ToldColour | Iterable[str | ToldColour],
    *,
    most: int | None = None,
) -> NearestMixes:
    """The mixes of inks that come nearest to colours, under the ink limit.

    Parameters
    ----------
    ground : Book or MixGround
        The book whose inks, paper and press are meant; or `mix_ground` of it for other terms than
        steps of 5 %, the book's limit, and all its inks.
    colours : str, ToldColour, or iterable of them
        "#rrggbb", "rgb(r, g, b)" (0-255) or "picture.png@x,y", as on a screen whose white is the
        paper; or "Lab(L, a, b)", absolute, D50, 2 degree.
    most : int or None
        Mixes a colour, 1-50; None: 5, of more than 6 colours the best.

    Raises
    ------
    UsageError
        With all that are no colours, and pixels that cannot be looked up.

    Examples
    --------
    ::

        found = inkmix.mix_colours(inkmix.read_book("night-ferry"), ["#5a3a40"])
        (answer,) = found.answers
        best = answer.found.mixes[0]
        assert set(best.tone_pct) == set(found.terms.inks)  # %, in steps of 5
        assert best.total_pct <= found.terms.ink_limit_pct
        assert best.de00 < 3  # left to the colour
    """
    if most is not None:
        MIXES.refuse(most)
    given = (colours,) if isinstance(colours, str | ToldColour) else tuple(colours)
    told = tuple(all_of(partial(_told, one, at) for at, one in enumerate(given, start=1)))
    ground = _ground_of(ground)
    labs = absolute_labs(told, ground.condition.paper)
    answers = _answers(ground, told, labs, most=most)
    return NearestMixes(terms=ground.terms, colours=told, answers=answers)


def _ground_of(ground: MixGround | Book) -> MixGround:
    return ground if isinstance(ground, MixGround) else mix_ground(ground)


def _told(colour: object, number: int) -> ToldColour:
    if isinstance(colour, ToldColour):
        return colour
    where = f"colour {number}"
    if isinstance(colour, str):
        return told_colour(colour, where=where)
    expected = f"a text is needed, {FORMS}"
    raise UsageError(Fault(where=where, found=f"is {clipped(repr(colour))}", expected=expected))


def _answers(
    ground: MixGround,
    told: tuple[ToldColour, ...],
    labs: FloatArray,
    *,
    most: int | None,
) -> Iterator[Answer]:
    """Answers in the order of the colours; help is looked for the first that are out of reach."""
    most = most or (MOST if len(told) <= FEW else 1)
    helpers, left = Helpers(ground.condition, ground.aims), MOST_COLOURS
    found_all = found_for_all(ground.condition, labs, ground.aims, most=most)
    pairs = zip(told, found_all, strict=True)
    while block := tuple(islice(pairs, COLOURS_AT_ONCE)):
        far = [k for k, (_, found) in enumerate(block) if not found.in_reach][:left]
        left -= len(far)
        helps = dict(zip(far, helpers.help([block[k][1] for k in far]), strict=True))
        for k, (one, found) in enumerate(block):
            yield Answer(
                text=one.text,
                name=one.name,
                where=one.where,
                found=found,
                helps=helps.get(k),
                inks_tried=len(helpers.candidates) if k in helps else 0,
            )


def mix_darkest(
    ground: MixGround | Book,
    *,
    cast: str | None = None,
    most: int = MOST,
    double_hit: bool = False,
) -> DarkestMixes:
    """The darkest mixes of a book's inks under its ink limit, of differing inks, darkest first.

    Parameters
    ----------
    ground : Book or MixGround
        As in `mix_colours`.
    cast : str or None
        "neutral", a word for a hue ("cool"), a hue of 0-360 degrees, or "A,B" in CIELAB.
    most : int
        Mixes, 1-50.
    double_hit : bool
        The darkest ink may print twice.

    Raises
    ------
    UsageError
        For a cast that is none, or one ink too many.

    Examples
    --------
    ::

        darkest = inkmix.mix_darkest(inkmix.read_book("night-ferry"), cast="cool")
        L, a, b = darkest.mixes[0].lab  # absolute, D50, 2 degree
        assert L < 30 and darkest.mixes[0].total_pct <= darkest.terms.ink_limit_pct
    """
    MIXES.refuse(most)
    ground = _ground_of(ground)
    mixes = darkest_mixes(
        ground.condition, ground.aims, cast=told_cast(cast), most=most, double_hits=double_hit
    )
    return DarkestMixes(terms=ground.terms, mixes=mixes)
