"""What is said about a night area: its verdict in one plain sentence, and its depth as density."""

import numpy as np

from inkmix.checks import wording
from inkmix.checks.confidence import why_not
from inkmix.checks.finding import FAIL, NO_LIMIT, NOT_CHECKED, PASS, Spot
from inkmix.checks.night.counts import NightOutcome
from inkmix.colour.colorimetry import lightness_to_y100, visual_density
from inkmix.press.condition import PressCondition


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
    name = wording.opening(name)
    if outcome.verdict == NOT_CHECKED:
        return f"{name}: the mask marks no pixel of this sheet, so nothing was checked."
    demanded = f"{wording.number(share_pct, 1)} %"
    density = density_above_paper(condition, outcome.value_L)
    depth = f"{demanded} of it reaches L* {outcome.value_L:.1f}, density {density:.2f} above paper"
    if lightest_L is None or outcome.verdict == NO_LIMIT:
        return f"{name}: {depth}; no limit is given."
    reached_pct = outcome.reached_pct or 0.0
    share = wording.share(reached_pct)
    if share == demanded and reached_pct < share_pct:
        share = f"just under {demanded}"
    head = f"{name}{_panel(outcome, spots)}: {share} of it is dark enough, {demanded} must be"
    allowed = f"allowed is L* {wording.number(lightest_L, 1)}"
    if outcome.verdict == FAIL and spots:
        patch = f"its largest pale patch goes up to L* {spots[0].value:.0f}"
        return f"{head}; {patch}, {allowed}."
    return f"{head}; {depth}, {allowed}{_doubt(outcome, condition)}."


def _panel(outcome: NightOutcome, spots: tuple[Spot, ...]) -> str:
    if outcome.verdict == PASS or not spots or not spots[0].place.panels:
        return ""
    return f", {wording.place_name(spots[0].place)}"


def _doubt(outcome: NightOutcome, condition: PressCondition) -> str:
    if outcome.verdict in (FAIL, PASS):
        return ""
    if outcome.clears:
        return f"; nothing can be promised: {why_not(condition, np.array(outcome.involved_pct))}"
    return f"; too close to call: the prediction can be L* {outcome.error_L:.1f} off either way"
