"""Pairs of colours, bars of expected errors, and mixes against their expected errors, as SVG.

Values in, markup out: coordinates are computed here, words and layout are the template's.
"""

from math import ceil

import numpy as np
from markupsafe import Markup

from inkmix.base.arrays import FloatArray
from inkmix.colour.colorimetry import lab_to_xyz100, xyz100_to_triple8
from inkmix.jobs.calibrating.read_off import PairRead
from inkmix.pages import svg
from inkmix.pages.curves import drawing, rule, text
from inkmix.press.calibration.crossed import Predicted

WIDTH, HEIGHT = 420, 300
LEFT, RIGHT, TOP, BASE = 34, 408, 12, 258
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
    """How far off each mix is, over the error that was expected; a dot has the colour that was read."""
    off, expected = after.de00, after.expected_de00
    shown = slice(None, None, ceil(len(off) / MOST_DOTS))
    top = float(ceil(max(off.max(), expected.max()) + 0.1))
    parts = [*_axes(top), _bound(top)]
    for x, y, lab in zip(expected[shown], off[shown], after.read_lab[shown], strict=True):
        kind = "step" if y <= x else "step outside"
        look = {"class": kind, "fill": svg.hexed(screen_colour(lab))}
        parts.append(svg.dot(_x(float(x), top), _y(float(y), top), 4.5, look))
    return drawing(WIDTH, HEIGHT, parts, css="foretold")


def _x(de00: float, top: float) -> float:
    return LEFT + (RIGHT - LEFT) * de00 / top


def _y(de00: float, top: float) -> float:
    return BASE - (BASE - TOP) * de00 / top


def _axes(top: float) -> list[Markup]:
    parts = []
    for value in np.arange(0, top + 0.5, max(1.0, ceil(top / 6))):
        x, y = _x(float(value), top), _y(float(value), top)
        parts += [rule(LEFT, y, RIGHT, y), rule(x, BASE, x, BASE + 4)]
        parts += [text(LEFT - 6, y + 4, f"{value:.0f}", css="left")]
        parts += [text(x, BASE + 18, f"{value:.0f}", css="mid")]
    parts.append(text(RIGHT, HEIGHT - 4, "expected error, dE00", css="left"))
    parts.append(text(LEFT + 4, TOP + 10, "off by, dE00", css="right"))
    return parts


def _bound(top: float) -> Markup:
    """Where a mix is off by just its expected error."""
    ends = [(_x(0, top), _y(0, top)), (_x(top, top), _y(top, top))]
    return svg.polyline(ends, {"class": "plain"})
