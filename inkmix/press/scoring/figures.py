"""Figures of what was predicted against what was measured.

Here belongs arithmetic on colours and bounds alone; what was told, and of which chart, must not be
known here.
"""

from typing import Any

import numpy as np

from inkmix.base.arrays import FloatArray, IntArray
from inkmix.colour.colorimetry import delta_e00
from inkmix.press.expected import ExpectedError

#: Of the counted patches, the darkest in this share.
DARK_SHARE = 1 / 5


def compare(predicted_lab: FloatArray, measured_lab: FloatArray) -> dict[str, dict[str, float]]:
    """Figures of dE00 over all patches (N, 3), and of L* over the darkest fifth as measured."""
    L = measured_lab[:, 0]
    dark = _darkest(L)
    off = np.abs(predicted_lab[dark, 0] - L[dark])
    return {
        "de00": _spread(delta_e00(predicted_lab, measured_lab)),
        "dark": {
            "lightest_L": _rounded(L[dark].max()),
            "patches": len(dark),
            "mean_abs_dL": _rounded(off.mean()),
            "p95_abs_dL": _rounded(np.percentile(off, 95)),
        },
    }


def by_number_of_inks(de00: FloatArray, inks: IntArray) -> list[dict[str, float]]:
    """Figures of dE00 (N,) apart for mixtures of two inks, of three, and so on."""
    return [
        {"inks": int(count), "patches": int((inks == count).sum()), **_spread(de00[inks == count])}
        for count in np.unique(inks)
    ]


def share_inside(
    predicted_lab: FloatArray, measured_lab: FloatArray, stated: ExpectedError
) -> dict[str, float]:
    """Shares 0-1 of patches within the stated error: of dE00, of L*, of L* in the darkest fifth."""
    off = np.abs(predicted_lab[:, 0] - measured_lab[:, 0])
    in_L = off <= stated.L
    return {
        "de00": _rounded((delta_e00(predicted_lab, measured_lab) <= stated.de00).mean()),
        "L": _rounded(in_L.mean()),
        "dark_L": _rounded(in_L[_darkest(measured_lab[:, 0])].mean()),
    }


def worst_places(de00: FloatArray, recipe: IntArray, *, count: int) -> list[int]:
    """Places of the patches farthest off, worst first, of each recipe (N,) only one."""
    order = np.argsort(-de00, kind="stable")
    _, first = np.unique(recipe[order], return_index=True)
    return [int(order[at]) for at in np.sort(first)[:count]]


def _darkest(L: FloatArray) -> IntArray:
    """Places of the darkest fifth."""
    return np.argsort(L, kind="stable")[: int(np.ceil(len(L) * DARK_SHARE))]


def _spread(values: FloatArray) -> dict[str, Any]:
    return {
        "mean": _rounded(values.mean()),
        "median": _rounded(np.median(values)),
        "p95": _rounded(np.percentile(values, 95)),
        "max": _rounded(values.max()),
    }


def _rounded(value: Any) -> float:
    return round(float(value), 4)
