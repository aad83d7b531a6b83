"""Solids of the process inks as published, by paper class: what a plausible ink looks like.

They stand in for a white or a black that nobody measured: of a paper told by a screen colour, of an
ink seen over some black.
"""

from types import MappingProxyType

from inkmix.base.arrays import FloatArray, read_only
from inkmix.colour.colorimetry import lab_to_xyz100

# Paper, K, C, M, Y as CIELAB D50, from the files FOGRA39L, FOGRA29L and TR 002.
_LAB = MappingProxyType({
    "coated": read_only(
        [(95.0, 0, -2), (16.0, 0, 0), (55.0, -37, -50), (48.0, 74, -3), (89.0, -5, 93)]
    ),
    "uncoated": read_only(
        [(95.71, 0.61, -2.32), (31.9, 2.0, 2.1), (59.0, -26.7, -42.8), (55.04, 59.46, -4.0),
         (88.8, -1.6, 79.2)]
    ),
    "newsprint": read_only(
        [(80.07, -0.01, 3.51), (36.69, 1.68, 4.25), (56.58, -23.4, -26.45), (52.69, 44.14, -1.09),
         (76.57, -4.05, 54.72)]
    ),
})  # fmt: skip

# The two classes without a set of their own lean on the nearest one.
_NEAREST = MappingProxyType({"light-coated": "coated", "supercalendered": "coated"})


def process_solids_lab(paper_class: str) -> FloatArray:
    """Paper, K, C, M, Y (5, 3) of the nearest published set, CIELAB D50."""
    return _LAB[_NEAREST.get(paper_class, paper_class)]


def process_solids_xyz100(paper_class: str) -> FloatArray:
    """Paper, K, C, M, Y (5, 3) of the nearest published set, XYZ D50."""
    return lab_to_xyz100(process_solids_lab(paper_class))
