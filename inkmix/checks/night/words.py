"""What is said about a night area: its verdict in one plain sentence, and its depth as density."""

import numpy as np

from inkmix.base.words import lightness, number, opening, percent
from inkmix.checks.confidence import why_not
from inkmix.checks.finding import FAIL, NO_LIMIT, NOT_CHECKED, NOT_READY, PASS, Spot
from inkmix.checks.night.counts import NightOutcome
from inkmix.colour.colorimetry import lightness_to_y100, visual_density
from inkmix.press.condition import PressCondition
from inkmix.sheet.places import place_name


def density_above_paper(condition: PressCondition, lightness: float) -> float:
    """Visual density above the paper of a printed L*."""
    paper = float(visual_density(condition.paper.xyz100[1]))
    return float(visual_density(lightness_to_y100(lightness))) - paper


def night_sentence(
    name: str,
    outcome: NightOutcome,
    spots: tuple[Spot, ...],
    *,
    condition: PressCondition,
    lightest_L: float | None,
    share_pct: float,
) -> str:
    """The verdict on one night area; `spots` are its pale patches, largest first."""
    name = opening(name)
    if outcome.verdict == NOT_CHECKED:
        return f"{name}: the mask marks no pixel of this sheet, so nothing was checked."
    demanded = percent(share_pct)
    density = density_above_paper(condition, outcome.value_L)
    reached = lightness(outcome.value_L, beside=lightest_L)
    depth = f"{demanded} of it reaches {reached}, density {number(density, 2)} above paper"
    if lightest_L is None or outcome.verdict == NO_LIMIT:
        return f"{name}: {depth}; no limit is given."
    share = share_words(outcome.reached_pct or 0.0, share_pct)
    head = f"{name}{_panel(outcome, spots)}: {share} of it is dark enough, {demanded} must be"
    allowed = f"the limit is {lightness(lightest_L)}"
    if outcome.verdict == FAIL and spots:
        top = lightness(spots[0].value, beside=lightest_L)
        patch = f"its largest pale patch goes up to {top}"
        return f"{head}; {patch}, {allowed}."
    return f"{head}; {depth}, {allowed}{_doubt(outcome, condition)}."


def share_words(reached_pct: float, demanded_pct: float) -> str:
    """The share that is dark enough; near what is demanded with as many digits as it takes."""
    near = abs(reached_pct - demanded_pct) < 0.1
    return percent(reached_pct, beside=demanded_pct if near else None)


def _panel(outcome: NightOutcome, spots: tuple[Spot, ...]) -> str:
    if outcome.verdict == PASS or not spots or not spots[0].place.panels:
        return ""
    return f", {place_name(spots[0].place)}"


def _doubt(outcome: NightOutcome, condition: PressCondition) -> str:
    if outcome.verdict in (FAIL, PASS):
        return ""
    if outcome.clears or outcome.verdict == NOT_READY:
        return f"; nothing can be promised: {why_not(condition, np.array(outcome.involved_pct))}"
    return (
        f"; too close to call: the prediction may be off by {lightness(outcome.error_L)} either way"
    )
