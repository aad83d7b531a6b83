"""What a book's [[tones]] tables must keep beside the ranges of their keys."""

from collections.abc import Iterator

from inkmix.base.errors import Fault
from inkmix.book.view import View


def intents(view: View) -> Iterator[Fault]:
    """A tone is intended once, and a tolerance has something to compare with."""
    for path, tone in view.tables("tones"):
        both = [key for key in ("intended", "lab") if view.given(path, key)]
        if len(both) == 2:
            yield view.fault(path, "is given by intended and lab", "only one of them can apply")
        if "tolerance_de00" in tone and not both:
            expected = "intended or lab is needed"
            yield view.fault((*path, "tolerance_de00"), "has nothing to compare with", expected)
