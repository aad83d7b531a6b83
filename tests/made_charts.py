"""Charts of two to eight made-up inks, printed by the physics in tools/print_physics.py.

The inks are invented and the physics is another than the model's, so what is read from such a chart
is silver: it shows that the score works, not how well the model predicts a press.
"""

import importlib.util
from functools import cache
from itertools import combinations, product
from pathlib import Path

import numpy as np

from inkmix.colour.colorimetry import reflectance_to_xyz100
from inkmix.colour.measured.table import MeasurementTable

TOOL = Path(__file__).parent / "tools" / "print_physics.py"
_spec = importlib.util.spec_from_file_location("physics_of_made_charts", TOOL)
physics = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(physics)


def below(edge_nm, width_nm, height):
    """Absorption of all light of less than a wavelength."""
    return height / (1 + np.exp((physics.NM - edge_nm) / width_nm))


def around(centre_nm, width_nm, height):
    """Absorption in one band."""
    return height * np.exp(-(((physics.NM - centre_nm) / width_nm) ** 2) / 2)


# Absorption, scattering and emitted light of a film of unit thickness; dark to light, orange last.
INKS = {
    "Night": (np.full(36, 1.9), 0.02, 0.0),
    "Plum": (around(570, 45, 1.6) + below(430, 20, 0.2), 0.01, 0.0),
    "Sea": (around(640, 60, 1.7), 0.01, 0.0),
    "Rose": (around(545, 32, 1.8), 0.01, 0.0),
    "Moss": (around(650, 60, 1.5) + below(470, 18, 1.3), 0.01, 0.0),
    "Mist": (around(615, 65, 0.3), 0.01, 0.0),
    "Straw": (below(490, 12, 1.6), 0.02, 0.0),
    "Ember": (below(545, 11, 1.7), 0.05, 0.0),
    "Glow": (below(480, 9, 1.4), 0.02, around(560, 25, 0.9)),  # fluoresces: lighter than the paper
}
STOCK = physics.Stock(
    "made-up coated",
    0.88 - below(400, 9, 0.30),
    gloss=0.14,
    hold=1.0,
    gain=0.03,
    spread=0.45,
)


@cache
def spectrum_of(names, tones):
    """Reflectance (36,) of a recipe; only inks that are there are laid down."""
    recipes = [INKS[name] for name in names]
    return physics.halftone(recipes, [tone / 100 for tone in tones], stock=STOCK)


@cache
def made_table(*names, most=3, tones=(40, 100), spectra=False, copies=3):
    """A chart of inks laid down as they are named here: ramps, and mixtures of up to `most` inks.

    Its columns stand in the order of the alphabet. Some mixtures, `copies` of them, are there
    once more, read a little lighter.
    """
    recipes = [dict.fromkeys(names, 0)]
    recipes += [{name: tone} for name in names for tone in (20, 40, 70, 100)]
    for count in range(2, most + 1):
        for held in combinations(names, count):
            recipes += [dict(zip(held, tint, strict=True)) for tint in product(tones, repeat=count)]
    read = np.stack([_read(names, recipe) for recipe in recipes])
    mixed = [at for at in range(1, len(recipes)) if len(recipes[at]) >= 2]
    again = mixed[:: len(mixed) // copies][:copies] if copies else []
    recipes += [recipes[at] for at in again]
    read = np.concatenate([read, 1.01 * read[again]])
    plates = tuple(sorted(names))
    return MeasurementTable(
        sample_names=tuple(f"P{at}" for at in range(len(recipes))),
        plates=plates,
        tone_pct=np.array([[float(recipe.get(name, 0)) for name in plates] for recipe in recipes]),
        xyz100=reflectance_to_xyz100(read),
        reflectance=read if spectra else None,
        source="made-up.txt",
    )


def _read(names, recipe):
    held = tuple(name for name in names if recipe.get(name))
    return spectrum_of(held, tuple(recipe[name] for name in held))
