"""Room for a file that has to be decoded whole: memory for small ones, a temporary file above."""

import math
import tempfile

import numpy as np
from numpy.typing import DTypeLike, NDArray

from inkmix.plates.limits import MAX_IN_MEMORY_BYTES


def scratch_array(shape: tuple[int, ...], dtype: DTypeLike) -> NDArray[np.generic]:
    """Zeroed array; above the limit it lies in a temporary file that goes with the array."""
    if math.prod(shape) * np.dtype(dtype).itemsize <= MAX_IN_MEMORY_BYTES:
        return np.zeros(shape, dtype)
    with tempfile.TemporaryFile(prefix="inkmix-") as file:
        return np.memmap(file, dtype=dtype, mode="w+", shape=shape)
