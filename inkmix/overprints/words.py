"""Words beside the fields: title, facts, names of groups, the key. Plain text only."""

from collections.abc import Iterator

from inkmix.checks.wording import allowed_ink
from inkmix.overprints.sheet import OverprintSheet
from inkmix.report.phrases import KNOWN
from inkmix.vision import VIEW_WORDS

CAUTION = "A prediction on a screen or from an office printer is no proof."
_COUNTS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight")


def subtitle(sheet: OverprintSheet) -> str:
    """What the sheet is, and in which view."""
    inks = f"{_COUNTS[len(sheet.inks)]} ink{'s' if len(sheet.inks) > 1 else ''}"
    view = VIEW_WORDS[sheet.view]
    return f"Overprint sheet of {inks}" + (f", {view}" if view else "")


def facts(sheet: OverprintSheet) -> tuple[str, ...]:
    """Lines on inks, paper, process, limit and how sure it all is."""
    inks = ", ".join(f"{sign} {name}" if sign != name else name
                     for sign, name in zip(sheet.signs, sheet.inks, strict=True))  # fmt: skip
    limit = sheet.ink_limit
    allowed = allowed_ink(limit.value, limit.whose) if limit else allowed_ink(None, "")
    lines = [
        f"Inks as laid down: {inks}",
        f"Paper: {sheet.paper}, {sheet.paper_class}   ·   {sheet.process}",
        f"Ink limit: {allowed}",
        *_known(sheet),
        CAUTION,
    ]
    return tuple(lines)


def _known(sheet: OverprintSheet) -> Iterator[str]:
    yield KNOWN[sheet.level]
    if sheet.hints:
        yield f"A hint only: {', '.join(sheet.hints)}"
    if sheet.unproven:
        yield f"Unproven: {'; '.join(sheet.unproven)}"


def group_words(group: int, inks: int) -> str:
    """Name of a group of overprints, by how many inks lie over each other."""
    if group == 0:
        return "paper"
    if group == 1:
        return "one ink, solid"
    return f"all {_COUNTS[group]}" if group == inks > 2 else f"{_COUNTS[group]} over each other"


def key_words(sheet: OverprintSheet) -> tuple[str, ...]:
    """What marks and figures mean."""
    return (
        f"Joined: nobody will tell them apart (dE00 under {sheet.alike_de00:g}).   Hatched: over "
        "the ink limit.   Corner off: outside sRGB, the nearest is shown.",
        "L*, ±: 95 % expected error of L* and of the colour, dE00, D50.   % ink: total ink.",
    )
