"""The channels that tints mix in: three narrow bands made from XYZ.

XYZ overlaps too much for layers to multiply in it; three sharper mixtures of it do. What happens
inside a channel belongs elsewhere, and so do the spectra by which some solids overprint.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from inkmix.base.arrays import FloatArray, read_only
from inkmix.press.constants import MODEL

BANDS = 3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Channels:
    """Reflectance relative to one paper, and the way back to XYZ.

    Parameters
    ----------
    paper : (3,) array
        Absolute signal of the bare paper in each band.
    to_xyz100 : (3, 3) array
        Carries absolute signals to XYZ.
    """

    paper: FloatArray
    to_xyz100: FloatArray

    def relative(self, xyz100: npt.ArrayLike) -> FloatArray:
        """Reflectance (..., 3) relative to the paper of XYZ (..., 3); never below a least one."""
        share = xyz100_to_bands(xyz100) / self.paper
        return np.asarray(np.maximum(MODEL.least_reflectance, share), dtype=np.float64)

    def relative_to_xyz100(self, relative: FloatArray) -> FloatArray:
        """XYZ (..., 3) of reflectance (..., 3) relative to the paper."""
        return np.asarray((relative * self.paper) @ self.to_xyz100, dtype=np.float64)


def xyz100_to_bands(xyz100: npt.ArrayLike) -> FloatArray:
    """Signals (..., 3) of the narrow bands (red, green, blue) of XYZ (..., 3)."""
    return np.asarray(np.asarray(xyz100, np.float64) @ MODEL.band_matrix.T, dtype=np.float64)


def narrow_bands(paper_xyz100: npt.ArrayLike) -> Channels:
    """The three narrow bands on a paper of this colour."""
    return Channels(
        paper=read_only(xyz100_to_bands(paper_xyz100)),
        to_xyz100=read_only(np.linalg.inv(MODEL.band_matrix).T),
    )
