"""Choosing inks: from a wish to the best compromises.

All palettes are looked at with the best mixes of small sets, the best of them measured in full, and
only these are ranked. No randomness, and threads change nothing: same wish, same choice.
"""

from inkmix.base.ordered_threads import in_order
from inkmix.mixes.palettes.front import front_of, near_ties
from inkmix.mixes.palettes.measure import measure
from inkmix.mixes.palettes.shortlist import Progress, set_size, shortlist, silent, table_of
from inkmix.mixes.palettes.task import task_of
from inkmix.mixes.palettes.thin import searchable
from inkmix.mixes.palettes.values import Choice, Measured, Wish
from inkmix.mixes.palettes.words import words_of

MOST_MEASURED = 500
_AT_ONCE = 32  # palettes to measure; a megabyte or two of lattice each


def choose(wish: Wish, *, most: int = MOST_MEASURED, progress: Progress = silent) -> Choice:
    """The best palettes for a wish.

    Parameters
    ----------
    most : int
        Palettes to measure in full.
    progress : callable
        Told what is done ("mixes", "palettes", "best palettes"), how many, and of how many.

    Raises
    ------
    UsageError
        If the wish cannot be worked on; with every reason.
    """
    task = task_of(wish)
    tried = searchable(task, progress=progress)
    table = table_of(task, tried.free, size=set_size(task), progress=progress)
    left = shortlist(task, table, most=most, progress=progress)
    measured: list[Measured] = []
    parts = [left.members[k : k + _AT_ONCE] for k in range(0, len(left.members), _AT_ONCE)]
    for some in in_order(lambda members: measure(task, members), parts):
        measured += some
        progress("best palettes", len(measured), len(left.members))
    ranked = tuple(sorted(measured, key=lambda one: (one.total_points, one.inks)))
    return Choice(
        front=front_of(ranked),
        ranked=ranked,
        near_ties=tuple(one.inks for one in near_ties(ranked)),
        searched=left.searched,
        exact=tried.is_all,
        words=words_of(task, tried, left, ranked),
    )
