"""The plan of the sheet: the picture, its panels, the outline of each place, numbers in the margin.

Marks are outlines and hatching in dark on white, never a flat colour over the picture; numbers
stand above or below it, where no other does, on lines that lead to their places.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from markupsafe import Markup

from inkmix.base.arrays import FloatArray
from inkmix.base.words import shortened
from inkmix.jobs.answer import SheetFacts
from inkmix.pages.report.margins import MARGIN_PX, Label, set_apart
from inkmix.pages.svg import attribute, element, label, pct
from inkmix.sheet.geometry import Panel

WIDEST_ROW = 3.4  # width to height; a longer strip is drawn in rows of panels
SMALLEST_PCT = 0.9  # of the row's width: a speck is outlined this large at least
UNITS = 1000  # of a drawing, across a row
TOGETHER_PCT = 15.0  # places of one finding nearer than this share one number
PANEL_NAME_CHARS = 48  # that a row's panel names may have together at phone width


Rectangle = tuple[float, float, float, float]
"""x, y, width and height in mm from the trim's top left corner."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A number, and what it stands for.

    Parameters
    ----------
    hatch : str
        One of the page's patterns, as its check says.
    places : tuple of (x, y, width, height)
        In mm from the trim's top left corner, largest first.
    outlines : sequence of (N, 2) ndarray
        Of the pixels in them, in mm; empty: the places are outlined.
    """

    number: int
    hatch: str
    dashed: bool
    places: tuple[Rectangle, ...]
    outlines: Sequence[FloatArray] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """The part of the sheet that one row of the plan shows, in mm from the trim."""

    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float

    def x_pct(self, x_mm: float) -> float:
        """Horizontal place in the row."""
        return 100 * (x_mm - self.x_mm) / self.width_mm

    def y_pct(self, y_mm: float) -> float:
        """Vertical place in the row."""
        return 100 * (y_mm - self.y_mm) / self.height_mm


def plan(sheet: SheetFacts, marks: Sequence[Mark]) -> Markup:
    """The sheet with its panels and numbered outlines; a long strip in rows of panels."""
    rows = plan_rows(sheet)
    return Markup("").join(_row(sheet, row, marks) for row in rows)


def plan_rows(sheet: SheetFacts) -> tuple[Row, ...]:
    """Parts of the sheet that are drawn under one another, all at one scale.

    Only a single row of panels is parted, at equal steps; any other sheet is drawn whole.
    """
    width, height = sheet.width_mm + 2 * sheet.bleed_mm, sheet.height_mm + 2 * sheet.bleed_mm
    single = len({round(panel.y_mm, 1) for panel in sheet.panels}) == 1
    aspect = width / height
    count = -(-aspect // WIDEST_ROW) if single and aspect > WIDEST_ROW else 1
    count = int(min(count, max(len(sheet.panels), 1)))
    return tuple(
        Row(
            x_mm=-sheet.bleed_mm + k * width / count,
            y_mm=-sheet.bleed_mm,
            width_mm=width / count,
            height_mm=height,
        )
        for k in range(count)
    )


def _row(sheet: SheetFacts, row: Row, marks: Sequence[Mark]) -> Markup:
    leads = list(_leads(marks, row))
    above, below = (
        set_apart([lead for lead in leads if lead.is_above is side]) for side in (True, False)
    )
    width = sheet.width_mm + 2 * sheet.bleed_mm
    picture = {
        "href": "#plan-picture",
        "x": pct(100 * (-sheet.bleed_mm - row.x_mm) / row.width_mm),
        "width": pct(100 * width / row.width_mm),
        "height": "100%",
    }
    drawn = element(
        "svg",
        {
            "class": "plan-row",
            "style": f"aspect-ratio: {row.width_mm:.1f} / {row.height_mm:.1f}",
            "aria-hidden": "true",
        },
        element("use", picture),
        *_edges(sheet, row),
        *(_outlined(mark, row) for mark in marks),
        *(line for one in (*above, *below) for line in _inside(one)),
    )
    part = Markup('<div class="plan-part">{}{}{}{}</div>')
    names = _panel_names(sheet.panels, row)
    return part.format(names, _margin(above, is_above=True), drawn, _margin(below, is_above=False))


def _panel_names(panels: Sequence[Panel], row: Row) -> Markup:
    middles = [(panel, row.x_pct(panel.x_mm + panel.width_mm / 2)) for panel in panels]
    shown = [(panel, x) for panel, x in middles if 0 < x < 100 and panel.y_mm <= panels[0].y_mm]
    if not shown:
        return Markup("")
    chars = max(PANEL_NAME_CHARS // len(shown), 2)
    words = [
        label(shortened(panel.name, chars), {"x": pct(x), "y": 14, "text-anchor": "middle"})
        for panel, x in shown
    ]
    return element("svg", {"class": "plan-names", "aria-hidden": "true"}, *words)


def _edges(sheet: SheetFacts, row: Row) -> list[Markup]:
    """Trim and panels, as fine double lines."""
    boxes = [_box(row, p.x_mm, p.y_mm, p.width_mm, p.height_mm) for p in sheet.panels]
    boxes.append(_box(row, 0.0, 0.0, sheet.width_mm, sheet.height_mm))
    white = {"fill": "none", "stroke": "#fff", "stroke-opacity": 0.7}
    dark = {"fill": "none", "stroke": "#1d1b18", "stroke-dasharray": "1 4"}
    return [element("rect", box | pen) for box in boxes for pen in (white, dark)]


def _box(row: Row, x_mm: float, y_mm: float, width_mm: float, height_mm: float) -> dict[str, str]:
    return {
        "x": pct(row.x_pct(x_mm)),
        "y": pct(row.y_pct(y_mm)),
        "width": pct(100 * width_mm / row.width_mm),
        "height": pct(100 * height_mm / row.height_mm),
    }


def _outlined(mark: Mark, row: Row) -> Markup:
    """The outlines of a mark as far as they lie in a row; specks as large as can be seen."""
    shapes = [_corners(_grown(place, row)) for place in mark.places]
    if len(mark.outlines):
        specks = [one for one in mark.places if max(one[2], one[3]) < _least_mm(row)]
        shapes = [*mark.outlines, *(_corners(_grown(one, row)) for one in specks)]
    path = "".join(_path(corners, row) for corners in shapes if _meets(corners, row))
    if not path:
        return Markup("")
    pen = {"d": path, "vector-effect": "non-scaling-stroke", "stroke-linejoin": "round"}
    dashes = {"stroke-dasharray": "7 4"} if mark.dashed else {}
    under = {"fill": f"url(#{mark.hatch})", "fill-rule": "evenodd", "stroke": "#fff"}
    over = {"fill": "none", "stroke": "#1d1b18", "stroke-width": 1.6}
    height = UNITS * row.height_mm / row.width_mm
    return element(
        "svg",
        {
            "viewBox": f"0 0 {UNITS} {height:.1f}",
            "preserveAspectRatio": "none",
            "aria-hidden": "true",
        },
        element("path", pen | under | {"stroke-width": 4}),
        element("path", pen | over | dashes),
    )


def _least_mm(row: Row) -> float:
    return SMALLEST_PCT / 100 * row.width_mm


def _grown(place: Rectangle, row: Row) -> Rectangle:
    """The rectangle, a speck enlarged about its middle so that it can be seen."""
    x, y, width, height = place
    wide, high = max(width, _least_mm(row)), max(height, _least_mm(row))
    return x - (wide - width) / 2, y - (high - height) / 2, wide, high


def _corners(place: Rectangle) -> FloatArray:
    x, y, width, height = place
    right, bottom = x + width, y + height
    return np.array([(x, y), (right, y), (right, bottom), (x, bottom)])


def _meets(corners: FloatArray, row: Row) -> bool:
    return bool(corners[:, 0].min() < row.x_mm + row.width_mm and corners[:, 0].max() > row.x_mm)


def _path(corners: FloatArray, row: Row) -> str:
    scale = UNITS / row.width_mm
    places = (corners - (row.x_mm, row.y_mm)) * scale
    return "M" + "L".join(f"{attribute(float(x))} {attribute(float(y))}" for x, y in places) + "Z"


def _leads(marks: Sequence[Mark], row: Row) -> Iterator[Label]:
    """Where numbers are led to: one a place, but one only where places of a number lie close."""
    for mark in marks:
        said: list[float] = []
        for place in mark.places:
            if not _meets(_corners(place), row):
                continue
            is_above = place[1] + place[3] / 2 < row.y_mm + row.height_mm / 2
            x, y = _end(mark, place, row, is_above=is_above)
            if all(abs(at - x) > TOGETHER_PCT for at in said):
                said.append(x)
                yield Label(number=mark.number, x_pct=x, y_pct=y, is_above=is_above)


def _end(mark: Mark, place: Rectangle, row: Row, *, is_above: bool) -> tuple[float, float]:
    """The highest corner of a place, or the lowest; the middle of its edge where it has none."""
    x, y, width, height = _grown(place, row)
    ends = [(x + width / 2, y if is_above else y + height)]
    for corners in mark.outlines:
        inside = (corners >= (x - 1, y - 1)).all(axis=1)
        inside &= (corners <= (x + width + 1, y + height + 1)).all(axis=1)
        ends += [(float(a), float(b)) for a, b in corners[inside]]
    here = [end for end in ends[1:] if 0 < row.x_pct(end[0]) < 100] or ends[:1]
    chosen = min(here, key=lambda end: end[1]) if is_above else max(here, key=lambda end: end[1])
    return (
        min(max(row.x_pct(chosen[0]), 0.5), 99.5),
        min(max(row.y_pct(chosen[1]), 0.0), 100.0),
    )


def _inside(one: Label) -> list[Markup]:
    """The part of a leader line that lies over the picture, straight up or down."""
    edge = 0.0 if one.is_above else 100.0
    ends = {"x1": pct(one.x_pct), "x2": pct(one.x_pct), "y1": pct(edge), "y2": pct(one.y_pct)}
    return [element("line", ends | pen) for pen in _LEADERS]


_LEADERS = (
    {"stroke": "#fff", "stroke-width": 3.5},
    {"stroke": "#1d1b18", "stroke-width": 1.2},
)


def _margin(labels: Sequence[Label], *, is_above: bool) -> Markup:
    """Numbers in the margin, each with the outer part of its line."""
    if not labels:
        return Markup("")
    height = MARGIN_PX * (1 + max(one.tier for one in labels)) + 8
    edge = height if is_above else 0
    lines, numbers = [], []
    for one in labels:
        away = 14 + MARGIN_PX * one.tier + 8
        y = height - away if is_above else away
        ends = {"x1": pct(one.stands_pct), "y1": y, "x2": pct(one.x_pct), "y2": edge}
        lines.append(element("line", ends | _LEADERS[1]))
        numbers.append(_number(one.number, one.stands_pct, y))
    shape = {"class": "plan-margin", "height": height, "aria-hidden": "true"}
    return element("svg", shape, *lines, *numbers)


def _number(number: int, x_pct: float, y_px: float) -> Markup:
    width = 20 if number < 10 else 26
    plate = {"x": -width / 2, "y": -10, "width": width, "height": 20, "fill": "#fff"}
    return element(
        "svg",
        {"x": pct(x_pct), "y": y_px, "class": "number"},
        element("rect", plate | {"stroke": "#1d1b18", "stroke-width": 1.5}),
        label(str(number), {"y": 5, "text-anchor": "middle"}),
    )
