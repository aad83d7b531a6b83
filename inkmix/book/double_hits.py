"""Double hits: the same ink printed twice, from one plate or from a copy of it.

Which inks of a book are one and the same, and the rules on `plate`. No files are looked at here.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from inkmix.base.errors import Fault
from inkmix.book.choices import INK_COLOURS
from inkmix.book.faults import shown
from inkmix.book.values import is_guess
from inkmix.book.view import View

_OF_THE_PLATE = ("channel", "polarity")


def first_hits(inks: Sequence[Mapping[str, Any]]) -> dict[str, str | None]:
    """For each ink's name, the ink of which it is a further hit; None for a first one.

    The book says so by `plate`, or tells both by the very same colour. Guesses that are alike say
    nothing: two inks of which nobody knows anything are two inks.

    Parameters
    ----------
    inks : sequence of mapping
        Tables of inks in lay-down order.
    """
    by_colour: dict[str, str | None] = {}
    for index, ink in enumerate(inks):
        same = (other["name"] for other in inks[:index] if _are_one_ink(other, ink))
        by_colour[ink["name"]] = next(same, None)
    owners = {ink["name"]: ink.get("plate") for ink in inks}
    return {
        name: by_colour[name] if owner is None else by_colour[owner] or owner
        for name, owner in owners.items()
    }


def shared_plates(view: View) -> Iterator[Fault]:
    """What `plate` names has a plate of its own, and is the same ink."""
    inks = {ink["name"]: ink for _, ink in view.tables("inks") if "name" in ink}
    for path, ink in view.tables("inks"):
        name = ink.get("plate")
        if name not in inks:
            continue
        path = (*path, "plate")
        other = inks[name]
        if name == ink.get("name"):
            yield view.fault(path, "names the ink itself", "it is for a second hit of an ink")
        elif "plate" in other:
            do = f"write plate = {shown(other['plate'])} here as well"
            yield view.fault(path, f"{shown(name)} has no plate of its own", do=do)
        elif _colour(other) != _colour(ink):
            found = f"{shown(name)} is another ink, known by another colour"
            do = "give both the same colour, or this ink its own plate"
            yield view.fault(path, found, "a plate prints twice only in the same ink", do)
        for key in _OF_THE_PLATE:
            if key in ink:
                where = (*path[:-1], key)
                yield view.fault(
                    where, "is given together with plate", f"{shown(name)} says it for both"
                )


def _are_one_ink(one: Mapping[str, Any], other: Mapping[str, Any]) -> bool:
    """Whether two inks, each with a plate of its own, are told to be the same."""
    return _colour(one) == _colour(other) and all(
        ink.get("plate") is None
        and not is_guess(ink.get("guessed", False), ink.get("swatch"), ink.get("srgb"))
        for ink in (one, other)
    )


def _colour(ink: Mapping[str, Any]) -> dict[str, Any]:
    """What decides an ink's colour; equal for hits of one ink."""
    given = {key: ink[key] for key in INK_COLOURS if ink.get(key) is not None}
    if "srgb" in given:
        given["srgb"] = str(given["srgb"]).lower()
    if "measurements" in given:
        given["column"] = str(ink.get("column") or ink.get("name")).casefold()
    if ink.get("measured_on") is not None:
        given["measured_on"] = ink["measured_on"]
    return given
