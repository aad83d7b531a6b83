"""Ink trapping: how well an ink took on top of another, in the figure that pressrooms use.

An apparent share, no amount of ink: densities of dark overprints stop adding up, on uncoated paper
and newsprint above all, and an ink that hides what is under it has no trapping in this sense. So
it compares prints of one press; between papers it tells little.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from inkmix.base.arrays import FloatArray
from inkmix.base.errors import Fault, UsageError
from inkmix.press.figures.densities import LEAST_DENSITY, densities, principal_channel


@dataclass(frozen=True, slots=True, kw_only=True)
class Trapping:
    """How a second ink took on a first one.

    Parameters
    ----------
    trapping_pct : float or None
        After Preucil; None if the second ink is too pale to tell.
    channel : str
        Filter of the second ink: "red", "green", "blue" or "visual".
    status : str
        "T" or "E" (ISO 5-3).
    approximate : bool
        True if XYZ stood in for the filters.
    first, second, overprint : float
        Densities of the solids above the paper, through that filter.
    """

    trapping_pct: float | None
    channel: str
    status: str
    approximate: bool
    first: float
    second: float
    overprint: float


def trapping_pct(
    overprint: npt.ArrayLike, *, first: npt.ArrayLike, second: npt.ArrayLike
) -> FloatArray:
    """Apparent trapping in percent: what the second ink adds on the first, of what it has alone.

    Parameters
    ----------
    overprint, first, second : (...) array_like
        Densities of solids above the paper, all through the filter of the ink that was printed
        second.

    Raises
    ------
    UsageError
        If the second ink is no denser than 0.02.

    References
    ----------
    Preucil 1953, TAGA Proceedings, 102-110, as quoted by Chung & Hsu, A study of ink trapping.

    Examples
    --------
    >>> round(float(trapping_pct(1.40, first=0.35, second=1.45)), 1)
    72.4
    """
    alone = np.asarray(second, dtype=np.float64)
    if not (alone >= LEAST_DENSITY).all():
        raise UsageError(Fault(where="ink printed second", found=f"density {np.min(alone):.3f}",
                               expected=f"{LEAST_DENSITY:g} or more above the paper",
                               do="read it through the filter in which it is densest"))  # fmt: skip
    return np.asarray(100 * (np.asarray(overprint) - np.asarray(first)) / alone, dtype=np.float64)


def trapping_of_pair(
    xyz100: npt.ArrayLike, reflectance: npt.ArrayLike | None = None, *, status: str
) -> Trapping:
    """Trapping of two solids, through the filter in which the second is densest.

    Parameters
    ----------
    xyz100 : (4, 3) array_like
        Paper, first ink, second ink, second on first; Y = 100 for the perfect diffuser.
    reflectance : (4, 36) array_like or None
        The same as reflectance factors; they go first.
    status : {"T", "E"}
        Filters of ISO 5-3, where spectra are known.
    """
    read = {name: d - d[0] for name, d in densities(xyz100, reflectance, status=status).items()}
    channel = principal_channel({name: float(d[2]) for name, d in read.items()})
    _, first, second, overprint = (float(d) for d in read[channel])
    tells = second >= LEAST_DENSITY
    return Trapping(
        trapping_pct=float(trapping_pct(overprint, first=first, second=second)) if tells else None,
        channel=channel,
        status=status,
        approximate=reflectance is None,
        first=first,
        second=second,
        overprint=overprint,
    )
