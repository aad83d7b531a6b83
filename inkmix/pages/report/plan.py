"""The plan of the sheet: the picture, its panels, and a numbered outline for each place.

Marks are outlines and hatching in dark on white, never a flat colour over the picture. Millimetres
are turned into percentages of a row here; nothing else is computed.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from inkmix.base.words import shortened
from inkmix.jobs.answer import SheetFacts
from inkmix.pages.svg import element, label, pct
from inkmix.sheet.geometry import Panel

WIDEST_ROW = 3.4  # width to height; a longer strip is drawn in rows of panels
SMALLEST_PCT = 0.9  # of the row's width: a speck is outlined this large at least
APART_X_PCT, APART_Y_PCT = 3.2, 11.0  # numbers nearer than this would cover one another
TOGETHER_PCT = 15.0  # places of one finding nearer than this share one number
PANEL_NAME_CHARS = 48  # that a row's panel names may have together at phone width


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A numbered rectangle in mm from the trim's top left corner."""

    number: int
    hatch: str  # one of the page's patterns, as its check says
    dashed: bool
    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float


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
    width = sheet.width_mm + 2 * sheet.bleed_mm
    picture = {
        "href": "#plan-picture",
        "x": pct(100 * (-sheet.bleed_mm - row.x_mm) / row.width_mm),
        "width": pct(100 * width / row.width_mm),
        "height": "100%",
    }
    here = [mark for mark in marks if _meets(mark, row)]
    drawn = element(
        "svg",
        {
            "class": "plan-row",
            "style": f"aspect-ratio: {row.width_mm:.1f} / {row.height_mm:.1f}",
            "aria-hidden": "true",
        },
        element("use", picture),
        *_edges(sheet, row),
        *(_outline(mark, row) for mark in here),
        *_numbers(here, row),
    )
    part = Markup('<div class="plan-part">{}{}</div>')
    return part.format(_panel_names(sheet.panels, row), drawn)


def _meets(mark: Mark, row: Row) -> bool:
    return mark.x_mm < row.x_mm + row.width_mm and mark.x_mm + mark.width_mm > row.x_mm


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


def _grown(mark: Mark, row: Row) -> tuple[float, float, float, float]:
    """The rectangle, a speck enlarged about its middle so that it can be seen."""
    least = SMALLEST_PCT / 100 * row.width_mm
    width, height = max(mark.width_mm, least), max(mark.height_mm, least)
    x = mark.x_mm - (width - mark.width_mm) / 2
    y = mark.y_mm - (height - mark.height_mm) / 2
    return x, y, width, height


def _outline(mark: Mark, row: Row) -> Markup:
    box = _box(row, *_grown(mark, row))
    dashes = {"stroke-dasharray": "7 4"} if mark.dashed else {}
    under = {"fill": f"url(#{mark.hatch})", "stroke": "#fff", "stroke-width": 4.5}
    over = {"fill": "none", "stroke": "#1d1b18", "stroke-width": 2}
    return element("rect", box | under) + element("rect", box | over | dashes)


def _numbers(marks: Sequence[Mark], row: Row) -> list[Markup]:
    """One number to a mark, but one only where marks of a number lie close together."""
    set_down: list[tuple[int, float, float]] = []
    for mark in marks:
        middle = row.x_pct(mark.x_mm + mark.width_mm / 2)
        said = [x for number, x, _ in set_down if number == mark.number]
        if all(abs(x - middle) > TOGETHER_PCT for x in said):
            taken = [(x, y) for _, x, y in set_down]
            set_down.append((mark.number, *_free_place(mark, row, taken)))
    return [_number(number, x, y) for number, x, y in set_down]


def _free_place(mark: Mark, row: Row, taken: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """A corner, the middle, or a step aside, where no other number stands."""
    x, y, width, height = _grown(mark, row)
    speck = 100 * width / row.width_mm < APART_X_PCT
    aside = (-APART_X_PCT / 100 * row.width_mm / width, 0.0) if speck else (0.0, 0.0)
    ways = [aside, (0.0, 0.0), (1.0, 0.0), (0.0, 1.0), (1.0, 1.0), (0.5, 0.5)]
    tried = [_inside(row, x + across * width, y + down * height) for across, down in ways]
    for k in range(1, 9):
        tried.append(_inside(row, x + k * APART_X_PCT / 100 * row.width_mm, y))
    return next((spot for spot in tried if _is_free(spot, taken)), tried[0])


def _inside(row: Row, x_mm: float, y_mm: float) -> tuple[float, float]:
    x, y = row.x_pct(x_mm), row.y_pct(y_mm)
    return min(max(x, 1.8), 98.2), min(max(y, 7.0), 93.0)


def _is_free(spot: tuple[float, float], taken: Sequence[tuple[float, float]]) -> bool:
    return not any(
        abs(spot[0] - x) < APART_X_PCT and abs(spot[1] - y) < APART_Y_PCT for x, y in taken
    )


def _number(number: int, x_pct: float, y_pct: float) -> Markup:
    width = 20 if number < 10 else 26
    plate = {"x": -width / 2, "y": -10, "width": width, "height": 20, "fill": "#fff"}
    return element(
        "svg",
        {"x": pct(x_pct), "y": pct(y_pct), "class": "number"},
        element("rect", plate | {"stroke": "#1d1b18", "stroke-width": 1.5}),
        label(str(number), {"y": 5, "text-anchor": "middle"}),
    )
