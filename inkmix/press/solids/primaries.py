"""Paper, solids and all solid overprints of a press, in narrow bands.

Overprints of process inks multiply in the bands themselves; as soon as a spot ink is in one, it is
made wavelength by wavelength and seen through the bands afterwards. Paper and single solids stay as
they were told. What measured overprints correct is in inkmix.press.kriging.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from inkmix.base.arrays import BoolArray, FloatArray, IntArray
from inkmix.press.channels import narrow_bands
from inkmix.press.constants import MODEL
from inkmix.press.inks import Ink, Paper
from inkmix.press.solids.opacity import Opacity, opacity_of
from inkmix.press.solids.overprint import (
    Layer,
    greatest_density,
    inks_in_rows,
    solid_overprints,
    trapping_loss,
)
from inkmix.press.solids.process_inks import (
    BLACK,
    SPOT,
    black_under,
    common_overprints,
    first_of_each,
    in_usual_order,
    kind_of,
)
from inkmix.press.spectra import band_weights, measured_spectrum, recovered_spectrum

_GREEN = 1  # the band that the eye judges darkness by
_LEAST_Y100 = 1e-3  # so that its density is a number


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Solid:
    """The solid of an ink on the paper of a press.

    Parameters
    ----------
    kind : int
        Which process ink it is by its colour, or SPOT.
    bands : (3,) array
        Reflectance relative to the paper, as told.
    spectrum : (31,) array
        The same by wavelengths, measured or recovered.
    is_measured : bool
        Whether the spectrum was measured.
    opacity : Opacity
    y_density : float
        Visual density above the paper.
    """

    kind: int
    bands: FloatArray
    spectrum: FloatArray
    is_measured: bool
    opacity: Opacity
    y_density: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Bed:
    """What all solids of a press are laid on, and how well it takes them.

    Parameters
    ----------
    greatest : float
        Greatest density above the paper.
    loss : float
        Share of a layer not taken for each ink under it.
    weights : (3, 31) array
        From a spectrum to the bands.
    black_density : float
        Visual density of the black above the paper.
    """

    greatest: float
    loss: float
    weights: FloatArray
    black_density: float


def solids_of(inks: Sequence[Ink], paper: Paper) -> tuple[Solid, ...]:
    """The solids of inks as they print on a paper, each by itself."""
    weights = band_weights(paper)
    return tuple(_solid(ink, paper, weights) for ink in inks)


def _solid(ink: Ink, paper: Paper, weights: FloatArray) -> Solid:
    kind, bands = kind_of(ink, paper), narrow_bands(paper.xyz100).relative(ink.xyz100[-1])
    measured = measured_spectrum(ink, paper)
    like = None if kind == SPOT else kind
    spectrum = recovered_spectrum(bands, weights, like=like) if measured is None else measured
    return Solid(
        kind=kind,
        bands=bands,
        spectrum=spectrum,
        is_measured=measured is not None,
        opacity=_opacity(ink, kind, spectrum, paper),
        y_density=_y_density(ink.xyz100[-1], paper),
    )


def _y_density(xyz100: FloatArray, paper: Paper) -> float:
    """Visual density above the paper of a colour (3,)."""
    return float(np.log10(paper.xyz100[1] / max(xyz100[1], _LEAST_Y100)))


def _opacity(ink: Ink, kind: int, spectrum: FloatArray, paper: Paper) -> Opacity:
    """The opacity that is told of an ink, or what its solid over a black says."""
    if ink.over_black_xyz100 is None or ink.opacity is not None:
        return opacity_of(ink, kind)
    black = black_under(ink, paper)
    bands = narrow_bands(paper.xyz100)
    under, bed = bands.relative(black), bed_of(paper, black_density=_y_density(black, paper))
    return _opacity_over(
        under=recovered_spectrum(under, bed.weights, like=BLACK),
        spectrum=spectrum,
        seen=bands.relative(ink.over_black_xyz100),
        bed=bed,
    )


def _opacity_over(
    *, under: FloatArray, spectrum: FloatArray, seen: FloatArray, bed: Bed
) -> Opacity:
    """The likeliest opacity of a solid seen (3,) over a black.

    It is not solved exactly, for the overprint may be off by itself as any other.
    """
    constants, trials = MODEL.kriging, MODEL.opacity.trials
    in_density = constants.overprint_sd_per_density * -np.log10(seen) + constants.overprint_sd_floor
    sd = constants.spot_overprint_sd_times * in_density * np.log(10) * seen
    trial = np.linspace(0, 1, trials)
    one, other = (np.tile(solid, (trials, 1)) for solid in (under, spectrum))
    layers = [Layer(solid=one), Layer(solid=other, opacity=trial)]
    laid = solid_overprints(layers, bed.greatest, trapping_loss=bed.loss)[3]
    shown = laid @ bed.weights.T
    misses = (((shown - seen) / sd) ** 2).sum(axis=1) + (trial / MODEL.opacity.over_black_sd) ** 2
    weights = np.exp(-(misses - misses.min()) / 2)
    weights /= weights.sum()
    value = float(weights @ trial)
    spread = float(np.sqrt(weights @ (trial - value) ** 2))
    return Opacity(value=value, sd=max(spread, 1 / trials), why="measured")


def bed_of(paper: Paper, *, black_density: float) -> Bed:
    """The bed of a press whose black has a visual density above the paper."""
    constants = MODEL.paper[paper.paper_class]
    greatest = greatest_density(constants, black_density=black_density)
    return Bed(
        greatest=greatest,
        loss=trapping_loss(greatest),
        weights=band_weights(paper),
        black_density=black_density,
    )


def black_density_of(solids: Sequence[Solid], paper: Paper) -> float:
    """Visual density above the paper of the black among solids, else of the usual one."""
    blacks = [solid.y_density for solid in solids if solid.kind == BLACK]
    return blacks[0] if blacks else MODEL.paper[paper.paper_class].black_density


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stack:
    """Solids as arrays, in lay-down order: of one set of inks, or of many that are of like kinds.

    Parameters
    ----------
    kinds : (I,) array
        Which process ink each is, or SPOT.
    bands : (I, ..., 3) array
    spectra : (I, ..., 31) array
    opacity : (I, ...) array
    """

    kinds: IntArray
    bands: FloatArray
    spectra: FloatArray
    opacity: FloatArray

    @property
    def spot_rows(self) -> BoolArray:
        """Which overprints (2**I,) hold a spot ink."""
        return np.asarray(inks_in_rows(len(self.kinds)) @ (self.kinds == SPOT) > 0, dtype=np.bool_)


def stack_of(solids: Sequence[Solid]) -> Stack:
    """Solids of one set of inks, in lay-down order, as arrays."""
    return Stack(
        kinds=first_of_each([solid.kind for solid in solids]),
        bands=np.stack([solid.bands for solid in solids]),
        spectra=np.stack([solid.spectrum for solid in solids]),
        opacity=np.array([solid.opacity.value for solid in solids]),
    )


def all_overprints(stack: Stack, bed: Bed, *, paper: Paper) -> FloatArray:
    """Relative reflectance (2**I, ..., 3) of paper, solids and overprints.

    Of process inks in their usual order, what presses have in common is added.
    """
    result = bare_overprints(stack, bed)
    if in_usual_order(stack.kinds):
        held = inks_in_rows(len(stack.kinds)) > 0
        gains = 10.0 ** common_overprints(stack.kinds, held, paper)
        result *= gains.reshape(len(gains), *(1,) * (result.ndim - 2), -1)
    return result


def bare_overprints(stack: Stack, bed: Bed) -> FloatArray:
    """The same by the solids alone: nothing that presses have in common is added."""
    in_bands = [Layer(solid=bands) for bands in stack.bands]
    result = solid_overprints(in_bands, bed.greatest, trapping_loss=bed.loss)
    held = inks_in_rows(len(stack.kinds)) > 0
    by_spectra = stack.spot_rows & (held.sum(axis=1) > 1)
    if by_spectra.any():
        result[by_spectra] = _by_spectra(stack, bed)[by_spectra]
    return _never_lighter(result, stack, bed)


def _never_lighter(overprints: FloatArray, stack: Stack, bed: Bed) -> FloatArray:
    """The overprints where nothing on a very dark solid lightens it by more than its own colour.

    Layers on a solid that was told darker, to the eye, than a press is thought to reach would.
    """
    reach = 10.0 ** -(bed.greatest / MODEL.overprint.solid_margin)
    is_deep = stack.bands[..., _GREEN] < reach
    held = inks_in_rows(len(stack.kinds)) > 0
    for ink, (bands, opacity) in enumerate(zip(stack.bands, stack.opacity, strict=True)):
        under, over = overprints[: 2**ink], overprints[2**ink : 2 ** (ink + 1)]
        most = under * np.maximum(bands, 1) + opacity[..., None] * bands
        on_deep = np.tensordot(held[: 2**ink], is_deep, axes=1) > 0
        over[:] = np.where(on_deep[..., None], np.minimum(over, most), over)
    return overprints


def _by_spectra(stack: Stack, bed: Bed) -> FloatArray:
    """Relative reflectance (2**I, ..., 3) of overprints made wavelength by wavelength."""
    layers = [
        Layer(solid=spectrum, opacity=opacity)
        for spectrum, opacity in zip(stack.spectra, stack.opacity, strict=True)
    ]
    spectra = solid_overprints(layers, bed.greatest, trapping_loss=bed.loss)
    # Not by @, which sums in another order for one set than for many.
    bands = np.einsum("...w,cw->...c", spectra, bed.weights)
    return np.asarray(np.maximum(bands, MODEL.least_reflectance))


def shared_causes(solids: Sequence[Solid], bed: Bed, *, paper: Paper) -> tuple[FloatArray, ...]:
    """Overprints (2**I, 3) as they would be, were one cause off that many of them share.

    A cause each: the greatest density; where a spot ink is printed, trapping, which of process inks
    alone is known better; and the opacity of every spot ink.
    """
    stack, sd = stack_of(solids), np.array([solid.opacity.sd for solid in solids])
    share = MODEL.paper[paper.paper_class].shared_greatest_density

    def laid(stack: Stack, bed: Bed) -> FloatArray:
        return all_overprints(stack, bed, paper=paper)

    denser = laid(stack, replace(bed, greatest=bed.greatest * (1 + share)))
    spots = [at for at, kind in enumerate(stack.kinds) if kind == SPOT]
    if not spots:
        return (denser,)
    less_trapped = laid(stack, replace(bed, loss=bed.loss + MODEL.kriging.shared_trapping))
    opaque = (laid(_more_opaque(stack, at, sd), bed) for at in spots)
    return (denser, less_trapped, *opaque)


def _more_opaque(stack: Stack, at: int, sd: FloatArray) -> Stack:
    """The stack with one solid more opaque by its standard deviation."""
    more = stack.opacity.copy()
    more[at] = min(1.0, more[at] + sd[at])
    return replace(stack, opacity=more)
