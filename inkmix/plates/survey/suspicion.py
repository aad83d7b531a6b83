"""What the counts of plates give away: turned polarity, a wrong scale, a screen.

Rules of thumb with their reasons; nothing is counted here.
"""

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from inkmix.plates.plate import PlateHeader
from inkmix.plates.survey.joint_counts import FULL_FROM, JointCounts

_FULL_SHARE = 0.5
"""Paper that is turned into ink covers most of the plate."""
_BARE_SHARE = 0.01
"""A turned plate is bare only where its drawing was solid."""
_SOME_BARE = 0.03
"""The same, where it is only said that a plate may be turned."""
_EVEN = 0.995
_OTHERS_BARE = 0.2
"""A plate that others are compared with leaves at least this part of the sheet bare."""
_ALONE = 0.6
"""Where no other plate prints there is mostly paper, and a turned plate is full there."""
_WITH_OTHERS = 0.3
"""A dark plate under which others lie (a rich night) goes with them; a turned one does not."""
_AGAINST_OTHERS = -0.2
"""Without any bare paper to judge by, a turned plate has to run against the others."""
_SOME_PAPER = 0.05
_SOME_LIGHT = 0.0001
"""Lights that are too small for a block are lights: of a night with no more than stars, too."""
_FEW_VALUES = 256
_FINE = 0.1
"""Changes from pixel to pixel for each inked (or bare) pixel: solid shapes have far fewer."""
_TOP_15_BIT = 32768


def ends_at_32768(counts: NDArray[np.int64], *, inverted: bool) -> bool:
    """Whether 16-bit numbers run from 0 to 32768, as some programs hold them inside.

    Where a high number means paper, paper of 32768 is sure. Where it means ink, a plate that stops
    at 50 % could be meant, so many different values have to be in use.
    """
    if len(counts) != 2**16:
        return False
    used = np.flatnonzero(counts)
    if inverted:
        return int(used[0]) == 65535 - _TOP_15_BIT
    return int(used[-1]) == _TOP_15_BIT and len(used) > _FEW_VALUES


def is_fine_two_tone(ends: NDArray[np.int64], changes: int) -> bool:
    """Whether a plate of 0 and 100 % only (pixels of each) has fine structure."""
    fewer = int(ends.min())
    return fewer > 0 and changes >= _FINE * fewer


def inverted_plate(
    headers: Sequence[PlateHeader], counts: Sequence[NDArray[np.int64]], together: JointCounts
) -> int | None:
    """Index of the one plate whose polarity is surely turned against the others.

    Most of it is full ink, next to none of it is bare, and it is full where no other plate prints,
    or runs against the others. A dark night plate leaves lights bare, or has others under it. A
    polarity told by the person ends the question.
    """
    return _only(
        index
        for index in _open_questions(headers)
        if _is_mostly_full(counts[index], bare_share=_BARE_SHARE)
        and _others_are_light(index, counts)
        and _runs_against_others(index, together)
    )


def doubtful_plate(
    headers: Sequence[PlateHeader], counts: Sequence[NDArray[np.int64]]
) -> int | None:
    """Index of the one plate that is full nearly everywhere, unlike two or more others.

    In a picture without bare paper that is all that can be said; it may be meant so. An even
    ground of full ink is left out.
    """
    full = [_is_mostly_full(c, bare_share=_SOME_BARE) for c in counts]
    others = sum(bool(c[1:].any()) and not dark for c, dark in zip(counts, full, strict=True))
    return _only(
        index
        for index in _open_questions(headers)
        if full[index] and others >= 2 and not _is_even(counts[index])
    )


def has_lights(together: JointCounts) -> bool:
    """Whether any place of the sheet is light, however small; specks of dust are none."""
    return together.light_share() > _SOME_LIGHT


def doubtful_plates(headers: Sequence[PlateHeader], hiding: Sequence[int]) -> tuple[int, ...]:
    """Of the plates that hide the lights, those whose polarity nobody told."""
    open_ones = set(_open_questions(headers))
    return tuple(index for index in hiding if index in open_ones)


def _open_questions(headers: Sequence[PlateHeader]) -> Iterator[int]:
    """Plates in files whose polarity nobody told."""
    return (
        index
        for index, header in enumerate(headers)
        if header.path is not None and header.polarity is None
    )


def _only(suspects: Iterator[int]) -> int | None:
    found = list(suspects)
    return found[0] if len(found) == 1 else None


def _is_mostly_full(histogram: NDArray[np.int64], *, bare_share: float) -> bool:
    total = int(histogram.sum())
    full, bare = int(histogram[FULL_FROM:].sum()), int(histogram[: 255 - FULL_FROM + 1].sum())
    return full >= _FULL_SHARE * total and bare <= bare_share * total


def _is_even(histogram: NDArray[np.int64]) -> bool:
    """Whether a plate is a flat ground: full but for a few spots."""
    return int(histogram[FULL_FROM:].sum()) >= _EVEN * int(histogram.sum())


def _others_are_light(index: int, counts: Sequence[NDArray[np.int64]]) -> bool:
    """Two or more other plates with ink, all of them bare on a good part of the sheet."""
    others = [c for i, c in enumerate(counts) if i != index and c[1:].any()]
    bare = all(int(c[: 255 - FULL_FROM + 1].sum()) >= _OTHERS_BARE * int(c.sum()) for c in others)
    return len(others) >= 2 and bare


def _runs_against_others(index: int, together: JointCounts) -> bool:
    correlation = together.correlation(index)
    if together.bare_share(index) >= _SOME_PAPER:
        return together.full_share_on_bare(index) >= _ALONE and correlation <= _WITH_OTHERS
    return correlation <= _AGAINST_OTHERS
