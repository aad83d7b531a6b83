"""The one way in which a thing is said: numbers, units, mixes, sizes, amounts and lists.

Sentences, pages and terminal tables all use these; plain text, and nothing is computed. Places on
the sheet are worded in `sheet/places.py`, which knows panels.

* A number is said to a tenth without idle zeros: 280, 280.4, −3.2. Densities and opacities are
  said to a hundredth. Columns of figures keep their digits, so that they line up.
* Against its limit a number gets as many digits as keep it from reading like that limit: 280.04 %
  where 280 % are allowed.
* A unit follows after a blank, a scale goes before: 280.4 %, 12 mm, 40 points; L* 24.3, dE00 1.5.
* A share says neither nothing nor all unless it is: less than 0.1 %, more than 99.9 %.
* A length is whole millimetres from 10 mm up, as a ruler shows it; a size is width × height.
* An area is in mm², from 10 cm² up in cm², with two figures or so: 0.04 mm², 2.5 mm², 40 mm².
* A mix names its inks in lay-down order with their tone values, as the book does, and no unit:
  Rowan 60 + Fjord 80. Without ink it is bare paper.
* Counts have a comma at thousands: 1,204 specks. Nothing known is a dash.
"""

import math
from collections.abc import Mapping, Sequence

NONE = "–"
HUES = (
    "An ink with a name in brackets behind its colour is a hue to ask for, not an ink to buy: it "
    "comes with inkmix and is invented. Ask your printer which of their inks comes near, and "
    "choose again among those: --candidates takes their shade card."
)
BARE = "bare paper"
MOST_DIGITS = 4
"""Digits to which a number is told from its limit; what is nearer yet is just over it or under."""

_MM2_PER_CM2 = 100.0
_COUNTS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
           "eleven", "twelve")  # fmt: skip


def fixed(value: float | None, digits: int = 1) -> str:
    """A number for a column: all digits, a true minus sign, a dash for nothing.

    >>> fixed(-0.04), fixed(-3), fixed(None)
    ('0.0', '−3.0', '–')
    """
    if value is None:
        return NONE
    text = f"{value:.{digits}f}"
    return text.replace("-", "\N{MINUS SIGN}") if float(text) else text.removeprefix("-")


def number(value: float | None, digits: int = 1, *, beside: float | None = None) -> str:
    """A number without idle zeros; `beside` is a limit that it must not be taken for.

    >>> number(280.0), number(280.04), number(280.04, beside=280), number(280.000001, beside=280)
    ('280', '280', '280.04', 'just over 280')
    """
    if value is None or beside is None or math.isclose(value, beside, abs_tol=1e-9):
        return _trimmed(fixed(value, digits))
    for more in range(digits, MOST_DIGITS + 1):
        text = _trimmed(fixed(value, more))
        if text != _trimmed(fixed(beside, more)):
            return text
    return f"just {'over' if value > beside else 'under'} {number(beside, digits)}"


def _trimmed(text: str) -> str:
    return text.rstrip("0").rstrip(".") if "." in text else text


def percent(value: float | None, *, beside: float | None = None) -> str:
    """A tone value, a share or total ink.

    >>> percent(0.004), percent(280.42), percent(99.97), percent(94.98, beside=95)
    ('less than 0.1 %', '280.4 %', 'more than 99.9 %', '94.98 %')
    """
    if value is None:
        return NONE
    if beside is None and 0 < value < 0.05:
        return "less than 0.1 %"
    if beside is None and 99.95 <= value < 100:
        return "more than 99.9 %"
    return f"{number(value, beside=beside)} %"


def lightness(value: float | None, *, beside: float | None = None) -> str:
    """A CIELAB lightness: "L* 24.3"."""
    return NONE if value is None else f"L* {number(value, beside=beside)}"


def difference(value: float | None, *, beside: float | None = None) -> str:
    """A colour difference: "dE00 1.5"."""
    return NONE if value is None else f"dE00 {number(value, beside=beside)}"


def lab(colour: Sequence[float]) -> str:
    """A colour by its CIELAB: "Lab 24.3 / 5.0 / −3.1"."""
    return f"Lab {' / '.join(map(fixed, colour))}"


def measure(value: float | None, unit: str, *, beside: float | None = None) -> str:
    """A value in the unit of a finding: "%", "L*" or "dE00"."""
    ways = {"%": percent, "L*": lightness, "dE00": difference}
    return ways[unit](value, beside=beside)


def points(value: float) -> str:
    """A difference of tone values or of total ink.

    >>> points(40), points(1), points(0.02)
    ('40 points', '1 point', 'less than 0.1 points')
    """
    if 0 < value < 0.05:
        return "less than 0.1 points"
    text = number(value)
    return f"{text} point{'' if text == '1' else 's'}"


def most_points(value: float) -> str:
    """The most by which a tone value changes: whole points, never fewer than it is.

    >>> most_points(9.4), most_points(0.4), most_points(12)
    ('10 points', '1 point', '12 points')
    """
    return points(math.ceil(value - 1e-9))


def area(value_mm2: float | None) -> str:
    """An area with as many digits as it deserves.

    >>> area(1234), area(12.4), area(2.45), area(0.042), area(0.001), area(0)
    ('12 cm²', '12 mm²', '2.5 mm²', '0.04 mm²', 'less than 0.01 mm²', '0 mm²')
    """
    if value_mm2 is None:
        return NONE
    if value_mm2 >= 10 * _MM2_PER_CM2:
        return f"{number(value_mm2 / _MM2_PER_CM2, 0)} cm²"
    if 0 < value_mm2 < 0.005:
        return "less than 0.01 mm²"
    return f"{number(value_mm2, 0 if value_mm2 >= 10 else 1 if value_mm2 >= 1 else 2)} mm²"


def millimetres(value_mm: float) -> str:
    """A length as a ruler shows it, without its unit: "4.5", "12"."""
    return number(value_mm, 0 if abs(value_mm) >= 10 else 1)


def size_of(width: float, height: float, unit: str, *, digits: int = 3) -> str:
    """Width and height exactly as told: "210 × 297 mm", "6000 × 4000 px"."""
    return f"{number(width, digits)} × {number(height, digits)} {unit}"


def mix(tone_pct: Mapping[str, float]) -> str:
    """A recipe, in lay-down order as given.

    >>> mix({"Rowan": 60.0, "Fjord": 82.5, "Fog": 0.0}), mix({})
    ('Rowan 60 + Fjord 82.5', 'bare paper')
    """
    return inks([f"{ink} {number(pct)}" for ink, pct in tone_pct.items() if pct])


def inks(names: Sequence[str]) -> str:
    """Inks printed over each other, without tone values: "Rowan + Fjord"."""
    return " + ".join(names) or BARE


def whole(amount: int) -> str:
    """A count: "1,204"."""
    return f"{amount:,}"


def count(amount: int, thing: str) -> str:
    """An amount and its thing: "1 speck", "3 specks"."""
    return f"{whole(amount)} {plural(amount, thing)}"


def in_words(amount: int, thing: str = "") -> str:
    """A small count in words: "four inks", "four"; from 13 up in figures."""
    word = _COUNTS[amount] if amount < len(_COUNTS) else whole(amount)
    return f"{word} {plural(amount, thing)}" if thing else word


def plural(amount: int, thing: str) -> str:
    """The thing alone, as many as there are: "speck", "specks"."""
    return thing if amount == 1 else f"{thing}s"


def opening(text: str) -> str:
    """The same words with a capital, to open a sentence."""
    return text[:1].upper() + text[1:]


def shortened(text: str, most: int) -> str:
    """The text, or its beginning where it has more letters than that: "Ultram…"."""
    return text if len(text) <= most else f"{text[: most - 1]}…"


def listing(parts: Sequence[str]) -> str:
    """Parts in a row: "a, b and c"."""
    return _row(parts, "and")


def either(parts: Sequence[str]) -> str:
    """Parts to choose from: "coated, uncoated or newsprint"."""
    return _row(parts, "or")


def first_of(parts: Sequence[str], *, most: int) -> str:
    """Parts in a row, of which more than `most` are counted: "a, b and 3 more"."""
    if len(parts) <= most:
        return listing(parts)
    return f"{', '.join(parts[:most])} and {whole(len(parts) - most)} more"


def _row(parts: Sequence[str], word: str) -> str:
    *first, last = parts or ("",)
    return f"{', '.join(first)} {word} {last}" if first else last
