"""The published sets in tests/reference as the tests of the press model use them."""

from functools import cache
from pathlib import Path

import numpy as np

from inkmix.colour.measured.cgats import parse_cgats
from inkmix.press.scoring.chart import read_chart

REFERENCE = Path(__file__).parent / "reference"
#: File and paper class of each set.
SETS = {"fogra39l": "coated", "fogra29l": "uncoated", "tr002": "newsprint"}


@cache
def table(name):
    path = REFERENCE / f"{name}.txt"
    return parse_cgats(path.read_bytes(), where=path.name)


@cache
def chart(name):
    """Plates in lay-down order K, C, M, Y."""
    return read_chart(table(name)).in_order(tuple("KCMY"))


def patch(name, *kcmy):
    """Row of the first patch with these tone values."""
    return int(np.flatnonzero((chart(name).tone_pct == kcmy).all(axis=1))[0])
