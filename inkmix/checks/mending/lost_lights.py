"""Lights that a correction turns dark: where the largest of them lie, and how that is said."""

from collections.abc import Sequence

from inkmix.base.words import whole
from inkmix.checks.mending.night import NightCorrection
from inkmix.sheet.geometry import Place, Sheet
from inkmix.sheet.places import in_sentence

MOST_LIGHTS = 3
"""Lights that turn dark and are named with their place; of the others the number is said."""


def largest_lost(made: NightCorrection, sheet: Sheet) -> tuple[Place, ...]:
    """Where the largest lights lie that turn dark, largest first."""
    largest = made.lights.lost_by_size[:MOST_LIGHTS]
    return tuple(sheet.place_of(*made.cells.box_of(one.rows, one.cols)) for one in largest)


def lost_lights_words(lost: int, largest: Sequence[Place]) -> str:
    """Where lights lie that turn dark: "The largest: 5 × 5 mm on panel 2, ...; 9 more"."""
    if not lost or not largest:
        return ""
    if lost == 1:
        return f"It is {in_sentence(largest[0])}."
    said = "; ".join(in_sentence(where) for where in largest)
    more = lost - len(largest)
    if not more:
        return f"They are {said}."
    beginning = "The largest is" if len(largest) == 1 else "The largest are"
    return f"{beginning} {said}; {whole(more)} more {'is' if more == 1 else 'are'} smaller."
