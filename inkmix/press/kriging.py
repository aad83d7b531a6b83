"""What measured patches say beyond the model: kriging of the residual in y, per channel."""

from dataclasses import dataclass

import numpy as np

from inkmix.arrays import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ResidualField:
    """Placeholder"""

    primaries_shift: FloatArray

    def spreading_shift(
        self, coverage: FloatArray, spreaded: FloatArray, primaries: FloatArray
    ) -> FloatArray:
        return np.zeros(coverage.shape[1:])
