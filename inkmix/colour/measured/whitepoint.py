"""Whether the colours of a table are for D50 and 2 degrees, by what it says and what it holds.

Here belong the three witnesses: the keywords, XYZ against Lab, and the cast of paper and darkest
patch. Lab computed for D65 throughout and not said to be so cannot be told from D50.
"""

import re
from collections.abc import Mapping

import numpy as np

from inkmix.base.arrays import BoolArray, FloatArray
from inkmix.base.errors import Fault
from inkmix.base.quoting import quoted
from inkmix.colour.colorimetry import WHITE_XYZ100, lab_to_xyz100, xyz100_to_lab
from inkmix.colour.measured.grid import Grid

D65_WHITE_XYZ100 = np.array([95.047, 100.0, 108.883])  # CIE 15, 2 degree

AGREEMENT = 3.0  # Euclidean Lab difference; rounding of published files makes up to 0.3
NEUTRAL_CHROMA, TINTED_CHROMA = 5.0, 9.0  # printing papers are within 5 of grey or plainly tinted

_KEYWORDS = ("ILLUMINANT", "WEIGHTING_FUNCTION", "MEASUREMENT_SOURCE", "ILLUMINATION_NAME")
_NEED = "colours are taken at D50 and 2 degrees (ISO 13655)"
_DO = "export again with illuminant D50 and observer 2 degrees, or export the spectra"


def keyword_fault(keywords: Mapping[str, str], *, where: str) -> Fault | None:
    """A fault if the header names another illuminant than D50, or observer than 2 degrees."""
    for name in _KEYWORDS:
        value = keywords.get(name, "")
        if re.search(r"\bD(55|65|75)\b|\bF\d{1,2}\b|\bA\b", value) and "D50" not in value:
            return Fault(where=where, found=f"{name} {quoted(value)}", expected=_NEED, do=_DO)
    observer = keywords.get("OBSERVER", "") + keywords.get("OBSERVER_ANGLE", "")
    source = keywords.get("MEASUREMENT_SOURCE", "")
    if re.match(r"\s*10\b", observer) or re.search(r"ObserverAngle=10", source):
        return Fault(where=where, found="observer of 10 degrees", expected=_NEED, do=_DO)
    return None


def agreement_fault(xyz100: FloatArray, lab: FloatArray, *, grid: Grid) -> Fault | None:
    """A fault if XYZ (N, 3) and Lab (N, 3) are not the same colours at D50."""
    apart = np.linalg.norm(xyz100_to_lab(xyz100) - lab, axis=1)
    if np.median(apart) > AGREEMENT:
        return Fault(where=grid.where, found=_why_apart(xyz100, lab), expected=_NEED, do=_DO)
    worst = int(np.argmax(apart))
    if apart[worst] <= AGREEMENT:
        return None
    given, made = lab[worst], xyz100_to_lab(xyz100)[worst]
    return Fault(
        where=grid.place(worst, grid.columns("lab")["L"]),
        found=f"Lab {_triple(given)}",
        expected=f"XYZ of the same row gives {_triple(made)} at D50",
        do=f"correct the row ({int((apart > AGREEMENT).sum())} rows disagree)",
    )


def cast_fault(xyz100: FloatArray, bare: BoolArray, *, where: str) -> Fault | None:
    """A fault if paper (rows `bare`) and darkest patch are tinted as D65 data read as D50 are.

    `xyz100` (N, 3) are the colours as if they were D50. A tinted paper alone is no fault: paper
    may be tinted, but then its blacks are not tinted by the same light.
    """
    if not bare.any():
        return None
    rows = np.array([np.flatnonzero(bare)[0], int(np.argmin(xyz100[:, 1]))])
    given = _chroma(xyz100_to_lab(xyz100[rows]))
    if given[0] < TINTED_CHROMA:
        return None
    for scale in (WHITE_XYZ100 / D65_WHITE_XYZ100, D65_WHITE_XYZ100 / WHITE_XYZ100):
        mended = _chroma(xyz100_to_lab(xyz100[rows] * scale))
        if mended[0] < NEUTRAL_CHROMA and mended[1] < given[1]:
            found = "paper and darkest patch are tinted as D65 data read as D50 are"
            return Fault(where=where, found=found, expected=_NEED, do=_DO)
    return None


def _as_if_d50_xyz100(xyz100: FloatArray | None, lab: FloatArray | None) -> FloatArray | None:
    """The colours a table claims, as XYZ; None if it has none."""
    if xyz100 is not None:
        return xyz100
    return None if lab is None else np.asarray(lab_to_xyz100(lab))


def _why_apart(xyz100: FloatArray, lab: FloatArray) -> str:
    """Words for XYZ and Lab that disagree in most rows."""
    d65 = xyz100_to_lab(xyz100 * (WHITE_XYZ100 / D65_WHITE_XYZ100))
    if np.median(np.linalg.norm(d65 - lab, axis=1)) < AGREEMENT:
        return "Lab follows from XYZ only with the white of D65"
    apart = np.median(np.linalg.norm(xyz100_to_lab(xyz100) - lab, axis=1))
    return f"XYZ and Lab disagree by {apart:.1f} in the median"


def _chroma(lab: FloatArray) -> FloatArray:
    return np.hypot(lab[..., 1], lab[..., 2])


def _triple(lab: FloatArray) -> str:
    return "/".join(f"{value:.1f}" for value in lab)


def light_faults(
    grid: Grid, keywords: Mapping[str, str], *, xyz100: FloatArray | None, lab: FloatArray | None
) -> list[Fault]:
    """The first witness against D50 and 2 degrees, if any; none if the table has no XYZ or Lab."""
    claimed = _as_if_d50_xyz100(xyz100, lab)
    if claimed is None:
        return []
    fault = keyword_fault(keywords, where=grid.where)
    if fault is None and xyz100 is not None and lab is not None:
        fault = agreement_fault(xyz100, lab, grid=grid)
    if fault is None:
        fault = cast_fault(claimed, grid.bare(), where=grid.where)
    return [] if fault is None else [fault]
