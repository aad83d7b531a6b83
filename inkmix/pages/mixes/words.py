"""Mixes as text: one aligned table a row at a time, and sentences on what is out of reach."""

from collections.abc import Iterator

import numpy as np

from inkmix.colour.colorimetry import lab_to_xyz100, xyz100_to_srgb8
from inkmix.mixes.answer import Answer, Terms
from inkmix.mixes.choose import EQUAL_L
from inkmix.mixes.helping import GAIN_DE00, Help
from inkmix.mixes.values import REACH_DE00, Mix

_WHOSE = {
    "printer": "the printer's word",
    "user": "as the book says",
    "process default": "usual for this process and paper, ask your printer",
    "asked": "as asked",
}
_NAME = 26  # characters of a colour's name, at most
SHOWN_HELPS = 3
"""Of the inks that would help one colour, where there are few colours; else one."""


class Table:
    """Mixes as rows; its columns are known before the first row is.

    Parameters
    ----------
    inks : tuple of str
        Columns of tone values.
    first : str
        Head of the first column, and its width.
    fields : bool
        Put a field of 24-bit colour before each row.
    last : tuple of str
        Its last columns: what is left, and the expected error; of the darkest only that of L*.
    """

    def __init__(
        self,
        inks: tuple[str, ...],
        *,
        first: str,
        width: int,
        fields: bool,
        last: tuple[str, ...] = ("dE00", "error"),
    ) -> None:
        self.inks, self.first, self.fields, self.last = inks, first, fields, last
        self.width = max(len(first), min(width, _NAME))
        self.widths = [max(len(name), 5) for name in inks]

    def head(self) -> str:
        """The heads of the columns."""
        inks = "  ".join(
            name.rjust(width) for name, width in zip(self.inks, self.widths, strict=True)
        )
        last = "  ".join(f"{word:>5}" for word in self.last)
        heads = f"{'ink':>6} {'L*':>6} {'a*':>6} {'b*':>6}  {last}"
        return f"{'    ' * self.fields}{self.first:<{self.width}}  {'mix':<7}{inks}  {heads}"

    def row(self, name: str, kind: str, mix: Mix, *, more: str = "") -> str:
        """One mix."""
        shown = name if len(name) <= self.width else f"{name[: self.width - 1]}…"
        inks = "  ".join(
            (_tone(mix.tone_pct.get(ink, 0.0))).rjust(width)
            for ink, width in zip(self.inks, self.widths, strict=True)
        )
        L, a, b = (round(value, 1) + 0.0 for value in mix.lab)
        said = {"dE00": mix.de00, "error": mix.error_de00, "error of L*": mix.error_L}
        last = "  ".join(_figure(said[word], max(len(word), 5)) for word in self.last)
        figures = f"{mix.total_pct:>6.4g} {L:>6.1f} {a:>6.1f} {b:>6.1f}  {last}"
        field = f"{_field(mix)} " if self.fields else ""
        return f"{field}{shown:<{self.width}}  {kind:<7}{inks}  {figures}  {more}".rstrip()


def answer_rows(table: Table, answer: Answer, terms: Terms) -> Iterator[str]:
    """All mixes of one colour."""
    name = answer.name or answer.text
    yield table.row(name, "exact", answer.found.reached.mix, more=reach_word(answer))
    for mix in answer.found.mixes:
        yield table.row("", step_word(terms), mix)


def answer_row(table: Table, answer: Answer, terms: Terms) -> str:
    """The best mix of one colour."""
    name, kind = answer.name or answer.text, step_word(terms)
    mix = answer.found.mixes[0] if answer.found.mixes else answer.found.reached.mix
    return table.row(name, kind, mix, more=reach_word(answer))


def step_word(terms: Terms) -> str:
    """The steps of the tone values."""
    return f"{terms.step_pct:g} %"


def reach_word(answer: Answer) -> str:
    """Whether the inks reach a colour; how near they come if they do not."""
    reached = answer.found.reached
    return "in reach" if reached.in_reach else f"out of reach by {reached.de00:.1f}"


def help_lines(answer: Answer, *, most: int) -> Iterator[str]:
    """What would bring a colour nearer that is out of reach; nothing where nobody looked."""
    if answer.found.reached.in_reach or answer.helps is None:
        return
    name, left = answer.name or answer.text, answer.found.reached.de00
    opening = f"{name} is out of reach by {left:.1f}"
    if not answer.inks_tried:
        yield (
            f"{opening}, and no shipped ink can be tried: none was measured on this paper, or "
            "there is no room for one more."
        )
        return
    if not answer.helps:
        tried = f"none of {answer.inks_tried} shipped inks"
        yield f"{opening}, and {tried} brings it nearer by {GAIN_DE00:g}."
        return
    yield f"{opening}. One ink more would bring it nearer:"
    width = max(len(one.ink) for one in answer.helps[:most])
    for one in answer.helps[:most]:
        yield f"  {one.ink:<{width}}  {_help_words(one)}"


def _help_words(one: Help) -> str:
    left = one.mix.de00 or 0.0
    nearer = f"{one.nearer_by_de00:.1f} nearer{', in reach' if one.in_reach else ''}"
    recipe = ", ".join(f"{ink} {_tone(pct)} %" for ink, pct in one.mix.tone_pct.items() if pct > 0)
    place = "first" if one.after is None else f"after {one.after}"
    return f"to dE00 {left:.1f} ({nearer}) with {recipe}; printed {place}"


def terms_sentence(terms: Terms) -> str:
    """Under which terms the mixes hold."""
    limit = "no ink limit is known; give one with --limit"
    if terms.ink_limit_pct is not None:
        whose = _WHOSE.get(terms.whose, terms.whose)
        limit = f"at most {terms.ink_limit_pct:g} % of ink ({whose})"
    dot = f"no tint below {terms.least_pct:g} %" if terms.least_pct else "tints as small as asked"
    return f"{terms.process} on {terms.paper}: {limit}; steps of {terms.step_pct:g} %, {dot}."


LEGEND = (
    "exact: to 0.1 %. dE00: left to the colour, L*a*b*: predicted, D50, absolute. error: the "
    f"prediction is off by less, 95 times in 100. In reach: within dE00 {REACH_DE00:g}."
)

LEGEND_DARKEST = (
    "L*a*b*: predicted, D50, absolute. error: L* is off by less, 95 times in 100. Mixes within "
    f"{EQUAL_L:g} of L* count as equally dark, and then fewer inks come first."
)

LEGEND_DOUBLE_HIT = (
    "A second hit that is as strong as the first prints the same plate twice; any other needs a "
    "plate of its own."
)


def _figure(value: float | None, width: int) -> str:
    return f"{'-':>{width}}" if value is None else f"{value:{width}.1f}"


def _tone(pct: float) -> str:
    return "-" if pct == 0 else f"{pct:.1f}".removesuffix(".0")


def _field(mix: Mix) -> str:
    """Three blanks on the mix's colour, as near as sRGB has it."""
    red, green, blue = xyz100_to_srgb8(lab_to_xyz100(np.array(mix.lab)))[0].tolist()
    return f"\x1b[48;2;{red};{green};{blue}m   \x1b[0m"
