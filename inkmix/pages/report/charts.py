"""Histograms as inline SVG, with the limit as a line and the part beyond it hatched."""

from markupsafe import Markup

from inkmix.checks.chart import Axis, Histogram, Line
from inkmix.pages.report.drawing import element, label, pct

TOP_PX, BASE_PX, HEIGHT_PX = 46, 152, 194
LEFT_PCT, RIGHT_PCT = 2.0, 98.0
NEAR_EDGE_PCT = 28.0  # room for a dozen letters at phone width
DARK = "#1d1b18"


def _x_pct(axis: Axis, value: float) -> float:
    """Place of a value in the drawing."""
    part = (value - axis.start) / (axis.stop - axis.start)
    return LEFT_PCT + min(max(part, 0.0), 1.0) * (RIGHT_PCT - LEFT_PCT)


def histogram(chart: Histogram) -> Markup:
    """Bars of (value from, share in %); those beyond the limit are hatched."""
    axis, limit = chart.axis, chart.limit
    top = max((share for _, share in chart.bars), default=0.0) or 1.0
    beyond = limit.value if limit else axis.stop + chart.step
    shown = [bar for bar in chart.bars if bar[1] > 0]
    drawn = [_bar(bar, step=chart.step, axis=axis, top=top, beyond=beyond) for bar in shown]
    lines = _lines(limit, chart.reached, axis)
    shape = {"class": "chart", "height": HEIGHT_PX, "aria-hidden": "true"}
    return element("svg", shape, *drawn, *_bottom(axis), *lines)


def _bar(bar: tuple[float, float], *, step: float, axis: Axis, top: float, beyond: float) -> Markup:
    start, share = bar
    x, right = _x_pct(axis, start), _x_pct(axis, start + step)
    height = max((BASE_PX - TOP_PX) * share / top, 1.5)
    box = {"x": pct(x), "width": pct(max(right - x - 0.12, 0.1)), "y": BASE_PX - height}
    hatched = {"fill": "url(#hatch-slant)", "stroke": DARK}
    over = start + step / 2 > beyond
    return element("rect", box | {"height": height} | (hatched if over else {"fill": "#57524a"}))


def _bottom(axis: Axis) -> list[Markup]:
    base = {"x1": "0", "x2": "100%", "y1": BASE_PX, "y2": BASE_PX, "stroke": DARK}
    parts = [element("line", base)]
    value = -(-axis.start // axis.tick) * axis.tick
    while value <= axis.stop:
        parts.append(_tick(value, axis))
        value += axis.tick
    words = {"x": "50%", "y": HEIGHT_PX - 6, "text-anchor": "middle"}
    return [*parts, label(axis.words, words)]


def _tick(value: float, axis: Axis) -> Markup:
    x = _x_pct(axis, value)
    line = {"x1": pct(x), "x2": pct(x), "y1": BASE_PX, "y2": BASE_PX + 5, "stroke": DARK}
    place = {"x": pct(x), "y": BASE_PX + 19, "text-anchor": "middle"}
    return element("line", line) + label(f"{value:.0f}", place)


def _lines(limit: Line | None, reached: Line | None, axis: Axis) -> list[Markup]:
    """Both lines, each with its words on the side away from the other."""
    if limit is None:
        return [_reached(reached, axis, to_right=True)] if reached else []
    if reached is None:
        return [_limit(limit, axis, to_right=False)]
    to_right = reached.value >= limit.value
    return [
        _limit(limit, axis, to_right=not to_right),
        _reached(reached, axis, to_right=to_right),
    ]


def _limit(limit: Line, axis: Axis, *, to_right: bool) -> Markup:
    x = _x_pct(axis, limit.value)
    shape = {"x1": pct(x), "x2": pct(x), "y1": 4, "y2": BASE_PX, "stroke": DARK}
    return element("line", shape | {"stroke-width": 2}) + _words(
        limit.words, x, y_px=13, to_right=to_right
    )


def _reached(reached: Line, axis: Axis, *, to_right: bool) -> Markup:
    x = _x_pct(axis, reached.value)
    left = _x_pct(axis, reached.value - reached.error)
    right = _x_pct(axis, reached.value + reached.error)
    span = {"x1": pct(left), "x2": pct(right), "y1": 42, "y2": 42, "stroke": DARK}
    dashes = {"x1": pct(x), "x2": pct(x), "y1": 36, "y2": BASE_PX, "stroke": DARK}
    return (
        element("line", span | {"stroke-width": 3})
        + element("line", dashes | {"stroke-dasharray": "2 3"})
        + _words(reached.words, x, y_px=31, to_right=to_right)
    )


def _words(text: str, x_pct: float, *, y_px: int, to_right: bool) -> Markup:
    """Lettering beside a line, on the side asked for where that has room."""
    rightwards = x_pct < NEAR_EDGE_PCT or (to_right and x_pct < 100 - NEAR_EDGE_PCT)
    anchor, shift = ("start", 5) if rightwards else ("end", -5)
    return label(text, {"x": pct(x_pct), "y": y_px, "dx": shift, "text-anchor": anchor})
