"""Process inks among the inks of a press, told by colour alone, and what presses share in them.

Black, cyan, magenta and yellow are the only inks that many presses were measured with. An ink of
that colour is one, whatever it is called; every other is a spot ink.
"""

from collections.abc import Sequence

import numpy as np

from inkmix.base.arrays import BoolArray, FloatArray, IntArray
from inkmix.colour.colorimetry import delta_e00, lab_to_xyz100, xyz100_to_lab
from inkmix.press.constants import MODEL, PROCESS_LETTERS, Common
from inkmix.press.inks import Ink, Paper

#: Index of the black among the process inks.
BLACK = 0
#: What stands for a spot ink in a list of process inks.
SPOT = -1


def kind_of(ink: Ink, paper: Paper) -> int:
    """Which process ink an ink is by its solid on the paper: 0-3 for K, C, M, Y, or SPOT.

    None that somebody says is opaque, fluorescent or metallic is one, nor any that is brighter than
    the paper. A black may be as dark as it likes.
    """
    constants = MODEL.process_inks
    means = constants.solids_lab[MODEL.paper[paper.paper_class].group]
    L, a, b = xyz100_to_lab(ink.xyz100[-1])
    distance = delta_e00(np.array([max(L, means[BLACK, 0]), a, b]), means)
    is_plain = not ink.character and not is_opaque(ink) and ink.xyz100[-1, 1] < paper.xyz100[1]
    is_near = bool(distance.min() <= constants.within_de00)
    return int(distance.argmin()) if is_near and is_plain else SPOT


def first_of_each(kinds: Sequence[int]) -> IntArray:
    """The kinds of inks (I,) printed together: of two inks of one kind the second is a spot ink."""
    return np.array(
        [SPOT if kind in kinds[:at] else kind for at, kind in enumerate(kinds)], dtype=np.int64
    )


def is_opaque(ink: Ink) -> bool:
    """Whether an ink hides what lies under it, by what is said or measured of it.

    Over a black it does if it is lighter there than the black by more than a little of its own.
    """
    if ink.opacity is not None or ink.over_black_xyz100 is None:
        return (ink.opacity or 0.0) > MODEL.opacity.opaque_above
    black = black_under(ink, ink.measured_on)
    own = MODEL.opacity.opaque_above * ink.xyz100[-1, 1]
    return bool(ink.over_black_xyz100[1] > black[1] + own)


def black_under(ink: Ink, paper: Paper) -> FloatArray:
    """XYZ (3,) of the black that an ink was seen over, else of the published one on the paper."""
    if ink.black_xyz100 is not None:
        return ink.black_xyz100
    published = process_solids_xyz100(paper.paper_class)
    return np.asarray(published[1 + BLACK] / published[0] * paper.xyz100, dtype=np.float64)


def process_solids_lab(paper_class: str) -> FloatArray:
    """Paper, K, C, M, Y (5, 3) as published for such paper, CIELAB D50: what is plausible there.

    They stand in for a white or a black that nobody measured.
    """
    return MODEL.process_inks.published_lab[MODEL.paper[paper_class].group]


def process_solids_xyz100(paper_class: str) -> FloatArray:
    """The same as XYZ (5, 3) under D50."""
    return lab_to_xyz100(process_solids_lab(paper_class))


def in_usual_order(kinds: IntArray) -> bool:
    """Whether the process inks among inks (I,) in lay-down order come as K, C, M, Y."""
    present = kinds[kinds != SPOT]
    return bool((np.diff(present) > 0).all())


def common_of(paper: Paper) -> Common:
    """What presses have in common on papers of this group."""
    return MODEL.process_inks.common[MODEL.paper[paper.paper_class].group]


def common_overprints(kinds: IntArray, rows: BoolArray, paper: Paper) -> FloatArray:
    """What log10 of the reflectance of overprints (R, 3) gains; 0 where a spot ink is in them.

    Parameters
    ----------
    kinds : (I,) array
        As `first_of_each` gives it, in the usual order.
    rows : (R, I) array of bool
        Inks of each overprint.
    """
    table = common_of(paper).overprint
    gains = np.zeros((len(rows), 3))
    for row, held in enumerate(rows):
        letters = "".join("?" if kind == SPOT else PROCESS_LETTERS[kind] for kind in kinds[held])
        if letters in table:
            gains[row] = table[letters]
    return gains


def common_spreading(kinds: IntArray, paper: Paper) -> FloatArray:
    """[i, j] (I, I, 3): how much further ink i spreads because of ink j; 0 for spot inks."""
    pairs = common_of(paper).spreading[kinds[:, None], kinds]
    both = (kinds[:, None] != SPOT) & (kinds != SPOT)
    return np.where(both[:, :, None], pairs, 0.0)
