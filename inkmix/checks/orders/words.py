"""What another lay-down order does to a colour, in words: how much, and which way.

Words only; colours come from inkmix.press.other_orders.
"""

import numpy as np

from inkmix.base.words import difference, either
from inkmix.colour.colorimetry import delta_e00

# A difference of 1 can just be seen side by side, from 2 to 3 on it is noticed (common practice).
_DEGREES = ((1.0, "hardly"), (2.0, "slightly"), (4.0, "visibly"), (8.0, "clearly"))
_MOST = "much"
_WAYS = (("lighter", "darker"), ("redder", "greener"), ("yellower", "bluer"))
_LESS = {"redder": "less green", "greener": "less red", "yellower": "less blue",
         "bluer": "less yellow"}  # fmt: skip
_OF_A_HUE = 5.0  # a* or b* from which a colour is seen to be of that hue
_ALSO = 0.6  # of the strongest part of a difference from which another is named as well
_PLACES = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth")

Triple = tuple[float, float, float]


def degree(de00: float) -> str:
    """How much a colour differs: "slightly", "clearly"; by the figure that is shown."""
    return next((word for below, word in _DEGREES if round(de00, 1) < below), _MOST)


def direction(lab: Triple, other: Triple) -> str:
    """Which way the other colour lies: "redder", "less yellow and darker".

    Each of L*, a* and b* counts by the dE00 that it makes by itself. A colour that only loses some
    of its hue is less of it: an orange turns less yellow, not bluer.

    >>> direction((50, 0, 0), (50, 8, 1))
    'redder'
    >>> direction((70, 30, 60), (66, 30, 50))
    'less yellow and darker'
    """
    start, step = np.array(lab), np.array(other) - np.array(lab)
    alone = np.atleast_1d(delta_e00(start, start + np.diag(step)))
    named = np.argsort(-alone, kind="stable")[:2]
    words = [_way(int(part), start[part], step[part]) for part in named]
    return words[0] if alone[named[1]] < _ALSO * alone[named[0]] else " and ".join(words)


def _way(part: int, start: float, step: float) -> str:
    word = _WAYS[part][0 if step > 0 else 1]
    end = start + step
    fades = part > 0 and start * end > 0 and abs(start) > abs(end) >= _OF_A_HUE
    return _LESS[word] if fades else word


def place(at: int, count: int) -> str:
    """Where an ink is printed: "first", "fourth", "last"."""
    return "last" if at == count - 1 and at else _PLACES[at]


def move_words(ink: str, to: str, at: int, count: int) -> str:
    """One ink printed elsewhere: "Brass printed first instead of last"."""
    return f"{ink} printed {to} instead of {place(at, count)}"


def tone_words(name: str, lab: Triple, other: Triple, de00: float) -> str:
    """What becomes of a tone: "lamp glow clearly redder, dE00 4"."""
    how = f"{degree(de00)} {direction(lab, other)}"
    return f"{name} {how}, {difference(de00)}"


def question(ink: str, to: str, others: list[str]) -> str:
    """What to ask the printer: "Which ink is printed first, Brass or Rowan?"."""
    return f"Which ink is printed {to}, {either([ink, *others])}?"
