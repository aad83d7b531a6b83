"""Curves of an ink over its tone value as inline SVG: density and tone value in print.

Values in, markup out: coordinates are computed here, words and layout are the template's.
"""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from markupsafe import Markup

from inkmix.base.arrays import FloatArray
from inkmix.base.words import fixed, percent
from inkmix.jobs.inks.entries import Field
from inkmix.pages import svg
from inkmix.press.figures.density_curve import DensityCurve

WIDTH, HEIGHT = 300, 176
LEFT, RIGHT, TOP, BASE = 30, 286, 10, 150


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """Tone value in the file, and a density or tone value in print, to places in the drawing.

    `top` and `step` are of what is counted upwards, `digits` those of its numbers.
    """

    top: float
    step: float
    digits: int

    def x(self, tone_pct: float) -> float:
        """Across, for a tone value of 0-100."""
        return LEFT + (RIGHT - LEFT) * tone_pct / 100

    def y(self, value: float) -> float:
        """Down, for what is counted upwards."""
        return BASE - (BASE - TOP) * value / self.top


TONES = Scale(top=100.0, step=25.0, digits=0)
"""Tone values in print."""
READ_AT_PCT = (25.0, 50.0, 75.0)
_MOST_PCT = 105.0  # of what is drawn; beyond it a line would leave its place


def scale_for(curves: Iterable[DensityCurve]) -> Scale:
    """One scale for all inks of a paper, so that their curves can be compared."""
    densest = max(float(curve.above_paper.max()) for curve in curves)
    return Scale(top=max(0.5, np.ceil(densest * 2 + 0.1) / 2), step=0.5, digits=1)


def curve_svg(curve: DensityCurve, tints: Iterable[Field], scale: Scale) -> Markup:
    """Density above paper over the tone value, beside what dots without gain would give."""
    points = [
        (scale.x(tone), scale.y(density))
        for tone, density in zip(curve.tone_pct, curve.above_paper, strict=True)
    ]
    parts = [_axes(scale), _plain_dots(curve, scale), _gain(curve, scale)]
    parts.append(svg.polyline(points, {"class": "curve"}))
    parts += [
        svg.dot(x, y, 3, {"class": "step", "fill": tint.hex})
        for (x, y), tint in zip(points, tints, strict=True)
    ]
    return drawing(WIDTH, HEIGHT, parts, css="density")


def tone_svg(curve: DensityCurve, sctv_pct: FloatArray | None) -> Markup:
    """Tone values in print over those of the file: by density, and as the eye sees them (SCTV)."""
    increase = curve.increase_pct
    parts = [_axes(TONES)]
    parts.append(_line(np.array([0.0, 100.0]), np.array([0.0, 100.0]), css="plain"))
    if sctv_pct is not None:
        parts.append(_line(curve.tone_pct, sctv_pct, css="sctv"))
    if increase is not None:
        parts += [_rise(curve, tone) for tone in READ_AT_PCT]
        parts.append(_line(curve.tone_pct, curve.tone_pct + increase, css="curve"))
    return drawing(WIDTH, HEIGHT, parts, css="tones")


def _line(tones: FloatArray, values: FloatArray, *, css: str) -> Markup:
    shown = np.clip(values, 0, _MOST_PCT)
    points = [(TONES.x(t), TONES.y(v)) for t, v in zip(tones, shown, strict=True)]
    return svg.polyline(points, {"class": css})


def _rise(curve: DensityCurve, tone_pct: float) -> Markup:
    """The tone value increase at a tone value as an upright stroke."""
    increase = curve.increase_at(tone_pct)
    if increase is None:
        return Markup("")
    ends = np.array([tone_pct, tone_pct + increase])
    return _line(np.array([tone_pct, tone_pct]), ends, css="gain")


def _axes(scale: Scale) -> Markup:
    """Rules and their numbers."""
    parts = []
    for value in np.arange(0, scale.top + scale.step / 2, scale.step):
        y = scale.y(float(value))
        parts.append(rule(LEFT, y, RIGHT, y))
        parts.append(text(LEFT - 6, y + 4, fixed(float(value), scale.digits), css="left"))
    for tone in (0, 25, 50, 75, 100):
        x = scale.x(tone)
        parts.append(rule(x, BASE, x, BASE + 4))
        parts.append(text(x, BASE + 18, percent(tone) if tone == 100 else str(tone), css="mid"))
    return Markup("").join(parts)


def _plain_dots(curve: DensityCurve, scale: Scale) -> Markup:
    """Densities of dots of just the tone value: -log10(1 - a (1 - 10^-D)) (Murray 1936)."""
    tones = np.linspace(0, 100, 41)
    light = 1 - tones / 100 * (1 - 10.0 ** -curve.above_paper[-1])
    densities = -np.log10(light)
    points = [(scale.x(t), scale.y(d)) for t, d in zip(tones, densities, strict=True)]
    return svg.polyline(points, {"class": "plain"})


def _gain(curve: DensityCurve, scale: Scale) -> Markup:
    """The tone value increase at 50 % as a level stroke between both curves."""
    increase, density = curve.increase_50_pct, curve.at(50.0)
    if increase is None or density is None:
        return Markup("")
    y = scale.y(density)
    ends = [(scale.x(50), y), (scale.x(50 + increase), y)]
    return svg.polyline(ends, {"class": "gain"})


def drawing(width: int, height: int, parts: Iterable[Markup], *, css: str) -> Markup:
    """A drawing that is as wide as its place."""
    shape = {"class": css, "viewBox": f"0 0 {width} {height}", "aria-hidden": "true"}
    return svg.element("svg", shape, *parts)


def rule(x1: float, y1: float, x2: float, y2: float) -> Markup:
    """A thin straight line."""
    return svg.rule(x1, y1, x2, y2, {"class": "rule"})


def text(x: float, y: float, words: str, *, css: str) -> Markup:
    """Lettering; `css` says on which side of its place: "left", "mid" or "right"."""
    return svg.label(words, {"class": css, "x": x, "y": y})
