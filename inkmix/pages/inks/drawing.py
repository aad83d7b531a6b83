"""The a*b* plane as inline SVG.

Values in, markup out: coordinates are computed here, words and layout are the template's.
"""

from collections.abc import Sequence

import numpy as np
from markupsafe import Markup

from inkmix.jobs.inks.entries import InkEntry, PaperEntry
from inkmix.pages import svg
from inkmix.pages.curves import drawing, rule, text

PLANE = 420  # width of the a*b* plane
NAMED_FROM = 30.0  # C*; names of the paler ones would lie on each other
REACH = 110.0  # largest |a*| or |b*| of what is shown; beyond it a dot is put on the rim


def plane_svg(papers: Sequence[PaperEntry]) -> Markup:
    """All solids in the a*b* plane, each paper's as dots of another size, names at the largest."""
    half = PLANE / 2
    parts = [svg.dot(half, half, half * r, {"class": "ring"}) for r in (0.25, 0.5, 0.75, 0.98)]
    parts += [rule(0, half, PLANE, half), rule(half, 0, half, PLANE)]
    parts += [
        text(PLANE - 4, half + 14, "+a*", css="left"),
        text(half + 6, 12, "+b*", css="right"),
    ]
    sizes = np.linspace(8, 4, max(len(papers), 1))
    for paper, size in zip(papers, sizes, strict=True):
        parts += [_solid(ink, float(size)) for ink in paper.inks]
    parts += [_name(ink) for ink in papers[0].inks if _chroma(ink) > NAMED_FROM]
    return drawing(PLANE, PLANE, parts, css="plane")


def _name(ink: InkEntry) -> Markup:
    """The ink's name on the outer side of its dot."""
    x, y = _in_plane(ink)
    if x < PLANE / 2:
        return text(x - 11, y + 4, ink.short_name, css="left")
    return text(x + 11, y + 4, ink.short_name, css="right")


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
