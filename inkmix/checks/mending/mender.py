"""What a check can mend on a sheet, for whoever does it: searched for, or done again by a recipe.

A recipe is plain values that mean the same on fresh exports of the plates; where to act, and which
lights to leave, is found anew on these. What no longer fits is said, never passed over.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Protocol

from inkmix.checks.mending.correction import Correction
from inkmix.checks.window import Box

if TYPE_CHECKING:
    from inkmix.checks.finding import Finding, Remedy
    from inkmix.checks.night.counts import NightCounts
    from inkmix.checks.trials.trials import Trials

MADE_OF_DOTS = "the plates are made of dots already"
"""Why they cannot be corrected."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Mended:
    """A correction that was found and tried.

    Parameters
    ----------
    name : str
        Of the area; empty for the whole sheet.
    remedy : Remedy
        What it does, in words and figures.
    boxes : tuple of (rows, cols)
        Rectangles outside of which it changes no pixel.
    inks : tuple of str
        Whose plates may change.
    recipe : dataclass
        By which it is done again.
    counts : mapping of name to NightCounts
        Of the night areas that it touches, after it; empty where it was not tried by itself.
    """

    name: str
    remedy: "Remedy"
    correction: Correction
    boxes: tuple[Box, ...]
    inks: tuple[str, ...]
    recipe: Any
    counts: "Mapping[str, NightCounts]" = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Spoiling:
    """What would be done to an area, but takes too much of its picture; nobody tried it."""

    name: str
    remedy: "Remedy"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Again:
    """What a recipe does on fresh plates, in sentences what no longer fits.

    `others` tell what the book asks otherwise than when the recipe was made.
    """

    mended: Mended | None
    misfits: tuple[str, ...] = ()
    others: tuple[str, ...] = ()


class Mender(Protocol):
    """One area of a sheet, or all of it, that one correction serves."""

    @property
    def name(self) -> str:
        """Of the area; empty for the whole sheet."""

    @property
    def is_wanted(self) -> bool:
        """Whether its check finds anything to mend on the plates as they are."""

    def leaving(self, waived: "Sequence[Finding]") -> "Mender | None":
        """The same, but for places of its check that somebody accepts as they are; None: all of it.

        `waived` is not empty.
        """

    def found(self, trials: "Trials", *, may_spoil: bool) -> Mended | Spoiling | None:
        """The best correction for the sheet as `trials` see it; None where there is none.

        What spoils the picture is only told if it may not.
        """

    def why_not(self, trials: "Trials") -> str:
        """Why nothing more can be done on that sheet, in words; empty where nothing is open."""

    def again(self, recipe: Any, trials: "Trials") -> Again:
        """The correction of a recipe on that sheet."""
