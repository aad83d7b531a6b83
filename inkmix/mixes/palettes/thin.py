"""Fewer candidates where there are too many palettes to try them all.

The candidates that are left are those of the best small sets: by all that is reckoned of every
palette, for each wished tone by itself, and for darkness, in turn. What is left out could still
have been part of a best palette; whoever shows the choice says so.
"""

from dataclasses import dataclass
from math import comb

import numpy as np

from inkmix.base.arrays import IntArray
from inkmix.mixes.palettes.shortlist import (
    Progress,
    Table,
    choices,
    points_of_sets,
    set_size,
    table_of,
)
from inkmix.mixes.palettes.task import Task

MOST_SETS = 60_000
"""Small sets to search: about half a minute on two cores."""

MOST_PALETTES = 20_000_000
"""Palettes to put together from them: as long again."""

_SETS_A_SECOND = 2_000
_PALETTES_A_SECOND = 700_000


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Searchable:
    """The free inks among which every palette is tried, and whether these are all."""

    free: IntArray
    is_all: bool


def searchable(task: Task, *, progress: Progress) -> Searchable:
    """All free inks, or as many of the most useful ones as can be searched."""
    count = _most_inks(task)
    if count >= len(task.free):
        return Searchable(free=task.free, is_all=True)
    size = _size_for_all(task)
    table = table_of(task, task.free, size=size, progress=progress)
    return Searchable(free=_most_useful(task, table, count), is_all=False)


def seconds_for_all(task: Task) -> float:
    """About how long trying every palette of all candidates would take on two cores."""
    of = len(task.free)
    return comb(of, set_size(task)) / _SETS_A_SECOND + comb(of, task.wish.k) / _PALETTES_A_SECOND


def _most_inks(task: Task) -> int:
    """How many inks can be searched."""
    count, size, k = len(task.free), set_size(task), task.wish.k
    while count > k and (comb(count, size) > MOST_SETS or comb(count, k) > MOST_PALETTES):
        count -= 1
    return count


def _size_for_all(task: Task) -> int:
    """The largest sets of which all can be searched; single inks at least."""
    size = set_size(task)
    while size > 1 and comb(len(task.free), size) > MOST_SETS:
        size -= 1
    return size


def _most_useful(task: Task, table: Table, count: int) -> IntArray:
    """The first inks that come up in the best sets by each order, in turn."""
    sets = choices(np.arange(len(table.darkest)), size=table.size, of=len(table.free))
    columns = [points_of_sets(task, table, sets), *table.de00.T, table.darkest[:, 0]]
    orders = np.stack([np.argsort(column, kind="stable") for column in columns], axis=1)
    useful = dict.fromkeys(table.free[sets[orders.ravel()]].ravel().tolist())
    return np.sort(np.array(list(useful)[:count], np.int64))
