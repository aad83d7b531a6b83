"""Mixes as text: one aligned table a row at a time, and sentences on what is out of reach."""

from collections.abc import Iterator

from inkmix.base.words import NONE, difference, fixed, mix, number, percent, shortened
from inkmix.checks.wording import allowed_ink
from inkmix.colour.colorimetry import lab_to_xyz100, xyz100_to_triple8
from inkmix.jobs.mix import Answer, Terms
from inkmix.mixes.choose import EQUAL_L
from inkmix.mixes.helping import GAIN_DE00, Help
from inkmix.mixes.values import REACH_DE00, Mix
from inkmix.pages.tables import colour_field, line

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
        tones = [max(len(name), 5) + 2 for name in inks]
        ends = [max(len(word), 5) + 2 for word in last]
        self.widths = (-(self.width + 2), -5, *tones, 8, 7, 7, 7, *ends, -_NAME)

    def head(self) -> str:
        """The heads of the columns."""
        heads = (self.first, "mix", *self.inks, "ink", "L*", "a*", "b*", *self.last)
        return f"{'    ' * self.fields}{line(self.widths, *heads)}"

    def row(self, name: str, kind: str, mix: Mix, *, more: str = "") -> str:
        """One mix."""
        said = {"dE00": mix.de00, "error": mix.error_de00, "error of L*": mix.error_L}
        cells = (
            shortened(name, self.width),
            kind,
            *(_tone(mix.tone_pct.get(ink, 0.0)) for ink in self.inks),
            number(mix.total_pct),
            *map(fixed, mix.lab),
            *(fixed(said[word]) for word in self.last),
            f"  {more}",
        )
        return f"{_field(mix) if self.fields else ''}{line(self.widths, *cells)}"


def answer_rows(table: Table, answer: Answer, terms: Terms) -> Iterator[str]:
    """All mixes of one colour."""
    name = answer.name or answer.text
    yield table.row(name, "exact", answer.found.nearest, more=reach_word(answer))
    for one in answer.found.mixes:
        yield table.row("", step_word(terms), one)


def answer_row(table: Table, answer: Answer, terms: Terms) -> str:
    """The best mix of one colour."""
    name, kind = answer.name or answer.text, step_word(terms)
    mix = answer.found.mixes[0] if answer.found.mixes else answer.found.nearest
    return table.row(name, kind, mix, more=reach_word(answer))


def step_word(terms: Terms) -> str:
    """The steps of the tone values."""
    return percent(terms.step_pct)


def reach_word(answer: Answer) -> str:
    """Whether the inks reach a colour; how near they come if they do not."""
    found = answer.found
    return "in reach" if found.in_reach else f"out of reach by {difference(found.left_de00)}"


def help_lines(answer: Answer, *, most: int) -> Iterator[str]:
    """What would bring a colour nearer that is out of reach; nothing where nobody looked."""
    if answer.found.in_reach or answer.helps is None:
        return
    name, left = answer.name or answer.text, answer.found.left_de00
    opening = f"{name} is out of reach by {difference(left)}"
    if not answer.inks_tried:
        yield (
            f"{opening}, and no shipped ink can be tried: none was measured on this paper, or "
            "there is no room for one more."
        )
        return
    if not answer.helps:
        tried = f"none of {answer.inks_tried} shipped inks"
        yield f"{opening}, and {tried} brings it nearer by {difference(GAIN_DE00)}."
        return
    yield f"{opening}. One ink more would bring it nearer:"
    width = max(len(one.ink) for one in answer.helps[:most])
    for one in answer.helps[:most]:
        yield f"  {one.ink:<{width}}  {_help_words(one)}"


def _help_words(one: Help) -> str:
    left = one.mix.de00 or 0.0
    nearer = f"{number(one.nearer_by_de00)} nearer{', in reach' if one.in_reach else ''}"
    place = "first" if one.after is None else f"after {one.after}"
    return f"to {difference(left)} ({nearer}) with {mix(one.mix.tone_pct)}; printed {place}"


def terms_sentence(terms: Terms) -> str:
    """Under which terms the mixes hold."""
    limit = f"ink limit: {allowed_ink(terms.ink_limit_pct, terms.whose)}"
    if terms.ink_limit_pct is None:
        limit = "no ink limit is known; give one with --limit"
    dot = f"no tint below {percent(terms.least_pct)}" if terms.least_pct else "tints however pale"
    return f"{terms.process} on {terms.paper}; {limit}; steps of {percent(terms.step_pct)}, {dot}."


LEGEND = (
    "exact: to 0.1 %. dE00: left to the colour, L*a*b*: predicted, D50, absolute. error: the "
    f"prediction is off by less, 95 times in 100. In reach: within {difference(REACH_DE00)}."
)

LEGEND_DARKEST = (
    "L*a*b*: predicted, D50, absolute. error: L* is off by less, 95 times in 100. Mixes within "
    f"{number(EQUAL_L)} of L* count as equally dark, and then fewer inks come first."
)

LEGEND_DOUBLE_HIT = (
    "A second hit that is as strong as the first prints the same plate twice; any other needs a "
    "plate of its own."
)


def _tone(pct: float) -> str:
    return number(pct) if pct else NONE


def _field(mix: Mix) -> str:
    """A field of the mix's colour, as near as sRGB has it."""
    return f"{colour_field(xyz100_to_triple8(lab_to_xyz100(mix.lab)))} "
