"""Which other ink would bring colours nearer that are out of reach."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from inkmix.base.arrays import FloatArray
from inkmix.colour.colorimetry import delta_e00, xyz100_to_lab
from inkmix.mixes.constraints import Constraints, constraints_of, ink_sets
from inkmix.mixes.goals import Nearness
from inkmix.mixes.lattice import Lattice, OnePress, lattice_of
from inkmix.mixes.relax import relaxed
from inkmix.mixes.settle import settled
from inkmix.mixes.values import EXACT_STEP_PCT, REACH_DE00, Aims, Found, Mix, mixes_of
from inkmix.press.condition import PressCondition, press_condition
from inkmix.press.inks import Ink
from inkmix.press.paper_change import put_on_paper
from inkmix.press.values import MAX_INKS

MOST_COLOURS = 50
"""Colours for which help is looked for; the first that are out of reach."""

GAIN_DE00 = 0.5
"""An ink helps where it brings a colour nearer by at least so much."""

_INKS_WITH_IT = 3  # a colour at the edge of what inks reach takes two inks, and perhaps a black
_SAME_DE00 = 1.0  # a solid this near to one at hand is that ink


@dataclass(frozen=True, slots=True, kw_only=True)
class Help:
    """What another ink, printed in its proposed place, would do for one colour.

    Parameters
    ----------
    ink : str
        Its name among those that were tried.
    mix : Mix
        The nearest mix that holds it.
    nearer_by_de00 : float
        Than the nearest mix without it.
    in_reach : bool
    after : str or None
        The ink before it in the lay-down order; None where it comes first.
    paper_costs_de00 : float
        How much of the mix's expected error comes of the ink being known on another paper.
    """

    ink: str
    mix: Mix
    nearer_by_de00: float
    in_reach: bool
    after: str | None
    paper_costs_de00: float


def worth_trying(condition: PressCondition, inks: Mapping[str, Ink]) -> dict[str, Ink]:
    """Inks, by any name, that are not at hand; none where there is no room for one more."""
    if len(condition.inks) >= MAX_INKS:
        return {}
    at_hand = condition.lab(100 * np.eye(len(condition.inks)))
    paper = condition.paper
    return {
        name: ink
        for name, ink in inks.items()
        if delta_e00(xyz100_to_lab(put_on_paper(ink, paper).solid_xyz100), at_hand).min()
        > _SAME_DE00
    }


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Candidate:
    """An ink among those at hand, ready to be tried."""

    name: str
    ink: Ink
    after: str | None
    condition: PressCondition
    constraints: Constraints
    lattice: Lattice


def candidates_ready(
    condition: PressCondition, aims: Aims, inks: Mapping[str, Ink]
) -> tuple[Candidate, ...]:
    """Each ink added to those of the condition, in its proposed place."""
    ready = []
    for name, ink in inks.items():
        named = replace(ink, name=_free_name(condition, ink.name))
        more = condition.with_ink_in_its_place(named)
        allowed = None if aims.inks is None else (*aims.inks, named.name)
        constraints = constraints_of(more, replace(aims, inks=allowed, step_pct=EXACT_STEP_PCT))
        sets = ink_sets(constraints, most_inks=_INKS_WITH_IT)
        place = [one.name for one in more.inks].index(named.name)
        lattice = lattice_of(more, constraints, sets[sets[:, place]])
        after = more.inks[place - 1].name if place else None
        ready.append(
            Candidate(
                name=name,
                ink=named,
                after=after,
                condition=more,
                constraints=constraints,
                lattice=lattice,
            )
        )
    return tuple(ready)


class Helpers:
    """Inks that may help, by name, made ready when the first colour needs them."""

    def __init__(
        self, condition: PressCondition, aims: Aims, inks: Callable[[], Mapping[str, Ink]]
    ) -> None:
        self.condition, self.aims, self.inks = condition, aims, inks

    @cached_property
    def candidates(self) -> tuple[Candidate, ...]:
        """Those that can be tried."""
        inks = worth_trying(self.condition, self.inks())
        return candidates_ready(self.condition, self.aims, inks)

    def help(self, found: Sequence[Found]) -> tuple[tuple[Help, ...], ...]:
        """For each colour the inks that bring it nearer."""
        return help_for(found, self.candidates) if found else ()


def help_for(
    found: Sequence[Found], candidates: Sequence[Candidate]
) -> tuple[tuple[Help, ...], ...]:
    """For each colour found, the inks that would bring it nearer, those that help most first.

    Only mixes of at most three inks that hold the candidate are searched.
    """
    helps: list[list[Help]] = [[] for _ in found]
    targets = np.array([one.lab for one in found])
    left = np.array([one.left_de00 for one in found])
    for candidate in candidates:
        tones, now = _nearest_with(candidate, targets)
        gains = np.flatnonzero(left - now >= GAIN_DE00)
        mixes = mixes_of(candidate.condition, tones[gains], targets[gains])
        for k, mix in zip(gains.tolist(), mixes, strict=True):
            helps[k].append(
                Help(
                    ink=candidate.name,
                    mix=mix,
                    nearer_by_de00=float(left[k] - now[k]),
                    in_reach=bool(now[k] <= REACH_DE00),
                    after=candidate.after,
                    paper_costs_de00=paper_costs_de00(candidate, mix),
                )
            )
    return tuple(tuple(sorted(one, key=lambda h: (-h.nearer_by_de00, h.ink))) for one in helps)


def paper_costs_de00(candidate: Candidate, mix: Mix) -> float:
    """By how much less the mix might be off if its candidate had been measured on this paper."""
    more = candidate.condition
    here = put_on_paper(candidate.ink, more.paper)
    if here is candidate.ink or mix.error_de00 is None:
        return 0.0
    inks = [here if ink.name == here.name else ink for ink in more.inks]
    known = press_condition(more.paper, inks, process=more.process, patches=more.patches)
    tones = [mix.tone_pct[ink.name] for ink in more.inks]
    return max(0.0, mix.error_de00 - float(known.expected_error(tones).de00))


def _nearest_with(candidate: Candidate, targets: FloatArray) -> tuple[FloatArray, FloatArray]:
    """The nearest mix (T, I) to each colour (T, 3) that holds the candidate, and its dE00 (T,)."""
    lattice, constraints = candidate.lattice, candidate.constraints
    model, goal = OnePress(condition=candidate.condition), Nearness(targets=targets)
    rows = relaxed(model, constraints, goal, lattice.starts(targets))
    places, left = settled(constraints, rows)
    order = np.lexsort((left, rows.wish))
    first = order[np.unique(rows.wish[order], return_index=True)[1]]
    return constraints.ladder[places[first]], left[first]


def _free_name(condition: PressCondition, name: str) -> str:
    """The ink's name, marked where another ink has it."""
    taken = {ink.name for ink in condition.inks}
    return f"{name} (another)" if name in taken else name
