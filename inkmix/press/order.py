"""The lay-down order that is proposed where nobody told one.

Process inks come first, in their usual order, then spot inks from dark to light, an orange last: it
scatters, and shows its colour on whatever it is printed over. The printer decides. What another
order would change is in inkmix.press.other_orders.
"""

from collections.abc import Sequence

from inkmix.press.constants import PROCESS_LETTERS
from inkmix.press.inks import Ink, Paper
from inkmix.press.paper_change import put_on_paper
from inkmix.press.solids.opacity import is_orange
from inkmix.press.solids.process_inks import SPOT, kind_of

_Key = tuple[int, float, str]


def lay_down_order(
    inks: Sequence[Ink], paper: Paper, *, told: Sequence[int] = ()
) -> tuple[int, ...]:
    """Places in `inks`, first printed first; names decide between equally dark ones.

    Parameters
    ----------
    told : sequence of int
        Places in `inks` of those whose order somebody told. They keep it; each other ink goes where
        fewest of them lie on its wrong side, as late as that allows.
    """
    keys = [_key(put_on_paper(ink, paper), paper) for ink in inks]
    kept = [keys[at] for at in told]
    others = sorted((at for at in range(len(keys)) if at not in told), key=keys.__getitem__)
    order: list[int] = []
    for gap in range(len(told) + 1):
        order += [at for at in others if _gap(keys[at], kept) == gap]
        order += told[gap : gap + 1]
    return tuple(order)


def _gap(key: _Key, kept: Sequence[_Key]) -> int:
    """Before which of the inks that keep their order an ink goes."""
    wrong = [
        sum(other > key for other in kept[:gap]) + sum(other < key for other in kept[gap:])
        for gap in range(len(kept) + 1)
    ]
    return len(kept) - wrong[::-1].index(min(wrong))


def _key(ink: Ink, paper: Paper) -> _Key:
    kind, luminance = kind_of(ink, paper), round(float(ink.xyz100[-1, 1]), 1)
    if kind != SPOT:
        return kind, luminance, ink.name
    return len(PROCESS_LETTERS) + is_orange(ink), luminance, ink.name
