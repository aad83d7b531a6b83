"""Expected error of a predicted colour: the bound that 95 of 100 patches stay within.

Press-to-press spread rules: 95 % can be promised on average over presses, about 85 % on the worst.
"""

from dataclasses import dataclass

import numpy as np

from inkmix.base.arrays import BoolArray, FloatArray, IntArray
from inkmix.colour.colorimetry import delta_e00
from inkmix.press.constants import MODEL
from inkmix.press.evidence import level_of_ink
from inkmix.press.forward import ForwardModel
from inkmix.press.halftone import contrasts, mix
from inkmix.press.inks import Ink, Paper
from inkmix.press.paper_change import is_same_paper
from inkmix.press.patches import AVERAGED
from inkmix.press.unexplained import reading_variance
from inkmix.press.values import LEVELS

# Colours at once: 2**8 weights of three bands stay below 10 MB.
_COLOURS_AT_ONCE = 1024


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ExpectedError:
    """95 % bounds (...) of the colour difference and of L*, never negative."""

    de00: FloatArray
    L: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ErrorModel:
    """What is uncertain about one set of inks on one paper.

    Parameters
    ----------
    model : ForwardModel
    solid_sd : (I, C) array
        Standard deviation of each solid's density.
    tone_sd : (I,) array
        Standard deviation of each tone curve at 50 %, in coverage.
    level : (I,) array of int
        Index into LEVELS of what is known of each ink.
    overprints_told : bool
    group : str
        Of the paper.
    sure : ForwardModel
        By sure readings alone; the same model where there are no others. What is bound is how far
        off that may be, and how far the others have moved it: they never make anything surer.
    seen : (I,) array of bool
        Inks that only a camera saw.
    before : ErrorModel or None
        Of the same before a camera saw it, than which nothing is surer; None where none did.
    """

    model: ForwardModel
    solid_sd: FloatArray
    tone_sd: FloatArray
    level: IntArray
    overprints_told: bool
    group: str
    sure: ForwardModel
    seen: BoolArray
    before: "ErrorModel | None" = None

    def expected_error(self, tone_pct: FloatArray) -> ExpectedError:
        """Bounds (N,) for tone values (N, I)."""
        parts = [
            self._bounds(tone_pct[start : start + _COLOURS_AT_ONCE])
            for start in range(0, max(len(tone_pct), 1), _COLOURS_AT_ONCE)
        ]
        de00, L = np.concatenate(parts, axis=1)
        if self.before is not None:
            was = self.before.expected_error(tone_pct)
            de00, L = np.maximum(de00, was.de00), np.maximum(L, was.L)
        return ExpectedError(de00=de00, L=L)

    def _bounds(self, tone_pct: FloatArray) -> FloatArray:
        """Bounds (2, N): colour difference, then L*."""
        sure = self.sure
        coverage = sure.coverage(tone_pct)
        y = sure.root(coverage)
        sd = np.sqrt(self._variance(coverage))
        lab = sure.lab(y)
        steps = [sure.lab(y + sd * band) for band in np.eye(y.shape[1])]
        colour = np.sqrt(sum(delta_e00(lab, step) ** 2 for step in steps))
        lightness = sum(np.abs(step[:, 0] - lab[:, 0]) for step in steps)
        factors = self._factors(tone_pct) * self._spot_factor(coverage)
        if (self.level >= LEVELS.index("solids")).all():
            factors *= sure.field.widening  # else what is not known of the inks explains it
        bounds = factors * np.hypot(np.stack([colour, lightness]), MODEL.error.floor)
        if self.seen.any():
            bounds = np.hypot(bounds, self._by_camera(coverage, lab))
        if sure is not self.model:
            moved = self.model.lab(self.model.root(coverage))
            bounds += np.stack([delta_e00(moved, lab), np.abs(moved[:, 0] - lab[:, 0])])
        return np.asarray(bounds, dtype=np.float64)

    def _by_camera(self, coverage: FloatArray, lab: FloatArray) -> FloatArray:
        """What a camera adds (2, N): the more, the more of the inks that it saw is there."""
        camera, there = MODEL.error.camera, 1 - (1 - coverage[self.seen].mean(axis=2)).prod(axis=0)
        colour = camera.pale_de00 + (camera.full_de00 - camera.pale_de00) * there
        colour = colour + camera.de00_per_chroma * np.hypot(lab[:, 1], lab[:, 2]) * there
        lightness = camera.pale_L + (camera.full_L - camera.pale_L) * there
        return np.where(there > 0, np.stack([colour, lightness]), 0.0)

    def _variance(self, coverage: FloatArray) -> FloatArray:
        """Variance (N, C) of y from overprints, spreading, tone curves, solids and the reading.

        A bound is compared with readings, so the noise of one belongs to it.
        """
        spreaded = self.sure.spread(coverage)
        variance = self.sure.field.variance(self.sure.features(coverage))
        bare = mix(spreaded, self.sure.primaries)
        there = self.sure.spreading.spots_there(coverage)
        variance += reading_variance(bare, spreaded, there, noises=[AVERAGED], n=self.model.n)
        slopes = contrasts(spreaded, self.sure.primaries)
        for i, (ink, slope) in enumerate(zip(spreaded, slopes, strict=True)):
            full = bare + (1 - ink) * slope  # y with this ink full, as y is linear in each ink
            by_solid = self.solid_sd[i] * np.log(10) / self.model.n * ink * full
            by_tone = self.tone_sd[i] * 4 * ink * (1 - ink) * slope
            variance += by_solid**2 + by_tone**2
        return variance

    def _spot_factor(self, coverage: FloatArray) -> FloatArray:
        """Times the factors (N,): more where a spot ink is printed on others."""
        there = self.model.spreading.spots_there(coverage).mean(axis=1)
        return np.asarray(1 + (MODEL.error.spot_factor - 1) * there, dtype=np.float64)

    def _factors(self, tone_pct: FloatArray) -> FloatArray:
        """Factors (2, N) of the weakest level among the inks that a colour holds."""
        best = LEVELS.index("overprints" if self.overprints_told else "ramps")
        held = np.where(tone_pct > 0, self.level, best)
        weakest = np.minimum(held.min(axis=1, initial=best), best)
        colour, lightness = MODEL.error.factor_de00[self.group], MODEL.error.factor_L[self.group]
        table = [(colour[name], lightness[name]) for name in LEVELS]
        return np.asarray(np.array(table)[weakest].T, dtype=np.float64)


def error_model(
    model: ForwardModel,
    inks: tuple[Ink, ...],
    paper: Paper,
    *,
    overprints_told: bool,
    sure: ForwardModel | None = None,
    before: ErrorModel | None = None,
) -> ErrorModel:
    """The error model of inks (as given, before any was carried over) on a paper.

    `sure` is the model by sure readings alone, where there are others besides; `before` what was
    uncertain before a camera saw the inks.
    """
    names = ["density" if _is_carried(ink, paper) else level_of_ink(ink) for ink in inks]
    solid_sd = [
        _solid_sd(ink, paper, density=density)
        for ink, density in zip(inks, _solid_densities(model), strict=True)
    ]
    return ErrorModel(
        model=model,
        solid_sd=np.stack(solid_sd),
        tone_sd=np.array([_tone_sd(ink, name) for ink, name in zip(inks, names, strict=True)]),
        level=np.array([LEVELS.index(_told(name, overprints_told)) for name in names]),
        overprints_told=overprints_told,
        group=MODEL.paper[paper.paper_class].group,
        sure=sure or model,
        seen=np.array([ink.told is not None for ink in inks]),
        before=before,
    )


def _tone_sd(ink: Ink, level: str) -> float:
    """Standard deviation of a tone curve at 50 %: none where a ramp was seen on this paper."""
    is_seen = level == "ramps" or (level == "photograph" and len(ink.tone_pct) > 2)
    return 0.0 if is_seen else MODEL.error.tone_curve_sd


def _told(level: str, overprints_told: bool) -> str:
    """Level of an ink in mixes: a ramp counts as more where its overprints are measured too."""
    return "overprints" if level == "ramps" and overprints_told else level


def _is_carried(ink: Ink, paper: Paper) -> bool:
    return not is_same_paper(ink.measured_on, paper)


def _solid_densities(model: ForwardModel) -> FloatArray:
    """Densities (I, C) of the single solids above the paper."""
    rows = model.primaries[2 ** np.arange(len(model.curves))]
    return np.asarray(np.maximum(-model.n * np.log10(rows), 0), dtype=np.float64)


def _solid_sd(ink: Ink, paper: Paper, *, density: FloatArray) -> FloatArray:
    """Standard deviation (C,) of a solid's density: none where it was measured on this paper."""
    of_kind = MODEL.error.solid_density_sd
    kinds = [ink.known] if ink.known in of_kind else []
    kinds += ["carried"] if _is_carried(ink, paper) else []
    parts = [of_kind[kind][0] + of_kind[kind][1] * density for kind in kinds]
    return np.asarray(np.sqrt(sum((part**2 for part in parts), np.zeros_like(density))))
