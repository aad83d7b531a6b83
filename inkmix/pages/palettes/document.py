"""A choice of inks as plain values for scripts."""

from typing import Any

from inkmix.jobs.palettes.facts import PaletteFacts
from inkmix.mixes.palettes.measures import weights_of
from inkmix.mixes.palettes.values import Measured
from inkmix.mixes.values import Mix
from inkmix.pages.mixes.document import mix_document
from inkmix.pages.palettes.view import Shown, shown

FORMAT = 1
MOST_RANKED = 50


def palette_document(facts: PaletteFacts) -> dict[str, Any]:
    """Everything that the page says, as values; pictures left out."""
    wish, choice = facts.wish, facts.choice
    limit = facts.limit
    return {
        "format": FORMAT,
        "title": facts.title,
        "paper": wish.paper.name,
        "process": wish.process.name,
        "ink_limit": None if limit is None else {"pct": limit.value, "whose": limit.whose},
        "choose": wish.k,
        "fixed": list(wish.fixed),
        "without": list(wish.excluded),
        "candidates": [ink.name for ink in wish.candidates],
        "tones_from": facts.tones_from,
        "tones": [
            {"name": tone.name, "lab": list(tone.lab), "weight": tone.weight} for tone in wish.tones
        ],
        "weights": dict(weights_of(wish.weights, tones=bool(wish.tones))),
        "searched": choice.searched,
        "searched_all": choice.exact,
        "measured_in_full": len(choice.ranked),
        "words": list(choice.words),
        "present": None if facts.present is None else _measured(facts.present),
        "front": [_shown(facts, one) for one in shown(facts) if one.mark != "now"],
        "near_ties": [list(inks) for inks in choice.near_ties],
        "ranked": [_measured(one) for one in choice.ranked[:MOST_RANKED]],
        "plates_aimed_at": None if facts.plates is None else facts.plates.aimed_at,
    }


def _shown(facts: PaletteFacts, one: Shown) -> dict[str, Any]:
    tones = zip(facts.wish.tones, facts.mixes.get(one.inks, ()), strict=True)
    return {
        **_measured(one.measured),
        "points_behind_first": one.behind,
        "near_tie": one.is_tie,
        "reasons": list(one.reasons),
        "tones": [{"name": t.name, **mix_document(found.mixes[0])} for t, found in tones],
        "plates": _plates(one),
    }


def _plates(one: Shown) -> dict[str, Any] | None:
    if one.plates is None:
        return None
    assigned = one.plates.assigned
    return {
        "ink_of": dict(zip(assigned.plates, assigned.best.inks, strict=True)),
        "mean_de00": assigned.best.de00,
        "as_near": [dict(zip(assigned.plates, tie.inks, strict=True)) for tie in assigned.ties],
        "tried": assigned.tried,
        "tried_all": assigned.all_tried,
        "command": one.plates.command or None,
    }


def _measured(one: Measured) -> dict[str, Any]:
    return {
        "inks": list(one.inks),
        "figures": dict(one.figures),
        "points": dict(one.points),
        "total_points": one.total_points,
        "darkest": _dark(one.darkest),
    }


def _dark(mix: Mix) -> dict[str, Any]:
    return {
        "tone_pct": dict(mix.tone_pct),
        "total_pct": mix.total_pct,
        "lab": list(mix.lab),
        "expected_error_de00": mix.error_de00,
    }
