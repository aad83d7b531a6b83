"""The channels that the model multiplies in: wavelengths, or three narrow bands made from XYZ.

XYZ overlaps too much for layers to multiply in it; three sharper mixtures of it do. Where spectra
are known the same steps run per wavelength. What happens inside a channel belongs elsewhere.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from inkmix.arrays import FloatArray, read_only
from inkmix.colorimetry import reflectance_to_xyz100
from inkmix.observer import WAVELENGTHS_NM
from inkmix.press.constants import MODEL


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Channels:
    """Reflectance relative to one paper, and the way back to XYZ.

    Parameters
    ----------
    kind : {"narrow bands", "wavelengths"}
    paper : (C,) array
        Absolute signal of the bare paper in each channel.
    to_xyz100 : (C, 3) array
        Carries absolute signals to XYZ.
    """

    kind: str
    paper: FloatArray
    to_xyz100: FloatArray

    def signal(self, xyz100: npt.ArrayLike, reflectance: FloatArray | None) -> FloatArray:
        """Absolute signal (..., C) of a measured colour, from what this kind of channel needs."""
        if self.kind == "wavelengths":
            return np.asarray(reflectance, dtype=np.float64)
        return xyz100_to_bands(xyz100)

    def relative(self, xyz100: npt.ArrayLike, reflectance: FloatArray | None) -> FloatArray:
        """Reflectance (..., C) relative to the paper; never below a least one."""
        share = self.signal(xyz100, reflectance) / self.paper
        return np.asarray(np.maximum(MODEL.least_reflectance, share), dtype=np.float64)

    def relative_to_xyz100(self, relative: FloatArray) -> FloatArray:
        """XYZ (..., 3) of reflectance (..., C) relative to the paper."""
        return np.asarray((relative * self.paper) @ self.to_xyz100, dtype=np.float64)


def xyz100_to_bands(xyz100: npt.ArrayLike) -> FloatArray:
    """Signals (..., 3) of the narrow bands (red, green, blue) of XYZ (..., 3)."""
    return np.asarray(np.asarray(xyz100, np.float64) @ MODEL.band_matrix.T, dtype=np.float64)


def narrow_bands(paper_xyz100: npt.ArrayLike) -> Channels:
    """The three narrow bands on a paper of this colour."""
    return Channels(
        kind="narrow bands",
        paper=read_only(xyz100_to_bands(paper_xyz100)),
        to_xyz100=read_only(np.linalg.inv(MODEL.band_matrix).T),
    )


def wavelengths(paper_reflectance: npt.ArrayLike) -> Channels:
    """The house wavelengths on a paper of this reflectance (36,)."""
    return Channels(
        kind="wavelengths",
        paper=read_only(paper_reflectance),
        to_xyz100=read_only(reflectance_to_xyz100(np.eye(len(WAVELENGTHS_NM)))),
    )
