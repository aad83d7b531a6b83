"""Measured tables of any inks and any sound readings, for tests of what is written."""

from collections.abc import Callable
from dataclasses import fields

import numpy as np
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from inkmix.colour.colorimetry import lab_to_xyz100
from inkmix.colour.measured.table import MeasurementTable

NAMES = st.lists(
    st.text(st.characters(codec="utf-8", exclude_categories=("C", "Z")), min_size=1, max_size=8),
    max_size=5,
    unique=True,
)
WORDS = st.text(st.characters(codec="latin-1", exclude_categories=("C",)), max_size=20).map(
    lambda value: " ".join(value.split())
)


@st.composite
def tables(draw: Callable[..., object]) -> MeasurementTable:
    """Tables as a reader may hold them: any inks, any sound readings."""
    plates = tuple(draw(NAMES))
    count = draw(st.integers(1, 6))
    unit = st.floats(0, 1, width=32)
    tone = draw(arrays(float, (count, len(plates)), elements=unit)) * 100
    tone[tone <= 1] = 0  # a table with nothing above 1 % is refused as 0-1
    lab = draw(arrays(float, (count, 3), elements=unit)) * [100, 60, 60] + [0, -30, -30]
    tinted = plates and (tone == 0).all(axis=1).any()
    lab[:, 1:] *= 0.1 if tinted else 1.0  # tinted paper may be refused as D65, rightly or not
    lab[:, 0] = 25 + lab[:, 0] * 0.7  # paper below Y = 1.5 is refused as 0-1
    reflectance = draw(arrays(float, (count, 36), elements=unit)) * 1.5
    xyz100 = lab_to_xyz100(lab) if draw(st.booleans()) else None
    density = draw(arrays(float, (count, 2), elements=unit)) * 3 if draw(st.booleans()) else None
    return MeasurementTable(
        sample_names=tuple(draw(WORDS) for _ in range(count)),
        places=tuple(draw(WORDS) for _ in range(count)) if draw(st.booleans()) else (),
        density=density,
        density_channels=() if density is None else ("red", "visual"),
        density_status="" if density is None else draw(st.sampled_from(["", "T", "E"])),
        plates=plates,
        tone_pct=tone,
        xyz100=None if xyz100 is None or xyz100.min() < 0 else xyz100,
        lab=lab,
        reflectance=reflectance if draw(st.booleans()) else None,
        originator=draw(WORDS),
        descriptor=draw(WORDS),
        keywords={"PAPER_CLASS": draw(WORDS.filter(bool))},
    )


FIELDS = tuple(field.name for field in fields(MeasurementTable))
ARRAYS = ("tone_pct", "xyz100", "lab", "density", "reflectance")


def assert_equal(again: MeasurementTable, table: MeasurementTable, *but: str) -> None:
    """Every field of two tables, number for number."""
    for name in set(FIELDS) - {"source", "notes", *but}:
        if name in ARRAYS:
            np.testing.assert_array_equal(getattr(again, name), getattr(table, name))
        else:
            assert getattr(again, name) == getattr(table, name), name
