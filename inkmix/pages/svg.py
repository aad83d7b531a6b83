"""Inline SVG, for every page: elements, lettering, lines, hatching, fields of colour, histograms.

What more than one drawing needs stands here; drawings of one page are built of it beside that page.
Horizontal places of a drawing that narrows with the page are percentages and sizes of lettering are
pixels, so that its words stay readable.
"""

from collections.abc import Iterable, Mapping, Sequence

from markupsafe import Markup, escape

from inkmix.checks.chart import Axis, Histogram, Line

DARK = "#1d1b18"
TOP_PX, BASE_PX, HEIGHT_PX = 46, 152, 194
LEFT_PCT, RIGHT_PCT = 2.0, 98.0
NEAR_EDGE_PCT = 28.0  # room for a dozen letters at phone width
Triple8 = tuple[int, int, int]


def element(name: str, attributes: Mapping[str, object], *children: Markup) -> Markup:
    """One SVG element; attribute values are escaped, numbers kept to a hundredth."""
    head = " ".join([name, *(f'{key}="{escape(attribute(v))}"' for key, v in attributes.items())])
    inside = "".join(children)
    return Markup(f"<{head}>{inside}</{name}>" if inside else f"<{head}/>")


def attribute(value: object) -> str:
    """A value as an attribute holds it."""
    return f"{value:.2f}".rstrip("0").rstrip(".") if isinstance(value, float) else str(value)


def hexed(srgb8: Triple8) -> str:
    """An 8-bit colour as #rrggbb."""
    return "#{:02x}{:02x}{:02x}".format(*srgb8)


def pct(value: float) -> str:
    """A length in per cent of the drawing."""
    return f"{attribute(float(value))}%"


def title(text: str) -> Markup:
    """A tooltip."""
    return Markup("<title>{}</title>").format(text)


def polyline(points: Iterable[tuple[float, float]], attributes: Mapping[str, object]) -> Markup:
    """A line through points."""
    places = " ".join(f"{attribute(float(x))},{attribute(float(y))}" for x, y in points)
    return element("polyline", {**attributes, "points": places})


def rule(x1: float, y1: float, x2: float, y2: float, attributes: Mapping[str, object]) -> Markup:
    """A straight line."""
    return element("line", {**attributes, "x1": x1, "y1": y1, "x2": x2, "y2": y2})


def dot(x: float, y: float, r: float, attributes: Mapping[str, object], *inside: Markup) -> Markup:
    """A disc or a ring."""
    return element("circle", {**attributes, "cx": x, "cy": y, "r": r}, *inside)


def label(text: str, attributes: Mapping[str, object]) -> Markup:
    """Lettering."""
    return element("text", attributes, escape(text))


def definitions(plan_uri: str) -> Markup:
    """The hatchings and the plan's picture, once a page."""
    return element(
        "svg",
        {"width": 0, "height": 0, "class": "definitions", "aria-hidden": "true"},
        _pattern("hatch-slant", "rotate(45)"),
        _pattern("hatch-level", "rotate(0)"),
        _pattern("hatch-dots", "rotate(-45)"),
        element(
            "symbol",
            {"id": "plan-picture", "viewBox": "0 0 100 100", "preserveAspectRatio": "none"},
            element(
                "image",
                {"width": 100, "height": 100, "preserveAspectRatio": "none", "href": plan_uri},
            ),
        ),
    )


def _pattern(key: str, transform: str) -> Markup:
    """Dark lines with a white edge, so that they show on night and on paper."""
    shape = {"id": key, "width": 7, "height": 7, "patternUnits": "userSpaceOnUse"}
    return element(
        "pattern",
        shape | {"patternTransform": transform},
        element("rect", {"y": 0, "width": 7, "height": 2.4, "fill": "#fff", "fill-opacity": 0.75}),
        element("rect", {"y": 0.6, "width": 7, "height": 1.2, "fill": DARK}),
    )


def fields(colours: Sequence[Triple8 | None], paper: Triple8) -> Markup:
    """Fields that touch each other, on the paper's colour; None leaves the paper bare.

    Each reaches under the next, so that no line of paper shows between two.
    """
    shapes = [element("rect", {"width": "100%", "height": "100%", "fill": hexed(paper)})]
    for place, colour in enumerate(colours):
        left = 8 + 84 * place / len(colours)
        reach = 92 - left if colour else 84 / len(colours)
        box = {"x": pct(left), "y": "14%", "width": pct(reach), "height": "72%"}
        bare = {"fill": "none", "stroke": "#6b655a", "stroke-dasharray": "3 3"}
        shapes.append(element("rect", box | ({"fill": hexed(colour)} if colour else bare)))
    return element("svg", {"class": "fields", "aria-hidden": "true"}, *shapes)


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
    return [_limit(limit, axis, to_right=not to_right), _reached(reached, axis, to_right=to_right)]


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
