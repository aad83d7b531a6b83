"""What the inks of a chart were taken for: process inks or spots, how opaque, by which spectra.

Also what is odd about them. Words for a person; the numbers are those the model used.
"""

from typing import Any

import numpy as np

from inkmix.colorimetry import delta_e00, xyz100_to_lab
from inkmix.press.condition import PressCondition
from inkmix.press.constants import PROCESS_LETTERS
from inkmix.press.opacity import is_orange, opacity_of
from inkmix.press.primaries import Solid, stack_of
from inkmix.press.process_inks import SPOT
from inkmix.press.spectra import band_weights, recovered_spectrum

# A recovered spectrum shows its colour within dE00 .3 where any smooth one can.
_UNREACHED_DE00 = 1.0
_LEARNT_FROM = 5e-4  # an opacity moved by less is what it was


def inks_taken(condition: PressCondition) -> list[dict[str, Any]]:
    """Each ink in lay-down order: "process_ink" (K, C, M, Y or None), "opacity", "spectrum"."""
    solids = condition.model.solids
    kinds = stack_of(solids).kinds
    return [
        {
            "name": ink.name,
            "process_ink": None if kind == SPOT else PROCESS_LETTERS[kind],
            "opacity": _opacity(condition, at) if kind == SPOT else None,
            "spectrum": "measured" if solid.is_measured else "recovered",
        }
        for at, (ink, solid, kind) in enumerate(zip(condition.inks, solids, kinds, strict=True))
    ]


def _opacity(condition: PressCondition, at: int) -> dict[str, Any]:
    """The opacity that an ink was taken to have, and why."""
    ink, solid = condition.inks[at], condition.model.solids[at]
    value = solid.opacity.value
    before = opacity_of(ink, SPOT)
    why = {
        "told": "the chart says so",
        "measured": "from its solid over black",
        "guessed": "guessed: oranges scatter" if is_orange(ink) else "guessed by its name",
        "usual": "usual of spot inks",
    }[before.why]
    if abs(value - before.value) > _LEARNT_FROM:
        why = "fitted to the pairs told"
    return {"value": round(value, 4), "why": why}


def notes_on_inks(condition: PressCondition) -> list[str]:
    """What is odd about the inks, a sentence or two each."""
    notes = [_note(condition, at, solid) for at, solid in enumerate(condition.model.solids)]
    return [note for note in notes if note]


def _note(condition: PressCondition, at: int, solid: Solid) -> str:
    ink, paper = condition.inks[at], condition.paper
    paper_Y, Y = float(paper.xyz100[1]), float(ink.solid_xyz100[1])
    if paper_Y < Y:
        return (
            f"{ink.name} is lighter than its paper (Y {Y:.1f}, paper {paper_Y:.1f}): it fluoresces "
            "or covers the paper. The model was not tried on such inks; its mixtures are unproven."
        )
    miss = _missed_de00(condition, solid)
    if miss > _UNREACHED_DE00:
        return (
            f"No smooth spectrum shows the colour of {ink.name}; the nearest is dE00 {miss:.1f} "
            "off. It may fluoresce or be metallic; its overprints are unproven."
        )
    return ""


def _missed_de00(condition: PressCondition, solid: Solid) -> float:
    """How far the smooth spectrum recovered from a solid's colour is from that colour.

    It is recovered again, since pairs that were told may have moved the one in use.
    """
    if solid.is_measured:
        return 0.0
    channels, weights = condition.model.channels, band_weights(condition.paper)
    like = None if solid.kind == SPOT else solid.kind
    spectrum = recovered_spectrum(solid.bands, weights, like=like)
    shown = np.stack([weights @ spectrum, solid.bands])
    lab = xyz100_to_lab(channels.relative_to_xyz100(np.maximum(shown, 0)))
    return float(delta_e00(lab[0], lab[1]))
