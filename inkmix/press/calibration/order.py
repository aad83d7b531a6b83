"""In which order two-ink solids look as if they had been printed: a hint, the printer knows.

What lies on top shows where it scatters, and takes less well where the ink below is wet. Each pair
of solids is predicted both ways from the single solids alone.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np

from inkmix.base.arrays import FloatArray
from inkmix.colour.colorimetry import delta_e00, xyz100_to_lab
from inkmix.press.condition import PressCondition
from inkmix.press.patches import merge_repeats, solid_row
from inkmix.press.solids.primaries import (
    bare_overprints,
    bed_of,
    black_density_of,
    solids_of,
    stack_of,
)

_SD_DE00 = 6.0  # of how far a right prediction of a pair of solids is off: many are 3 to 7


@dataclass(frozen=True, slots=True, kw_only=True)
class PairOrder:
    """Two solids over each other, `first` printed first in the book's order.

    Parameters
    ----------
    as_told_de00, turned_de00 : float
        How far the overprint is from what is predicted in the book's order, and in the other.
    """

    first: str
    second: str
    as_told_de00: float
    turned_de00: float


@dataclass(frozen=True, slots=True, kw_only=True)
class LikelyOrder:
    """The order that fits the pairs best.

    Parameters
    ----------
    inks : tuple of str
        First printed first; the book's order where no other is clearly likelier.
    is_told : bool
        Whether that is the book's.
    pairs : tuple of PairOrder
        Those that tell most first.
    """

    inks: tuple[str, ...]
    is_told: bool
    pairs: tuple[PairOrder, ...]


def likely_order(condition: PressCondition) -> LikelyOrder | None:
    """The likeliest lay-down order of a condition's inks; None without measured pairs of solids."""
    pairs = _pairs(condition)
    if not pairs:
        return None
    names = [ink.name for ink in condition.inks]
    costs = np.zeros((len(names), len(names)))
    for one in pairs:
        i, j = names.index(one.first), names.index(one.second)
        costs[i, j] = (one.as_told_de00 / _SD_DE00) ** 2
        costs[j, i] = (one.turned_de00 / _SD_DE00) ** 2
    told = tuple(range(len(names)))
    best, least = _cheapest(costs)
    is_clear = _cost(costs, told) - least > 4.0  # a likelihood ratio of e^2
    return LikelyOrder(
        inks=tuple(names[k] for k in (best if is_clear else told)),
        is_told=not is_clear,
        pairs=tuple(sorted(pairs, key=lambda one: -abs(one.as_told_de00 - one.turned_de00))),
    )


def _pairs(condition: PressCondition) -> list[PairOrder]:
    patches, model = condition.patches and condition.patches.of_now, condition.model
    if patches is None:
        return []
    merged, _ = merge_repeats(patches)
    solid, _ = solid_row(merged.tone_pct)
    rows = np.flatnonzero(solid & ((merged.tone_pct > 0).sum(axis=1) == 2))
    solids = solids_of(condition.inks, condition.paper)
    bed = bed_of(condition.paper, black_density=black_density_of(solids, condition.paper))
    found = []
    for row in rows:
        i, j = np.flatnonzero(merged.tone_pct[row])
        ways = [
            bare_overprints(stack_of((solids[a], solids[b])), bed)[3] for a, b in ((i, j), (j, i))
        ]
        foretold = xyz100_to_lab(model.channels.relative_to_xyz100(np.stack(ways)))
        as_told, turned = delta_e00(foretold, xyz100_to_lab(merged.xyz100[row]))
        found.append(
            PairOrder(
                first=condition.inks[i].name,
                second=condition.inks[j].name,
                as_told_de00=float(as_told),
                turned_de00=float(turned),
            )
        )
    return found


def _cost(costs: FloatArray, order: Sequence[int]) -> float:
    return sum(float(costs[one, other]) for k, one in enumerate(order) for other in order[k + 1 :])


def _cheapest(costs: FloatArray) -> tuple[tuple[int, ...], float]:
    """The order whose pairs cost least, by what is printed already (Held & Karp 1962)."""
    count = len(costs)

    @cache
    def best(printed: frozenset[int]) -> tuple[float, tuple[int, ...]]:
        left = [k for k in range(count) if k not in printed]
        if not left:
            return 0.0, ()
        ways = []
        for ink in left:
            cost, rest = best(printed | {ink})
            own = float(sum(costs[ink, other] for other in left if other != ink))
            ways.append((own + cost, (ink, *rest)))
        return min(ways)

    cost, order = best(frozenset())
    return order, cost
