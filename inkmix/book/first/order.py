"""In which order inks are printed that nobody ordered, and what that rests on.

Inks whose mixtures come with inkmix keep the order in which those were printed, for only then do
they count; the others take the places that the press model proposes.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from inkmix.press.inks import Ink, Paper
from inkmix.press.order import lay_down_order
from inkmix.press.swatches.by_name import overprints_order

USUAL = "process inks first, then dark before light, an orange last"
"""The proposed order in words."""

ON_TOP = (
    "What lies on top counts: ink takes less well on ink than on paper, and an ink that is not "
    "quite transparent (many oranges, every white) veils what lies under it."
)
PRINTER_DECIDES = "Your printer decides the order: ask, and write the inks in that order."


@dataclass(frozen=True, slots=True, kw_only=True)
class Unordered:
    """An ink whose place in the lay-down order nobody told.

    Parameters
    ----------
    ink : Ink
        As it is taken to print.
    swatch : str or None
        Full name of the swatch it is taken for.
    """

    ink: Ink
    swatch: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """A lay-down order.

    Parameters
    ----------
    places : tuple of int
        Places of the inks as given, first printed first.
    as_measured : int
        How many of them stand as they were printed together.
    """

    places: tuple[int, ...]
    as_measured: int


def proposed_order(inks: Sequence[Unordered], paper: Paper) -> Proposal:
    """The lay-down order of inks, of which nobody told any."""
    measured = overprints_order(paper, [one.swatch or "" for one in inks])
    places = lay_down_order([one.ink for one in inks], paper, told=measured)
    return Proposal(places=places, as_measured=len(measured))


def order_words(proposal: Proposal) -> str:
    """What a proposed order rests on."""
    inks, measured = len(proposal.places), proposal.as_measured
    if not measured:
        return USUAL
    together = "their measured mixtures were printed"
    if measured == inks:
        return f"as {together}"
    return f"{measured} of them as {together}, the others where they usually come: {USUAL}"
