"""A small overprint sheet as inline SVG, for a page that shows many palettes side by side.

The same design as the large sheet, without type: what a field is stands in its tooltip. Written by
hand, so that twenty of them cost a page little.
"""

from collections.abc import Iterator, Sequence
from html import escape

from inkmix.checks.tones.check import HARD_TO_TELL_DE00
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
from inkmix.mixes import Mix, darkest_mix
from inkmix.pages.overprints.captions import mix_words
from inkmix.pages.overprints.joins import bridges
from inkmix.pages.overprints.layout import Box, Frame, PlacedBlock, arranged
from inkmix.press.condition import PressCondition

WIDTH, HEIGHT = 160.0, 92.0
"""The drawing's own units; it is as wide as the page gives it."""

_MARGIN = 5.0
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
    view: str = PLAIN,
    alike_de00: float = HARD_TO_TELL_DE00,
) -> str:
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
    view : str
        One of inkmix.colour.vision.VIEWS.
    alike_de00 : float
        dE00 under which neighbours are joined.
    """
    names = tuple(ink.name for ink in condition.inks)
    darks = darkest or [darkest_mix(condition, ink_limit_pct=ink_limit_pct)]
    blocks = blocks_of(
        condition,
        steps=coarse_steps(),
        darkest=[Dark(name="darkest", mix=mix) for mix in darks],
        ink_limit_pct=ink_limit_pct,
        view=view,
        alike_de00=alike_de00,
    )
    hatch = escape(f"{prefix}-over")
    paper = Box(x=0, y=0, width=WIDTH, height=HEIGHT)
    parts = [_hatching(hatch), _rect(paper, _fill(blocks[0].fields[0].srgb8))]
    for placed in arranged(blocks, FRAME):
        parts += _block(placed, names, hatch, paper=blocks[0].fields[0].srgb8)
    label = escape(f"Overprint sheet of {', '.join(names)} on {condition.paper.name}")
    return (
        f'<svg class="overprints" viewBox="0 0 {WIDTH:g} {HEIGHT:g}" role="img" '
        f'aria-label="{label}" shape-rendering="crispEdges">{"".join(parts)}</svg>'
    )


def _hatching(key: str) -> str:
    """Thin lines, light beside dark, so that they show on any field."""
    return (
        f'<defs><pattern id="{key}" width="2" height="2" patternUnits="userSpaceOnUse" '
        'patternTransform="rotate(45)"><path d="M0 0V2" stroke="#fff" stroke-opacity=".55" '
        'stroke-width=".5"/><path d="M.4 0V2" stroke="#000" stroke-opacity=".5" '
        'stroke-width=".3"/></pattern></defs>'
    )


def _block(
    placed: PlacedBlock, names: Sequence[str], hatch: str, *, paper: Triple8
) -> Iterator[str]:
    tells = placed.block.kind in (OVERPRINTS, DARKEST)
    for field, box in zip(placed.block.fields, placed.fields, strict=True):
        title = f"<title>{escape(_words(names, field))}</title>" if tells else ""
        if any(field.tone_pct):
            yield _rect(box, _fill(field.srgb8), title)
        elif tells:  # bare paper on paper: an edge shows that it is a field
            edge = 'fill="none" stroke="#000" stroke-opacity=".22" stroke-width=".2"'
            yield _rect(box, f'pointer-events="all" {edge}', title)
        if field.is_over:
            yield _rect(box, f'fill="url(#{hatch})" pointer-events="none"')
        if not field.in_srgb:
            yield _corner(box, paper)
    for place, bridge in bridges(placed, gap_mm=FRAME.gap, line_mm=0.5):
        yield _rect(bridge, _fill(placed.block.fields[place].srgb8))


def _words(names: Sequence[str], field: Field) -> str:
    """The tooltip of a field."""
    name = f"{field.name}: " if field.name else ""
    over = ", over the limit" if field.is_over else ""
    outside = ", outside sRGB" if not field.in_srgb else ""
    return (
        f"{name}{mix_words(names, field)}, L* {field.lab[0]:.1f} ± {field.error_L:.1f}, "
        f"dE00 ± {field.error_de00:.1f}, {field.total_pct:g} % ink{over}{outside}"
    )


def _rect(box: Box, look: str, inside: str = "") -> str:
    place = " ".join(
        f'{name}="{_number(value)}"'
        for name, value in (("x", box.x), ("y", box.y), ("width", box.width),
                            ("height", box.height))
    )  # fmt: skip
    return f"<rect {place} {look}>{inside}</rect>" if inside else f"<rect {place} {look}/>"


def _corner(box: Box, paper: Triple8) -> str:
    side = min(1.6, 0.3 * box.width, 0.3 * box.height)
    x, y = _number(box.right - side), _number(box.y)
    size = _number(side)
    return f'<path d="M{x} {y}h{size}v{size}z" {_fill(paper)}/>'


def _fill(srgb8: Triple8) -> str:
    return 'fill="#{:02x}{:02x}{:02x}"'.format(*srgb8)


def _number(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".")
