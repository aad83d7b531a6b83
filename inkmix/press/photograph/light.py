"""The light on a photographed sheet, told by bare paper between the patches.

A smooth surface, so that a shadow with an edge or a reflection cannot be followed: it shows as what
the surface leaves.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkmix.base.arrays import BoolArray, FloatArray

DEGREE = 4
"""Of the polynomial of log light: the lens darkens its corners by the fourth power of a cosine."""
MOST_RATIO = 2.5
"""From the lightest to the darkest place of the form: beyond, grain and stray light rule."""
MOST_LEFT = 0.04
"""What the surface may leave, of the paper's light: a quarter of it would be dE00 1 (L* 0.4)."""

_CELL = 24  # samples on a side; at 5 a mm some 5 mm
_FEWEST = 30  # samples of a cell that show paper
_FEWEST_CELLS = 40
_PAPER_FROM = 0.9  # of the light samples of a cell: type and specks are darker
_ROUNDS = 6
_SOUND = 3.0  # times the median, beyond which a cell is taken as something else


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Light:
    """How much light falls on the sheet, in each channel, as the paper shows it.

    Parameters
    ----------
    surface : (K, 3) ndarray
        Coefficients of its logarithm.
    ratio : float
        From the lightest to the darkest place of the form.
    left : float
        What the surface leaves of the paper's light: 95 of 100 places lie within this share.
    size : (rows, cols)
        Samples of the form.
    """

    surface: FloatArray
    ratio: float
    left: float
    size: tuple[int, int]

    def at(self, rows: FloatArray, cols: FloatArray) -> FloatArray:
        """Linear light (..., 3) of paper at samples (...)."""
        return np.asarray(np.exp(_terms(rows, cols, self.size) @ self.surface), np.float64)


def light_on(linear: NDArray[np.float32], is_bare: BoolArray) -> Light | None:
    """The light on a flattened form; None where too little paper is seen.

    Parameters
    ----------
    linear : (rows, cols, 3) array
        In linear light.
    is_bare : (rows, cols) array of bool
        Where nothing is printed but perhaps some type.
    """
    cells = [
        (row, col, light)
        for row in range(0, len(linear), _CELL)
        for col in range(0, linear.shape[1], _CELL)
        if (light := _of_cell(linear, is_bare, row, col)) is not None
    ]
    if len(cells) < _FEWEST_CELLS:
        return None
    size = linear.shape[:2]
    half = (_CELL - 1) / 2
    rows, cols = (np.array([one[k] for one in cells], np.float64) + half for k in (0, 1))
    logs = np.log(np.array([one[2] for one in cells]))
    terms = _terms(rows, cols, size)
    surface, left = _fitted(terms, logs)
    grid = np.meshgrid(*(np.linspace(0, side - 1, 24) for side in size), indexing="ij")
    whole = (_terms(grid[0], grid[1], size) @ surface).mean(axis=-1)
    return Light(
        surface=surface,
        ratio=float(np.exp(whole.max() - whole.min())),
        left=float(np.quantile(np.abs(left).max(axis=1), 0.95)),
        size=size,
    )


def _of_cell(
    linear: NDArray[np.float32], is_bare: BoolArray, row: int, col: int
) -> FloatArray | None:
    """Light (3,) of the paper in a cell; None where there is too little of it."""
    here = slice(row, row + _CELL), slice(col, col + _CELL)
    some = linear[here][is_bare[here]]
    if len(some) < _FEWEST:
        return None
    grey = some.mean(axis=1)
    paper = some[grey >= _PAPER_FROM * np.quantile(grey, 0.75)]
    light = np.asarray(paper.mean(axis=0), np.float64)
    return light if (light > 0).all() else None


def _fitted(terms: FloatArray, logs: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Coefficients (K, 3) by cells that agree, and what is left (N, 3) of all."""
    sound = np.ones(len(terms), np.bool_)
    for _ in range(_ROUNDS):
        surface = np.linalg.lstsq(terms[sound], logs[sound], rcond=None)[0]
        left = logs - terms @ surface
        off = np.abs(left).max(axis=1)
        agree = off <= max(_SOUND * float(np.median(off)), 1e-3)
        if (agree == sound).all() or agree.sum() < _FEWEST_CELLS:
            break
        sound = agree
    return np.asarray(surface, np.float64), left


def _terms(rows: FloatArray, cols: FloatArray, size: tuple[int, int]) -> FloatArray:
    """Products of powers (..., K) up to the degree, of places from -1 to 1."""
    y, x = 2 * rows / size[0] - 1, 2 * cols / size[1] - 1
    return np.stack(
        [x**i * y**j for i in range(DEGREE + 1) for j in range(DEGREE + 1 - i)], axis=-1
    )
