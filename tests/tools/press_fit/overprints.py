"""Greatest densities and trapping, from measured solid overprints of process inks."""

from dataclasses import replace
from types import MappingProxyType

import numpy as np
from scipy.optimize import least_squares

from inkmix.press.channels import narrow_bands
from inkmix.press.constants import PAPER_CLASSES, ModelConstants
from inkmix.press.solids.overprint import Layer, greatest_density, inks_in_rows, solid_overprints

# The class whose greatest density is a multiple of that of its black.
_FOLLOWS_BLACK = "newsprint"


def measured(print_set) -> dict:
    """Paper class, density of the black, and overprints (16, 3) relative to the paper."""
    xyz100, found = print_set.measured_solids()
    bands = narrow_bands(xyz100[0])
    return {
        "class": print_set.paper_class,
        "black": float(np.log10(xyz100[0, 1] / xyz100[1, 1])),
        "relative": bands.relative(xyz100),
        "counted": found & (inks_in_rows(4).sum(axis=1) > 1),
    }


def predicted(one: dict, constants: ModelConstants) -> np.ndarray:
    """Overprints (16, 3) by the constants, without what presses have in common."""
    greatest = greatest_density(constants.paper[one["class"]], black_density=one["black"])
    overprint = constants.overprint
    loss = max(0.0, overprint.trapping_loss - overprint.trapping_by_density * greatest)
    layers = [Layer(solid=one["relative"][2**ink]) for ink in range(4)]
    return solid_overprints(layers, greatest, trapping_loss=loss)


def fit(sets, before: ModelConstants) -> ModelConstants:
    """The constants with greatest densities and trapping fitted; each set counts alike."""
    data = [measured(one) for one in sets if one.is_process]
    held = [name for name in PAPER_CLASSES if any(one["class"] == name for one in data)]

    def changed(values: np.ndarray) -> ModelConstants:
        return _with(before, dict(zip(held, values[2:], strict=True)), *values[:2])

    def misses(values: np.ndarray) -> np.ndarray:
        constants = changed(values)
        return np.concatenate([_misses(one, predicted(one, constants)) for one in data])

    start = [before.overprint.trapping_loss, before.overprint.trapping_by_density]
    start += [_free(before, name) for name in held]
    return changed(least_squares(misses, start, loss="soft_l1").x)


def _misses(one: dict, found: np.ndarray) -> np.ndarray:
    """In cube roots, as the eye sees them, so that each set counts alike."""
    rows = one["counted"]
    off = 100 * (np.cbrt(found[rows]) - np.cbrt(one["relative"][rows]))
    return off.ravel() / np.sqrt(off.size)


def _free(constants: ModelConstants, name: str) -> float:
    paper = constants.paper[name]
    return paper.over_black if name == _FOLLOWS_BLACK else paper.greatest_density


def _with(
    before: ModelConstants, by_class: dict[str, float], loss: float, by_density: float
) -> ModelConstants:
    """The constants with other ones of overprints.

    Classes without a set lie between others, by the density of their usual black.
    """
    plain = {name: value for name, value in by_class.items() if name != _FOLLOWS_BLACK}
    blacks = {name: before.paper[name].black_density for name in before.paper}
    known = sorted(plain, key=blacks.__getitem__)
    papers = {}
    for name, paper in before.paper.items():
        if name == _FOLLOWS_BLACK:
            papers[name] = replace(paper, over_black=by_class.get(name, paper.over_black))
        else:
            between = np.interp(blacks[name], [blacks[k] for k in known], [plain[k] for k in known])
            papers[name] = replace(paper, greatest_density=float(between))
    overprint = replace(before.overprint, trapping_loss=loss, trapping_by_density=by_density)
    return replace(before, paper=MappingProxyType(papers), overprint=overprint)
