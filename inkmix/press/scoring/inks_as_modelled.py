"""What the inks of a chart were taken for: process inks or spots, how opaque, by which spectra.

Also what is odd about them. Words for a person; the numbers are those the model used.
"""

from typing import Any

from inkmix.base.words import difference
from inkmix.press.condition import PressCondition
from inkmix.press.constants import MODEL, PROCESS_LETTERS
from inkmix.press.evidence import missed_de00
from inkmix.press.solids.opacity import Opacity
from inkmix.press.solids.primaries import Solid, stack_of
from inkmix.press.solids.process_inks import SPOT


def inks_taken(condition: PressCondition) -> list[dict[str, Any]]:
    """Each ink in lay-down order: "process_ink" (K, C, M, Y or None), "opacity", "spectrum"."""
    solids = condition.model.solids
    kinds = stack_of(solids).kinds
    return [
        {
            "name": ink.name,
            "process_ink": None if kind == SPOT else PROCESS_LETTERS[kind],
            "opacity": _opacity(solid.opacity) if kind == SPOT else None,
            "spectrum": "measured" if solid.is_measured else "recovered",
        }
        for ink, solid, kind in zip(condition.inks, solids, kinds, strict=True)
    ]


def _opacity(opacity: Opacity) -> dict[str, Any]:
    """The opacity that an ink was taken to have, and why."""
    why = {
        "told": "the chart says so",
        "measured": "from its solid over black",
        "learnt": "fitted to the pairs given",
        "guessed": f"guessed by {opacity.by}",
        "usual": "usual for spot inks",
    }[opacity.why]
    return {"value": round(opacity.value, 4), "why": why}


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
            "or covers the paper. The model was not tested on such inks; its mixtures are unproven."
        )
    miss = missed_de00(solid, paper)
    if miss > MODEL.evidence.unreached_de00:
        return (
            f"No smooth spectrum shows the colour of {ink.name}; the nearest is {difference(miss)} "
            "off. It may fluoresce or be metallic; its overprints are unproven."
        )
    return ""
