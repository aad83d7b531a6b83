"""A form printed on a press of another kind than the model's, as an instrument reads it."""

from functools import cache

import numpy as np
from simulated_press import random_press

from inkmix.book.values import Book
from inkmix.colour.measured.table import MeasurementTable
from inkmix.colour.measured.written_cgats import cgats_text
from inkmix.jobs.books import read_book
from inkmix.jobs.testform.inks import inks_of_form, named_mixes
from inkmix.press.forms.choose import full_form

INKS = ("Soot", "Fjord", "Rowan", "Brass", "Fog")
BOOK = """\
format = 1
title = "The Night Ferry"

[paper]
swatch = "night-ferry/uncoated"

{inks}
[press]
process = "sheet-fed offset"
ink_limit_pct = 260

[plates]
pattern = "plates/{{spread}}/{{ink}}.tif"

"""

TONES = """\
[[tones]]
name = "deep night"
mix = { Soot = 90, Fjord = 68, Rowan = 10 }

[[tones]]
name = "moonlit water"
mix = { Soot = 6, Fjord = 48, Fog = 45 }

[[tones]]
name = "quay brick"
mix = { Soot = 40, Rowan = 74, Brass = 22 }
"""


def write_book(folder, *, inks=INKS, more="", tones=True) -> Book:
    """The book of the ferry, without plates."""
    tables = "".join(
        f'[[inks]]\nname = "{name}"\nswatch = "night-ferry/{name}"\n\n' for name in inks
    )
    text = BOOK.format(inks=tables) + (TONES if tones else "") + more
    (folder / "book.toml").write_text(text, encoding="utf-8")
    return read_book(folder)


@cache
def form_tones(folder) -> np.ndarray:
    """Tone values (N, 5) of all patches of the form of that book, as its plates hold them."""
    book = write_book(folder)
    chosen = full_form(inks_of_form(book), named=named_mixes(book))
    rows = np.array([patch.tone_pct for patch in chosen.patches])
    return np.vstack([rows, rows[::6]])  # and some once more


def table_of(tones, reflectance, *, names=INKS, **fields) -> MeasurementTable:
    """Readings of patches called P1, P2 ..."""
    return MeasurementTable(
        sample_names=tuple(f"P{k}" for k in range(1, len(tones) + 1)),
        plates=names,
        tone_pct=np.array(tones),
        reflectance=None if reflectance is None else np.array(reflectance),
        **fields,
    )


def readings_file(path, tones, *, seed=1, press=None, change=None, **fields):
    """A CGATS file of what one sheet reads; `change` is done to the spectra (N, 36) first."""
    press = press or random_press(seed)
    spectra = press.measured(tones, seed=seed).copy()
    if change is not None:
        spectra = change(spectra)
    path.write_text(cgats_text(table_of(tones, spectra, **fields)), encoding="utf-8")
    return path
