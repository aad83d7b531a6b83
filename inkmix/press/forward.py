"""The model put together: tone values in, relative reflectance per band out.

It holds numbers only: curves, primaries, constants and the correction by measured patches. Names,
levels of knowledge and origins belong to inkmix.press.condition.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from inkmix.base.arrays import BoolArray, FloatArray, IntArray
from inkmix.colour.colorimetry import xyz100_to_lab
from inkmix.press.channels import Channels, narrow_bands
from inkmix.press.constants import MODEL
from inkmix.press.halftone import (
    grown_by_others,
    mix,
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
    features,
    fit_residuals,
    overprint_covariance,
)
from inkmix.press.patches import CHART, Patches, merge_repeats, solid_row, tints_read
from inkmix.press.solids.overprint import blackness
from inkmix.press.solids.pairs import Pairs, fitted_to_pairs
from inkmix.press.solids.primaries import (
    Bed,
    Solid,
    all_overprints,
    bed_of,
    black_density_of,
    shared_causes,
    solids_of,
    stack_of,
)
from inkmix.press.solids.process_inks import SPOT, common_of, common_spreading, in_usual_order
from inkmix.press.tone import (
    StraightCurve,
    ToneCurve,
    curve_from_increase,
    curve_from_ramp,
    curve_from_solid,
    usual_offset,
)
from inkmix.press.unexplained import near_sd, reading_variance

# Bytes of the largest array while folding; a quarter of a usual second-level cache.
_FOLD_BYTES = 1 << 20
# Bytes of each of the few arrays between colours and measured mixtures.
_KRIGING_BYTES = 1 << 24
_FLOAT_BYTES = 8


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Spreading:
    """How dots grow where other inks are printed.

    Parameters
    ----------
    strength : float
    presence : (I,) array
        How much each ink makes others spread, 0-1.
    because : (I, I, 3) array or None
        [i, j]: how much further ink i spreads because of ink j, where no spot ink is.
    spots : (I,) array of bool
    """

    strength: float
    presence: FloatArray
    because: FloatArray | None
    spots: BoolArray

    def grown(self, coverage: FloatArray, others: FloatArray) -> FloatArray:
        """Coverages (I, N, C) after the inks have spread on each other."""
        spreaded = spread(coverage, others, strength=self.strength)
        if self.because is None:
            return spreaded
        further = grown_by_others(coverage, self.because, self.bare_of_spots(coverage))
        return np.asarray(np.clip(spreaded + further, 0, 1), dtype=np.float64)

    def bare_of_spots(self, coverage: FloatArray) -> FloatArray:
        """Share (N, C) of the sheet that no spot ink covers."""
        return np.asarray(np.prod(1 - coverage[self.spots], axis=0), dtype=np.float64)

    def spots_there(self, coverage: FloatArray) -> FloatArray:
        """How far a spot ink is there (N, C), 0-1: soon in full."""
        there = 1 - self.bare_of_spots(coverage)
        return np.minimum(1.0, there / MODEL.kriging.spot_counts_from)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _ToldErrors:
    """What measured tints tell of N colours: errors of spreading (I, N, C), the rest (N, C)."""

    spreading: FloatArray
    near: FloatArray

    def only(self, part: slice) -> "_ToldErrors":
        return _ToldErrors(spreading=self.spreading[:, part], near=self.near[part])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ForwardModel:
    """Prediction for one set of inks on one paper.

    Parameters
    ----------
    channels : Channels
    curves : tuple of ToneCurve
        One an ink, in lay-down order.
    primaries : (2**I, 3) array
        Paper and solid overprints as relative reflectance ** (1/n).
    n : float
        Yule-Nielsen factor.
    spreading : Spreading
    spot_doubt : float
        Times the usual standard deviation of spreading where a spot ink is.
    field : ResidualField
        What measured patches say beyond the primaries, and what they leave uncertain.
    solids : tuple of Solid
        What the overprints were made of.
    """

    channels: Channels
    curves: tuple[ToneCurve, ...]
    primaries: FloatArray
    n: float
    spreading: Spreading
    spot_doubt: float
    field: ResidualField
    solids: tuple[Solid, ...]

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

    def relative_on_grid(self, tone_pct: Sequence[FloatArray]) -> FloatArray:
        """Relative reflectance (N, C) of all combinations of tone values (V,) of each ink.

        The last ink varies fastest. It is what `relative` gives, in less time.
        """
        covers = [c.coverage(values) for c, values in zip(self.curves, tone_pct, strict=True)]
        shape = tuple(len(cover) for cover in covers)
        errors = self._errors_on_grid(covers) if self.field.has_tints else None
        result = np.empty((int(np.prod(shape)), self.primaries.shape[1]))
        step = self._folded_at_once()
        for start in range(0, len(result), step):
            part = slice(start, min(start + step, len(result)))
            index = np.unravel_index(np.arange(part.start, part.stop), shape)
            coverage = np.stack([cover[at] for cover, at in zip(covers, index, strict=True)])
            here = None if errors is None else errors.only(part)
            result[part] = to_power(self._root(coverage, here), self.n)
        return result

    def _errors_on_grid(self, coverages: Sequence[FloatArray]) -> "_ToldErrors":
        return _ToldErrors(
            spreading=self.field.spreading_error_on_grid(coverages),
            near=self.field.near_error_on_grid(coverages),
        )

    def root(self, coverage: FloatArray) -> FloatArray:
        """y (N, C), the relative reflectance ** (1/n), of coverages (I, N, C)."""
        if not self.field.has_tints:
            return self._root(coverage, None)
        errors = _ToldErrors(
            spreading=self.field.spreading_error(coverage), near=self.field.near_error(coverage)
        )
        return self._root(coverage, errors)

    def _root(self, coverage: FloatArray, errors: "_ToldErrors | None") -> FloatArray:
        """The same, with what measured tints told of errors there."""
        others = others_share(coverage, self.spreading.presence)
        spreaded = self.spreading.grown(coverage, others)
        primaries = self.primaries + self.field.primaries_shift
        if errors is None:
            return np.maximum(mix(spreaded, primaries), 0)
        unexplained = self._near_sd(coverage, spreaded) * errors.near
        spreaded += self._room(coverage, others) * errors.spreading
        return np.maximum(mix(spreaded, primaries) + unexplained, 0)

    def lab(self, y: FloatArray) -> FloatArray:
        """CIELAB (N, 3) of y (N, C)."""
        relative = np.maximum(y, 0) ** self.n
        return xyz100_to_lab(self.channels.relative_to_xyz100(relative))

    def spread(self, coverage: FloatArray) -> FloatArray:
        """Coverages (I, N, C) after the inks have spread on each other."""
        return self.spreading.grown(coverage, others_share(coverage, self.spreading.presence))

    def features(self, coverage: FloatArray) -> Features:
        """What the residual of coverages (I, N, C) hangs on."""
        others = others_share(coverage, self.spreading.presence)
        spreaded = self.spreading.grown(coverage, others)
        return features(
            coverage,
            spreaded=spreaded,
            room=self._room(coverage, others),
            near=self._near_sd(coverage, spreaded),
            primaries=self.primaries,
        )

    def _near_sd(self, coverage: FloatArray, spreaded: FloatArray) -> FloatArray:
        """Standard deviation (N, C) of what no cause explains, before and after spreading."""
        bare, there = mix(spreaded, self.primaries), self.spreading.spots_there(coverage)
        return near_sd(bare, spreaded, there, n=self.n)

    def _room(self, coverage: FloatArray, others: FloatArray) -> FloatArray:
        """How far an error of spreading carries each ink (I, N, C): farther where a spot ink is."""
        room = spreading_room(coverage, others)
        return room * (1 + (self.spot_doubt - 1) * self.spreading.spots_there(coverage))

    def rows_at_once(self) -> int:
        """How many colours to work on at once with bounded memory."""
        readings = self.field.pull.size
        by_readings = _KRIGING_BYTES // (_FLOAT_BYTES * (readings + 1))
        return max(1, min(self._folded_at_once(), by_readings))

    def _folded_at_once(self) -> int:
        """The same for folding, which halves the rows of the primaries first."""
        return _FOLD_BYTES // (_FLOAT_BYTES * self.primaries.size // 2)


def build_forward(paper: Paper, inks: tuple[Ink, ...], patches: Patches | None) -> ForwardModel:
    """The model of inks as they print on this paper, in lay-down order.

    Parameters
    ----------
    patches : Patches or None
        Measured mixtures.
    """
    solids = solids_of(inks, paper)
    bed = bed_of(paper, black_density=black_density_of(solids, paper))
    solids = fitted_to_pairs(solids, bed, _pairs(narrow_bands(paper.xyz100), patches))
    spots = np.array([solid.kind == SPOT for solid in solids], dtype=np.bool_)
    model = _unmeasured(
        paper, inks, solids, bed, is_tried=bright_inks_were_tried(paper, patches, spots)
    )
    return _measured(model, patches)


def _unmeasured(
    paper: Paper, inks: tuple[Ink, ...], solids: tuple[Solid, ...], bed: Bed, *, is_tried: bool
) -> ForwardModel:
    """The model before measured mixtures are looked at, but for what pairs said of solids."""
    constants, stack = MODEL.paper[paper.paper_class], stack_of(solids)
    n, channels = constants.yule_nielsen_n, narrow_bands(paper.xyz100)
    overprints = all_overprints(stack, bed, paper=paper)
    causes = shared_causes(solids, bed, paper=paper)
    primaries = overprints ** (1 / n)
    doubt = MODEL.kriging
    untried = 1.0 if is_tried else doubt.spot_untried_times
    covariance = overprint_covariance(
        primaries,
        n=n,
        spots=stack.spot_rows,
        spot_times=doubt.spot_overprint_sd_times * untried,
        shared=[cause ** (1 / n) - primaries for cause in causes],
    )
    return ForwardModel(
        channels=channels,
        curves=curves_of(inks, solids, paper, bed),
        primaries=primaries,
        n=n,
        spreading=Spreading(
            strength=constants.spreading,
            presence=1 - blackness(stack.bands, bed.greatest),
            because=because_of(stack.kinds, paper),
            spots=stack.kinds == SPOT,
        ),
        spot_doubt=untried * doubt.spot_spreading_sd / doubt.spreading_sd,
        field=ResidualField.prior(covariance, inks=len(inks)),
        solids=solids,
    )


def bright_inks_were_tried(paper: Paper, patches: Patches | None, spots: BoolArray) -> bool:
    """Whether the model is known to hold for spot inks (I,) on such paper or on this press."""
    if MODEL.paper[paper.paper_class].tried_with_spots:
        return True
    return tints_read(patches, spots) >= MODEL.kriging.tried_by_tints


def because_of(kinds: IntArray, paper: Paper) -> FloatArray | None:
    """What presses have in common in how process inks spread, if two are there, in usual order."""
    if (kinds != SPOT).sum() < 2 or not in_usual_order(kinds):
        return None
    return common_spreading(kinds, paper)


def _pairs(channels: Channels, patches: Patches | None) -> Pairs:
    """Two-ink solids among measured mixtures."""
    if patches is None:
        return Pairs(inks=np.empty((0, 2), np.int64), bands=np.empty((0, 3)))
    chart = patches.read_by(*CHART)
    if chart is None:
        return _pairs(channels, None)
    merged, _ = merge_repeats(chart)
    solid, _ = solid_row(merged.tone_pct)
    rows = solid & ((merged.tone_pct > 0).sum(axis=1) == 2)
    inks = [np.flatnonzero(tones) for tones in merged.tone_pct[rows]]
    return Pairs(
        inks=np.array(inks, dtype=np.int64).reshape(-1, 2),
        bands=channels.relative(merged.xyz100[rows]),
    )


def _measured(model: ForwardModel, patches: Patches | None) -> ForwardModel:
    """The same model, corrected by measured mixtures."""
    if patches is None:
        return model
    merged, counts = merge_repeats(patches)
    coverage = model.coverage(merged.tone_pct)
    seen = model.channels.relative(merged.xyz100) ** (1 / model.n)
    residual = seen - mix(model.spread(coverage), model.primaries)
    field = fit_residuals(
        model.features(coverage),
        residual,
        noise=reading_noise(model, merged.tone_pct, seen, noises=merged.noises) / counts[:, None],
        covariance=model.field.covariance,
    )
    return replace(model, field=field)


def reading_noise(
    model: ForwardModel, tone_pct: FloatArray, y: FloatArray, *, noises: Sequence[str]
) -> FloatArray:
    """Noise variance (P, C) of one reading of mixtures (P, I).

    Solids of a chart have none: they count exactly.

    Parameters
    ----------
    y : (P, C) array
        What was read, or is predicted.
    noises : sequence (P,) of str
        How each was read.
    """
    coverage = model.coverage(tone_pct)
    there, spreaded = model.spreading.spots_there(coverage), model.spread(coverage)
    variance = reading_variance(y, spreaded, there, noises=noises, n=model.n)
    is_of_chart = np.array([one in CHART for one in noises], dtype=np.bool_)
    variance[solid_row(tone_pct)[0] & is_of_chart] = EXACT_VARIANCE
    return variance


def curves_of(
    inks: tuple[Ink, ...], solids: tuple[Solid, ...], paper: Paper, bed: Bed
) -> tuple[ToneCurve, ...]:
    """The tone curves of inks from the best that is known of each."""
    return tuple(
        curve_of(ink, paper, kind=solid.kind, black_density=bed.black_density)
        for ink, solid in zip(inks, solids, strict=True)
    )


def curve_of(ink: Ink, paper: Paper, *, kind: int, black_density: float) -> ToneCurve:
    """The tone curve of one ink; `black_density` is that of the press, above the paper."""
    constants, channels = MODEL.paper[paper.paper_class], narrow_bands(paper.xyz100)
    relative = channels.relative(ink.xyz100)
    if ink.is_screened:
        return StraightCurve(channels=relative.shape[1])
    if len(ink.tone_pct) > 2:
        relative = relative / relative[0]
        return curve_from_ramp(ink.tone_pct, relative, n=constants.yule_nielsen_n)
    if ink.tone_value_increase_pct is not None:
        gain = ink.tone_value_increase_pct
        return curve_from_increase(relative[-1], gain, constants=constants, channels=channels)
    nothing = np.zeros((2, relative.shape[1]))
    return curve_from_solid(
        relative[-1],
        constants,
        offset=usual_offset(constants, black_density=black_density),
        common=nothing if kind == SPOT else common_of(paper).tone[kind],
    )
