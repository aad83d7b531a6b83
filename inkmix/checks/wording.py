"""Numbers and places in the words of the findings; no arithmetic and no verdicts."""

from collections.abc import Mapping

from inkmix.sheet import Place

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


def place(where: Place) -> str:
    """A place that opens a sentence."""
    text = str(where)
    return text[0].upper() + text[1:]


def listing(parts: list[str] | tuple[str, ...]) -> str:
    """Parts in a row: "a, b and c"."""
    if len(parts) < 2:
        return "".join(parts)
    return f"{', '.join(parts[:-1])} and {parts[-1]}"


def mix(tone_pct: Mapping[str, float]) -> str:
    """A recipe: "Rowan 60 %, Fjord 80 %"."""
    inks = [f"{name} {number(pct, 1)} %" for name, pct in tone_pct.items() if pct > 0]
    return ", ".join(inks) or "no ink"
