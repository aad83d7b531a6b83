"""Colours as people write them, one or a file of thousands.

Text in, values out: what each colour is relative to, and what is wrong with those that are none.
No paper is known here and no picture is opened.
"""

import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Literal

from inkmix.base.errors import COUNTED_FAULTS, Fault, UsageError, capped
from inkmix.base.quoting import acting_sign, harmless, quoted

MAX_COLOURS = 100_000
"""More is no list that a person made."""

MAX_BYTES = 2**24
"""Of a file of colours: MAX_COLOURS lines of 160 characters."""

MAX_LINES = 2 * MAX_COLOURS
"""Of a file of colours, empty ones and comments too."""

MAX_CHARACTERS = 5_000
"""Of one colour: the longest path that a system takes has 4,096."""

MAX_PX_DIGITS = 9
"""Of a place in a picture; none has a thousand million columns."""

MAX_AB = 160.0
"""Of a* and b*: more than any surface colour has."""

FORMS = "#rrggbb, #rgb, rgb(r, g, b), Lab(L, a, b), or a pixel as picture.png@x,y"

HUES = {
    "red": 25, "orange": 60, "warm": 70, "yellow": 95, "green": 150, "cool": 260, "blue": 275,
    "violet": 310,
}  # fmt: skip
"""Hue angles of CIELAB that go by these names (common practice)."""

_HEX = re.compile(r"#(?:[0-9a-f]{3}|[0-9a-f]{6})|[0-9a-f]{6}", re.IGNORECASE)
_RGB = re.compile(r"rgb\s*\((.*)\)", re.IGNORECASE)
_LAB = re.compile(r"(?:cie)?l\*?a\*?b\*?\s*\((.*)\)", re.IGNORECASE)
_BETWEEN = re.compile(r"\s*[,;]\s*|\s+")
_NUMBER = re.compile(r"[-+]?(?:\d+(?:\.\d*)?|\.\d+)")
_WHOLE_TO_255 = re.compile(r"0*+(?:25[0-5]|2[0-4][0-9]|1[0-9]{2}|[1-9]?[0-9])|0++")
_TAB = "\t"
_PIXEL = re.compile(r"(.*\S)\s*@\s*([0-9]+)\s*,\s*([0-9]+)")
_LINE = re.compile(r"([^\r\n]*+)(\r\n|\r|\n|\Z)")


@dataclass(frozen=True, slots=True, kw_only=True)
class ToldColour:
    """One colour that somebody wrote; one of `lab`, `screen` and `pixel` is given.

    Parameters
    ----------
    text : str
        As it was written.
    where : str
        The file and line, or the argument.
    name : str
        What it is called; may be empty.
    lab : (L, a, b) or None
        Absolute, D50, 2 degree.
    screen : str or None
        "#rrggbb" of a screen whose white is the paper.
    pixel : Pixel or None
        The same, taken from a picture.
    """

    text: str
    where: str
    name: str = ""
    lab: tuple[float, float, float] | None = None
    screen: str | None = None
    pixel: "Pixel | None" = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Pixel:
    """A pixel of a picture, counted from 0 at its top left."""

    path: str
    x_px: int
    y_px: int


def told_colour(text: str, *, where: str) -> ToldColour:
    """The colour that a text means, `name = colour` if it has a name.

    `#rrggbb`, `rrggbb`, `#rgb` and `rgb(r, g, b)` of 0-255 are colours of a screen whose white is
    the paper; `Lab(L, a, b)` or three numbers are absolute, D50; `picture.png@x,y` is a pixel.

    Raises
    ------
    UsageError
        If it means none.

    Examples
    --------
    >>> told_colour("#3AC", where="here").screen
    '#33aacc'
    >>> told_colour("52 -10.5 3", where="here").lab
    (52.0, -10.5, 3.0)
    """
    if len(text) > MAX_CHARACTERS or acting_sign(text.strip(), allowed=_TAB):
        raise UsageError(_no_text(text, where))
    name, sign, said = text.strip().partition(" = ")
    name, said = (harmless(name.strip()), said.strip()) if sign else ("", name)
    told = ToldColour(text=said, where=where, name=name)
    for form, meaning in _MEANINGS:
        match = form.fullmatch(said)
        if match:
            return meaning(told, match)
    parts = _BETWEEN.split(said)
    if len(parts) == 3 and all(_NUMBER.fullmatch(part) for part in parts):
        return _lab(told, parts)
    raise UsageError(_no_colour(told))


def told_arguments(arguments: Iterable[str]) -> tuple[ToldColour, ...]:
    """The colours of a command line, where a Lab may stand as three numbers of their own.

    Raises
    ------
    UsageError
        With all that are none.
    """
    colours: list[ToldColour] = []
    faults: list[Fault] = []
    for number, text in enumerate(_joined(list(arguments)), start=1):
        try:
            colours.append(told_colour(text, where=f"colour {number}"))
        except UsageError as error:
            faults += error.faults
    if faults:
        raise UsageError(capped(faults, where="colours"))
    return tuple(colours)


def told_cast(text: str | None) -> Literal["neutral"] | float | tuple[float, float] | None:
    """The cast of a dark that a text means: "neutral", a hue in degrees, or a direction (a*, b*).

    Raises
    ------
    UsageError
        If it means none.

    Examples
    --------
    >>> told_cast("blue"), told_cast("0, 5")
    (275.0, (0.0, 5.0))
    """
    if text is None:
        return None
    word = text.strip().lower()
    if word == "neutral":
        return "neutral"
    if word in HUES:
        return float(HUES[word])
    parts = _BETWEEN.split(word)
    numbers = [float(part) for part in parts if _NUMBER.fullmatch(part)]
    if len(parts) == len(numbers) == 2 and any(numbers):
        return numbers[0], numbers[1]
    if len(parts) == len(numbers) == 1 and 0 <= numbers[0] <= 360:
        return numbers[0]
    expected = f"it must be neutral, {', '.join(HUES)}, a hue of 0 to 360 degrees, or A,B"
    raise UsageError(Fault(where="cast", found=f"is {quoted(text)}", expected=expected))


def _joined(arguments: list[str]) -> Iterator[str]:
    """Arguments, of which three short numbers in a row are one."""
    at = 0
    while at < len(arguments):
        three = arguments[at : at + 3]
        if len(three) == 3 and all(map(_NUMBER.fullmatch, three)) and not _HEX.fullmatch(three[0]):
            yield " ".join(three)
            at += 3
        else:
            yield arguments[at]
            at += 1


def told_colours(data: bytes, *, where: str) -> tuple[ToldColour, ...]:
    """The colours of a file, one a line.

    Empty lines count for nothing, nor do those that begin with # and a blank.

    Parameters
    ----------
    data : bytes
        UTF-8.
    where : str
        Name of the file, for faults.

    Raises
    ------
    UsageError
        With all that is wrong, by line.
    """
    colours: list[ToldColour] = []
    faults: list[Fault] = []
    for number, line in _lines(data, where):
        try:
            colours.append(told_colour(line, where=f"{where}, line {number}"))
        except UsageError as error:
            faults += error.faults
        if len(colours) > MAX_COLOURS or len(faults) >= COUNTED_FAULTS:
            break
    if not colours and not faults:
        faults = [Fault(where=where, found="holds no colour", expected="one a line is needed")]
    if len(colours) > MAX_COLOURS:
        expected = "a list may hold at most that many"
        faults = [Fault(where=where, found=f"more than {MAX_COLOURS:,} colours", expected=expected)]
    if faults:
        raise UsageError(capped(faults, where=where))
    return tuple(colours)


def _lines(data: bytes, where: str) -> Iterator[tuple[int, str]]:
    """Number and text of the lines that say something."""
    if len(data) > MAX_BYTES:
        expected = f"at most {MAX_BYTES // 2**20} MB are read"
        raise UsageError(Fault(where=where, found="a larger file", expected=expected))
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        before = data[: error.start].count(b"\n")
        at = f"{where}, line {before + 1}"
        expected = "one colour a line is needed"
        raise UsageError(Fault(where=at, found="not UTF-8 text", expected=expected)) from None
    for number, line in enumerate(_LINE.finditer(text), start=1):
        if number > MAX_LINES:
            expected = "a list may hold at most that many"
            raise UsageError(
                Fault(where=where, found=f"more than {MAX_LINES:,} lines", expected=expected)
            )
        said = line[1].strip()
        if said and said != "#" and not re.match(r"#\s", said):
            yield number, said


def _screen(told: ToldColour, match: "re.Match[str]") -> ToldColour:
    digits = match[0].removeprefix("#").lower()
    if len(digits) == 3:
        digits = "".join(2 * digit for digit in digits)
    return replace(told, screen=f"#{digits}")


def _rgb(told: ToldColour, match: "re.Match[str]") -> ToldColour:
    parts = _BETWEEN.split(match[1].strip())
    if len(parts) != 3 or not all(_WHOLE_TO_255.fullmatch(part) for part in parts):
        raise UsageError(_fault(told, "rgb(r, g, b) takes three whole numbers from 0 to 255"))
    return replace(told, screen="#" + "".join(f"{_whole(part):02x}" for part in parts))


def _lab_in_brackets(told: ToldColour, match: "re.Match[str]") -> ToldColour:
    parts = _BETWEEN.split(match[1].strip())
    if len(parts) != 3 or not all(_NUMBER.fullmatch(part) for part in parts):
        expected = "Lab(L, a, b) takes three numbers with decimal points, as Lab(52.5, 10, -3)"
        raise UsageError(_fault(told, expected))
    return _lab(told, parts)


def _lab(told: ToldColour, parts: list[str]) -> ToldColour:
    L, a, b = map(float, parts)
    if not (0 <= L <= 100 and abs(a) <= MAX_AB and abs(b) <= MAX_AB):
        expected = f"L is 0 to 100, a and b are {-MAX_AB:g} to {MAX_AB:g}"
        raise UsageError(_fault(told, expected))
    return replace(told, lab=(L, a, b))


def _pixel(told: ToldColour, match: "re.Match[str]") -> ToldColour:
    if max(len(match[2].lstrip("0")), len(match[3].lstrip("0"))) > MAX_PX_DIGITS:
        raise UsageError(_fault(told, "no picture is that large; pixels are counted from 0"))
    path, x_px, y_px = match[1], _whole(match[2]), _whole(match[3])
    return replace(told, pixel=Pixel(path=path, x_px=x_px, y_px=y_px))


def _whole(digits: str) -> int:
    """The number of few digits behind any zeros."""
    return int(digits.lstrip("0") or "0")


_MEANINGS: tuple[tuple["re.Pattern[str]", Callable[..., ToldColour]], ...] = (
    (_HEX, _screen), (_RGB, _rgb), (_LAB, _lab_in_brackets), (_PIXEL, _pixel),
)  # fmt: skip


def _fault(told: ToldColour, expected: str) -> Fault:
    return Fault(where=told.where, found=quoted(told.text), expected=expected)


def _no_text(text: str, where: str) -> Fault:
    """What is wrong with a text that is not looked at any closer."""
    if len(text) > MAX_CHARACTERS:
        found = f"{quoted(text)}, {len(text):,} characters"
        return Fault(where=where, found=found, expected=f"a colour has {MAX_CHARACTERS:,} at most")
    found = f"{quoted(text)} holds {acting_sign(text.strip(), allowed=_TAB)}"
    return Fault(where=where, found=found, expected="a colour and its name are plain text")


def _no_colour(told: ToldColour) -> Fault:
    """What is wrong with a text that has none of the forms, as far as can be guessed."""
    said = told.text
    if not said:
        return Fault(where=told.where, found="nothing", expected=f"a colour is written {FORMS}")
    if said.startswith("#"):
        return _fault(told, "# is followed by three or six digits of 0-9 and a-f")
    if "@" in said:
        return _fault(told, "a pixel is written picture.png@x,y, counted from 0 at the top left")
    return _fault(told, f"a colour is written {FORMS}")
