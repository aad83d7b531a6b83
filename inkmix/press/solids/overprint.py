"""Reflectance of every solid overprint from the single solids, in lay-down order.

Layers multiply, but the darker it gets the less a layer adds (additivity failure), the later it is
printed the less of it is taken (trapping), and an opaque one adds its own colour to what lies under
it. The same steps serve narrow bands and wavelengths; which of them belongs to an overprint is
decided in inkmix.press.solids.primaries; tints are mixed in inkmix.press.halftone. Overprints are
rows of 2**I: row k holds the inks whose bits are set in k, bit i being the i-th ink laid down.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from inkmix.base.arrays import FloatArray, IntArray
from inkmix.press.constants import MODEL, PaperConstants

_LEAST = 1e-9  # of what passes through a layer, so that its density is a number


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Layer:
    """One solid as a layer.

    Parameters
    ----------
    solid : (..., C) array
        Reflectance relative to the paper; above 1 where the layer is brighter than the paper.
    opacity : float or (...) array
        Share of its own colour that it adds to whatever lies under it, 0-1.
    """

    solid: FloatArray
    opacity: FloatArray | float = 0.0


def inks_in_rows(inks: int) -> IntArray:
    """(2**I, I) of 0 and 1: which inks each row of the primaries holds."""
    rows = np.arange(2**inks)
    return (rows[:, None] >> np.arange(inks)) & 1


def saturate(unsaturated: FloatArray, greatest: float) -> FloatArray:
    """Density that shows, of densities that were added."""
    shown = unsaturated / np.sqrt(1 + (unsaturated / greatest) ** 2)
    return np.asarray(shown, dtype=np.float64)


def unsaturate(density: FloatArray, greatest: FloatArray | float) -> FloatArray:
    """Density to be added, of one that shows; the inverse of `saturate`."""
    inner = density / np.sqrt(1 - (density / greatest) ** 2)
    return np.asarray(inner, dtype=np.float64)


def densities(relative: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Densities above the paper, and those below it (brighter than paper) apart."""
    density = -np.log10(relative)
    return np.maximum(density, 0), np.minimum(density, 0)


def solid_overprints(
    layers: Sequence[Layer], greatest: float, *, trapping_loss: float
) -> FloatArray:
    """Relative reflectance (2**I, ..., C) of paper and all solid overprints.

    Paper and single solids come out as told.

    Parameters
    ----------
    layers : sequence of Layer
        In lay-down order.
    greatest : float
        Greatest density above the paper; a solid counts as `solid_margin` below it at most.
    trapping_loss : float
        Share of a layer, 0-1, that is not taken for each ink of the overprint printed before it.

    References
    ----------
    Additivity failure and trapping: Yule, Principles of Color Reproduction, 1967. A layer that
    scatters: Kubelka 1948, J. Opt. Soc. Am. 38, 448-457, to first order.
    """
    shape = layers[0].solid.shape
    added, brighter = np.zeros((1, *shape)), np.zeros((1, *shape))
    relative, counts = np.ones((1, *shape)), np.zeros((1, *(1,) * len(shape)))
    for layer in layers:
        opacity = np.asarray(layer.opacity)[..., None]
        own = opacity * layer.solid
        dark, light = densities(np.maximum(layer.solid - own, _LEAST))
        taken = (1 - trapping_loss) ** counts
        dark = np.minimum(dark, greatest / MODEL.overprint.solid_margin)
        on_added = added + taken * unsaturate(dark, greatest)
        on_brighter = brighter + taken * light
        on_relative = own + 10.0 ** -(saturate(on_added, greatest) + on_brighter)
        on_relative[0] = layer.solid
        if (opacity > 0).any():
            shown, on_brighter = densities(on_relative)
            shown[1:] = np.minimum(shown[1:], MODEL.overprint.nearly_greatest * greatest)
            shown[0] = np.minimum(shown[0], greatest / MODEL.overprint.solid_margin)  # as any solid
            on_added = unsaturate(shown, greatest)
        added = np.concatenate([added, on_added])
        brighter = np.concatenate([brighter, on_brighter])
        relative = np.concatenate([relative, on_relative])
        counts = np.concatenate([counts, counts + 1])
    return relative


def greatest_density(constants: PaperConstants, *, black_density: float) -> float:
    """Greatest density of a press: that of its paper class, or more where its black needs it.

    Parameters
    ----------
    black_density : float
        Visual density of the black above the paper.
    """
    return max(constants.greatest_density, constants.over_black * black_density)


def trapping_loss(greatest: float) -> float:
    """Share of a layer not taken for each ink under it; less where a press prints darker."""
    constants = MODEL.overprint
    return max(0.0, constants.trapping_loss - constants.trapping_by_density * greatest)


def blackness(solids: FloatArray, greatest: float) -> FloatArray:
    """How black each solid is, (I,) 0-1, by its least density over the greatest.

    Parameters
    ----------
    solids : (I, 3) array
        Relative reflectance in the three narrow bands.
    """
    constants = MODEL.overprint
    least = np.maximum(-np.log10(solids), 0).min(axis=1) / greatest
    width = constants.black_above - constants.colour_below
    return np.asarray(np.clip((least - constants.colour_below) / width, 0, 1), dtype=np.float64)
