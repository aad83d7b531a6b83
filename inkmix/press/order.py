"""The lay-down order that is proposed where nobody told one.

Process inks come first, in their usual order, then spot inks from dark to light, an orange last: it
scatters, and shows its colour on whatever it is printed over. The printer decides.
"""

from collections.abc import Sequence

from inkmix.press.carry import put_on_paper
from inkmix.press.inks import Ink, Paper
from inkmix.press.opacity import is_orange
from inkmix.press.process_inks import SPOT, kind_of


def lay_down_order(inks: Sequence[Ink], paper: Paper) -> tuple[int, ...]:
    """Places in `inks`, first printed first; names decide between equally dark ones."""
    keys = [_key(put_on_paper(ink, paper), paper) for ink in inks]
    return tuple(sorted(range(len(keys)), key=keys.__getitem__))


def _key(ink: Ink, paper: Paper) -> tuple[int, float, str]:
    kind, luminance = kind_of(ink, paper), round(float(ink.xyz100[-1, 1]), 1)
    if kind != SPOT:
        return kind, luminance, ink.name
    return (5 if is_orange(ink) else 4), luminance, ink.name
