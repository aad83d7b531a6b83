"""What another lay-down order would change: the same inks with one of them moved to an end.

Both orders are predicted alike: from the solids, their spectra and opacities (as measured pairs
taught them, if any), without measured mixtures and without what presses have in common, for all of
these were printed in one order. So a colour in the told order can differ a little here from the
prediction that counts.
"""

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from inkmix.base.arrays import FloatArray
from inkmix.colour.colorimetry import xyz100_to_lab
from inkmix.press.condition import PressCondition
from inkmix.press.forward import ForwardModel
from inkmix.press.kriging import ResidualField
from inkmix.press.solids.primaries import bare_overprints, bed_of, black_density_of, stack_of

FIRST, LAST = "first", "last"
_KEPT = 4  # conditions; the spreads of a book share one


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """One ink printed at an end, the others as they were.

    Parameters
    ----------
    ink : int
        Its place in the told order.
    to : {"first", "last"}
    order : tuple of int
        Places in the told order, first printed first.
    """

    ink: int
    to: str
    order: tuple[int, ...]

    @property
    def passes(self) -> tuple[int, ...]:
        """Inks that it changes places with, by their places in the told order."""
        if self.to == FIRST:
            return tuple(range(self.ink))
        return tuple(range(self.ink + 1, len(self.order)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OtherOrders:
    """The told order and all that differ from it by one move, ready to be compared.

    Parameters
    ----------
    moves : tuple of Move
        Those that pass the fewest inks first, of equal ones those to first; none for a single ink.
    told : ForwardModel
    moved : tuple of ForwardModel
        One a move.
    """

    moves: tuple[Move, ...]
    told: ForwardModel
    moved: tuple[ForwardModel, ...]

    def told_lab(self, tone_pct: FloatArray) -> FloatArray:
        """CIELAB (N, 3) of mixes (N, I), tone values in the told order, as printed in it."""
        return _lab(self.told, tone_pct)

    def moved_lab(self, tone_pct: FloatArray) -> FloatArray:
        """CIELAB (M, N, 3) of the same mixes after each move."""
        labs = [
            _lab(model, tone_pct[:, list(move.order)])
            for move, model in zip(self.moves, self.moved, strict=True)
        ]
        return np.stack(labs) if labs else np.empty((0, len(tone_pct), 3))


@lru_cache(maxsize=_KEPT)
def other_orders(condition: PressCondition) -> OtherOrders:
    """The other orders of a condition's inks."""
    count = len(condition.inks)
    moves = moves_of(count)
    return OtherOrders(
        moves=moves,
        told=_in_order(condition, tuple(range(count))),
        moved=tuple(_in_order(condition, move.order) for move in moves),
    )


def moves_of(count: int) -> tuple[Move, ...]:
    """Every move of one of so many inks to an end; of two that come to the same the first."""
    moves: dict[tuple[int, ...], Move] = {}
    for to in (FIRST, LAST):
        for ink in range(count):
            others = tuple(k for k in range(count) if k != ink)
            order = (ink, *others) if to == FIRST else (*others, ink)
            if order != tuple(range(count)):
                moves.setdefault(order, Move(ink=ink, to=to, order=order))
    return tuple(sorted(moves.values(), key=lambda move: (len(move.passes), move.to, move.ink)))


def _in_order(condition: PressCondition, order: tuple[int, ...]) -> ForwardModel:
    """The model of a condition's inks in another order, knowing of no mixture."""
    model, paper, places = condition.model, condition.paper, list(order)
    solids = tuple(model.solids[at] for at in places)
    stack = stack_of(solids)
    bed = bed_of(paper, black_density=black_density_of(model.solids, paper))
    overprints = bare_overprints(stack, bed)
    return replace(
        model,
        curves=tuple(model.curves[at] for at in places),
        primaries=overprints ** (1 / model.n),
        spreading=replace(
            model.spreading,
            presence=model.spreading.presence[places],
            because=None,
            spots=model.spreading.spots[places],
        ),
        field=ResidualField.prior(np.zeros((3, len(overprints), len(overprints))), inks=len(order)),
        solids=solids,
    )


def _lab(model: ForwardModel, tone_pct: FloatArray) -> FloatArray:
    return xyz100_to_lab(model.channels.relative_to_xyz100(model.relative(tone_pct)))
