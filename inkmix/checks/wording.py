"""Numbers and places in the words of the findings; no arithmetic and no verdicts.

The command line and the report say places with the same functions.
"""

from collections.abc import Mapping

from inkmix.sheet.geometry import Place

AT_EDGE_MM = 1.0
"""Nearer to an edge than this, a ruler says nothing more."""

UNSURE_MEANS = (
    "“unsure” means: nobody can tell before printing. The value lies so near its limit that the "
    "print may come out on either side of it, or it rests on an ink or a process without "
    "measurements. Move away from the limit by more than the expected error, or ask your printer "
    "for a test strip or measured inks."
)

_WHOSE = {
    "printer": "the printer allows {limit} %",
    "user": "the book allows {limit} %",
    "process default": "usual for this process and paper is at most {limit} %",
}


def allowed_ink(limit_pct: float | None, whose: str) -> str:
    """The ink limit and whose word it is."""
    if limit_pct is None:
        return "no ink limit is given"
    return _WHOSE.get(whose, _WHOSE["user"]).format(limit=ink(limit_pct))


def ink(pct: float) -> str:
    """Total ink to a tenth, so that a value just over the limit does not read as equal to it."""
    return number(pct, 1)


def number(value: float, digits: int) -> str:
    """A decimal number without idle zeros."""
    text = f"{value:.{digits}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def count(amount: int, thing: str) -> str:
    """An amount and its thing: "1 speck", "3 specks"."""
    return f"{amount} {thing}{'' if amount == 1 else 's'}"


def area(area_mm2: float | None) -> str:
    """An area with as many digits as it deserves."""
    if area_mm2 is None:
        return "an unknown area"
    if area_mm2 >= 1000:
        return f"{area_mm2 / 100:.0f} cm²"
    return f"{number(area_mm2, 0 if area_mm2 >= 10 else 1 if area_mm2 >= 1 else 2)} mm²"


def share(pct: float) -> str:
    """A share that says neither all nor nothing unless it is."""
    if 0 < pct < 0.1:
        return "less than 0.1 %"
    if 99.9 < pct < 100:
        return "more than 99.9 %"
    return f"{number(pct, 1 if pct < 10 or pct > 99 else 0)} %"


def opening(text: str) -> str:
    """The same words with a capital, to open a sentence."""
    return text[:1].upper() + text[1:]


def place(where: Place) -> str:
    """A place in full: "panel 3: 20 × 4 mm, 12 mm from the left, 88 mm from the top"."""
    return f"{place_name(where)}: {ruler(where)}" if where.panels else ruler(where)


def place_name(where: Place) -> str:
    """The panels that a place covers: "panel 3", "panels 2 and 3", "panels 2 to 5", "sheet"."""
    names = where.panels
    if len(names) < 2:
        return names[0] if names else "sheet"
    ends = (names[0], names[-1])
    numbers = [name.removeprefix("panel ") for name in ends]
    word = " and " if len(names) == 2 else " to "
    if all(number.isdigit() for number in numbers):
        return f"panels {word.join(numbers)}"
    return word.join(ends)


def ruler(where: Place) -> str:
    """How to find a place with a ruler, from the edges of the first panel that it covers."""
    size = f"{millimetres(where.width_mm)} × {millimetres(where.height_mm)} mm"
    first = f" of {where.panels[0]}" if len(where.panels) > 1 else ""
    trim = "" if where.panels else " of the trim"
    left = _from_edge(where.x_mm, "left", of=first)
    return f"{size}, {left}, {_from_edge(where.y_mm, 'top', of=trim)}"


def millimetres(value: float) -> str:
    """A length without its unit, to a tenth below 10 mm."""
    return number(value, 0 if abs(value) >= 10 else 1)


def _from_edge(value_mm: float, edge: str, *, of: str) -> str:
    if abs(value_mm) <= AT_EDGE_MM:
        return f"at the {edge} edge{of}"
    side = "outside" if value_mm < 0 else "from"
    return f"{millimetres(abs(value_mm))} mm {side} the {edge}{of}"


def listing(parts: list[str] | tuple[str, ...]) -> str:
    """Parts in a row: "a, b and c"."""
    if len(parts) < 2:
        return "".join(parts)
    return f"{', '.join(parts[:-1])} and {parts[-1]}"


def mix(tone_pct: Mapping[str, float]) -> str:
    """A recipe: "Rowan 60 %, Fjord 80 %"."""
    inks = [f"{name} {number(pct, 1)} %" for name, pct in tone_pct.items() if pct > 0]
    return ", ".join(inks) or "no ink"
