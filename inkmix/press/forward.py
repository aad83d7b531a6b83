"""The model put together: tone values in, relative reflectance per channel out.

It holds numbers only: curves, primaries, constants and the correction by measured patches. Names,
levels of knowledge and origins belong to inkmix.press.condition.
"""

from dataclasses import dataclass, replace

import numpy as np

from inkmix.arrays import FloatArray, IntArray
from inkmix.press.channels import Channels, narrow_bands, wavelengths
from inkmix.press.constants import MODEL
from inkmix.press.halftone import (
    mix,
    mix_slope,
    others_share,
    spread,
    spreading_room,
    to_power,
)
from inkmix.press.inks import Ink, Paper
from inkmix.press.kriging import (
    EXACT_VARIANCE,
    Features,
    ResidualField,
    SpreadingPrior,
    as_one_spreading,
    features,
    fit_residuals,
    overprint_covariance,
)
from inkmix.press.overprint import (
    Layer,
    blackness,
    greatest_density,
    set_density,
    solid_overprints,
    trapping_loss,
)
from inkmix.press.patches import Patches, merge_repeats, solid_row
from inkmix.press.published import process_solids_xyz100
from inkmix.press.tone import (
    StraightCurve,
    ToneCurve,
    curve_from_increase,
    curve_from_ramp,
    curve_from_solid,
)

# Bytes of the largest array while folding; a quarter of a usual second-level cache.
_FOLD_BYTES = 1 << 20
# Bytes of each of the few arrays between colours and measured mixtures.
_KRIGING_BYTES = 1 << 24


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ForwardModel:
    """Prediction for one set of inks on one paper.

    Parameters
    ----------
    channels : Channels
    curves : tuple of ToneCurve
        One an ink, in lay-down order.
    primaries : (2**I, C) array
        Paper and solid overprints as relative reflectance ** (1/n).
    n : float
        Yule-Nielsen factor.
    presence : (I,) array
        How much each ink makes others spread, 0-1.
    field : ResidualField or None
        What measured patches say beyond the primaries.
    """

    channels: Channels
    curves: tuple[ToneCurve, ...]
    primaries: FloatArray
    n: float
    presence: FloatArray
    field: ResidualField | None = None

    def coverage(self, tone_pct: FloatArray) -> FloatArray:
        """Coverage (I, N, C) after the tone curves, before spreading, of tone values (N, I)."""
        return np.stack([known[index] for known, index in self._coverages(tone_pct)])

    def _coverages(self, tone_pct: FloatArray) -> list[tuple[FloatArray, IntArray]]:
        """For each ink the coverages (U, C) of its differing tone values, and where (N,) they are.

        A grid of colours holds few, and a curve costs more than a look-up.
        """
        unique = [np.unique(column, return_inverse=True) for column in tone_pct.T]
        return [
            (curve.coverage(values), index)
            for curve, (values, index) in zip(self.curves, unique, strict=True)
        ]

    def relative(self, tone_pct: FloatArray) -> FloatArray:
        """Relative reflectance (N, C) of tone values (N, I)."""
        result = np.empty((len(tone_pct), self.primaries.shape[1]))
        coverages, step = self._coverages(tone_pct), self.rows_at_once()
        for start in range(0, len(tone_pct), step):
            part = slice(start, start + step)
            coverage = np.stack([known[index[part]] for known, index in coverages])
            result[part] = to_power(self.root(coverage), self.n)
        return result

    def root(self, coverage: FloatArray) -> FloatArray:
        """y (N, C), the relative reflectance ** (1/n), of coverages (I, N, C)."""
        others = others_share(coverage, self.presence)
        spreaded = spread(coverage, others, strength=MODEL.spreading)
        if self.field is None:
            return mix(spreaded, self.primaries)
        y = mix(spreaded, self.primaries + self.field.primaries_shift)
        if self.field.has_tints:
            step = spreading_room(coverage, others) * self.field.spreading_error(coverage)
            y = y + mix_slope(spreaded, self.primaries, step=step)
        return np.asarray(np.maximum(y, 0), dtype=np.float64)

    def spread(self, coverage: FloatArray) -> FloatArray:
        """Coverages (I, N, C) after the inks have spread on each other."""
        others = others_share(coverage, self.presence)
        return spread(coverage, others, strength=MODEL.spreading)

    def features(self, coverage: FloatArray) -> Features:
        """What the residual of coverages (I, N, C) hangs on."""
        return features(
            coverage,
            spreaded=self.spread(coverage),
            primaries=self.primaries,
            presence=self.presence,
        )

    def rows_at_once(self) -> int:
        """How many colours to work on at once with bounded memory."""
        readings = 0 if self.field is None else self.field.pull.size
        return max(
            1, min(_FOLD_BYTES // (4 * self.primaries.size), _KRIGING_BYTES // (8 * readings + 8))
        )


def choose_channels(paper: Paper, inks: tuple[Ink, ...], patches: Patches | None) -> Channels:
    """Wavelengths where every spectrum is known, else narrow bands."""
    spectral = patches is None or patches.reflectance is not None
    spectral = spectral and all(ink.reflectance is not None for ink in inks)
    if paper.reflectance is not None and spectral:
        return wavelengths(paper.reflectance)
    return narrow_bands(paper.xyz100)


def build_forward(paper: Paper, inks: tuple[Ink, ...], channels: Channels) -> ForwardModel:
    """The model of inks (as they print on this paper, in lay-down order), without extra patches."""
    constants = MODEL.paper[paper.paper_class]
    n = constants.yule_nielsen_n
    layers = [layer_of(ink, paper, channels) for ink in inks]
    solids = np.stack([layer.solid for layer in layers])
    of_set = set_density(
        constants.greatest_density, y_density=max(y_density(ink, paper) for ink in inks)
    )
    greatest = greatest_density(of_set, solids if channels.kind == "wavelengths" else solids[:0])
    primaries = solid_overprints(layers, greatest, trapping_loss=trapping_loss(of_set))
    black = blackness(solids_in_bands(inks, paper), of_set)
    return ForwardModel(
        channels=channels,
        curves=tuple(
            curve_of(ink, paper, channels, blackness=float(share))
            for ink, share in zip(inks, black, strict=True)
        ),
        primaries=primaries ** (1 / n),
        n=n,
        presence=1 - black,
    )


def solids_in_bands(inks: tuple[Ink, ...], paper: Paper) -> FloatArray:
    """Solids (I, 3) relative to the paper in the three narrow bands."""
    bands = narrow_bands(paper.xyz100)
    return bands.relative(np.stack([ink.xyz100[-1] for ink in inks]), None)


def with_patches(model: ForwardModel, patches: Patches | None, *, scale: float) -> ForwardModel:
    """The same model, corrected by measured mixtures (none leaves only the prior of its errors).

    Parameters
    ----------
    scale : float
        Times the usual standard deviation of an overprint's error.
    """
    at, residual, noise = _residuals(model, patches)
    covariance = overprint_covariance(model.primaries, n=model.n, scale=scale)
    return replace(model, field=fit_residuals(at, residual, noise=noise, covariance=covariance))


def shared_doubt(
    model: ForwardModel, patches: Patches | None, *, scale: float, spreading: SpreadingPrior
) -> ResidualField:
    """The field of inks unlike process inks, whose spreading is wrong for all of them alike.

    It says how uncertain a prediction is; predicting with it gains nothing.
    """
    at, residual, noise = _residuals(model, patches)
    return fit_residuals(
        as_one_spreading(at),
        residual,
        noise=noise,
        covariance=overprint_covariance(model.primaries, n=model.n, scale=scale),
        spreading=spreading,
    )


def _residuals(
    model: ForwardModel, patches: Patches | None
) -> tuple[Features, FloatArray, FloatArray]:
    """Features and residuals (P, C) of measured mixtures, and their noise variance (P,)."""
    tones, seen, noise = _readings(model, patches)
    coverage = model.coverage(tones)
    residual = seen - mix(model.spread(coverage), model.primaries)
    return model.features(coverage), residual, noise


def _readings(
    model: ForwardModel, patches: Patches | None
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Tone values (P, I), y (P, C) and noise variance (P,) of measured mixtures."""
    if patches is None:
        nothing = np.empty((0, model.primaries.shape[1]))
        return np.empty((0, len(model.curves))), nothing, np.empty(0)
    merged, counts = merge_repeats(patches)
    relative = model.channels.relative(merged.xyz100, merged.reflectance)
    noise = (MODEL.noise_sd[merged.noise] * 2 / model.n) ** 2 / counts
    noise[solid_row(merged.tone_pct)[0]] = EXACT_VARIANCE
    return merged.tone_pct, relative ** (1 / model.n), noise


def y_density(ink: Ink, paper: Paper) -> float:
    """Visual density of a solid above the paper."""
    return float(np.log10(paper.xyz100[1] / max(ink.xyz100[-1, 1], 1e-3)))


def curve_of(ink: Ink, paper: Paper, channels: Channels, *, blackness: float) -> ToneCurve:
    """The tone curve of an ink from the best that is known of it."""
    constants = MODEL.paper[paper.paper_class]
    relative = channels.relative(ink.xyz100, ink.reflectance)
    if ink.is_screened:
        return StraightCurve(channels=relative.shape[1])
    if len(ink.tone_pct) > 2:
        relative = relative / relative[0]
        return curve_from_ramp(ink.tone_pct, relative, n=constants.yule_nielsen_n)
    if ink.tone_value_increase_pct is not None:
        gain = ink.tone_value_increase_pct
        return curve_from_increase(relative[-1], gain, constants=constants, channels=channels)
    return curve_from_solid(relative[-1], constants, blackness=blackness)


def layer_of(ink: Ink, paper: Paper, channels: Channels) -> Layer:
    """An ink's solid as a layer, with what is known of its opacity."""
    solid = channels.relative(ink.xyz100, ink.reflectance)[-1]
    if ink.over_black_xyz100 is None:
        return Layer(solid=solid, opacity=ink.opacity)
    black = ink.black_xyz100
    if black is None:
        published = process_solids_xyz100(paper.paper_class)
        black = published[1] / published[0] * paper.xyz100
    if channels.kind == "wavelengths":
        return Layer(solid=solid, opacity=_opacity_over_black(ink, paper, black))
    on_black, bare = channels.relative(np.stack([ink.over_black_xyz100, black]), None)
    slope = np.clip((solid - on_black) / (1 - bare), 0, None)
    return Layer(solid=solid, background=np.stack([solid - slope, slope]))


def _opacity_over_black(ink: Ink, paper: Paper, black_xyz100: FloatArray) -> float:
    """Opacity from the luminance over paper and over black: how far the slope falls short."""
    over_paper, bare = ink.xyz100[-1, 1], paper.xyz100[1]
    over_black = 0.0 if ink.over_black_xyz100 is None else float(ink.over_black_xyz100[1])
    slope = (over_paper - over_black) / (bare - black_xyz100[1])
    return float(np.clip(1 - slope * bare / max(over_paper, 1e-6), 0, 1))
