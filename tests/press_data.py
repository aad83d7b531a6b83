"""Published sets that may not be handed on: in a folder that INKMIX_PRESS_DATA names, if any."""

import os
from functools import cache
from pathlib import Path

import pytest

from inkmix.colour.measured.cgats import parse_cgats
from inkmix.press.scoring.chart import read_chart

FOLDER = os.environ.get("INKMIX_PRESS_DATA", "")
#: Tests that need them say so where the folder is not there.
with_press_data = pytest.mark.skipif(
    not (FOLDER and Path(FOLDER).is_dir()),
    reason="INKMIX_PRESS_DATA names no folder of published sets",
)
SEVEN = "aptec-cmykogv-coated-2025"
#: Black, violet, magenta, cyan, green, yellow, orange: what fits the measured overprints best, for
#: the set does not state its order; and the order that is proposed where nobody told one.
ORDER = "NCLR_4,NCLR_7,NCLR_2,NCLR_1,NCLR_6,NCLR_3,NCLR_5"
PROPOSED = "NCLR_4,NCLR_1,NCLR_2,NCLR_3,NCLR_7,NCLR_6,NCLR_5"


@cache
def chart(name, order="KCMY"):
    """The readings of a set with its plates in lay-down order."""
    path = Path(FOLDER) / f"{name}.txt"
    plates = tuple(order.split(",")) if "," in order else tuple(order)
    return read_chart(parse_cgats(path.read_bytes(), where=path.name)).in_order(plates)
