"""Rules on how a colour is given: each ink and the paper in exactly one way."""

from collections.abc import Iterator
from typing import Any

from inkmix.base.errors import Fault
from inkmix.base.quoting import quoted
from inkmix.base.words import either, listing
from inkmix.base.words import mix as mix_words
from inkmix.book.faults import shown
from inkmix.book.statements import KeyPath
from inkmix.book.view import View
from inkmix.press.constants import PAPER_CLASSES

INK_COLOURS = ("swatch", "lab", "xyz", "density", "srgb", "measurements")
MEASURED_COLOURS = ("lab", "xyz", "density", "looks_like")
PAPER_COLOURS = ("swatch", "lab", "xyz", "srgb", "measurements")
READ_ON_PAPER = ("lab", "xyz", "density", "measurements")
"""Ways to tell an ink that are readings of a print; others hold for the paper of the book."""


def colours(view: View) -> Iterator[Fault]:
    """Every ink and the paper have exactly one colour."""
    for path, ink in view.tables("inks"):
        yield from _exactly_one(view, path, INK_COLOURS, f"the ink {shown(ink.get('name', ''))}")
        if "column" in ink and not view.given(path, "measurements"):
            yield view.fault((*path, "column"), "belongs to measurements, which is missing")
        yield from _other_paper(view, path, ink)
    for path, measured in view.tables("measured"):
        what = f"the measured mix {mix_words(measured.get('mix', {}))}"
        yield from _exactly_one(view, path, MEASURED_COLOURS, what, hint="looks_like")
        yield from _mix_faults(view, path, measured.get("mix"))
    if view.given(("press",), "condition") and view.given(("press",), "overprints"):
        do = "leave overprints out: mixes belong into the readings that calibrate is given"
        yield view.fault(("press", "overprints"), "stands beside condition", "one of them", do)
    if "paper" in view.data:
        yield from _paper(view, ("paper",), "the paper")


def _other_paper(view: View, path: KeyPath, ink: dict[str, Any]) -> Iterator[Fault]:
    """The paper that an ink was measured on is told as that of the book is."""
    if "measured_on" not in ink:
        return
    path = (*path, "measured_on")
    if not any(view.given(path[:-1], name) for name in READ_ON_PAPER):
        found = f"belongs to {either(READ_ON_PAPER)}, none of which is given"
        yield view.fault(path, found, do="leave it out")
    yield from _paper(view, path, "the paper of the measurement")


def _paper(view: View, path: KeyPath, what: str) -> Iterator[Fault]:
    yield from _exactly_one(view, path, PAPER_COLOURS, what)
    if not view.given(path, "swatch") and not view.given(path, "class"):
        do = f"write class = {either([quoted(word) for word in PAPER_CLASSES])}"
        expected = "a paper given by its colour needs one"
        yield view.fault(path, "has no class", expected, do)


def _mix_faults(view: View, path: KeyPath, mix: dict[str, float] | None) -> Iterator[Fault]:
    """A mix holds two inks at least: single inks are told where they are listed."""
    held = [] if mix is None else [name for name, tone_pct in mix.items() if tone_pct > 0]
    if mix is None or len(held) > 1:
        return
    found = f"holds {held[0]} alone" if held else "holds no ink"
    do = "tell a single ink at [[inks]]: its solid by lab, tints of it by a measurement file"
    yield view.fault((*path, "mix"), found, "a mix holds two inks at least", do)


def _exactly_one(
    view: View, path: KeyPath, keys: tuple[str, ...], what: str, *, hint: str = "srgb"
) -> Iterator[Fault]:
    given = [key for key in keys if view.given(path, key)]
    if len(given) == 1:
        return
    colour = "has no colour" if not given else f"is given by {listing(given)}"
    expected = f"exactly one of {listing(keys)} is needed"
    do = "" if given else f'if nothing is measured yet, {hint} = "#rrggbb" serves as a hint'
    yield view.fault(path, f"{what} {colour}", expected, do)
