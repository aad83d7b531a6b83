"""Pairs of colours, bars of expected errors, and mixes against their expected errors, as SVG.

Values in, markup out: coordinates are computed here, words and layout are the template's.
"""

from dataclasses import dataclass
from math import ceil

from markupsafe import Markup

from inkmix.base.arrays import FloatArray
from inkmix.colour.colorimetry import lab_to_xyz100, xyz100_to_triple8
from inkmix.jobs.calibrating.read_off import PairRead
from inkmix.pages import svg
from inkmix.pages.curves import drawing, rule, text
from inkmix.press.calibration.crossed import Predicted

WIDTH, HEIGHT = 420, 300
LEFT, RIGHT, TOP, BASE = 30, 408, 22, 258
MOST_DOTS = 1000
"""Of more mixes every so many-th is drawn, since a browser has to hold them."""


def screen_colour(lab: FloatArray) -> svg.Triple8:
    """The nearest colour of a screen."""
    return xyz100_to_triple8(lab_to_xyz100(lab))


def pair_svg(first: FloatArray, second: FloatArray, paper: FloatArray) -> Markup:
    """Two colours that touch, on the paper; all Lab (3,)."""
    return svg.fields([screen_colour(first), screen_colour(second)], screen_colour(paper))


def overprint_svg(one: PairRead, paper: FloatArray) -> Markup:
    """The first ink, both, and the second alone, touching each other on the paper."""
    three = (one.first_field, one.field, one.second_field)
    return svg.fields([screen_colour(field.lab) for field in three], screen_colour(paper))


def bars_svg(was: float, now: float, most: float) -> Markup:
    """Two bars from the left: an expected error as it was (outlined), and as it is."""
    parts = []
    for value, y, css in ((was, 1, "was"), (now, 9, "now")):
        width = svg.pct(100 * value / most)
        parts.append(
            svg.element("rect", {"class": css, "x": 0, "y": y, "width": width, "height": 6})
        )
    return svg.element("svg", {"class": "bars", "height": 16, "aria-hidden": "true"}, *parts)


def foretold_svg(after: Predicted) -> Markup:
    """How far off each mix is, over the error that was expected; dots in the colours read."""
    off, expected = after.de00, after.expected_de00
    scale = _Scale(most_expected=_round_up(expected), most_off=_round_up(off))
    parts = [*scale.axes(), scale.bound()]
    shown = slice(None, None, ceil(len(off) / MOST_DOTS))
    for x, y, lab in zip(expected[shown], off[shown], after.read_lab[shown], strict=True):
        kind = "step" if y <= x else "step outside"
        look = {"class": kind, "fill": svg.hexed(screen_colour(lab))}
        parts.append(svg.dot(scale.x(float(x)), scale.y(float(y)), 4.5, look))
    return drawing(WIDTH, HEIGHT, parts, css="foretold")


def _round_up(de00: FloatArray) -> int:
    return ceil(float(de00.max()) + 0.2)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Scale:
    """Errors to places in the drawing: expected ones across, what mixes are off by upwards."""

    most_expected: int
    most_off: int

    def x(self, de00: float) -> float:
        return LEFT + (RIGHT - LEFT) * de00 / self.most_expected

    def y(self, de00: float) -> float:
        return BASE - (BASE - TOP) * de00 / self.most_off

    def axes(self) -> list[Markup]:
        """Rules, their numbers, and what they count."""
        parts = []
        for value in range(0, self.most_off + 1, max(1, ceil(self.most_off / 6))):
            parts.append(rule(LEFT, self.y(value), RIGHT, self.y(value)))
            parts.append(text(LEFT - 6, self.y(value) + 4, str(value), css="left"))
        for value in range(0, self.most_expected + 1, max(1, ceil(self.most_expected / 8))):
            parts.append(rule(self.x(value), BASE, self.x(value), BASE + 4))
            parts.append(text(self.x(value), BASE + 18, str(value), css="mid"))
        parts.append(text(RIGHT, HEIGHT - 2, "expected error, dE00", css="left"))
        parts.append(text(LEFT + 4, TOP - 4, "off by, dE00", css="right"))
        return parts

    def bound(self) -> Markup:
        """Where a mix is off by just its expected error."""
        end = float(min(self.most_expected, self.most_off))
        ends = [(self.x(0), self.y(0)), (self.x(end), self.y(end))]
        return svg.polyline(ends, {"class": "plain"})
