"""What measured two-ink solids say of spectra and opacity.

Spectra of solids known by colour alone, and how opaque spot inks are, are fitted together until the
pairs come out as measured; deeper overprints then follow from better layers.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from inkmix.base.arrays import FloatArray, IntArray
from inkmix.press.constants import MODEL
from inkmix.press.levenberg_marquardt import least_squares
from inkmix.press.solids.opacity import Opacity
from inkmix.press.solids.overprint import Layer, solid_overprints
from inkmix.press.solids.primaries import Bed, Solid, stack_of
from inkmix.press.solids.process_inks import SPOT
from inkmix.press.spectra import (
    cube_root_misses,
    free_start,
    greatest_reflectance,
    logistic,
    smoothness,
)

_NUDGE = 1e-6  # of a spectrum or an opacity, for how pairs change with it
_OPEN = 1e-6  # how near to 0 and 1 a free form starts


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pairs:
    """Two-ink solids as measured.

    Parameters
    ----------
    inks : (P, 2) array of int
        First and second ink of each in lay-down order.
    bands : (P, 3) array
        Reflectance relative to the paper.
    """

    inks: IntArray
    bands: FloatArray


def fitted_to_pairs(solids: Sequence[Solid], bed: Bed, pairs: Pairs) -> tuple[Solid, ...]:
    """The solids with the spectra and opacities that pairs tell; as they were if none holds a spot.

    Measured spectra stay.
    """
    if not np.isin(pairs.inks, np.flatnonzero(stack_of(solids).kinds == SPOT)).any():
        return tuple(solids)
    fit, constants = _Fit(solids, bed, pairs), MODEL.spectrum
    values = least_squares(
        fit.start(),
        fit.misses,
        steps=constants.pair_steps,
        share=constants.pair_gain,
        allowed=fit.allowed,
    )
    return fit.solids(values)


class _Fit:
    """The numbers that are fitted, and what they miss.

    One vector holds the free forms of the recovered spectra, then the opacities of the spot inks.
    """

    def __init__(self, solids: Sequence[Solid], bed: Bed, pairs: Pairs) -> None:
        self._solids, self._bed, self._pairs = tuple(solids), bed, pairs
        self._free = [at for at, solid in enumerate(solids) if not solid.is_measured]
        self._spots = [at for at, kind in enumerate(stack_of(solids).kinds) if kind == SPOT]
        self._count = len(solids[0].spectrum)
        self._starts = [
            free_start(None if solids[at].kind == SPOT else solids[at].kind) for at in self._free
        ]
        self._tops = [greatest_reflectance(solids[at].bands) for at in self._free]
        self._shape = smoothness(self._count)

    def start(self) -> FloatArray:
        """The single spectra and the opacities as they are."""
        least = MODEL.spectrum.least_reflectance
        forms = [
            _free_of((self._solids[at].spectrum - least) / (top - least))
            for at, top in zip(self._free, self._tops, strict=True)
        ]
        opacity = [self._solids[at].opacity.value for at in self._spots]
        return np.concatenate([*forms, np.array(opacity)])

    def allowed(self, values: FloatArray) -> FloatArray:
        """The numbers with opacities of 0 to 1."""
        forms = len(values) - len(self._spots)
        return np.concatenate([values[:forms], np.clip(values[forms:], 0, 1)])

    def solids(self, values: FloatArray) -> tuple[Solid, ...]:
        """The solids with these numbers."""
        spectra, _ = self._spectra(values)
        values_of = self._opacity(values)
        return tuple(
            replace(solid, spectrum=spectra[at], opacity=self._learnt(at, float(values_of[at])))
            for at, solid in enumerate(self._solids)
        )

    def _learnt(self, at: int, value: float) -> Opacity:
        """The opacity of an ink: as it was, unless it is a spot ink of some pair."""
        known = self._solids[at].opacity
        if at in self._spots and at in self._pairs.inks:
            return replace(known, value=value, why="learnt", by="")
        return known

    def misses(self, values: FloatArray) -> tuple[FloatArray, FloatArray]:
        """All that is missed, and its slopes."""
        spectra, slope = self._spectra(values)
        parts = [
            *self._single_misses(values, spectra, slope),
            *self._pair_misses(spectra, slope, self._opacity(values), len(values)),
            self._opacity_misses(values),
        ]
        return np.concatenate([miss for miss, _ in parts]), np.vstack([rows for _, rows in parts])

    def _part(self, place: int) -> slice:
        return slice(place * self._count, (place + 1) * self._count)

    def _spectra(self, values: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Spectra (I, 31) of all inks, and by how much each changes with its free form."""
        spectra = np.stack([solid.spectrum for solid in self._solids])
        least = MODEL.spectrum.least_reflectance
        slope = np.zeros_like(spectra)
        for place, (at, top) in enumerate(zip(self._free, self._tops, strict=True)):
            part = logistic(values[self._part(place)])
            spectra[at] = least + (top - least) * part
            slope[at] = (top - least) * part * (1 - part)
        return spectra, slope

    def _opacity(self, values: FloatArray) -> FloatArray:
        opacity = np.array([solid.opacity.value for solid in self._solids])
        opacity[self._spots] = values[len(values) - len(self._spots) :]
        return opacity

    def _single_misses(
        self, values: FloatArray, spectra: FloatArray, slope: FloatArray
    ) -> list[tuple[FloatArray, FloatArray]]:
        """Told solids, and how spectra bend and depart from their starts."""
        parts = []
        for place, (at, start) in enumerate(zip(self._free, self._starts, strict=True)):
            seen, gain = cube_root_misses(
                spectra[at],
                self._solids[at].bands,
                self._bed.weights,
                weight=MODEL.spectrum.band_weight,
            )
            bent = self._shape @ (values[self._part(place)] - start)
            rows = np.zeros((len(seen) + len(bent), len(values)))
            rows[:, self._part(place)] = np.vstack([gain * slope[at], self._shape])
            parts.append((np.concatenate([seen, bent]), rows))
        return parts

    def _pair_misses(
        self, spectra: FloatArray, slope: FloatArray, opacity: FloatArray, size: int
    ) -> list[tuple[FloatArray, FloatArray]]:
        """Told pairs."""
        first, second = self._pairs.inks.T
        layers = spectra[first], opacity[first], spectra[second], opacity[second]
        shown = self._laid(*layers)
        by_layer = [self._nudged(shown, layers, place) for place in range(len(layers))]
        parts = []
        for pair, (one, other) in enumerate(self._pairs.inks):
            seen, gain = cube_root_misses(
                shown[pair],
                self._pairs.bands[pair],
                self._bed.weights,
                weight=MODEL.spectrum.pair_weight,
            )
            rows = np.zeros((len(seen), size))
            for ink, place in ((one, 0), (other, 2)):
                if ink in self._free:
                    form = self._part(self._free.index(ink))
                    rows[:, form] += gain * by_layer[place][pair] * slope[ink]
                if ink in self._spots:
                    at = size - len(self._spots) + self._spots.index(ink)
                    rows[:, at] += gain @ by_layer[place + 1][pair]
            parts.append((seen, rows))
        return parts

    def _nudged(self, shown: FloatArray, layers: tuple[FloatArray, ...], place: int) -> FloatArray:
        """By how much pairs (P, 31) change with a layer's spectrum or opacity."""
        moved = list(layers)
        moved[place] = moved[place] + _NUDGE
        return np.asarray((self._laid(*moved) - shown) / _NUDGE, dtype=np.float64)

    def _laid(
        self,
        first: FloatArray,
        first_opacity: FloatArray,
        second: FloatArray,
        second_opacity: FloatArray,
    ) -> FloatArray:
        """Spectra (P, 31) of one solid on another, all pairs at once."""
        layers = [
            Layer(solid=first, opacity=first_opacity),
            Layer(solid=second, opacity=second_opacity),
        ]
        rows = solid_overprints(layers, self._bed.greatest, trapping_loss=self._bed.loss)
        return np.asarray(rows[3], dtype=np.float64)

    def _opacity_misses(self, values: FloatArray) -> tuple[FloatArray, FloatArray]:
        """How opacities depart from what was known of them."""
        known = [self._solids[at].opacity for at in self._spots]
        sd = np.array([opacity.sd for opacity in known])
        usual = np.array([opacity.value for opacity in known])
        rows = np.zeros((len(known), len(values)))
        start = len(values) - len(known)
        rows[np.arange(len(known)), start + np.arange(len(known))] = 1 / sd
        return (values[start:] - usual) / sd, rows


def _free_of(share: FloatArray) -> FloatArray:
    """The inverse of `logistic`, of shares that may touch 0 or 1."""
    held = np.clip(share, _OPEN, 1 - _OPEN)
    return np.asarray(np.log(held / (1 - held)), dtype=np.float64)
