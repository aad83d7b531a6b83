"""What hangs on the lay-down order of a checked spread, from all that its checks say may move."""

from collections.abc import Iterable
from dataclasses import dataclass

from inkmix.checks.check import Ground
from inkmix.checks.orders.check import (
    Movable,
    NightAtHand,
    Question,
    Told,
    night_orders,
    order_questions,
    pairs_told,
    tone_orders,
)
from inkmix.checks.orders.facts import NightOrder, ToneOrder


@dataclass(frozen=True, slots=True, kw_only=True)
class Orders:
    """What another order would change, and what to ask about it."""

    tones: tuple[ToneOrder, ...]
    nights: tuple[NightOrder, ...]
    questions: tuple[Question, ...]
    are_of_tones: bool


def orders_of(ground: Ground, movable: Iterable[Movable]) -> Orders:
    """What hangs on the order.

    Where no tones are named, solids of two inks over each other stand in for them. They are shown;
    but whether any of them is in the picture nobody knows, so they are no question.
    """
    listed = list(movable)
    named = [one for one in listed if isinstance(one, Told)]
    areas = [one for one in listed if isinstance(one, NightAtHand)]
    changed = tone_orders(ground.tone_condition, named or pairs_told(ground.tone_condition))
    at_night = night_orders(ground.condition, areas)
    names = [ink.name for ink in ground.condition.inks]
    asked = order_questions(changed if named else (), at_night, inks=names)
    return Orders(tones=changed, nights=at_night, questions=tuple(asked), are_of_tones=bool(named))
