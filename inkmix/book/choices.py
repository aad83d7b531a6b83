"""Rules on what is given how: colours of inks and paper, areas of night, intents of tones."""

from collections.abc import Iterator
from typing import Any

from inkmix.base.errors import Fault
from inkmix.base.quoting import quoted
from inkmix.base.words import either, listing, size_of
from inkmix.book.faults import shown
from inkmix.book.statements import KeyPath
from inkmix.book.values import MIN_PANEL_MM
from inkmix.book.view import View
from inkmix.press.constants import PAPER_CLASSES

INK_COLOURS = ("swatch", "lab", "xyz", "density", "srgb", "measurements")
PAPER_COLOURS = ("swatch", "lab", "xyz", "srgb", "measurements")
NIGHT_AREAS = ("mask", "rect_mm", "rule")


def colours(view: View) -> Iterator[Fault]:
    """Every ink and the paper have exactly one colour."""
    for path, ink in view.tables("inks"):
        yield from _exactly_one(view, path, INK_COLOURS, f"the ink {shown(ink.get('name', ''))}")
        if "column" in ink and not view.given(path, "measurements"):
            yield view.fault((*path, "column"), "belongs to measurements, which is missing")
    if "paper" in view.data:
        yield from _exactly_one(view, ("paper",), PAPER_COLOURS, "the paper")
        if not view.given(("paper",), "swatch") and not view.given(("paper",), "class"):
            do = f"write class = {either([quoted(word) for word in PAPER_CLASSES])}"
            expected = "a paper given by its colour needs one"
            yield view.fault(("paper",), "has no class", expected, do)


def _exactly_one(view: View, path: KeyPath, keys: tuple[str, ...], what: str) -> Iterator[Fault]:
    given = [key for key in keys if view.given(path, key)]
    if len(given) == 1:
        return
    colour = "has no colour" if not given else f"is given by {listing(given)}"
    expected = f"exactly one of {listing(keys)} is needed"
    do = "" if given else 'if nothing is measured yet, srgb = "#rrggbb" serves as a hint'
    yield view.fault(path, f"{what} {colour}", expected, do)


def areas(view: View) -> Iterator[Fault]:
    """Every night area is given in exactly one way."""
    for path, night in view.tables("night"):
        given = [key for key in NIGHT_AREAS if view.given(path, key)]
        if len(given) != 1:
            found = "has no area" if not given else f"is given by {listing(given)}"
            yield view.fault(path, found, "exactly one of mask, rect_mm and rule is needed")
        if "mask_shows" in night and not view.given(path, "mask"):
            yield view.fault((*path, "mask_shows"), "belongs to mask, which is missing")
        yield from _rect(view, path, night)


def _rect(view: View, path: KeyPath, night: dict[str, Any]) -> Iterator[Fault]:
    if "rect_mm" not in night:
        return
    x, y, width, height = night["rect_mm"]
    path = (*path, "rect_mm")
    if width <= 0 or height <= 0:
        yield view.fault(path, f"is {size_of(width, height, 'mm')}", "it has an area")
        return
    strip = view.table("strip")
    if not {"panels", "panel_mm"} <= strip.keys() or min(strip["panel_mm"]) < MIN_PANEL_MM:
        return
    trim_width, trim_height = strip["panels"] * strip["panel_mm"][0], strip["panel_mm"][1]
    if x >= trim_width or y >= trim_height or x + width <= 0 or y + height <= 0:
        expected = f"the strip measures {size_of(trim_width, trim_height, 'mm')}"
        yield view.fault(path, "lies wholly off the sheet", expected)


def intents(view: View) -> Iterator[Fault]:
    """A tone is intended once, and a tolerance has something to compare with."""
    for path, tone in view.tables("tones"):
        both = [key for key in ("intended", "lab") if view.given(path, key)]
        if len(both) == 2:
            yield view.fault(path, "is given by intended and lab", "only one of them can apply")
        if "tolerance_de00" in tone and not both:
            expected = "intended or lab is needed"
            yield view.fault((*path, "tolerance_de00"), "has nothing to compare with", expected)
