"""The readings of a form as one table, each mix once: for the printer, and for other programs."""

import numpy as np

from inkmix.colour.measured.conditions import ReadingConditions, with_conditions
from inkmix.colour.measured.table import MeasurementTable
from inkmix.press.calibration.readings import Readings


def averaged_table(readings: Readings, *, descriptor: str = "") -> MeasurementTable:
    """Each mix once, under the name of its first patch, in the order of first patches.

    Parameters
    ----------
    readings : Readings
        Repeats are averaged in reflected light.
    descriptor : str
        What the table says of itself.
    """
    chart = readings.chart
    recipes, recipe = chart.recipes()
    first = np.unique(recipe, return_index=True)[1]
    order = np.argsort(first)
    means = [chart.mean_of(recipe == k) for k in order]
    spectra = [spectrum for _, spectrum in means if spectrum is not None]
    told = {name: getattr(readings.conditions, name) for name in ReadingConditions.named()}
    light = {"illuminant": "D50", "observer": "2"}  # all colours of the house
    return MeasurementTable(
        sample_names=tuple(readings.patches[int(at)] for at in first[order]),
        plates=chart.plates,
        tone_pct=recipes[order],
        xyz100=np.stack([xyz100 for xyz100, _ in means]),
        reflectance=np.stack(spectra) if spectra else None,
        originator="inkmix",
        descriptor=descriptor,
        keywords=with_conditions({}, **{**told, **light}),
        source=chart.source,
    )
