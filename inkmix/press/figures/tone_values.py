"""Tone values of a print: how much of the paper a tint seems to cover, by the trade's three rules.

They differ: densities say most, spot colour tone value says how even the steps look. All are in
percent, 0 for the paper and 100 for the solid by definition, and none is cut to that range. Less
the tone value of the file, each is a tone value increase.
"""

import numpy as np
import numpy.typing as npt

from inkmix.base.arrays import FloatArray
from inkmix.base.errors import Fault, UsageError
from inkmix.colour.colorimetry import WHITE_XYZ100, murray_davies_pct, xyz100_to_lab
from inkmix.press.figures.densities import LEAST_DENSITY, principal_channel

_LEAST_STEP = 0.5  # L* or so: paper and solid that are nearer are told apart by no instrument
# The tristimulus value that an ink is read in, by the filter that it would be read through.
_READ_IN = {"red": 0, "green": 1, "visual": 1, "blue": 2}


def tone_value_pct(
    density: npt.ArrayLike, *, paper: npt.ArrayLike, solid: npt.ArrayLike
) -> FloatArray:
    """Tone value from densities, after Murray and Davies: optical and mechanical gain together.

    Parameters
    ----------
    density : (...) array_like
        Of tints, through one filter.
    paper, solid : (...) array_like
        Through the same filter; all three absolute, or all three above the paper.

    Raises
    ------
    UsageError
        If a solid is less than 0.02 denser than its paper.

    References
    ----------
    Murray 1936, J. Franklin Inst. 221, 721-744; ISO 12647-1, tone value on a print.

    Examples
    --------
    >>> round(float(tone_value_pct(0.5, paper=0.0, solid=1.4)), 1)
    71.2
    """
    above = np.asarray(solid, dtype=np.float64) - np.asarray(paper)
    if not (above >= LEAST_DENSITY).all():
        raise _no_tone(f"density {np.min(above):.3f} above paper", f"{LEAST_DENSITY:g} or more")
    tint, bare, full = (10.0 ** -np.asarray(d, dtype=np.float64) for d in (density, paper, solid))
    return murray_davies_pct(tint, paper=bare, solid=full)


def colorimetric_tone_value_pct(
    xyz100: npt.ArrayLike, *, paper: npt.ArrayLike, solid: npt.ArrayLike
) -> FloatArray:
    """Tone value from XYZ by the same rule, in the one of X, Y and Z that shows the ink best.

    X for cyans, Y for magentas, blacks and greys, Z for yellows, as ISO 12647-1 has it; other inks
    by where the solid darkens the paper most. X of a cyan holds some blue light, so that its value
    comes out a percent or so below the one from densities.

    Parameters
    ----------
    xyz100 : (..., 3) array_like
        Tints of one ink.
    paper, solid : (3,) array_like
        Paper and solid of that ink, on the same scale.

    Raises
    ------
    UsageError
        If the solid is no darker than the paper.

    References
    ----------
    ISO 12647-1, tone value, colorimetric: 100 (X0 - Xt) / (X0 - Xs), likewise for Y and Z.
    """
    bare, full = np.asarray(paper, dtype=np.float64), np.asarray(solid, dtype=np.float64)
    above = -np.log10(np.maximum(full, 1e-6) / bare)
    by_filter = {name: float(above[read]) for name, read in _READ_IN.items()}
    read = _READ_IN[principal_channel(by_filter)]
    if above[read] < LEAST_DENSITY:
        raise _no_tone(f"{full[read]:g} on a paper of {bare[read]:g}", "a solid that is darker")
    tint = np.asarray(xyz100, dtype=np.float64)[..., read]
    return murray_davies_pct(tint, paper=bare[read], solid=full[read])


def spot_colour_tone_value_pct(
    xyz100: npt.ArrayLike, *, paper: npt.ArrayLike, solid: npt.ArrayLike
) -> FloatArray:
    """Spot colour tone value (SCTV): how far towards the solid a tint looks to be.

    Where a press prints in even steps for the eye, a tint of 50 % has 50. It says nothing of the
    area of dots, and of a ramp whose hue turns back it may go down while the tint grows.

    Parameters
    ----------
    xyz100 : (..., 3) array_like
        Tints of one ink under D50, 2 degree, Y = 100 for the perfect diffuser.
    paper, solid : (..., 3) array_like
        Paper and solid of that ink.

    Raises
    ------
    UsageError
        If paper and solid have one colour.

    References
    ----------
    ISO 20654:2017: 100 sqrt(sum (V - V_paper)^2 / sum (V_solid - V_paper)^2) over the lightnesses
    V of X, Y and Z. The standard itself was not at hand: the formula as two independent programs
    write it, one with XYZ, one with Lab (V_x = L* + 116 a*/500, V_z = L* - 116 b*/200).

    Examples
    --------
    >>> grey = [[96.422 * y, 100 * y, 82.521 * y] for y in (1.0, 0.1842, 0.0)]
    >>> round(float(spot_colour_tone_value_pct(grey[1], paper=grey[0], solid=grey[2])), 1)
    50.0
    """
    bare = _lightnesses(paper)
    whole = np.linalg.norm(_lightnesses(solid) - bare, axis=-1)
    if (whole < _LEAST_STEP).any():
        raise _no_tone("the colour of the paper", "a colour of its own")
    part = np.linalg.norm(_lightnesses(xyz100) - bare, axis=-1)
    return np.asarray(100 * part / whole, dtype=np.float64)


def _lightnesses(xyz100: npt.ArrayLike) -> FloatArray:
    """What L* is of Y, of X, Y and Z (..., 3): each as a grey of that share of white would have."""
    share = np.asarray(xyz100, dtype=np.float64) / WHITE_XYZ100
    return xyz100_to_lab(share[..., None] * WHITE_XYZ100)[..., 0]


def _no_tone(found: str, expected: str) -> UsageError:
    return UsageError(Fault(where="solid of a ramp", found=found, expected=expected,
                            do="see whether paper and solid were swapped"))  # fmt: skip
