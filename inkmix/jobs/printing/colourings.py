"""Tables at work for a spread, kept for the next one: reading and laying one out takes 20 ms.

Which colours they give is told in lookup.py and screen.py.
"""

from functools import lru_cache

from inkmix.jobs.printing.screen import screen_model
from inkmix.jobs.spread import Spread
from inkmix.press.condition import PressCondition
from inkmix.press.table.colouring import Colouring
from inkmix.press.table.disk_cache import kept_lookup

_KEPT = 2  # of each kind, some 6 MB each: spreads of dots take turns with others, or two papers


def print_colouring(spread: Spread) -> Colouring:
    """What will print, for plates as deep as these."""
    return _printed(spread.condition, spread.plates.depth)


def screen_colouring(spread: Spread) -> Colouring:
    """The layers multiplied on a screen."""
    return _on_screen(spread.condition, spread.plates.depth)


@lru_cache(maxsize=_KEPT)
def _printed(condition: PressCondition, depth: int) -> Colouring:
    return Colouring(kept_lookup(condition, inks=len(condition.inks), depth=depth))


@lru_cache(maxsize=_KEPT)
def _on_screen(condition: PressCondition, depth: int) -> Colouring:
    model = screen_model(condition)
    return Colouring(kept_lookup(model, inks=len(condition.inks), depth=depth))
