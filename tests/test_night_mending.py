"""Nights made dark enough by tone curves: they pass, and the picture stays."""

from dataclasses import replace

import numpy as np
from drawn_nights import INKS, NightJob, drawn

from inkmix.checks.mending.recipe import Unfit
from inkmix.checks.night.remedies import night_again


def test_a_recipe_makes_the_same_correction_again_and_fits_fresh_exports():
    """The second export has another moon: the curves stay, the lights are those that are there."""
    job = NightJob(drawing=drawn("moon, soft mask", 101))
    (remedy,) = job.remedies()
    recipe = remedy.correction.recipe
    again = night_again(recipe, job.check, job.result, job.trials())
    assert again.recipe == recipe
    assert (again.weights == remedy.correction.weights).all()
    mended = job.after(remedy.correction).drawing.planes
    assert (job.after(again).drawing.planes == mended).all()
    fresh = NightJob(drawing=drawn("crescent, stars", 102))
    other = night_again(recipe, fresh.check, fresh.result, fresh.trials())
    assert other.curves == recipe.curves
    lights = [light.rows for light in other.lights.kept]
    assert lights
    assert lights != [light.rows for light in remedy.correction.lights.kept]


def test_a_recipe_that_misses_a_plate_or_its_area_says_so():
    job = NightJob(drawing=drawn("stars", 103))
    recipe = job.remedies()[0].correction.recipe
    changed = recipe.curves[0].plate
    names = tuple("Pitch" if name == changed else name for name in INKS)
    renamed = replace(job, names=names)
    unfit = night_again(recipe, job.check, job.result, renamed.trials())
    assert unfit == Unfit(area="Sky", plates=(changed,))
    empty = replace(job, drawing=replace(job.drawing, mask=np.zeros_like(job.drawing.mask)))
    unfit = night_again(recipe, empty.check, empty.result, empty.trials())
    assert unfit == Unfit(area="Sky", is_empty=True)
