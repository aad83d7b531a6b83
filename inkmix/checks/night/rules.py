"""What a book's [[night]] tables must keep beside the ranges of their keys."""

from collections.abc import Iterator
from typing import Any

from inkmix.base.errors import Fault
from inkmix.base.words import listing, size_of
from inkmix.book.statements import KeyPath
from inkmix.book.values import MIN_PANEL_MM
from inkmix.book.view import View

NIGHT_AREAS = ("mask", "rect_mm", "rule")


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
