"""The palettes worth measuring in full, found among all of them.

A tone is mixed from few inks. So the best mix of every small set (the fixed inks and up to three
others) is found once, and a palette gets the best of the sets that it holds. What that leaves out,
a fourth ink in the mix and the greatest density that depends on the whole palette, is put right
when the palettes that are left are measured (measure.py).
"""

from collections.abc import Callable
from dataclasses import dataclass
from itertools import combinations
from math import comb

import numpy as np

from inkmix.base.arrays import FloatArray, IntArray
from inkmix.base.ordered_threads import in_order
from inkmix.mixes.constraints import constraints_omitting
from inkmix.mixes.goals import Nearness
from inkmix.mixes.palettes.measures import grey_steps, points_of
from inkmix.mixes.palettes.mixtures import mixtures_of
from inkmix.mixes.palettes.task import Task
from inkmix.mixes.search import near_of_each

Progress = Callable[[str, int, int], None]
"""Told what is being done, how much of it is done, and of how much."""

_SETS_AT_ONCE = 128
_PALETTES_AT_ONCE = 1 << 15
_ALONG = (0, 11, 5, 4, 3, 3, 3, 3, 3)  # tone values along each ink, by the number of inks


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Table:
    """What small sets can do.

    Parameters
    ----------
    free : (N,) array of int
        Inks that sets are chosen from.
    size : int
        How many of them are in a set.
    de00 : (S, T) array
        Of each wished tone.
    darkest : (S, 2) array
        L* and chroma.
    """

    free: IntArray
    size: int
    de00: FloatArray
    darkest: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Shortlist:
    """Palettes that are left, (P, K + F) in lay-down order, and how they were found.

    Parameters
    ----------
    members : (P, I) array of int
    searched : int
    nearest : (T, J) array of int
        The small set that comes nearest to each tone.
    """

    members: IntArray
    searched: int
    nearest: IntArray


def silent(doing: str, done: int, of: int) -> None:
    """Tell nobody how far it is."""


def set_size(task: Task) -> int:
    """How many free inks a small set holds beside the fixed ones: four inks or so in all."""
    return min(task.wish.k, 3 if len(task.fixed) <= 1 else 2)


def table_of(task: Task, free: IntArray, *, size: int, progress: Progress) -> Table:
    """Search every set of `size` inks out of `free`, with the fixed ones."""
    count = comb(len(free), size)

    def search(start: int) -> tuple[FloatArray, FloatArray]:
        numbers = np.arange(start, min(start + _SETS_AT_ONCE, count))
        members = with_fixed(task, free[choices(numbers, size=size, of=len(free))])
        return _search(task, members)

    parts = []
    for part in in_order(search, range(0, count, _SETS_AT_ONCE)):
        parts.append(part)
        progress("mixes", min(len(parts) * _SETS_AT_ONCE, count), count)
    de00, darkest = (np.concatenate(column) for column in zip(*parts, strict=True))
    return Table(free=free, size=size, de00=de00, darkest=darkest)


def with_fixed(task: Task, chosen: IntArray) -> IntArray:
    """Chosen inks (N, K) and the fixed ones, in lay-down order."""
    fixed = np.broadcast_to(task.fixed, (len(chosen), len(task.fixed)))
    return np.sort(np.concatenate([chosen, fixed], axis=1), axis=1)


def _search(task: Task, members: IntArray) -> tuple[FloatArray, FloatArray]:
    """About how near small sets (S, I) come, dE00 (S, T); L* and chroma of the darkest (S, 2)."""
    mixtures = mixtures_of(task.press, members)
    constraints = constraints_omitting(task.aims, inks=members.shape[1])
    lattice = mixtures.lattice(constraints, along=_ALONG)
    de00 = np.empty((len(task.goals), len(members)))
    if len(task.goals):
        de00 = near_of_each(mixtures, constraints, Nearness(targets=task.goals), lattice)
    dark = lattice.lab[lattice.best_nodes(lattice.lab[None, :, 0], 1)[0, :, 0]]
    chroma = np.hypot(dark[:, 1], dark[:, 2])
    return de00.T, np.column_stack([dark[:, 0], chroma])


def shortlist(task: Task, table: Table, *, most: int, progress: Progress) -> Shortlist:
    """The `most` best palettes by what is known of all of them, the best first."""
    total = comb(len(table.free), task.wish.k)

    def search(start: int) -> tuple[IntArray, FloatArray]:
        numbers = np.arange(start, min(start + _PALETTES_AT_ONCE, total))
        chosen = choices(numbers, size=task.wish.k, of=len(table.free))
        points = points_of_sets(task, table, chosen)
        best = np.argsort(points, kind="stable")[:most]
        return numbers[best], points[best]

    numbers, points = np.empty(0, np.int64), np.empty(0)
    for done, part in enumerate(in_order(search, range(0, total, _PALETTES_AT_ONCE)), start=1):
        numbers, points = np.append(numbers, part[0]), np.append(points, part[1])
        best = np.argsort(points, kind="stable")[:most]
        numbers, points = numbers[best], points[best]
        progress("palettes", min(done * _PALETTES_AT_ONCE, total), total)
    chosen = table.free[choices(numbers, size=task.wish.k, of=len(table.free))]
    return Shortlist(
        members=with_fixed(task, chosen),
        searched=total,
        nearest=_nearest(task, table),
    )


def _nearest(task: Task, table: Table) -> IntArray:
    """The small set (T, J) that comes nearest to each tone."""
    at = table.de00.argmin(axis=0)
    return with_fixed(task, table.free[choices(at, size=table.size, of=len(table.free))])


def points_of_sets(task: Task, table: Table, chosen: IntArray) -> FloatArray:
    """Points (N,) of choices (N, K) out of the free inks of a table, with the fixed ones."""
    de00, darkest = _best_of_sets(table, chosen)
    members = with_fixed(task, table.free[chosen])
    figures = {
        "darkest_L": darkest[:, 0],
        "darkest_chroma": darkest[:, 1],
        "solids_chroma": solids_chroma(task, table.free[chosen]),
        "grey_steps": grey_of(task, members),
    }
    if de00.shape[1]:
        figures |= {"tones_de00": de00 @ task.tone_weights, "tones_worst_de00": de00.max(axis=1)}
    parts = [points_of(name, figure, task.weights[name]) for name, figure in figures.items()]
    return np.asarray(np.sum(parts, axis=0))


def _best_of_sets(table: Table, chosen: IntArray) -> tuple[FloatArray, FloatArray]:
    """dE00 (N, T) and darkest mix (N, 2) of choices (N, K), the best of the sets in each."""
    de00 = np.full((len(chosen), table.de00.shape[1]), np.inf)
    darkest = np.full((len(chosen), 2), np.inf)
    for some in combinations(range(chosen.shape[1]), table.size):
        at = number_of(chosen[:, some], of=len(table.free))
        np.minimum(de00, table.de00[at], out=de00)
        darker = table.darkest[at, 0] < darkest[:, 0]
        darkest[darker] = table.darkest[at[darker]]
    return de00, darkest


def solids_chroma(task: Task, chosen: IntArray) -> FloatArray:
    """Mean chroma (N,) of the solids of chosen inks (N, K)."""
    chroma = np.hypot(task.solids_lab[:, 1], task.solids_lab[:, 2])
    return np.asarray(chroma[chosen].mean(axis=1))


def grey_of(task: Task, members: IntArray) -> FloatArray:
    """Steps of grey (N,) of palettes (N, I) on their paper."""
    paper = np.full((len(members), 1), task.paper_L)
    return grey_steps(np.concatenate([task.solids_lab[members, 0], paper], axis=1))


def choices(numbers: IntArray, *, size: int, of: int) -> IntArray:
    """The choices (N, size) of these numbers (N,), each ascending, out of `of` things.

    A choice c0 < c1 < ... has as its number the sum of C(ci, i + 1), the combinatorial number
    system: so millions need not be held at once.
    """
    rest = np.array(numbers, dtype=np.int64)
    result = np.empty((len(rest), size), np.int64)
    for place in range(size - 1, -1, -1):
        counts = _counts(place + 1, of)
        result[:, place] = np.searchsorted(counts, rest, side="right") - 1
        rest -= counts[result[:, place]]
    return result


def number_of(choice: IntArray, *, of: int) -> IntArray:
    """The numbers (N,) of choices (N, size) out of `of` things."""
    total = np.zeros(len(choice), np.int64)
    for place in range(choice.shape[1]):
        total += _counts(place + 1, of)[choice[:, place]]
    return total


def _counts(size: int, of: int) -> IntArray:
    """How many choices of a size lie wholly below each thing, (of,)."""
    return np.array([comb(thing, size) for thing in range(of)], np.int64)
