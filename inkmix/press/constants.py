"""Every fitted number of the press model, in one table.

The constants were fitted on three published characterization sets: FOGRA39L (coated), FOGRA29L
(white uncoated) and TR 002 (newsprint); those of light-coated and supercalendered paper lie between
and were tried on none. Nothing that a single job tells belongs here, and no other file of the model
holds a number of its own.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from inkmix.arrays import FloatArray, read_only

#: Paper classes that the model has constants for, smoothest first.
PAPER_CLASSES = ("coated", "light-coated", "supercalendered", "uncoated", "newsprint")


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperConstants:
    """What the model knows of a paper class.

    Parameters
    ----------
    greatest_density : float
        Density of the darkest print that can be reached, above the paper.
    yule_nielsen_n : float
        Yule-Nielsen factor of mixing, >= 1; above 2 it is a fit without physics.
    tone_n : float
        The same for the usual shape of a tone curve only.
    tone_offset, black_tone_offset : float
        Coverage added at 50 %, beyond the optical gain that `tone_n` brings, 0-1: of a colour, of a
        black.
    """

    greatest_density: float
    yule_nielsen_n: float
    tone_n: float
    tone_offset: float
    black_tone_offset: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ErrorConstants:
    """What turns a variance into an expected error of 95 %.

    `factor_de00` and `factor_L` belong to a level of knowledge; those of the three measured levels
    cover 94-99 % of the patches of the average published set. Those for density readings and screen
    colours have no source. Nor has `solid_density_sd`, the standard deviation of the density of a
    solid that was not measured on this paper: a fixed part, and a share of the density.
    """

    factor_de00: Mapping[str, float]
    factor_L: Mapping[str, float]
    solid_density_sd: Mapping[str, tuple[float, float]]
    floor: float = 0.15
    tone_curve_sd: float = 0.05
    # Inks unlike process inks: times the sd of an overprint's error and the factor of L*, and a
    # spreading that is wrong for all inks alike. Chosen on 18 simulated five-ink sets (films after
    # Kubelka on a Clapper-Yule paper), tried on 30 more: 97-98 % of their mixtures lie inside.
    unlike_process_inks: float = 2.0
    unlike_factor_L: float = 1.25
    unlike_spreading_sd: float = 0.20
    unlike_spreading_length: float = 0.40


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ModelConstants:
    """The whole table; see the steps of the model for what each number does."""

    paper: Mapping[str, PaperConstants]
    error: ErrorConstants
    band_matrix: FloatArray
    noise_sd: Mapping[str, float]
    least_reflectance: float = 1e-3
    # overprints
    solid_margin: float = 1.10
    saturation_exponent: float = 2.0
    trapping_loss: float = 0.27
    trapping_by_density: float = 0.055
    # spreading on other inks; a black hides it. Blackness: least density over the greatest.
    spreading: float = 0.11
    colour_below: float = 0.3
    black_above: float = 0.6
    # tone curves
    tone_gain_by_density: float = 0.045
    tone_skew: float = 0.06
    contrast_common: float = 0.02
    contrast_own: float = 0.07
    # kriging of what is left
    overprint_sd_per_density: float = 0.045
    overprint_sd_floor: float = 0.01
    overprint_correlation: float = 0.3
    spreading_sd: float = 0.12
    spreading_length: float = 0.8


def _paper(
    density: float, n: float, tone_n: float, offset: float, black_offset: float
) -> PaperConstants:
    return PaperConstants(
        greatest_density=density, yule_nielsen_n=n, tone_n=tone_n, tone_offset=offset,
        black_tone_offset=black_offset,
    )  # fmt: skip


MODEL = ModelConstants(
    paper=MappingProxyType({
        "coated": _paper(2.64, 4.0, 2.0, -0.005, -0.030),
        "light-coated": _paper(2.10, 5.0, 2.0, 0.031, 0.006),
        "supercalendered": _paper(2.00, 5.0, 2.0, 0.031, 0.006),
        "uncoated": _paper(1.38, 6.0, 6.0, 0.005, -0.020),
        "newsprint": _paper(1.08, 6.0, 6.0, 0.105, 0.080),
    }),
    error=ErrorConstants(
        factor_de00=MappingProxyType({
            "screen colour": 1.5, "density": 1.5, "solids": 0.64, "ramps": 0.75, "overprints": 0.90,
        }),
        factor_L=MappingProxyType({
            "screen colour": 2.0, "density": 2.0, "solids": 0.98, "ramps": 1.22, "overprints": 1.54,
        }),
        solid_density_sd=MappingProxyType({
            "screen colour": (0.05, 0.08), "density": (0.03, 0.05), "carried": (0.01, 0.05),
        }),
    ),
    # Of a reading, in y with n = 2: published averages, and readings of one sheet.
    noise_sd=MappingProxyType({"averaged": 0.0025, "single sheet": 0.0075}),
    # Three narrow bands out of XYZ; each row's scale cancels against the paper.
    band_matrix=read_only([[1.0, -0.20, -0.13], [-0.41, 1.0, 0.045], [0.03, -0.035, 1.0]]),
)  # fmt: skip
