"""All that the page on palettes, its data and its text are written from; values only."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkmix.book.values import Told
from inkmix.mixes.assigned.assign import Assigned
from inkmix.mixes.palettes.values import Choice, Measured, Wish
from inkmix.mixes.values import Found
from inkmix.press.condition import PressCondition

Names = tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class InPalette:
    """The artist's plates in one palette.

    Parameters
    ----------
    assigned : Assigned
        Which ink prints which plate.
    srgb8 : (rows, cols, 3) array of uint8
        The predicted print, reduced.
    command : str
        What shows it at full size; empty where no command can.
    """

    assigned: Assigned
    srgb8: NDArray[np.uint8]
    command: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PlatesShown:
    """The plates of a spread in the present inks and in palettes.

    Parameters
    ----------
    spread : str
    plates : tuple of str
        Names, in lay-down order.
    now : (rows, cols, 3) array of uint8
        In the present inks.
    aimed_at : str
        To be set after "as near as can be to".
    of : mapping of inks to InPalette
        By the inks of a palette; palettes of fewer inks than plates are missing.
    notes : tuple of str
        What was accepted of the plates and has to be said.
    """

    spread: str
    plates: Names
    now: NDArray[np.uint8]
    aimed_at: str
    of: Mapping[Names, InPalette]
    notes: Names = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PaletteFacts:
    """A choice of inks and what belongs to it.

    Parameters
    ----------
    title : str
        Of the book.
    wish : Wish
    choice : Choice
    present : Measured or None
        The book's own inks, measured alike; None where it has too many.
    conditions : mapping of inks to PressCondition
        Of every palette of the front, and of the present inks.
    mixes : mapping of inks to tuple of Found
        How each of them gives the wished tones, in the order of the wish.
    limit : Told or None
        The ink limit, and whose word it is.
    candidates_from, tones_from : str
        Where they come from, in words.
    screen : mapping of tone name to "#rrggbb"
        Tones that were told as colours of a screen.
    invented : bool
        Whether inks were computed and never measured.
    plates : PlatesShown or None
    """

    title: str
    wish: Wish
    choice: Choice
    present: Measured | None
    conditions: Mapping[Names, PressCondition]
    mixes: Mapping[Names, tuple[Found, ...]]
    limit: Told | None
    candidates_from: str
    tones_from: str
    screen: Mapping[str, str]
    invented: bool
    plates: PlatesShown | None = None
