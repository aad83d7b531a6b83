"""Places on the sheet in words: the panels they cover, and how a ruler finds them.

Where a place lies is `geometry`'s; numbers are said as everywhere, by `base/words.py`.
"""

from collections.abc import Callable, Iterable, Sequence

from inkmix.base.words import listing, millimetres
from inkmix.sheet.geometry import Place

AT_EDGE_MM = 1.0
"""Nearer to an edge than this, a ruler says nothing more."""

MOST_PANELS_NAMED = 3  # more are counted, so that the sentence stays one line of a ticket


def place(where: Place) -> str:
    """A place in full: "panel 3: 20 × 4 mm, 12 mm from the left, 88 mm from the top"."""
    return f"{place_name(where)}: {ruler(where)}" if where.panels else ruler(where)


def in_sentence(where: Place) -> str:
    """A place in the middle of a sentence: "20 × 4 mm on panel 3, 12 mm from the left, ..."."""
    size, _, at = ruler(where).partition(", ")
    return f"{size} on {place_name(where)}, {at}" if where.panels else f"{size}, {at}"


def place_name(where: Place) -> str:
    """The panels that a place covers: "panel 3", "panels 2 and 3", "panels 2 to 5", "sheet"."""
    names = where.panels
    if len(names) > 2:
        return _panels((names[0], names[-1]), " to ".join)
    return _panels(names) if names else "sheet"


def on_panels(places: Iterable[Place | None]) -> str:
    """The panels that places lie on: " on panels 2 and 3"; empty where the sheet has none."""
    names = list(dict.fromkeys(where.panel for where in places if where and where.panel))
    if len(names) > MOST_PANELS_NAMED:
        return f" on {len(names)} panels"
    numbers = [_number(name) for name in names]
    if all(number.isdigit() for number in numbers):
        names.sort(key=lambda name: int(_number(name)))
    return f" on {_panels(names)}" if names else ""


def ruler(where: Place) -> str:
    """How to find a place with a ruler, from the edges of the first panel that it covers."""
    size = f"{millimetres(where.width_mm)} × {millimetres(where.height_mm)} mm"
    first = f" of {where.panels[0]}" if len(where.panels) > 1 else ""
    trim = "" if where.panels else " of the trim"
    left = _from_edge(where.x_mm, "left", of=first)
    return f"{size}, {left}, {_from_edge(where.y_mm, 'top', of=trim)}"


def _panels(names: Sequence[str], joined: Callable[[Sequence[str]], str] = listing) -> str:
    """Names in a row, the word "panels" once where all are numbered."""
    numbers = [_number(name) for name in names]
    if len(names) > 1 and all(number.isdigit() for number in numbers):
        return f"panels {joined(numbers)}"
    return joined(names)


def _number(name: str) -> str:
    return name.removeprefix("panel ")


def _from_edge(value_mm: float, edge: str, *, of: str) -> str:
    if abs(value_mm) <= AT_EDGE_MM:
        return f"at the {edge} edge{of}"
    side = "outside" if value_mm < 0 else "from"
    return f"{millimetres(abs(value_mm))} mm {side} the {edge}{of}"
