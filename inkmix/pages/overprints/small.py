"""A small overprint sheet as inline SVG, for a page that shows many palettes side by side.

The same design as the large sheet, without type: what a field is stands in its tooltip. Written by
hand, so that twenty of them cost a page little.
"""

from collections.abc import Iterator, Mapping, Sequence

from markupsafe import Markup

from inkmix.base.words import lightness, number, percent
from inkmix.colour.vision import PLAIN
from inkmix.jobs.overprints.deepest import Dark
from inkmix.jobs.overprints.fields import (
    DARKEST,
    OVERPRINTS,
    Field,
    Triple8,
    blocks_of,
    coarse_steps,
)
from inkmix.mixes.darkest import darkest_mix
from inkmix.mixes.values import Mix
from inkmix.pages.overprints.captions import mix_words
from inkmix.pages.overprints.joins import bridges
from inkmix.pages.overprints.layout import Frame, PlacedBlock, arranged
from inkmix.pages.svg import attribute, element, hexed, title
from inkmix.press.condition import PressCondition
from inkmix.sheet.box import Box

WIDTH, HEIGHT = 160.0, 92.0
"""The drawing's own units; it is as wide as the page gives it."""

_MARGIN = 5.0
_BARE = {
    "pointer-events": "all",
    "fill": "none",
    "stroke": "#000",
    "stroke-opacity": ".22",
    "stroke-width": ".2",
}
FRAME = Frame(
    left=Box(x=_MARGIN, y=_MARGIN - 1.6, width=64.0, height=HEIGHT - 2 * _MARGIN + 1.6),
    right=Box(x=_MARGIN + 69.0, y=_MARGIN, width=81.0, height=HEIGHT - 2 * _MARGIN),
    gap=0.5,
    group_gap=1.6,
    head=0.0,
    cell_gap=1.6,
    tint_gap=0.25,
)


def small_sheet(
    condition: PressCondition,
    *,
    ink_limit_pct: float | None,
    prefix: str,
    darkest: Sequence[Mix] = (),
) -> Markup:
    """The overprint sheet of a palette as an SVG element to stand in a page.

    Overprints, ramps, pairs and the deepest darks, in fewer steps than on the large sheet; no
    lettering but tooltips. As wide as its place; 160 to 92.

    Parameters
    ----------
    condition : PressCondition
        Up to eight inks, in lay-down order.
    ink_limit_pct : float or None
        Fields of more are hatched.
    prefix : str
        Begins every id; another one for each drawing of a page.
    darkest : sequence of Mix
        Darks where they are known already; else the darkest mix is searched.
    """
    names = tuple(ink.name for ink in condition.inks)
    darks = darkest or [darkest_mix(condition, ink_limit_pct=ink_limit_pct)]
    blocks = blocks_of(
        condition,
        steps=coarse_steps(),
        darkest=[Dark(name="darkest", mix=mix) for mix in darks],
        ink_limit_pct=ink_limit_pct,
        view=PLAIN,
    )
    hatch, paper = f"{prefix}-over", blocks[0].fields[0].srgb8
    sheet = Box(x=0.0, y=0.0, width=WIDTH, height=HEIGHT)
    parts = [_hatching(hatch), _rect(sheet, {"fill": hexed(paper)})]
    for placed in arranged(blocks, FRAME):
        parts += _block(placed, names, hatch, paper=paper)
    shape = {
        "class": "overprints",
        "viewBox": f"0 0 {WIDTH:g} {HEIGHT:g}",
        "role": "img",
        "aria-label": f"Overprint sheet of {', '.join(names)} on {condition.paper.name}",
        "shape-rendering": "crispEdges",
    }
    return element("svg", shape, *parts)


def _hatching(key: str) -> Markup:
    """Thin lines, light beside dark, so that they show on any field."""
    light = {"d": "M0 0V2", "stroke": "#fff", "stroke-opacity": ".55", "stroke-width": ".5"}
    dark = {"d": "M.4 0V2", "stroke": "#000", "stroke-opacity": ".5", "stroke-width": ".3"}
    shape = {"id": key, "width": 2, "height": 2, "patternUnits": "userSpaceOnUse"}
    turned = shape | {"patternTransform": "rotate(45)"}
    return Markup("<defs>{}</defs>").format(
        element("pattern", turned, element("path", light), element("path", dark))
    )


def _block(
    placed: PlacedBlock, names: Sequence[str], hatch: str, *, paper: Triple8
) -> Iterator[Markup]:
    tells = placed.block.kind in (OVERPRINTS, DARKEST)
    for field, box in zip(placed.block.fields, placed.fields, strict=True):
        inside = (title(_words(names, field)),) if tells else ()
        if any(field.tone_pct):
            yield _rect(box, {"fill": hexed(field.srgb8)}, *inside)
        elif tells:  # bare paper on paper: an edge shows that it is a field
            yield _rect(box, _BARE, *inside)
        if field.is_over:
            yield _rect(box, {"fill": f"url(#{hatch})", "pointer-events": "none"})
        if not field.in_srgb:
            yield _corner(box, paper)
    for place, bridge in bridges(placed, gap_mm=FRAME.gap, line_mm=0.5):
        yield _rect(bridge, {"fill": hexed(placed.block.fields[place].srgb8)})


def _words(names: Sequence[str], field: Field) -> str:
    """The tooltip of a field."""
    name = f"{field.name}: " if field.name else ""
    over = ", over the limit" if field.is_over else ""
    outside = ", outside sRGB" if not field.in_srgb else ""
    return (
        f"{name}{mix_words(names, field)}, {lightness(field.lab[0])} ± {number(field.error_L)}, "
        f"dE00 ± {number(field.error_de00)}, {percent(field.total_pct)} ink{over}{outside}"
    )


def _rect(box: Box, look: Mapping[str, object], *inside: Markup) -> Markup:
    place = {"x": box.x, "y": box.y, "width": box.width, "height": box.height}
    return element("rect", {**place, **look}, *inside)


def _corner(box: Box, paper: Triple8) -> Markup:
    side = min(1.6, 0.3 * box.width, 0.3 * box.height)
    x, y, size = (attribute(value) for value in (box.right - side, box.y, side))
    return element("path", {"d": f"M{x} {y}h{size}v{size}z", "fill": hexed(paper)})
