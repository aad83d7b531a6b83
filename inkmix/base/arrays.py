"""Arrays as values: read-only and 64-bit.

Helpers that every layer shares and that know nothing of colour belong here, nothing else.
"""

from collections.abc import Sequence
from typing import Any, TypeAlias

import numpy as np
import numpy.typing as npt

FloatArray: TypeAlias = npt.NDArray[np.float64]
BoolArray: TypeAlias = npt.NDArray[np.bool_]
IntArray: TypeAlias = npt.NDArray[np.int64]


def read_only(values: npt.ArrayLike) -> FloatArray:
    """A 64-bit copy of `values` that nobody can change."""
    array = np.array(values, dtype=np.float64)
    array.setflags(write=False)
    return array


def smoothstep(share: npt.NDArray[np.floating[Any]]) -> npt.NDArray[np.floating[Any]]:
    """0 to 1 without a kink at either end; shares (...) beyond these stay there."""
    at = np.clip(share, 0, 1)
    return np.asarray(at * at * (3 - 2 * at))


def all_combinations(axes: Sequence[FloatArray]) -> FloatArray:
    """All combinations (N, I) of values (V,) on each of I axes, the last one varying fastest."""
    return np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, len(axes))
