"""Readings that cannot be of the patches they are said to be: swapped rows, slips, smears.

A reading is doubted where the others foretell another colour; in the end those are left out that
still do not fit what the sound ones lead to expect.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from inkmix.base.arrays import BoolArray, FloatArray
from inkmix.colour.colorimetry import delta_e00, xyz100_to_lab
from inkmix.press.calibration.press_file import PressFile
from inkmix.press.calibration.readings import Readings
from inkmix.press.condition import PressCondition
from inkmix.press.constants import MODEL

_ROUNDS = 6
_LEAST_DE00 = 4.0  # less is the press' own scatter on a bad day
_TIMES_SCATTER = 5.0  # the usual scatter of the form
_TIMES_BOUND = 1.5  # the expected error
_FITS_OTHER_PLACE = 0.5  # of how far it is off at its own


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Suspect:
    """A reading that is left out.

    Parameters
    ----------
    at : int
        Its place among the readings.
    patch : str
    tone_pct : (I,) ndarray
        In the order of the chart's plates.
    read_lab, foretold_lab : (3,) ndarray
        As it was read, and as the other readings lead to expect.
    de00 : float
        How far these are apart.
    swapped_with : str
        Patch whose colour it has, where that patch has this one's; empty where none.
    """

    at: int
    patch: str
    tone_pct: FloatArray
    read_lab: FloatArray
    foretold_lab: FloatArray
    de00: float
    swapped_with: str = ""


FileOf = Callable[[Readings], PressFile]
ConditionOn = Callable[[PressFile], PressCondition]


def suspects_in(
    readings: Readings, file_of: FileOf, condition_on: ConditionOn
) -> tuple[Suspect, ...]:
    """Readings to be left out, in their order.

    Parameters
    ----------
    file_of : callable
        Readings as a press-condition file.
    condition_on : callable
        The condition of the book on one, its inks those of the chart.
    """
    sound = ~(_contradicting(readings) | _beside_their_ramp(readings))
    sound |= _only_ones(readings, sound)
    for _ in range(_ROUNDS):
        doubted = _doubted(readings, sound, condition_on(file_of(readings.only(sound))))
        if not doubted.any():
            break
        sound &= ~doubted
    if sound.all():
        return ()
    return tuple(_named(readings, sound, condition_on(file_of(readings.only(sound)))))


def _contradicting(readings: Readings) -> BoolArray:
    """Readings (N,) far from the median of their recipe; of two that part, both."""
    apart = _from_median(readings)
    repeated = apart[apart > 0]
    if not len(repeated):
        return np.zeros(len(readings), np.bool_)
    return np.asarray(apart > _limit_de00(repeated))


def _from_median(readings: Readings) -> FloatArray:
    chart = readings.chart
    recipes, recipe = chart.recipes()
    medians = np.stack([np.median(chart.xyz100[recipe == k], axis=0) for k in range(len(recipes))])
    return delta_e00(xyz100_to_lab(medians)[recipe], xyz100_to_lab(chart.xyz100))


def _limit_de00(apart: FloatArray) -> float:
    """From where on a reading is too far off, by how far most are."""
    return max(_LEAST_DE00, _TIMES_SCATTER * float(np.median(apart)))


def _beside_their_ramp(readings: Readings) -> BoolArray:
    """Tints (N,) of single inks that do not lie where their neighbours foretell."""
    chart = readings.chart
    apart = np.zeros(len(readings))
    for plate in range(len(chart.plates)):
        alone = chart.alone(plate) | chart.bare
        tones = np.unique(chart.tone_pct[alone, plate])
        if len(tones) < 5:
            continue
        rows = [alone & (chart.tone_pct[:, plate] == tone) for tone in tones]
        lab = np.stack([np.median(chart.lab[one], axis=0) for one in rows])
        for k in range(1, len(tones) - 1):
            apart[rows[k]] = delta_e00(lab[k], _between(tones, lab, k))
    told = apart[apart > 0]
    return np.asarray(apart > _limit_de00(told)) if len(told) else apart > 0


def _between(tones: FloatArray, lab: FloatArray, k: int) -> FloatArray:
    """Where a tint should lie by all others of its ramp."""
    from scipy.interpolate import PchipInterpolator

    others = np.arange(len(tones)) != k
    return np.asarray(PchipInterpolator(tones[others], lab[others])(tones[k]))


def _only_ones(readings: Readings, sound: BoolArray) -> BoolArray:
    """Doubted readings (N,) of paper and solids without which nothing could be told."""
    chart = readings.chart
    needed = [chart.bare, *(chart.solids_of(k) for k in range(len(chart.plates)))]
    only = np.zeros(len(sound), np.bool_)
    for rows in needed:
        if not (rows & sound).any():
            only |= rows
    return only


def _doubted(readings: Readings, sound: BoolArray, condition: PressCondition) -> BoolArray:
    """The half of the mixes that the others foretell worst, of those that are too far off."""
    field, model, chart = condition.model.field, condition.model, readings.chart
    none = np.zeros(len(readings), np.bool_)
    if field.pull.shape[1] < 3:
        return none
    rows = np.flatnonzero(sound & chart.mixed)
    recipes, index = np.unique(chart.tone_pct[rows], axis=0, return_inverse=True)
    if len(recipes) != field.pull.shape[1]:
        return none  # repeats that the model does not take for one
    missed, sd = field.left_out()
    recipe = index.reshape(-1)
    sums = np.stack([np.bincount(recipe, band) for band in chart.xyz100[rows].T], axis=1)
    y = model.channels.relative(sums / np.bincount(recipe)[:, None]) ** (1 / model.n)
    apart = delta_e00(model.lab(y), model.lab(y - missed))
    unlikely = np.sqrt(((missed / sd) ** 2).mean(axis=1))
    scale = max(MODEL.error.usual_misfit, 1.5 * float(np.median(unlikely)))
    far = (unlikely > _TIMES_SCATTER * scale) & (apart > _limit_de00(apart))
    if not far.any():
        return none
    worst = far & (apart >= np.median(apart[far]))
    none[rows[worst[recipe]]] = True
    return none


def _named(readings: Readings, sound: BoolArray, condition: PressCondition) -> Iterator[Suspect]:
    """Those that do not fit what the sound ones lead to expect."""
    chart = readings.chart
    at = np.flatnonzero(~sound)
    foretold = condition.lab(chart.tone_pct[at])
    bound = condition.expected_error(chart.tone_pct[at]).de00
    apart = delta_e00(foretold, chart.lab[at])
    left = np.flatnonzero(apart > np.maximum(_LEAST_DE00, _TIMES_BOUND * bound))
    exchanged = delta_e00(foretold[left][:, None], chart.lab[at[left]][None])
    fits = exchanged < _FITS_OTHER_PLACE * apart[left][None]
    both = fits & fits.T
    for k, one in enumerate(left):
        partners = np.flatnonzero(both[k])
        partner = min(partners, key=lambda other: exchanged[k, other], default=None)
        yield Suspect(
            at=int(at[one]),
            patch=readings.patches[int(at[one])],
            tone_pct=chart.tone_pct[at[one]],
            read_lab=chart.lab[at[one]],
            foretold_lab=foretold[one],
            de00=float(apart[one]),
            swapped_with="" if partner is None else readings.patches[int(at[left[partner]])],
        )
