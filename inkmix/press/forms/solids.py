"""Solid overprints: each ink over the black, over its complementary ink, and all others in reach.

Which ink lies on top is given by the lay-down order; nothing is printed against it.
"""

from collections.abc import Iterator

import numpy as np

from inkmix.press.forms.values import (
    OVER_BLACK,
    OVER_COMPLEMENT,
    OVERPRINT,
    FormInks,
    Patch,
    as_mix,
)
from inkmix.press.solids.process_inks import BLACK

LEAST_CHROMA = 15.0
"""A greyer ink has no complement. Chosen."""
LEAST_ANGLE_DEG = 135.0
"""Nearer hues are no complements. Chosen."""
MOST_UNLIMITED = 4
"""Inks of an overprint where nobody knows an ink limit. Chosen."""


def darkest_ink(inks: FormInks) -> int:
    """The black among inks with a plate, else the darkest of them."""
    kinds = [solid.kind for solid in inks.condition.model.solids]
    blacks = [ink for ink in inks.plates if kinds[ink] == BLACK]
    if blacks:
        return blacks[0]
    L = inks.condition.lab(inks.tones_of([{ink: 100.0} for ink in inks.plates]))[:, 0]
    return inks.plates[int(L.argmin())]


def complement_of(inks: FormInks, ink: int) -> int | None:
    """The ink of the most opposite hue; None where an ink is too grey, or none lies opposite."""
    lab = inks.condition.lab(inks.tones_of([{each: 100.0} for each in inks.plates]))
    colour = dict(zip(inks.plates, lab[:, 1:], strict=True))
    bright = {each: ab for each, ab in colour.items() if np.hypot(*ab) >= LEAST_CHROMA}
    if ink not in bright:
        return None
    cosine = {
        other: float(ab @ bright[ink] / np.hypot(*ab) / np.hypot(*bright[ink]))
        for other, ab in bright.items()
        if other != ink
    }
    opposite = min(cosine, key=lambda other: cosine[other], default=None)
    far = np.cos(np.radians(LEAST_ANGLE_DEG))
    return opposite if opposite is not None and cosine[opposite] <= far else None


def solid_overprints(inks: FormInks) -> tuple[list[Patch], list[tuple[int, ...]]]:
    """Patches of all overprints within the limit, the most telling first; the sets left out."""
    kept, over = [], []
    for size in range(2, _most_inks(inks) + 1):
        for chosen in inks.sets(size):
            row = inks.tones_of([dict.fromkeys(chosen, 100.0)])
            if inks.is_allowed(row)[0]:
                kept.append(_patch(inks, chosen))
            else:
                over.append(chosen)
    first = (OVER_BLACK, OVER_COMPLEMENT, OVERPRINT)
    return sorted(kept, key=lambda patch: first.index(patch.kind)), over


def _most_inks(inks: FormInks) -> int:
    count = len(inks.plates)
    return count if inks.ink_limit_pct is not None else min(count, MOST_UNLIMITED)


def _patch(inks: FormInks, chosen: tuple[int, ...]) -> Patch:
    kind = OVERPRINT
    if len(chosen) == 2:
        under, over = chosen
        if darkest_ink(inks) in chosen:
            kind = OVER_BLACK
        elif over in (complement_of(inks, under),) or under in (complement_of(inks, over),):
            kind = OVER_COMPLEMENT
    row = inks.tones_of([dict.fromkeys(chosen, 100.0)])[0]
    return Patch(tone_pct=as_mix(row), kind=kind, why=" on ".join(_names(inks, chosen)))


def _names(inks: FormInks, chosen: tuple[int, ...]) -> Iterator[str]:
    """The one on top first."""
    return (inks.name(ink) for ink in reversed(chosen))
