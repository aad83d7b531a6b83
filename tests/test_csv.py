"""Measurements as CSV: how columns are headed, decimal commas, and what is refused."""

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inkmix.base.errors import MeasurementError
from inkmix.colour.measured.cgats import parse_cgats
from inkmix.colour.measured.csv_text import parse_csv
from inkmix.colour.measured.table import MeasurementTable
from inkmix.colour.observer import WAVELENGTHS_NM

REFERENCE = Path(__file__).parent / "reference"
LAB = "patch,Soot,Fjord (%),L*,a*,b*\npaper,0,0,95,0,-2\ndeep,100,0,16,0.5,0\nsea,0,40,71,-9,-18\n"


def read(text: str) -> MeasurementTable:
    return parse_csv(text.encode(), where="chart.csv")


def faults(text: str) -> str:
    with pytest.raises(MeasurementError) as caught:
        read(text)
    return str(caught.value)


def test_a_table_as_people_head_it() -> None:
    table = read(LAB)
    assert table.plates == ("Soot", "Fjord")
    assert table.sample_names == ("paper", "deep", "sea")
    np.testing.assert_array_equal(table.tone_pct, [[0, 0], [100, 0], [0, 40]])
    np.testing.assert_array_equal(table.lab, [[95, 0, -2], [16, 0.5, 0], [71, -9, -18]])
    assert table.notes == ()


@pytest.mark.parametrize("end", [";", "\t", ","])
@pytest.mark.parametrize("comma", [False, True])
def test_ends_of_cells_and_decimal_commas(end: str, comma: bool) -> None:
    text = LAB.replace(",", end)
    if comma and end != ",":
        text = text.replace("0.5", "0,5")
    table = read(text.replace("\n", "\r\n"))
    np.testing.assert_array_equal(table.lab, [[95, 0, -2], [16, 0.5, 0], [71, -9, -18]])


def test_letters_are_axes_only_beside_one_another() -> None:
    """Y is yellow beside M and K, and a share of light between X and Z."""
    text = "id;C;M;Y;K;X;Y;Z\n1;0;0;0;0;84,48;87,62;74,57\n2;0;0;100;0;67;71;7\n"
    table = read(text)
    assert table.plates == ("C", "M", "Y", "K")
    assert table.tone_pct[1, 2] == 100
    assert table.xyz100 is not None
    np.testing.assert_array_equal(table.xyz100[:, 1], [87.62, 71])
    assert table.sample_names == ("1", "2")


def test_densities_spectra_and_the_names_of_cgats() -> None:
    table = read("Soot,density red,D_VIS\n0,0.05,0.06\n100,1.6,1.7\n")
    assert table.density_channels == ("red", "visual")
    heads = ",".join(f"{nm:.0f} nm" for nm in WAVELENGTHS_NM)
    rows = "\n".join(
        f"{tone}," + ",".join([value] * 36) for tone, value in ((0, "0.8"), (100, "0.03"))
    )
    spectral = read(f"INK_Soot,{heads}\n{rows}\n")
    assert spectral.plates == ("Soot",)
    assert spectral.reflectance is not None
    np.testing.assert_allclose(spectral.reflectance[:, 3], [0.8, 0.03])


def test_columns_that_are_no_inks_are_said() -> None:
    text = LAB.replace("patch,", "patch,page,remark,").replace("paper,", "paper,1,good,")
    table = read(text.replace("deep,", "deep,1,,").replace("sea,", "sea,1,,"))
    assert table.plates == ("Soot", "Fjord")
    assert table.notes == ("columns not used: page, remark",)


def test_a_column_without_a_heading_is_no_ink() -> None:
    table = read("Soot,,L,a,b\n0,7,95,0,0\n100,7,16,0,0\n")
    assert table.plates == ("Soot",)
    assert table.notes == ("columns not used: column 2",)


def test_an_ink_whose_first_patch_is_empty_is_not_lost() -> None:
    assert '""' in faults(LAB.replace("paper,0,", "paper,,"))


def test_remarks_tell_conditions() -> None:
    table = read("# MEASUREMENT_MODE: M1\n# by hand\nsep=,\n" + LAB + "\n,,,,,\n")
    assert table.conditions.mode == "M1"
    assert len(table) == 3


def test_quotes_keep_what_ends_a_cell() -> None:
    table = read('patch,Soot,L,a,b\n"sea, ""deep""",0,95,0,0\n x ,50,"60",0,0\n')
    assert table.sample_names == ('sea, "deep"', "x")


BAD = {
    "no table": ("a letter\nto the printer\n", 'the first line is "a letter", but measurements'),
    "empty": (" \n", "the file is empty"),
    "only remarks": ("# a: b\n", "the first line is"),
    "no rows": ("Soot,L,a,b\n", "no rows"),
    "no readings": ("Soot,Fjord\n0,0\n", "no columns with colour"),
    "half": (LAB[:-9], "line 4, column 11 (a*): the row has 4 cells, but the table has 6"),
    "cut in a number": ("Soot,L,a,b\n0,95,0,0\n100,16,0,-\n", '(b): "-"'),
    "decimal commas beside commas": (
        LAB.replace("95,0,-2", "95,0,0,0,-2,0"),
        "the row has 9 cells, but the table has 6 columns; where numbers have decimal commas",
    ),
    "two kinds of decimals": (
        "Soot;L;a;b\n0;95,5;0;0\n100;16.2;0;0\n",
        'line 2: "95,5" has a decimal comma, but "16.2" in line 3 has a decimal point',
    ),
    "thousands": ("Soot;L;a;b\n0;1.095,5;0;0\n", '"1.095,5"'),
    "tones of 0-1": ("Soot,L,a,b\n0,95,0,0\n0.5,60,0,0\n1,16,0,0\n", "multiply tone values by 100"),
    "lab called xyz": ("Soot,X,Y,Z\n0,95,0,-2\n100,16,0,0\n", "as L*, a*, b* it is a colour"),
    "xyz called lab": ("Soot,L,a,b\n0,84,88,75\n100,2,2,2\n", "as X, Y, Z it is a colour of paper"),
    "open quote": ('Soot,L,a,b\n0,"95,0,0\n', "line 2, column 3: a quotation mark"),
    "open quote in the header": ('"Soot,L,a,b\n0,95,0,0\n', "line 1, column 1: a quotation mark"),
    "ink twice": ("Soot,Soot,L,a,b\n0,0,95,0,0\n", "columns Soot and Soot hold the same"),
    "lacking axis": ("Soot,LAB_L,LAB_A\n0,95,0\n", "no column LAB_B"),
    "no number": ("Soot,L,a,b\n0,95,n/a,0\n", 'line 2, column 6 (a): "n/a"'),
    "signs that act": ("So\u202eot,L,a,b\n0,95,0,0\n", "changes the direction of writing"),
}


@pytest.mark.parametrize("name", BAD)
def test_bad_files_are_named(name: str) -> None:
    text, expected = BAD[name]
    assert expected in faults(text)


def test_rows_and_columns_are_bounded(monkeypatch: pytest.MonkeyPatch) -> None:
    assert "more than 1,000 columns" in faults("k," * 1_001 + "k\n")
    monkeypatch.setattr("inkmix.colour.measured.csv_text.MAX_ROWS", 2)
    assert "rows; split the chart" in faults(LAB)


def test_the_same_chart_as_csv_and_as_cgats() -> None:
    """A published set, its cells put between semicolons with decimal commas."""
    text = (REFERENCE / "tr002.txt").read_text(encoding="utf-8")
    head = next(line for line in text.splitlines() if line.startswith("SAMPLE_ID"))
    body = text[
        text.index("BEGIN_DATA\n") + 11 : text.index("END_DATA\n", text.index("BEGIN_DATA\n"))
    ]
    lines = [";".join(line.split()) for line in [head, *body.splitlines()]]
    csv = read("\n".join(lines[:1] + [line.replace(".", ",") for line in lines[1:]]))
    whole = parse_cgats(text.encode(), where="tr002.txt")
    assert csv.plates == whole.plates
    for name in ("tone_pct", "xyz100", "lab"):
        np.testing.assert_array_equal(getattr(csv, name), getattr(whole, name))


PIECES = [
    '"',
    ",",
    ";",
    "\t",
    "\n",
    "#",
    "NaN",
    "-1",
    "1e999",
    "\0",
    "X,Y,Z",
    "0,5",
    "\xff",
    "sep=",
]


@given(
    st.lists(
        st.tuples(st.integers(0, len(LAB)), st.integers(0, 12), st.sampled_from(PIECES)), max_size=6
    )
)
@settings(max_examples=200, deadline=None)
def test_any_damage_gives_a_table_or_faults(cuts: list[tuple[int, int, str]]) -> None:
    text = LAB
    for start, length, piece in cuts:
        text = text[:start] + piece + text[start + length :]
    try:
        table = read(text)
    except MeasurementError as error:
        places = [fault.where for fault in error.faults]
    else:
        places = [table.source]
        assert np.isfinite(table.tone_pct).all()
        assert len(table) == len(table.tone_pct) > 0
    assert all(place.startswith("chart.csv") for place in places)
