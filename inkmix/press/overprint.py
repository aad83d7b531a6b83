"""Reflectance of every solid overprint from the single solids, in lay-down order.

Layers multiply, but the darker it gets the less a layer adds (additivity failure), the later it is
printed the less of it is taken (trapping), and an opaque one hides what lies under it. Tints belong
to inkmix.press.halftone. Primaries are rows of 2**I: row k holds the inks whose bits are set in k,
bit i being the i-th ink laid down.
"""

from dataclasses import dataclass

import numpy as np

from inkmix.arrays import FloatArray, IntArray
from inkmix.press.constants import MODEL

# An opaque layer may come within this share of the greatest density and still be printed on.
_NEARLY_GREATEST = 0.995


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Layer:
    """One solid as a layer.

    Parameters
    ----------
    solid : (C,) array
        Reflectance relative to the paper; above 1 where the layer is brighter than the paper.
    opacity : float
        0 transparent to 1 covers.
    background : (2, C) array or None
        Intercept and slope of the reflectance over that of what lies under it, if measured.
    """

    solid: FloatArray
    opacity: float = 0.0
    background: FloatArray | None = None


def inks_in_rows(inks: int) -> IntArray:
    """(2**I, I) of 0 and 1: which inks each row of the primaries holds."""
    rows = np.arange(2**inks)
    return (rows[:, None] >> np.arange(inks)) & 1


def saturate(unsaturated: FloatArray, greatest: FloatArray) -> FloatArray:
    """Density that shows, of densities that were added."""
    p = MODEL.saturation_exponent
    shown = unsaturated / (1 + (unsaturated / greatest) ** p) ** (1 / p)
    return np.asarray(shown, dtype=np.float64)


def unsaturate(density: FloatArray, greatest: FloatArray) -> FloatArray:
    """Density to be added, of one that shows; the inverse of `saturate`."""
    p = MODEL.saturation_exponent
    inner = density / (1 - (density / greatest) ** p) ** (1 / p)
    return np.asarray(inner, dtype=np.float64)


def _densities(relative: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Densities above the paper, and those below it (brighter than paper) apart."""
    density = -np.log10(relative)
    return np.maximum(density, 0), np.minimum(density, 0)


def solid_overprints(
    layers: list[Layer], greatest: FloatArray, *, trapping_loss: float
) -> FloatArray:
    """Relative reflectance (2**I, C) of paper and all solid overprints.

    Paper and single solids come out as told.

    Parameters
    ----------
    layers : list of Layer
        In lay-down order.
    greatest : (C,) array
        Greatest density above the paper, at least `solid_margin` times each solid's.
    trapping_loss : float
        Share of a layer, 0-1, that is not taken for each ink of the overprint printed before it.

    References
    ----------
    Additivity failure and trapping: Yule, Principles of Color Reproduction, 1967. Opaque layers:
    Deshpande & Green 2010, 18th Color Imaging Conference (reflectance linear in the background).
    """
    added = np.zeros((1, len(greatest)))
    brighter = np.zeros((1, len(greatest)))
    relative = np.ones((1, len(greatest)))
    counts = np.zeros((1, 1))
    for layer in layers:
        dark, light = _densities(layer.solid)
        taken = (1 - trapping_loss) ** counts
        dark = np.minimum(dark, greatest / MODEL.solid_margin)
        on_added = added + taken * unsaturate(dark, greatest)
        on_brighter = brighter + taken * light
        on_relative = 10.0 ** -(saturate(on_added, greatest) + on_brighter)
        if layer.opacity > 0 or layer.background is not None:
            on_relative = _hide(layer, over=on_relative, under=relative)
            shown, on_brighter = _densities(on_relative)
            on_added = unsaturate(np.minimum(shown, _NEARLY_GREATEST * greatest), greatest)
        on_relative[0] = layer.solid
        added = np.vstack([added, on_added])
        brighter = np.vstack([brighter, on_brighter])
        relative = np.vstack([relative, on_relative])
        counts = np.vstack([counts, counts + 1])
    return relative


def _hide(layer: Layer, *, over: FloatArray, under: FloatArray) -> FloatArray:
    """What a layer shows that is not transparent, over each of the rows under it."""
    if layer.background is not None:
        intercept, slope = layer.background
        shown = np.maximum(intercept + slope * under, MODEL.least_reflectance)
        return np.asarray(shown, dtype=np.float64)
    return (1 - layer.opacity) * over + layer.opacity * layer.solid


def set_density(class_density: float, *, y_density: float) -> float:
    """Greatest density of a set of inks: that of the paper class, or more where a solid needs it.

    Parameters
    ----------
    class_density : float
        Of the paper class.
    y_density : float
        Visual density above the paper of the darkest solid.
    """
    return max(class_density, MODEL.solid_margin * y_density)


def trapping_loss(of_set: float) -> float:
    """Share of a layer not taken for each ink under it; less on papers that print darker."""
    return max(0.0, MODEL.trapping_loss - MODEL.trapping_by_density * of_set)


def greatest_density(of_set: float, solids: FloatArray) -> FloatArray:
    """Greatest density (C,) by channel: that of the set, or more where a solid needs it.

    Parameters
    ----------
    of_set : float
        Greatest density of the set.
    solids : (I, C) array
        Relative reflectance of solids that must be reached in every channel; may have no rows.
    """
    deepest = np.max(-np.log10(solids), axis=0, initial=0.0)
    return np.asarray(np.maximum(of_set, MODEL.solid_margin * deepest), dtype=np.float64)


def blackness(solids: FloatArray, of_set: float) -> FloatArray:
    """How black each solid is, (I,) 0-1, by its least density over the greatest of the set.

    Parameters
    ----------
    solids : (I, 3) array
        Relative reflectance in the three narrow bands.
    """
    least = np.maximum(-np.log10(solids), 0).min(axis=1) / of_set
    width = MODEL.black_above - MODEL.colour_below
    return np.asarray(np.clip((least - MODEL.colour_below) / width, 0, 1), dtype=np.float64)
