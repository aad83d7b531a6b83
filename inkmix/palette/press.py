"""Candidates as numbers: what the search needs of every ink on a paper, and of many sets of them.

The model is that of press/, asked for all sets in a few large arrays. Measured mixtures do not
enter: few sets have any, and palettes are to be compared by what is known of all of them.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkmix.arrays import FloatArray, IntArray, read_only
from inkmix.colorimetry import WHITE_XYZ100
from inkmix.press.carry import put_on_paper
from inkmix.press.channels import Channels
from inkmix.press.constants import MODEL
from inkmix.press.forward import choose_channels, curve_of, layer_of, solids_in_bands, y_density
from inkmix.press.inks import Ink, Paper
from inkmix.press.overprint import (
    Layer,
    blackness,
    greatest_density,
    set_density,
    solid_overprints,
    trapping_loss,
)

TONES_PCT = np.arange(101.0)
_SETS_AT_ONCE = 256  # a few megabytes of densities


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Inks:
    """Inks as they print on one paper.

    Parameters
    ----------
    inks : tuple of Ink
        Carried over to the paper where they were measured on another.
    paper : Paper
    channels : Channels
    layers : tuple of Layer
    bands : (A, 3) array
        Solids relative to the paper in the three narrow bands.
    density : (A,) array
        Greatest density of a set in which this ink is the darkest.
    """

    inks: tuple[Ink, ...]
    paper: Paper
    channels: Channels
    layers: tuple[Layer, ...]
    bands: FloatArray
    density: FloatArray

    @property
    def n(self) -> float:
        """Yule-Nielsen factor."""
        return MODEL.paper[self.paper.paper_class].yule_nielsen_n

    @property
    def to_ratio(self) -> FloatArray:
        """(C, 3) from relative reflectance to X, Y, Z over those of white."""
        return self.channels.paper[:, None] * self.channels.to_xyz100 / WHITE_XYZ100

    def set_densities(self, members: IntArray) -> FloatArray:
        """Greatest density (S,) of sets (S, I)."""
        return np.asarray(self.density[members].max(axis=1))

    def covers(self, of_set: float) -> tuple[FloatArray, FloatArray]:
        """Coverage (A, 101, C) by whole tone values, and presence (A,), in sets of this density."""
        black = blackness(self.bands, of_set)
        constants = self.paper, self.channels
        curves = [
            curve_of(ink, *constants, blackness=float(share))
            for ink, share in zip(self.inks, black, strict=True)
        ]
        return np.stack([curve.coverage(TONES_PCT) for curve in curves]), 1 - black

    def primaries(self, members: IntArray) -> FloatArray:
        """Relative reflectance ** (1/n), (S, 2**I, C), of sets (S, I) in lay-down order."""
        sets, inks = members.shape
        result = np.empty((sets, 2**inks, len(self.channels.paper)))
        of_set = self.set_densities(members)
        for rows in _alike(members, self._kinds(), of_set):
            result[rows] = self._primaries_alike(members[rows], float(of_set[rows[0]]))
        return result ** (1 / self.n)

    def _kinds(self) -> IntArray:
        """0 for transparent inks; every other has a number of its own."""
        plain = [layer.opacity == 0 and layer.background is None for layer in self.layers]
        return np.where(plain, 0, 1 + np.arange(len(plain)))

    def _primaries_alike(self, members: IntArray, of_set: float) -> FloatArray:
        """Relative reflectance (S, 2**I, C) of sets that are alike, as one wide set."""
        sets, inks = members.shape
        solids = np.stack([layer.solid for layer in self.layers])[members]
        wide = solids.transpose(1, 0, 2).reshape(inks, -1)
        layers = [
            _wide(self.layers[first], solid, sets)
            for first, solid in zip(members[0], wide, strict=True)
        ]
        spectral = self.channels.kind == "wavelengths"
        greatest = greatest_density(of_set, wide if spectral else wide[:0])
        greatest = np.broadcast_to(greatest, wide.shape[1:])
        rows = solid_overprints(layers, greatest, trapping_loss=trapping_loss(of_set))
        return rows.reshape(len(rows), sets, -1).transpose(1, 0, 2)


def _wide(layer: Layer, solid: FloatArray, sets: int) -> Layer:
    """A layer over the channels of many sets, opaque as this one."""
    background = None if layer.background is None else np.tile(layer.background, sets)
    return Layer(solid=solid, opacity=layer.opacity, background=background)


def _alike(members: IntArray, kinds: IntArray, of_set: FloatArray) -> Iterator[NDArray[np.intp]]:
    """Rows of sets that are opaque alike and have one density, not too many at once."""
    key = np.column_stack([of_set, kinds[members]])
    _, group = np.unique(key, axis=0, return_inverse=True)
    order = np.argsort(group.ravel(), kind="stable")
    starts = np.flatnonzero(np.diff(group.ravel()[order])) + 1
    for rows in np.split(order, starts):
        for start in range(0, len(rows), _SETS_AT_ONCE):
            yield rows[start : start + _SETS_AT_ONCE]


def inks_on_paper(inks: tuple[Ink, ...], paper: Paper) -> Inks:
    """Inks on a paper, as numbers; wavelengths only where all of them are known by spectra."""
    printed = tuple(put_on_paper(ink, paper) for ink in inks)
    channels = choose_channels(paper, printed, None)
    greatest = MODEL.paper[paper.paper_class].greatest_density
    densities = [set_density(greatest, y_density=y_density(ink, paper)) for ink in printed]
    return Inks(
        inks=printed,
        paper=paper,
        channels=channels,
        layers=tuple(layer_of(ink, paper, channels) for ink in printed),
        bands=read_only(solids_in_bands(printed, paper)),
        density=read_only(densities),
    )
