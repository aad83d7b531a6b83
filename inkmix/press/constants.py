"""Every number of the press model, read from constants.toml, where each has its origin.

Nothing that a single job tells belongs there. Other files of this folder hold guards of their
arithmetic, limits of what they accept and sizes of what they keep, each under a name; a test lists
them.
"""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import Any

from inkmix.base.arrays import FloatArray, read_only

#: Paper classes that the model has constants for, smoothest first.
PAPER_CLASSES = ("coated", "light-coated", "supercalendered", "uncoated", "newsprint")
#: Process inks by their letters, in the order in which they are printed.
PROCESS_LETTERS = "KCMY"


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperConstants:
    """What the model knows of a paper class; some of it holds for the group of papers.

    Parameters
    ----------
    group : str
        Papers that print process inks alike: smooth, uncoated or newsprint.
    greatest_density : float
        Density above the paper that overprints approach, at least.
    over_black : float
        How far they go beyond the density of the black, at least, as a factor.
    black_density : float
        Visual density above the paper of the usual black.
    tried_with_spots : bool
        Whether prints with bright inks on such paper were measured.
    yule_nielsen_n : float
        Yule-Nielsen factor of mixing, >= 1; above 2 it is a fit without physics.
    shared_greatest_density : float
        Standard deviation of the greatest density from press to press, as a share of it.
    spreading : float
        How much further dots spread on other inks.
    tone_offset, tone_offset_at, tone_by_density : float
        Coverage, 0-1, that a 50 % tint gains beyond the optical gain, at which density of the
        black, and how much less for each unit above that.
    """

    group: str
    greatest_density: float
    over_black: float
    black_density: float
    tried_with_spots: bool
    yule_nielsen_n: float
    spreading: float
    shared_greatest_density: float
    tone_offset: float
    tone_offset_at: float
    tone_by_density: float


@dataclass(frozen=True, slots=True, kw_only=True)
class OverprintConstants:
    """Of solids on solids: additivity failure, trapping, and when a solid is black."""

    solid_margin: float
    trapping_loss: float
    trapping_by_density: float
    nearly_greatest: float
    colour_below: float
    black_above: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ToneConstants:
    """Of the usual tone curve, and of curves of inks that hardly show in a band."""

    n: float
    usual_steps: int
    skew: float
    gain_by_density: float
    contrast_common: float
    contrast_own: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SpectrumConstants:
    """Of the recovery of spectra."""

    band_weight: float
    start_weight: float
    least_density: float
    headroom: float
    least_band: float
    start_at_most: float
    steps: int
    pair_weight: float
    pair_steps: int
    pair_gain: float

    @property
    def least_reflectance(self) -> float:
        """Least reflectance of a recovered spectrum."""
        return float(10.0**-self.least_density)


@dataclass(frozen=True, slots=True, kw_only=True)
class DensitySpectrumConstants:
    """Of the spectrum of a solid that is known by density readings."""

    reading_weight: float
    greatest_density: float
    least_start: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperChangeConstants:
    """Of an ink that was measured on another paper."""

    same_paper_de00: float


@dataclass(frozen=True, slots=True, kw_only=True)
class OpacityConstants:
    """What is taken where nobody told an ink's opacity, and how far it may be off."""

    untold: float
    untold_orange: float
    untold_sd: float
    told_sd: float
    told_sd_share: float
    untold_white: float
    untold_white_sd: float
    brighter_than_paper: float
    white_L: float
    white_chroma: float
    orange_hue: tuple[float, float]
    orange_chroma: float
    over_black_sd: float
    trials: int
    opaque_above: float
    words: Mapping[str, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class KrigingConstants:
    """How errors of the model are spread, and which of them belong together."""

    overprint_sd_per_density: float
    overprint_sd_floor: float
    overprint_correlation: float
    spreading_sd: float
    spreading_length: float
    noise_averaged: float
    noise_single_sheet: float
    noise_uneven_sheets: float
    uneven_from_de00: float
    noise_wet: float
    noise_by_eye: float
    noise_photograph: float
    least_y: float
    spot_overprint_sd_times: float
    spot_spreading_sd: float
    misfit: float
    spot_misfit: float
    near_sd: float
    spot_near_sd: float
    near_length: float
    spot_counts_from: float
    spot_untried_times: float
    tried_by_tints: int
    shared_trapping: float

    @property
    def noise_sd(self) -> Mapping[str, float]:
        """Standard deviation of a reading, by what stands behind it."""
        return MappingProxyType(
            {
                "averaged": self.noise_averaged,
                "single sheet": self.noise_single_sheet,
                "uneven sheets": self.noise_uneven_sheets,
                "one reading": self.noise_single_sheet,
                "wet": self.noise_wet,
                "by eye": self.noise_by_eye,
                "photograph": self.noise_photograph,
            }
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class CameraConstants:
    """What a camera adds to an expected error of 95 %."""

    pale_de00: float
    full_de00: float
    de00_per_chroma: float
    pale_L: float
    full_L: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ErrorConstants:
    """What turns a variance into an expected error of 95 %.

    Factors go by group of papers, then by level of knowledge.
    """

    factor_de00: Mapping[str, Mapping[str, float]]
    factor_L: Mapping[str, Mapping[str, float]]
    solid_density_sd: Mapping[str, tuple[float, float]]
    floor: float
    tone_curve_sd: float
    usual_misfit: float
    usual_misfit_counts: float
    spot_factor: float
    camera: CameraConstants


@dataclass(frozen=True, slots=True, kw_only=True)
class EvidenceConstants:
    """From where on what is measured and what is told do not agree, or no plain ink does it."""

    misfit_unproven: float
    overruled_sd: float
    unreached_de00: float
    brighter_than_paper: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Common:
    """Residuals of process inks that presses have in common, on one group of papers.

    Parameters
    ----------
    overprint : mapping of str to (3,) array
        Letters of an overprint to what log10 of its reflectance gains.
    spreading : (4, 4, 3) array
        [i, j]: how much further ink i spreads because of ink j.
    tone : (4, 2, 3) array
        Gain and skew of each ink's usual tone curve.
    """

    overprint: Mapping[str, FloatArray]
    spreading: FloatArray
    tone: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ProcessInkConstants:
    """Process inks, black, cyan, magenta, yellow: their colours and what presses have in common.

    Parameters
    ----------
    within_de00 : float
        How near to a mean solid an ink must be to be that process ink.
    solids_lab : mapping of str to (4, 3) array
        Mean solids by group of papers.
    published_lab : mapping of str to (5, 3) array
        Paper and solids of one published set, by group of papers.
    spectra : (4, 31) array
        Reflectance relative to the paper, 400 to 700 nm.
    common : mapping of str to Common
        By group of papers.
    """

    within_de00: float
    solids_lab: Mapping[str, FloatArray]
    published_lab: Mapping[str, FloatArray]
    spectra: FloatArray
    common: Mapping[str, Common]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ModelConstants:
    """The whole table; see the steps of the model for what each number does.

    `process` holds the values of each Process of inkmix.press.processes.
    """

    paper: Mapping[str, PaperConstants]
    paper_change: PaperChangeConstants
    band_matrix: FloatArray
    least_reflectance: float
    overprint: OverprintConstants
    tone: ToneConstants
    spectrum: SpectrumConstants
    density_spectrum: DensitySpectrumConstants
    opacity: OpacityConstants
    kriging: KrigingConstants
    error: ErrorConstants
    evidence: EvidenceConstants
    process_inks: ProcessInkConstants
    process: Mapping[str, Mapping[str, Any]]


def read_constants(text: str) -> ModelConstants:
    """The table out of the text of constants.toml."""
    told = tomllib.loads(text)
    return ModelConstants(
        paper=MappingProxyType({name: _paper(told, name) for name in PAPER_CLASSES}),
        paper_change=PaperChangeConstants(**told["paper_change"]),
        band_matrix=read_only(told["bands"]["matrix"]),
        least_reflectance=told["bands"]["least_reflectance"],
        overprint=OverprintConstants(**told["overprint"]),
        tone=ToneConstants(**told["tone"]),
        spectrum=SpectrumConstants(**told["spectrum"]),
        density_spectrum=DensitySpectrumConstants(**told["density_spectrum"]),
        opacity=OpacityConstants(**_constant(told["opacity"])),
        kriging=KrigingConstants(**told["kriging"]),
        error=_error(told["error"]),
        evidence=EvidenceConstants(**told["evidence"]),
        process_inks=_process_inks(told["process_inks"]),
        process=_constant(told["process"]),
    )


def _error(told: dict[str, Any]) -> ErrorConstants:
    values = dict(_constant(told))
    return ErrorConstants(camera=CameraConstants(**values.pop("camera")), **values)


def _paper(told: dict[str, Any], name: str) -> PaperConstants:
    own = told["paper"][name]
    return PaperConstants(**own, **told["group"][own["group"]])


def _constant(told: dict[str, Any]) -> Mapping[str, Any]:
    """A table that nothing changes, with all tables and lists in it."""
    values = {
        name: _constant(value)
        if isinstance(value, dict)
        else tuple(value)
        if isinstance(value, list)
        else value
        for name, value in told.items()
    }
    return MappingProxyType(values)


def _process_inks(told: dict[str, Any]) -> ProcessInkConstants:
    spectra = [told["spectrum"][name] for name in ("black", "cyan", "magenta", "yellow")]
    common = {group: _common(values) for group, values in told["common"].items()}
    return ProcessInkConstants(
        within_de00=told["within_de00"],
        solids_lab=_arrays(told["solids_lab"]),
        published_lab=_arrays(told["published_lab"]),
        spectra=read_only(spectra),
        common=MappingProxyType(common),
    )


def _arrays(told: dict[str, Any]) -> Mapping[str, FloatArray]:
    return MappingProxyType({name: read_only(values) for name, values in told.items()})


def _common(told: dict[str, Any]) -> Common:
    spreading = [
        [told["spreading"].get(f"{ink}<{other}", [0.0] * 3) for other in PROCESS_LETTERS]
        for ink in PROCESS_LETTERS
    ]
    return Common(
        overprint=_arrays(told["overprint"]),
        spreading=read_only(spreading),
        tone=read_only([told["tone"][ink] for ink in PROCESS_LETTERS]),
    )


MODEL = read_constants(Path(__file__).with_name("constants.toml").read_text(encoding="utf-8"))
