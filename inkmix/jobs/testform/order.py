"""In which order patches are printed: kinds together or shuffled, repeats apart from each other."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from inkmix.base.arrays import FloatArray
from inkmix.export.forms.lettering import width_mm
from inkmix.press.forms.choose import Choice
from inkmix.press.forms.values import (
    DARK,
    NAMED,
    OVER_BLACK,
    OVER_COMPLEMENT,
    OVERPRINT,
    PAPER,
    RAMP,
    TINT,
    Patch,
)
from inkmix.sheet.forms.layout import Run

HEADING_PT = 6.5
_MIXES_REPEATED = {DARK: 3, TINT: 3}
_SHUFFLES = 200
HEADINGS = {
    PAPER: "Paper",
    OVER_BLACK: "Solids with the darkest",
    OVER_COMPLEMENT: "Opposite hues",
    OVERPRINT: "Other solids",
    DARK: "Darks",
    NAMED: "Named tones",
    TINT: "Tints that tell most",
}
"""Of kinds, in the order in which they stand; a ramp bears the name of its ink."""
AGAIN = "Again"


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Patches under one heading; copies are numbered from 1."""

    heading: str
    patches: tuple[tuple[Patch, int], ...]

    @property
    def run(self) -> Run:
        """The same as geometry knows it."""
        wide = width_mm(self.heading, size_pt=HEADING_PT)
        return Run(heading=self.heading, count=len(self.patches), heading_mm=wide)


def key_patches(choice: Choice) -> tuple[Patch, ...]:
    """What is repeated: paper, solids, and some of the darks and tints."""
    paper = choice.of_kind(PAPER)
    solids = [patch for patch in choice.of_kind(RAMP) if max(patch.tone_pct) == 100]
    mixes = [one for kind, most in _MIXES_REPEATED.items() for one in choice.of_kind(kind)[:most]]
    return (*paper, *solids, *mixes)


def in_groups(choice: Choice, *, repeats: int) -> tuple[Group, ...]:
    """Kinds together, an ink's ramp a group; repeats follow, or stand between the later kinds."""
    paper = choice.of_kind(PAPER)[0]
    first = [Group(heading=HEADINGS[PAPER], patches=((paper, 1), (paper, 2)))]
    for ink in dict.fromkeys(patch.why for patch in choice.of_kind(RAMP)):
        ramp = [patch for patch in choice.of_kind(RAMP) if patch.why == ink]
        first.append(Group(heading=ink, patches=tuple((patch, 1) for patch in ramp)))
    later = [
        Group(heading=heading, patches=tuple((patch, 1) for patch in choice.of_kind(kind)))
        for kind, heading in HEADINGS.items()
        if kind != PAPER and choice.of_kind(kind)
    ]
    groups = list(first)
    for copy in range(2, repeats + 1):
        start, stop = ((copy - k) * len(later) // max(repeats - 1, 1) for k in (2, 1))
        groups += later[start:stop]
        again = tuple((one, copy + (one.kind == PAPER)) for one in key_patches(choice))
        groups.append(Group(heading=AGAIN, patches=again))
    return tuple(groups if repeats > 1 else [*first, *later])


def shuffled(
    groups: Sequence[Group], centres_mm: FloatArray, *, seed: int
) -> tuple[tuple[Patch, int], ...]:
    """All patches in random order; of some such orders the one with repeats farthest apart.

    Parameters
    ----------
    centres_mm : (N, 2) array
        Of the places, in their order.
    """
    patches = [one for group in groups for one in group.patches]
    draw = np.random.default_rng(seed)
    orders = [draw.permutation(len(patches)) for _ in range(_SHUFFLES)]
    best = max(orders, key=lambda order: apart_mm([patches[at] for at in order], centres_mm) or 0.0)
    return tuple(patches[at] for at in best)


def apart_mm(patches: Sequence[tuple[Patch, int]], centres_mm: FloatArray) -> float | None:
    """The least distance of two patches of one mix; None where each is there once.

    Paper stands in a pair at the head of a form, which counts once.
    """
    places: dict[tuple[float, ...], list[int]] = {}
    for at, (patch, copy) in enumerate(patches):
        if patch.kind != PAPER or copy != 2:
            places.setdefault(patch.tone_pct, []).append(at)
    distances = [
        float(np.hypot(*(centres_mm[one] - centres_mm[other])))
        for found in places.values()
        for k, one in enumerate(found)
        for other in found[:k]
    ]
    return min(distances, default=None)
