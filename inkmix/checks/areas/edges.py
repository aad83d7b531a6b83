"""The four edges of a part of a picture, and what meets where two parts are put together.

Only the numbers of areas along edges are known here, not the areas themselves.
"""

from typing import NamedTuple

import numpy as np

from inkmix.base.loops import are_compiled
from inkmix.checks.window import Counts

Span = tuple[int, int]


class Edges(NamedTuple):
    """Row of the open table along each edge of a part, -1 where there is no area."""

    top: Counts
    bottom: Counts
    left: Counts
    right: Counts

    def moved(self, by: int) -> "Edges":
        """The same edges with every area's row moved by a number of rows."""
        return Edges(*(np.where(edge < 0, -1, edge + by) for edge in self)) if by else self

    def renumbered(self, numbers: Counts) -> "Edges":
        """The same edges after row k of the table became row `numbers[k]`."""
        return Edges(*(np.append(numbers, -1)[edge] for edge in self))


class Outline(NamedTuple):
    """Rows and columns (half-open) that a part covers, and its edges."""

    rows: Span
    cols: Span
    edges: Edges


def bare_edges(shape: tuple[int, int]) -> Edges:
    """Edges of a part (rows, cols) without an area."""
    rows, cols = shape
    return Edges(*(np.full(length, -1, np.int64) for length in (cols, cols, rows, rows)))


def join(first: Outline, second: Outline) -> tuple[Outline, tuple[Counts, Counts]]:
    """Outline of two parts that make a rectangle, and both sides of the seam between them.

    Raises
    ------
    ValueError
        If they do not make a rectangle, the second below the first or right of it.
    """
    one, other = first.edges, second.edges
    if first.cols == second.cols and first.rows[1] == second.rows[0]:
        left = np.concatenate((one.left, other.left))
        right = np.concatenate((one.right, other.right))
        rows = (first.rows[0], second.rows[1])
        outline = Outline(rows, first.cols, Edges(one.top, other.bottom, left, right))
        return outline, (one.bottom, other.top)
    if first.rows == second.rows and first.cols[1] == second.cols[0]:
        top = np.concatenate((one.top, other.top))
        bottom = np.concatenate((one.bottom, other.bottom))
        cols = (first.cols[0], second.cols[1])
        outline = Outline(first.rows, cols, Edges(top, bottom, one.left, other.right))
        return outline, (one.right, other.left)
    raise ValueError(
        f"rows {first.rows}, columns {first.cols} and rows {second.rows}, columns "
        f"{second.cols} do not make one rectangle"
    )


def groups_across(seam: tuple[Counts, Counts], count: int) -> Counts:
    """Number of the joined area for each of `count` areas, from what touches across the seam.

    Joined areas are numbered by the lowest area in each.
    """
    if not are_compiled():
        return _connected(seam, count)
    from inkmix.base.kernels import runs

    groups = np.empty(count, np.int64)
    runs.groups_across(*seam, groups)
    return groups


def _connected(seam: tuple[Counts, Counts], count: int) -> Counts:
    """The same with a library that is loaded only where loops are not compiled."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    ones, others = seam
    pairs = [(ones, others), (ones[1:], others[:-1]), (ones[:-1], others[1:])]
    a = np.concatenate([pair[0] for pair in pairs])
    b = np.concatenate([pair[1] for pair in pairs])
    both = (a >= 0) & (b >= 0)
    links = coo_array((np.ones(int(both.sum()), dtype=bool), (a[both], b[both])), (count, count))
    groups: Counts = connected_components(links, directed=False)[1].astype(np.int64)
    return groups
