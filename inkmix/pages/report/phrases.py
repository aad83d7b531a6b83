"""How the report words findings, remedies and what is known of inks.

Plain text only: nothing here knows of HTML, and nothing is computed but roundings and differences.
"""

from collections.abc import Callable, Sequence

from inkmix.base.words import (
    NONE,
    difference,
    lightness,
    listing,
    measure,
    number,
    percent,
    points,
)
from inkmix.checks.finding import (
    FAIL,
    NO_LIMIT,
    NOT_READY,
    UNSURE,
    Finding,
    Remedy,
)
from inkmix.jobs.answer import IN_BOOK, BeforeAfter, ConditionFacts, InkFacts
from inkmix.press.values import ProcessInk
from inkmix.sheet import places
from inkmix.sheet.geometry import Place

KNOWN = {
    "screen colour": "At least one ink is known only by a screen colour, which is a hint and not a "
    "measurement.",
    "density": "At least one ink is known only by density readings of its solid.",
    "photograph": "At least one ink is known only by a photograph, which is no measurement.",
    "solids": "Every ink is known by its measured solid; its tints and all overlaps are predicted.",
    "ramps": "Every ink is known by a measured ramp of tints; the overlaps are predicted.",
    "overprints": "Ramps of every ink and their overprints were measured.",
}
WHOSE = {
    "printer": "the printer’s",
    "user": "set in the book",
    "process default": "the default of the process, not confirmed",
    "measured": "measured",
    "photographed": "seen by a camera",
    "guessed": "guessed",
}

_OPACITY_FROM = {
    IN_BOOK: "as the book says",
    "told": "as its swatch or measurement file says",
    "usual": "as is usual for such inks; not given",
    "guessed by its name": "a guess by its name; ask the ink maker",
    "guessed by its hue": "a guess by its hue; ask the ink maker",
}


def whose(key: str) -> str:
    """Whose word a value is."""
    return WHOSE.get(key, key)


def place_name(place: Place | None) -> str:
    """The panels that a place covers, or the sheet where it has none."""
    if place is None:
        return "wherever it is used"
    return places.place_name(place)


def crop_title(crop: BeforeAfter) -> str:
    """What a crop is shown for."""
    if crop.lost is None:
        return "Where most changes"
    drawn = f", drawn in {crop.lost_tone}," if crop.lost_tone else ""
    return f"This light{drawn} turns dark"


def crop_scale(crop: BeforeAfter) -> str:
    """How large a crop shows the pixels of the plates."""
    return "pixel by pixel" if crop.factor == 1 else f"reduced to 1/{crop.factor}"


def place_ruler(place: Place | None) -> str:
    """How to find a place with a ruler."""
    return "" if place is None else places.ruler(place)


def by_how_much(finding: Finding) -> str:
    """How far a value lies beyond its limit, in its unit."""
    if finding.value is None:
        return NONE
    value = measure(finding.value, finding.unit, beside=finding.limit)
    if finding.limit is None or finding.verdict == NO_LIMIT:
        return f"{value}; no limit given"
    limit = measure(finding.limit, finding.unit)
    if finding.verdict in (NOT_READY, UNSURE):
        return f"{value} against {limit}"
    beyond = abs(finding.value - finding.limit)
    if finding.verdict == FAIL:
        return f"{_amount(beyond, finding.unit)}: {value}, at most {limit} allowed"
    return f"{value}, at most {limit} allowed"


def _amount(beyond: float, unit: str) -> str:
    if unit == "%":
        return f"{points(beyond)} too much"
    if unit == "L*":
        return f"{_at_least_a_tenth(lightness, beyond)} too light"
    return f"{_at_least_a_tenth(difference, beyond)} too far"


def _at_least_a_tenth(said: Callable[[float], str], value: float) -> str:
    return f"less than {said(0.1)}" if 0 < value < 0.05 else said(value)


def expected_error(finding: Finding) -> str:
    """The expected error of a finding's value; counted values have none."""
    if not finding.error:
        return ""
    return f"expected error ± {number(finding.error)}"


def unbroken(text: str) -> str:
    """The same text with its numbers held to their units by no-break spaces."""
    for unit in (" %", "L* ", "dE00 ", " mm", " cm²", " ppi", " px", "± "):
        text = text.replace(unit, unit.replace(" ", "\N{NO-BREAK SPACE}"))
    return text


def how_known(condition: ConditionFacts) -> str:
    """How well the press condition is known, in one or two sentences."""
    error = (
        "A colour of two or more inks is expected within "
        f"{difference(condition.error_de00)} and {lightness(condition.error_L)} of the print, "
        "95 times in 100."
    )
    sentences = [KNOWN.get(condition.level, f"Known by: {condition.level}."), error]
    sentences += kinds_of_inks(condition.process_inks, condition.spots, level=condition.level)
    return " ".join(sentences)


def kinds_of_inks(
    process_inks: Sequence[ProcessInk], spots: Sequence[str], *, level: str
) -> list[str]:
    """Which inks were taken as process inks, and what that did; which are none. A sentence each."""
    sentences = []
    if process_inks:
        sentences.append(_as_process_inks(process_inks))
    if spots and len(process_inks) + len(spots) > 1:
        are = "is a spot ink" if len(spots) == 1 else "are spot inks"
        where = "between measured overlaps" if level == "overprints" else "in overlaps"
        them = "it is" if len(spots) == 1 else "they are"
        sentences.append(f"{listing(spots)} {are}: {where} {them} less certain.")
    return sentences


def _as_process_inks(process_inks: Sequence[ProcessInk]) -> str:
    """The sentence on process inks: what each was taken for, and where presses' likeness helped."""
    names, colours = ([getattr(ink, of) for ink in process_inks] for of in ("name", "colour"))
    helped = [ink.name for ink in process_inks if ink.in_common]
    if len(names) == 1:
        taken = f"{names[0]} was taken as a process {colours[0]} by its colour"
    else:
        taken = f"{listing(names)} were taken as process {listing(colours)} by their colours"
    if not helped:
        return f"{taken}."
    whom = ("it" if len(names) == 1 else "them") if helped == names else listing(helped)
    return f"{taken}; for {whom}, what presses have in common was used."


def opacity(ink: InkFacts) -> str:
    """How opaque an ink was taken to be, and whose word that is."""
    taken = f"opacity {number(ink.opacity, 2)}"
    if number(ink.opacity, 2) == "0":
        taken = "transparent"
    return f"{taken}, {_OPACITY_FROM.get(ink.opacity_from, ink.opacity_from)}"


def reaches(remedy: Remedy) -> str:
    """What a correction that serves several places comes to in one of them."""
    said = []
    if remedy.reaches_total_pct is not None and remedy.change is not None:
        said.append(f"total ink then reaches {percent(remedy.reaches_total_pct)}")
        said.append(f"the colour changes by {difference(remedy.change.most_de00)} at most")
    return listing(said)
