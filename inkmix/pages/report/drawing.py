"""Inline SVG: elements, hatching, and fields of colour.

Horizontal places are percentages and sizes of lettering are pixels, so that a drawing narrows with
the page while its words stay readable.
"""

from collections.abc import Mapping, Sequence

from markupsafe import Markup, escape


def element(name: str, attributes: Mapping[str, object], *children: Markup) -> Markup:
    """One SVG element; attribute values are escaped, numbers kept to a hundredth."""
    parts = (f'{key}="{escape(_text(value))}"' for key, value in attributes.items())
    return Markup("<{0} {1}>{2}</{0}>").format(
        Markup(name), Markup(" ".join(parts)), Markup("").join(children)
    )


def _text(value: object) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".") if isinstance(value, float) else str(value)


def pct(value: float) -> str:
    """A length in per cent of the drawing."""
    return f"{_text(float(value))}%"


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
        element("rect", {"y": 0.6, "width": 7, "height": 1.2, "fill": "#1d1b18"}),
    )


def fields(colours: Sequence[tuple[int, int, int] | None], paper: tuple[int, int, int]) -> Markup:
    """Fields that touch each other, on the paper's colour; None leaves the paper bare.

    Each reaches under the next, so that no line of paper shows between two.
    """
    shapes = [element("rect", {"width": "100%", "height": "100%", "fill": _hex(paper)})]
    for place, colour in enumerate(colours):
        left = 8 + 84 * place / len(colours)
        reach = 92 - left if colour else 84 / len(colours)
        box = {"x": pct(left), "y": "14%", "width": pct(reach), "height": "72%"}
        bare = {"fill": "none", "stroke": "#6b655a", "stroke-dasharray": "3 3"}
        shapes.append(element("rect", box | ({"fill": _hex(colour)} if colour else bare)))
    return element("svg", {"class": "fields", "aria-hidden": "true"}, *shapes)


def _hex(srgb8: tuple[int, int, int]) -> str:
    return "#{:02x}{:02x}{:02x}".format(*srgb8)
