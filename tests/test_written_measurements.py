"""Measured tables written as CSV and as CxF3: read again they are equal, number for number."""

import csv
import io
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree as ET

import numpy as np
import pytest
from hypothesis import given, settings
from measured_tables import assert_equal, tables

from inkmix.colour.measured.any_format import parse_measurements
from inkmix.colour.measured.conditions import ReadingConditions
from inkmix.colour.measured.csv_text import parse_csv
from inkmix.colour.measured.cxf.read import parse_cxf
from inkmix.colour.measured.cxf.spelling import CORE
from inkmix.colour.measured.cxf.written import cxf_text
from inkmix.colour.measured.table import MeasurementTable
from inkmix.colour.measured.written_csv import csv_text

REFERENCE = Path(__file__).parents[1] / "inkmix" / "press" / "reference"
WRITERS = {"csv": csv_text, "cxf": cxf_text}
READERS = {"csv": parse_csv, "cxf": parse_cxf}


@pytest.mark.parametrize("kind", WRITERS)
@given(table=tables())
@settings(max_examples=60, deadline=None)
def test_write_then_read_gives_equal_values(kind: str, table: MeasurementTable) -> None:
    if kind == "cxf":  # an object without a name is called by its id, and no place is none
        names = tuple(name or "-" for name in table.sample_names)
        table = replace(table, sample_names=names, places=table.places if any(table.places) else ())
    data = WRITERS[kind](table).encode()
    again = READERS[kind](data, where="again")
    assert_equal(again, table, "keywords")
    if "PAPER_CLASS" in table.keywords:
        assert again.keywords["PAPER_CLASS"] == table.keywords["PAPER_CLASS"].strip()
    assert_equal(READERS[kind](WRITERS[kind](again).encode(), where="again"), again)


CONDITIONS = {
    "MEASUREMENT_MODE": "M1",
    "SAMPLE_BACKING": "black",
    "ILLUMINANT": "D50",
    "OBSERVER": "2",
    "INK_STATE": "dry",
}


@pytest.mark.parametrize("kind", WRITERS)
def test_conditions_go_with_the_readings(kind: str) -> None:
    table = MeasurementTable(
        sample_names=("paper", "a, b"),
        plates=("Soot", "Fjord; deep"),
        tone_pct=np.array([[0, 0], [100, 62.5]]),
        lab=np.array([[95, 0, -2], [20, 1, -5.25]]),
        keywords=CONDITIONS,
    )
    again = parse_measurements(WRITERS[kind](table).encode(), where="again")
    assert again.conditions == table.conditions
    assert again.conditions.mode == "M1"
    assert again.conditions.ink == "dry"
    assert_equal(again, table, "keywords")
    wide = {**CONDITIONS, "OBSERVER": "10"}
    spectral = replace(table, lab=None, reflectance=np.full((2, 36), 0.5), keywords=wide)
    read = parse_measurements(WRITERS[kind](spectral).encode(), where="again")
    assert read.conditions.observer == "10"
    silent = parse_measurements(WRITERS[kind](replace(table, keywords={})).encode(), where="again")
    assert silent.conditions == ReadingConditions()


def test_other_readers_find_the_same() -> None:
    """The standard library's readers of CSV and of XML."""
    table = MeasurementTable(
        sample_names=("one", 'two "x", y'),
        plates=("Soot", "Fjord"),
        tone_pct=np.array([[0, 0], [100, 62.5]]),
        lab=np.array([[95.125, 0, -2], [20, 1, -5.25]]),
        reflectance=np.linspace(0.01, 0.9, 72).reshape(2, 36),
    )
    rows = list(csv.DictReader(line for line in io.StringIO(csv_text(table)) if line[0] != "#"))
    assert [float(row["INK_Fjord"]) for row in rows] == [0, 62.5]
    assert rows[1]["SAMPLE_NAME"] == 'two "x", y'
    root = ET.fromstring(cxf_text(table))
    names = {"c": CORE}
    objects = root.findall("c:Resources/c:ObjectCollection/c:Object", names)
    assert [one.get("Name") for one in objects] == ["one", 'two "x", y']
    spectra = [
        one.findtext("c:ColorValues/c:ReflectanceSpectrum", "", names).split() for one in objects
    ]
    assert np.array_equal(np.array(spectra, float), table.reflectance)
    told = objects[0].find("c:ColorValues/c:ReflectanceSpectrum", names).get("ColorSpecification")
    path = f"c:Resources/c:ColorSpecificationCollection/c:ColorSpecification[@Id='{told}']"
    wavelengths = root.find(f"{path}/c:MeasurementSpec/c:WavelengthRange", names)
    assert (wavelengths.get("StartWL"), wavelengths.get("Increment")) == ("380", "10")
