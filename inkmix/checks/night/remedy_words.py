"""What is said of curves for a night: what the picture loses by them, and what it gains."""

import math
from collections.abc import Sequence

import numpy as np

from inkmix.base.words import count, lightness, listing, most_points, opening, percent, whole
from inkmix.checks.confidence import why_not
from inkmix.checks.finding import FAIL, PASS, CurveStep
from inkmix.checks.mending.lost_lights import largest_lost, lost_lights_words
from inkmix.checks.mending.night import NightCorrection
from inkmix.checks.mending.search import KEPT_TEXTURE
from inkmix.checks.night.check import NightCheck
from inkmix.checks.night.counts import NightOutcome
from inkmix.checks.night.words import share_words

_HARDLY_PCT = 5.0
INK_OFF_AFTER = "Do the remedy for total ink after it: some of this is then over the ink limit."


def too_bright(area: str, texture_pct: float) -> str:
    """That an area is no night as it is drawn."""
    stays = "hardly any" if texture_pct < _HARDLY_PCT else f"only some {round(texture_pct)} %"
    return (
        f"{opening(area)} is too bright to be made dark by tone curves: by a few squares of it, "
        f"{stays} of its texture would stay. Draw it darker, mark as night only what is night, or "
        "allow a lighter one. `inkmix mend --give-up-lights` tries to darken it all the same."
    )


def ink_words(steps: Sequence[CurveStep]) -> str:
    """How much ink each plate gains: "up to 45 points more Fjord and 12 more Soot"."""
    first, *others = sorted(steps, key=lambda step: -step.most_pct)
    gains = [f"up to {most_points(first.most_pct)} more {first.plate}"]
    gains += [f"{math.ceil(step.most_pct)} more {step.plate}" for step in others]
    return listing(gains)


def loss_words(
    check: NightCheck,
    outcome: NightOutcome,
    made: NightCorrection,
    *,
    share_for_lights_pct: float | None,
) -> str:
    """Lights that turn dark, and texture where less of it stays than should."""
    lost, texture = len(made.lights.lost), made.texture
    said = []
    if lost and outcome.verdict == FAIL:  # curves that reach too little may leave them light
        said.append(f"{count(lost, 'light')} {'is' if lost == 1 else 'are'} not spared.")
    elif lost:
        turn = "turns" if lost == 1 else "turn"
        said.append(f"{count(lost, 'light')} {turn} dark: the share leaves no room for more.")
    if lost:
        said.append(lost_lights_words(lost, largest_lost(made, check.sheet)))
    if share_for_lights_pct is not None:
        lights = lost + len(made.lights.kept)
        size, them = ("its", "it") if lights == 1 else ("their", f"all {whole(lights)} lights")
        said.append(
            f"By {size} size, {them} would stay with {percent(share_for_lights_pct)} in place of "
            f"{percent(check.share_pct)}: yours to decide."
        )
    if texture < KEPT_TEXTURE:
        said.append(
            f"Only {percent(100 * texture)} of its texture stays: what is darkened so far lies "
            "closer together."
        )
    return " ".join(said)


def gain_words(check: NightCheck, outcome: NightOutcome, made: NightCorrection) -> str:
    """What is asked, how dark it becomes, and which lights stay."""
    assert outcome.reached_pct is not None
    assert check.lightest_L is not None
    asked, kept = percent(check.share_pct), len(made.lights.kept)
    dark = lightness(outcome.value_L, beside=check.lightest_L)
    said = (
        f"Asked: {asked} of the area at {lightness(check.lightest_L)} or darker. "
        f"Reached: {share_words(outcome.reached_pct, check.share_pct)} of it"
        f" ({asked} of it {'even' if outcome.value_L <= check.lightest_L else 'only'} at {dark})"
    )
    said += ": it still fails." if outcome.verdict == FAIL else f"{_doubt(check, outcome)}."
    if not kept:
        return said
    return f"{said} {count(kept, 'light')} {'stays' if kept == 1 else 'stay'} as drawn."


def _doubt(check: NightCheck, outcome: NightOutcome) -> str:
    if not outcome.clears:
        return f", but only just: the prediction may be off by {lightness(outcome.error_L)}"
    if outcome.verdict != PASS:
        return f", though {why_not(check.condition, np.array(outcome.involved_pct))}"
    return ""
