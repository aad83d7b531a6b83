"""Numbers in the margin of a plan: set apart along the edge, near the places they are led to.

Places in per cent of the width; the same places always give the same layout.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

APART_PCT = 7.0  # numbers nearer than this would cover one another on a phone
MARGIN_PX = 26  # of one line of numbers
_LOW_PCT, _HIGH_PCT = 3.5, 96.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """A number that is led to (`x_pct`, `y_pct`) of a picture from above or below it.

    Parameters
    ----------
    stands_pct : float
        Where it stands along the margin.
    tier : int
        The line of numbers that it stands in, 0 next to the picture.
    """

    number: int
    x_pct: float
    y_pct: float
    is_above: bool
    stands_pct: float = 0.0
    tier: int = 0


def set_apart(labels: Sequence[Label]) -> tuple[Label, ...]:
    """The labels of one margin from the left, in as few lines as they need, none over another."""
    ordered = sorted(labels, key=lambda one: (one.x_pct, one.y_pct, one.number))
    room = int((_HIGH_PCT - _LOW_PCT) / APART_PCT) + 1
    tiers = max(1, -(-len(ordered) // room))
    set_down = []
    for tier in range(tiers):
        mine = ordered[tier::tiers]
        for one, x in zip(mine, _spread([one.x_pct for one in mine]), strict=True):
            set_down.append(replace(one, stands_pct=x, tier=tier))
    return tuple(set_down)


def _spread(wanted: Sequence[float]) -> list[float]:
    """Places that are apart, from left to right, as near as may be to those that are wanted."""
    places: list[float] = []
    for x in wanted:
        least = places[-1] + APART_PCT if places else _LOW_PCT
        places.append(max(x, least))
    most = _HIGH_PCT
    for k in reversed(range(len(places))):
        places[k] = min(places[k], most)
        most = places[k] - APART_PCT
    return places
