"""What a report says beside its figures: whom to ask, how it was computed, what was not looked at.

Words only.
"""

from collections.abc import Iterator, Sequence

from inkmix.base.words import difference, lightness, number, percent
from inkmix.book.values import GUESS, PRINTER, USER, Book
from inkmix.checks.check import Answer
from inkmix.checks.orders.check import Question
from inkmix.jobs.answer import OpenValue
from inkmix.jobs.spread import Spread
from inkmix.plates.survey.screened import DISC_MM
from inkmix.press.table.lookup import STATED_ERROR_DE00

_HARDLY_L = 0.5  # a mean difference that no eye sees

NEVER_CHECKED = (
    "register: how far the plates may lie apart on the sheet",
    "screens: rulings, angles, moiré between plates",
    "the smallest lines, type and dots that the process holds",
    "folds: cracking of heavy ink, creep, glue",
    "the picture in the bleed, beyond that the plates reach it",
    "fading, varnish, set-off and rub of the real inks",
)


def screen_difference(mean_miss_L: float) -> str:
    """One sentence on how far what a screen shows, layers multiplied, is from the print."""
    if abs(mean_miss_L) < _HARDLY_L:
        return "On average, a screen shows this sheet about as dark as it should print."
    how = "darker" if mean_miss_L > 0 else "lighter"
    return (
        f"A screen shows this sheet {lightness(abs(mean_miss_L))} {how} on average than it should "
        "print."
    )


def ask_printer(spread: Spread, orders: Sequence[Question] = ()) -> tuple[OpenValue, ...]:
    """Every value that nobody at the printer's confirmed; `orders` ask about the order of inks."""
    asked = (
        OpenValue(what=one.words, value=one.as_told, whose="user", why=one.why) for one in orders
    )
    return (*_press_values(spread), *asked, *_ink_values(spread), *_opacity_values(spread))


def _press_values(spread: Spread) -> Iterator[OpenValue]:
    confirmed = spread.book.press.confirmed_by_printer
    if "process" not in confirmed:
        yield OpenValue(
            what="process",
            value=spread.condition.process.name,
            whose=GUESS if spread.condition.process.guessed else USER,
            why="dot gain, limits and the press model depend on it",
        )
    limit = spread.limits.ink_limit_pct
    if limit is None:
        yield OpenValue(
            what="ink limit",
            value="none known for this process",
            whose="process default",
            why="without it total ink is reported but not judged",
        )
    elif limit.whose != PRINTER:
        yield OpenValue(
            what="ink limit",
            value=percent(limit.value),
            whose=limit.whose,
            why="above it ink dries badly, sets off and smears",
        )
    growth = spread.limits.edge_growth_mm
    if any(spread.plates.screened) and growth.whose != PRINTER:
        yield OpenValue(
            what="growth at edges of line work",
            value=f"{number(growth.value, 3)} mm",
            whose=growth.whose,
            why="plates made of dots grow by it",
        )
    yield OpenValue(
        what="lay-down order",
        value=", ".join(ink.name for ink in spread.condition.inks),
        whose=GUESS if any(ink.place_guessed for ink in spread.condition.inks) else USER,
        why="ink takes less well on wet ink, and one that is not quite transparent veils what is "
        "under it",
    )


def _ink_values(spread: Spread) -> Iterator[OpenValue]:
    for origin in spread.condition.origins:
        if origin.whose in ("process default", "screen hint"):
            yield OpenValue(
                what=origin.what,
                value=f"{origin.value} {origin.unit}".strip(),
                whose=origin.whose,
                why="a measured solid or ramp on this paper makes the prediction surer",
            )


def _opacity_values(spread: Spread) -> Iterator[OpenValue]:
    """Opacities that are no more than a guess; the ink maker may know them."""
    condition = spread.condition
    for ink, solid in zip(condition.inks, condition.model.solids, strict=True):
        if solid.opacity.why == "guessed":
            yield OpenValue(
                what=f"{ink.name}, opacity",
                value=f"{number(solid.opacity.value, 2)} (0 is transparent, good whites reach 0.9)",
                whose="guessed",
                why=f"a guess by {solid.opacity.by}; it says how much of {ink.name} shows on "
                "whatever it is printed over. The ink maker knows it",
            )


def not_checked(book: Book, answers: Sequence[Answer]) -> tuple[str, ...]:
    """What this program did not look at."""
    lacking = [f"{one.check}: {one.unchecked}" for one in answers if one.unchecked]
    if book.reference is None:
        lacking.append("a reference picture: the book names none")
    return (*lacking, *NEVER_CHECKED)


def method(spread: Spread) -> tuple[str, ...]:
    """How the figures came about."""
    return tuple(_method(spread))


def _method(spread: Spread) -> Iterator[str]:
    yield (
        "Solid overprints: inks multiply as filters do, less where they come near the darkest that "
        "this class of paper reaches, and less for inks printed on wet ink; an opaque ink adds a "
        "share of its own colour to what lies under it. Overprints that hold a spot ink are made "
        "wavelength by wavelength, from the spectrum of each solid or the smoothest one that has "
        "its colour. Measured overprints replace the prediction."
    )
    yield (
        "Halftones: coverage from each ink's measured ramp or the usual dot gain; overprints "
        "weighted after Demichel, mixed after Neugebauer with a Yule-Nielsen factor. Effective "
        "coverage is what this mixing needs; light spread in the paper is no part of it, so it can "
        "lie below the tone value though dots gain. "
        "All colours are for D50 and the 2 degree observer."
    )
    bound = STATED_ERROR_DE00[len(spread.condition.inks)]
    yield (
        "Pixels are looked up in a table of the model, at most "
        f"{difference(bound)} off before rounding to the screen's 8 bits."
    )
    yield "Total ink is the sum of the tone values in the files, before dot gain."
    if any(spread.plates.screened):
        yield (
            "Plates made of dots gain at their edges instead of by a tone curve; their total ink "
            f"is the mean over a disc of {number(DISC_MM)} mm. Named tones gain as usual."
        )
    yield (
        "Expected errors hold for 95 of 100 colours, averaged over presses; on the worst press "
        "tried they held for about 85."
    )
