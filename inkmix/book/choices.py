"""Rules on how a colour is given: each ink and the paper in exactly one way."""

from collections.abc import Iterator

from inkmix.base.errors import Fault
from inkmix.base.quoting import quoted
from inkmix.base.words import either, listing
from inkmix.book.faults import shown
from inkmix.book.statements import KeyPath
from inkmix.book.view import View
from inkmix.press.constants import PAPER_CLASSES

INK_COLOURS = ("swatch", "lab", "xyz", "density", "srgb", "measurements")
PAPER_COLOURS = ("swatch", "lab", "xyz", "srgb", "measurements")


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
