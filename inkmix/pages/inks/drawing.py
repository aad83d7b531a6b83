"""Density curves and the a*b* plane as inline SVG.

Values in, markup out: coordinates are computed here, words and layout are the template's.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from markupsafe import Markup

from inkmix.base.words import fixed, percent
from inkmix.jobs.inks.entries import InkEntry, PaperEntry
from inkmix.pages import svg
from inkmix.press.figures.density_curve import DensityCurve

WIDTH, HEIGHT = 300, 176
LEFT, RIGHT, TOP, BASE = 30, 286, 10, 150

PLANE = 420  # width of the a*b* plane
NAMED_FROM = 30.0  # C*; names of the paler ones would lie on each other
REACH = 110.0  # largest |a*| or |b*| of what is shown; beyond it a dot is put on the rim


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """Tone value and density to places in the drawing."""

    top_density: float

    def x(self, tone_pct: float) -> float:
        """Across, for a tone value of 0-100."""
        return LEFT + (RIGHT - LEFT) * tone_pct / 100

    def y(self, density: float) -> float:
        """Down, for a density above paper."""
        return BASE - (BASE - TOP) * density / self.top_density


def scale_for(inks: Iterable[InkEntry]) -> Scale:
    """One scale for all inks of a paper, so that their curves can be compared."""
    densest = max(float(ink.curve.above_paper.max()) for ink in inks)
    return Scale(top_density=max(0.5, np.ceil(densest * 2 + 0.1) / 2))


def curve_svg(ink: InkEntry, scale: Scale) -> Markup:
    """Density above paper over the tone value, beside what dots without gain would give."""
    curve = ink.curve
    points = [
        (scale.x(tone), scale.y(density))
        for tone, density in zip(curve.tone_pct, curve.above_paper, strict=True)
    ]
    parts = [_axes(scale), _plain_dots(curve, scale), _gain(curve, scale)]
    parts.append(svg.polyline(points, {"class": "curve"}))
    parts += [
        svg.dot(x, y, 3, {"class": "step", "fill": tint.hex})
        for (x, y), tint in zip(points, ink.tints, strict=True)
    ]
    return _drawing(WIDTH, HEIGHT, parts, css="density")


def _axes(scale: Scale) -> Markup:
    """Rules and their numbers."""
    parts = []
    for density in np.arange(0, scale.top_density + 0.01, 0.5):
        y = scale.y(float(density))
        parts.append(_rule(LEFT, y, RIGHT, y))
        parts.append(_text(LEFT - 6, y + 4, fixed(float(density)), css="left"))
    for tone in (0, 25, 50, 75, 100):
        x = scale.x(tone)
        parts.append(_rule(x, BASE, x, BASE + 4))
        parts.append(_text(x, BASE + 18, percent(tone) if tone == 100 else str(tone), css="mid"))
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


def plane_svg(papers: Sequence[PaperEntry]) -> Markup:
    """All solids in the a*b* plane, each paper's as dots of another size, names at the largest."""
    half = PLANE / 2
    parts = [svg.dot(half, half, half * r, {"class": "ring"}) for r in (0.25, 0.5, 0.75, 0.98)]
    parts += [_rule(0, half, PLANE, half), _rule(half, 0, half, PLANE)]
    parts += [
        _text(PLANE - 4, half + 14, "+a*", css="left"),
        _text(half + 6, 12, "+b*", css="right"),
    ]
    sizes = np.linspace(8, 4, max(len(papers), 1))
    for paper, size in zip(papers, sizes, strict=True):
        parts += [_solid(ink, float(size)) for ink in paper.inks]
    parts += [_name(ink) for ink in papers[0].inks if _chroma(ink) > NAMED_FROM]
    return _drawing(PLANE, PLANE, parts, css="plane")


def _name(ink: InkEntry) -> Markup:
    """The ink's name on the outer side of its dot."""
    x, y = _in_plane(ink)
    if x < PLANE / 2:
        return _text(x - 11, y + 4, ink.short_name, css="left")
    return _text(x + 11, y + 4, ink.short_name, css="right")


def _chroma(ink: InkEntry) -> float:
    return float(np.hypot(*ink.solid.lab[1:]))


def _in_plane(ink: InkEntry) -> tuple[float, float]:
    a, b = ink.solid.lab[1:]
    shrink = min(1.0, REACH / max(_chroma(ink), 1e-9))
    half = PLANE / 2
    return half + half * a * shrink / REACH, half - half * b * shrink / REACH


def _solid(ink: InkEntry, size: float) -> Markup:
    x, y = _in_plane(ink)
    look = {"class": "ink", "fill": ink.solid.hex}
    return svg.dot(x, y, size, look, svg.title(f"{ink.short_name} on {ink.paper}"))


def _drawing(width: int, height: int, parts: Iterable[Markup], *, css: str) -> Markup:
    shape = {"class": css, "viewBox": f"0 0 {width} {height}", "aria-hidden": "true"}
    return svg.element("svg", shape, *parts)


def _rule(x1: float, y1: float, x2: float, y2: float) -> Markup:
    return svg.rule(x1, y1, x2, y2, {"class": "rule"})


def _text(x: float, y: float, words: str, *, css: str) -> Markup:
    return svg.label(words, {"class": css, "x": x, "y": y})
