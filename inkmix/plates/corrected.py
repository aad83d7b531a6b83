"""Ink amounts of a set after a correction, turned into those of its files.

What a file cannot hold is settled here: a plate of 8 bits among those of 16, one that prints twice,
one that is finer than the set, one that the spread lacks. Rounding goes towards less ink, so that
no limit is passed. Nothing is read or written.
"""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from inkmix.plates.files.raster import Samples
from inkmix.plates.plate import EmptyPlate
from inkmix.plates.set import PlateSet

_STEP = 257  # from one step of 8 bits to the next, at 16


def held(plates: PlateSet, before: Samples, after: Samples) -> Samples:
    """What the plates can hold of ink amounts (I, rows, cols) of the set.

    Plates that the spread lacks and plates of dots stay as they are; a plate that prints twice is
    the same both times; of 16 bits, plates of 8 keep what they have.
    """
    made: dict[int, Samples] = {}
    stay = fixed(plates)
    for index in range(len(plates.plates)):
        first = first_print(plates, index)
        if first != index:
            made[index] = made.get(first, after[first])
        elif index in stay:
            made[index] = before[index]
        elif is_coarse(plates, index):
            made[index] = _stepped(before[index], after[index])
    if not made:
        return after
    done: Samples = after.copy()
    for index, plane in made.items():
        done[index] = plane
    return done


def fixed(plates: PlateSet) -> frozenset[int]:
    """Numbers of the plates that cannot be changed by themselves."""
    return frozenset(
        index
        for index, plate in enumerate(plates.plates)
        if isinstance(plate, EmptyPlate)
        or plates.screened[index]
        or first_print(plates, index) != index
    )


def following(plates: PlateSet, planes: Samples) -> Samples:
    """Planes (I, ...) in which each plate that prints once more is as its first print."""
    later = {k: first for k in range(len(planes)) if (first := first_print(plates, k)) != k}
    if not later:
        return planes
    done: Samples = planes.copy()
    for index, first in later.items():
        done[index] = done[first]
    return done


def first_print(plates: PlateSet, index: int) -> int:
    """The first plate of the set that is the same channel of the same file."""
    wanted = _channel(plates, index)
    return next((k for k in range(index) if wanted and _channel(plates, k) == wanted), index)


def is_coarse(plates: PlateSet, index: int) -> bool:
    """Whether a plate holds fewer steps than the set, pixel by pixel."""
    return plates.full > plates.plates[index].header.full and plates.factors[index] == 1


def in_file(
    plates: PlateSet, index: int, fine: Samples, *, before: Samples, after: Samples
) -> Samples:
    """Ink amounts of a plate in its own pixels and depth.

    Parameters
    ----------
    fine : (rows, cols) uint8 or uint16
        As its file has them; a rectangle that begins where the set's does.
    before, after : (rows, cols) uint8 or uint16
        Of the set, `after` as it can be held.
    """
    factor, full = plates.factors[index], plates.plates[index].header.full
    if factor == 1:
        return after if full == plates.full else _of_depth(after // _STEP, fine)
    return _spread_out(fine, _grown(before, fine, factor), _grown(after, fine, factor), plates.full)


def _spread_out(
    fine: Samples, before: NDArray[np.int64], after: NDArray[np.int64], full: int
) -> Samples:
    """Ink taken from each finer pixel in proportion, or given to it in proportion to its room.

    So no pixel is clipped, and their mean becomes what is wanted.
    """
    most, now = np.iinfo(fine.dtype).max, fine.astype(np.int64)
    less = now * after // np.maximum(before, 1)
    more = now + (most - now) * (after - before) // np.maximum(full - before, 1)
    made = np.where(after < before, less, np.where(after > before, more, now))
    return _of_depth(made, fine)


def _grown(plane: Samples, fine: Samples, factor: int) -> NDArray[np.int64]:
    """A plane in the pixels of a finer one."""
    grown = np.repeat(np.repeat(plane, factor, axis=0), factor, axis=1)
    return np.asarray(grown[: fine.shape[0], : fine.shape[1]], dtype=np.int64)


def _stepped(before: Samples, after: Samples) -> Samples:
    """The step of 8 bits below; what did not change is one already."""
    return _of_depth(np.where(after == before, before, after // _STEP * _STEP), after)


def _of_depth(values: NDArray[Any], like: Samples) -> Samples:
    """Ink amounts of the depth of others."""
    same: NDArray[Any] = values.astype(like.dtype, copy=False)
    return same


def _channel(plates: PlateSet, index: int) -> tuple[Any, ...]:
    """Where a plate lies; nothing for one that the spread lacks."""
    header = plates.plates[index].header
    return () if header.path is None else (header.path, header.page, header.channel)
