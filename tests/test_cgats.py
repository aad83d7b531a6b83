"""Measured tables read from CGATS text: good files, sloppy files, bad files; and written again."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from measured_tables import assert_equal, tables

from inkmix.base.errors import MeasurementError
from inkmix.colour.colorimetry import lab_to_xyz100, xyz100_to_lab
from inkmix.colour.measured import sections, tokens
from inkmix.colour.measured.cgats import parse_cgats, parse_patch_list
from inkmix.colour.measured.columns import Meaning, column_meaning
from inkmix.colour.measured.table import (
    MeasurementTable,
    colours_xyz100,
    overprint_rows,
    paper_rows,
    ramp_rows,
)
from inkmix.colour.measured.whitepoint import D65_WHITE_XYZ100
from inkmix.colour.measured.written_cgats import cgats_text
from inkmix.colour.observer import WAVELENGTHS_NM

REFERENCE = Path(__file__).parent / "reference"

PAPER, BLACK, TINT = "84.48 87.62 74.57", "1.98 2.06 1.70", "22.31 23.16 19.65"


def text(rows: str, *, fields: str = "SAMPLE_ID CMYK_K XYZ_X XYZ_Y XYZ_Z", head: str = "") -> str:
    """A small chart."""
    return (
        f"CGATS.17\n{head}\nBEGIN_DATA_FORMAT\n{fields}\nEND_DATA_FORMAT\nBEGIN_DATA\n"
        f"{rows}\nEND_DATA\n"
    )


GOOD_ROWS = f"1 0 {PAPER}\n2 50 {TINT}\n3 100 {BLACK}"


def read(content: str | bytes) -> MeasurementTable:
    data = content if isinstance(content, bytes) else content.encode()
    return parse_cgats(data, where="chart.txt")


def faults(content: str | bytes) -> str:
    """All that the reader says of a bad file."""
    with pytest.raises(MeasurementError) as caught:
        read(content)
    assert caught.value.exit_code == 3
    return str(caught.value)


# Number of sets as each published file states it in its own header.
@pytest.mark.parametrize(("name", "sets"), [("fogra39l", 1617), ("fogra29l", 1485), ("tr002", 928)])
def test_published_sets_are_read_whole(name: str, sets: int) -> None:
    table = read((REFERENCE / f"{name}.txt").read_bytes())
    assert len(table) == sets
    assert table.plates == ("C", "M", "Y", "K")
    assert table.notes == ()
    assert table.keywords["ILLUMINANT"] == "D50"


def test_solids_of_fogra39l_are_the_aims_of_iso_12647_2() -> None:
    # ISO 12647-2:2004/Amd 1 paper type 1/2, as published in FOGRA39L: K 16/0/0, M 48/74/-3.
    table = read((REFERENCE / "fogra39l.txt").read_bytes())
    assert table.lab is not None
    np.testing.assert_allclose(table.lab[ramp_rows(table, "K")[-1]], [16, 0, 0], atol=0.005)
    np.testing.assert_allclose(table.lab[ramp_rows(table, "M")[-1]], [48, 74, -3], atol=0.005)
    np.testing.assert_allclose(table.lab[paper_rows(table)[0]], [95, 0, -2], atol=0.005)
    assert len(overprint_rows(table)) > 1400


def test_quotes_tabs_comments_and_line_ends() -> None:
    content = (
        'CGATS.17\r\n# a chart\r\nORIGINATOR\t"A ""small"" studio"  # trailing\r\n'
        "BEGIN_DATA_FORMAT\r\nSAMPLE_NAME\tCMYK_K XYZ_X\tXYZ_Y XYZ_Z\r\nEND_DATA_FORMAT\r\n"
        f'BEGIN_DATA\r\n"bare paper # 1"\t0\t{PAPER}\t# first\r\n\r\n'
        f"# between\r\nsolid 100 {BLACK}\r\n"
        "END_DATA\r\n"
    )
    table = read(content)
    assert table.originator == 'A "small" studio'
    assert table.sample_names == ("bare paper # 1", "solid")
    np.testing.assert_array_equal(table.tone_pct, [[0], [100]])


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "latin-1"])
def test_encodings(encoding: str) -> None:
    content = text(GOOD_ROWS, head='OBSERVER "2°"\nORIGINATOR "Büro für Maß"')
    assert read(content.encode(encoding)).originator == "Büro für Maß"


def test_old_line_ends() -> None:
    assert len(read(text(GOOD_ROWS).replace("\n", "\r"))) == 3


def test_wrong_counts_are_noted_and_the_table_believed() -> None:
    table = read(text(GOOD_ROWS, head="NUMBER_OF_FIELDS 9\nNUMBER_OF_SETS 3"))
    assert table.notes == ("NUMBER_OF_FIELDS says 9, the table holds 5",)


def test_header_lines_that_come_again_are_both_kept() -> None:
    head = 'PRINT_CONDITIONS "web offset"\nPRINT_CONDITIONS "uncoated"'
    assert read(text(GOOD_ROWS, head=head)).keywords["PRINT_CONDITIONS"] == "web offset; uncoated"


def test_second_table_is_noted() -> None:
    table = read(text(GOOD_ROWS) + text(GOOD_ROWS))
    assert len(table) == 3
    assert "more than one table" in table.notes[0]


@pytest.mark.parametrize(
    "name",
    [
        *("SPECTRAL_NM420", "SPECTRAL_NM_420", "NM420", "nm_420", "SPECTRAL_420", "SPEC_420"),
        *("R_420", "R420", "420", "420nm", "SPECTRAL_PCT420", "SPECTRAL_DEC_420", "SPECTRUM_420"),
        *("Spec_420.0", "S420", "SPECTRAL_NM420NM"),
    ],
)
def test_spellings_of_spectral_columns(name: str) -> None:
    assert column_meaning(name) == Meaning("spectral", "420")


@pytest.mark.parametrize(
    ("name", "ink"),
    [
        *(("CMYK_Y", "Y"), ("cmyk_k", "K"), ("CMY_C", "C"), ("5CLR_2", "2"), ("ACLR_A", "10")),
        *(("INK_Soot", "Soot"), ("SPOT_Deep Fjord", "Deep Fjord"), ("ACLR_10", "10")),
    ],
)
def test_spellings_of_ink_columns(name: str, ink: str) -> None:
    assert column_meaning(name) == Meaning("tone", ink)


@pytest.mark.parametrize("name", ["R_42", "STDEV_XYZ", "PAGE", "NM5000", "XYY_Y", "LAB_C"])
def test_names_that_mean_nothing_here(name: str) -> None:
    assert column_meaning(name) is None


def test_unknown_columns_are_inks_only_if_declared_or_if_nothing_else_is() -> None:
    rows = f"1 0 7 {PAPER}\n2 100 7 {BLACK}"
    alone = read(text(rows, fields="SAMPLE_ID Soot PAGE XYZ_X XYZ_Y XYZ_Z"))
    assert alone.plates == ("Soot", "PAGE")
    assert alone.notes == ("columns read as inks: Soot, PAGE",)
    fields = "SAMPLE_ID Soot PAGE XYZ_X XYZ_Y XYZ_Z"
    declared = read(text(rows, fields=fields, head='KEYWORD "Soot"'))
    assert declared.plates == ("Soot",)
    assert declared.notes == ("columns not used: PAGE",)


def spectral(
    rows: dict[str, np.ndarray], nm: np.ndarray, *, head: str = "", name: str = "R_"
) -> str:
    """A chart of spectra, one row a tone value."""
    body = "\n".join(f"{k} {k} " + " ".join(f"{v:.5f}" for v in row) for k, row in rows.items())
    fields = "SAMPLE_ID CMYK_K " + " ".join(f"{name}{w:.0f}" for w in nm)
    return text(body, fields=fields, head=head)


HOUSE = np.asarray(WAVELENGTHS_NM)
GREY = {"0": np.full(36, 0.8), "100": np.full(36, 0.03)}


@pytest.mark.parametrize("scale", [1, 100])
def test_reflectance_and_percent_are_told_apart(scale: float) -> None:
    table = read(spectral({k: v * scale for k, v in GREY.items()}, HOUSE))
    assert table.reflectance is not None
    np.testing.assert_allclose(table.reflectance[:, 5], [0.8, 0.03], atol=1e-9)
    np.testing.assert_allclose(colours_xyz100(table)[:, 1], [80, 3], atol=0.01)
    assert "by their size" in table.notes[0]


def test_a_fluorescent_ink_is_not_taken_for_percent() -> None:
    glow = np.where(HOUSE > 590, 1.9, 0.1)
    table = read(spectral({"0": GREY["0"], "100": glow}, HOUSE))
    assert table.reflectance is not None
    assert table.reflectance.max() == pytest.approx(1.9)


def test_the_scale_is_believed_where_it_is_told() -> None:
    blacks = {"80": np.full(36, 0.9), "100": np.full(36, 0.7)}  # percent: L* 8 and 6
    named = read(spectral(blacks, HOUSE, name="SPECTRAL_PCT"))
    told = read(spectral(blacks, HOUSE, head='SPECTRAL_NORM "100.000"'))
    for table in (named, told):
        assert table.reflectance is not None
        assert table.reflectance.max() == pytest.approx(0.009)
        assert table.notes == ()


def test_the_scale_follows_measured_lightness() -> None:
    blacks = {"100": np.full(36, 0.9)}
    content = spectral(blacks, HOUSE).replace("CMYK_K", "CMYK_K LAB_L LAB_A LAB_B")
    table = read(content.replace("100 100", "100 100 8.13 0 0"))  # L* 8.13 is Y = 0.90
    assert table.reflectance is not None
    assert table.reflectance.max() == pytest.approx(0.009)


@pytest.mark.parametrize("step", [1, 5, 20])
def test_spectra_of_other_steps_are_brought_to_the_house_grid(step: int) -> None:
    nm = np.arange(380, 731 if step < 20 else 721, step)
    smooth = 0.4 + 0.3 * np.sin(nm / 60)
    table = read(spectral({"0": smooth, "100": smooth * 0.1}, nm, name="SPECTRAL_DEC"))
    assert table.reflectance is not None
    inner = slice(1, -2)  # averaging and holding differ at the ends
    expected = 0.4 + 0.3 * np.sin(HOUSE / 60)
    # a triangle of 10 nm lowers sin(x/60) by 0.2 %, monotone cubics of 20 nm err by 1 % at peaks
    np.testing.assert_allclose(table.reflectance[0, inner], expected[inner], atol=0.008)


def test_short_spectra_are_held_at_their_ends_and_too_short_ones_refused() -> None:
    nm = np.arange(400, 701, 10)
    table = read(spectral({"0": np.linspace(0.5, 0.8, 31)}, nm))
    assert table.reflectance is not None
    np.testing.assert_allclose(table.reflectance[0, :3], 0.5)
    np.testing.assert_allclose(table.reflectance[0, -3:], 0.8)
    short = np.arange(450, 701, 10)
    assert "spectra from 450 to 700 nm" in faults(spectral({"0": np.full(26, 0.5)}, short))


def test_densities_with_their_status() -> None:
    table = read(
        text(
            "1 0 0.06 0.07 0.09\n2 100 0.25 1.40 0.80",
            fields="SAMPLE_ID CMYK_M D_RED D_GREEN D_BLUE",
            head='FILTER "Status E"',
        )
    )
    assert table.density_channels == ("red", "green", "blue")
    assert table.density_status == "E"
    assert not table.has_colour
    with pytest.raises(ValueError, match="no colours"):
        colours_xyz100(table)


def test_noise_about_zero_is_mended() -> None:
    table = read(text(f"1 0 {PAPER}\n2 100.004 -0.01 0.02 -0.02"))
    assert table.xyz100 is not None
    assert table.xyz100.min() == 0
    assert table.tone_pct.max() == 100


def test_arrays_of_a_table_cannot_be_changed() -> None:
    table = read(text(GOOD_ROWS))
    with pytest.raises(ValueError, match="read-only"):
        table.tone_pct[0, 0] = 5


# --- bad files: each with the words that must be in the message --------------------------------

BAD: dict[str, tuple[str | bytes, str]] = {
    "empty": (b"", "the file is empty"),
    "blank": (b" \r\n\t\n", "the file is empty"),
    "binary": (b"CGATS.17\n\0\0\0", "zero bytes"),
    "utf-16": (text(GOOD_ROWS).encode("utf-16"), "UTF-16"),
    "no table": ("a letter to the printer", "no BEGIN_DATA_FORMAT"),
    "half": (text(GOOD_ROWS).split("3 100")[0], "the file ends after 2 rows"),
    "no end of format": (text(GOOD_ROWS).replace("END_DATA_FORMAT\n", ""), "END_DATA_FORMAT"),
    "no rows": (text(""), "no rows"),
    "open quote": (text(GOOD_ROWS.replace("2 50", '"2 50')), "line 8, column 1: a quotation mark"),
    "short row": (text(GOOD_ROWS.replace(f"2 50 {TINT}", "2 50 22.31 23.16")), "line 8, column 17"),
    "long row": (text(GOOD_ROWS.replace(TINT, TINT + " 9")), "line 8, column 24: the row has 6"),
    "word": (text(GOOD_ROWS.replace("23.16", "n/a")), 'line 8, column 12 (XYZ_Y): "n/a"'),
    "decimal comma": (text(GOOD_ROWS.replace("23.16", "23,16")), "write it with a decimal point"),
    "not a number": (text(GOOD_ROWS.replace("23.16", "NaN")), 'column 12 (XYZ_Y): "NaN"'),
    "infinite": (text(GOOD_ROWS.replace("23.16", "inf")), '(XYZ_Y): "inf"'),
    "underscore": (text(GOOD_ROWS.replace("23.16", "2_3")), '(XYZ_Y): "2_3"'),
    "tone too large": (text(GOOD_ROWS.replace("2 50", "2 150")), "column 3 (CMYK_K): 150"),
    "tone below zero": (text(GOOD_ROWS.replace("2 50", "2 -5")), "(CMYK_K): -5"),
    "tones of 0-1": (
        text(GOOD_ROWS.replace("2 50", "2 0.5").replace("3 100", "3 1")),
        "multiply tone values by 100",
    ),
    "xyz of 0-1": (text("1 0 0.84 0.87 0.74\n2 100 0.02 0.02 0.017"), "multiply XYZ by 100"),
    "negative xyz": (text(GOOD_ROWS.replace("2.06", "-2.06")), "(XYZ_Y): -2.06"),
    "negative reflectance": (
        spectral({"0": GREY["0"], "100": np.full(36, -0.02)}, HOUSE),
        "(R_380): -0.02",
    ),
    "huge reflectance": (
        spectral({"0": GREY["0"], "100": np.where(HOUSE == 600, 7, 0.1)}, HOUSE),
        "(R_600): 7",
    ),
    "double column": (
        text(GOOD_ROWS, fields="SAMPLE_ID CMYK_K XYZ_X XYZ_Y XYZ_Y"),
        "columns XYZ_Y and XYZ_Y hold the same",
    ),
    "double wavelength": (
        text(GOOD_ROWS, fields="SAMPLE_ID CMYK_K R_420 NM420 R_430"),
        "columns R_420 and NM420 hold the same",
    ),
    "lacking axis": (
        text(GOOD_ROWS, fields="SAMPLE_ID CMYK_K CMYK_C XYZ_X XYZ_Y"),
        "no column XYZ_Z",
    ),
    "no colour": (text("1 0\n2 100", fields="SAMPLE_ID CMYK_K"), "no columns with colour"),
    "lab called xyz": (
        text("1 0 95 0.5 -2\n2 50 60 0 1\n3 100 16 0 0"),
        "line 7, column 5 (XYZ_X): XYZ 95/0.5/-2, but no surface has it; as L*, a*, b* it is",
    ),
    "xyz called lab": (
        text(GOOD_ROWS, fields="SAMPLE_ID CMYK_K LAB_L LAB_A LAB_B"),
        "the paper has Lab 84.48/87.62/74.57, but no paper is so red; as X, Y, Z",
    ),
    "x and z swapped": (
        text(GOOD_ROWS, fields="SAMPLE_ID CMYK_K XYZ_Z XYZ_X XYZ_Y"),
        "no printing paper is so coloured; read as Y, Z, X it is a common one",
    ),
    "lab in another order": (
        text("1 0 95 0.5 -2\n3 100 16 0 0", fields="SAMPLE_ID CMYK_K LAB_A LAB_B LAB_L"),
        "L* seems to stand in another column",
    ),
    "illuminant": (text(GOOD_ROWS, head='ILLUMINANT "D65"'), 'ILLUMINANT "D65", but colours are'),
    "observer": (text(GOOD_ROWS, head='OBSERVER "10"'), "observer of 10 degrees"),
    "source": (
        text(GOOD_ROWS, head='MEASUREMENT_SOURCE "Illumination=D65 ObserverAngle=2degree"'),
        "Illumination=D65",
    ),
}


@pytest.mark.parametrize("name", BAD)
def test_bad_files_are_named(name: str) -> None:
    content, expected = BAD[name]
    assert expected in faults(content)


def test_all_faults_come_at_once_and_are_capped() -> None:
    rows = "\n".join(f"{k} 0 84 x 74" for k in range(30))
    message = faults(text(rows)).splitlines()
    assert len(message) == 21
    assert message[-1] == "chart.txt: and 10 more"


def test_counting_stops_where_the_whole_file_is_wrong() -> None:
    for cell in ("x", "300"):
        message = faults(text("\n".join(f"{k} 0 84 {cell} 74" for k in range(3000)))).splitlines()
        assert len(message) == 21
        assert message[-1] == "chart.txt: and at least 980 more"


def test_faults_of_several_kinds_come_together() -> None:
    message = faults(text(GOOD_ROWS.replace("23.16", "n/a") + f"\n4 0 {PAPER} 1"))
    assert "line 8" in message
    assert "line 10" in message


def test_size_and_rows_are_bounded(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tokens, "MAX_BYTES", 40)
    assert "more than the 40" in faults(text(GOOD_ROWS))
    monkeypatch.undo()
    monkeypatch.setattr(sections, "MAX_ROWS", 2)
    assert "more than 2 rows" in faults(text(GOOD_ROWS))


@pytest.mark.parametrize(
    ("name", "value", "words"),
    [
        ("MAX_LINES", 5, "more than 5 lines"),
        ("MAX_LINE", 30, "a line of 34 characters"),
    ],
)
def test_lines_are_bounded(
    name: str, value: int, words: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(f"inkmix.colour.measured.tokens.{name}", value)
    assert words in faults(text(GOOD_ROWS))


def test_header_and_columns_are_bounded() -> None:
    assert "more than 10,000 lines of header" in faults(text(GOOD_ROWS, head="A b\n" * 10_001))
    assert "more than 1,000 columns" in faults(text(GOOD_ROWS, fields="XYZ_X " * 1_001))
    message = faults(text(GOOD_ROWS, fields=f"SAMPLE_ID INK_{'k' * 300} XYZ_X XYZ_Y XYZ_Z"))
    assert "column 2 has a name of 304 characters" in message


def test_a_keyword_that_comes_again_keeps_all_its_values() -> None:
    assert read(text(GOOD_ROWS, head="A b\nA\nA c\nB")).keywords == {"A": "b; c", "B": ""}


def test_signs_that_act_on_a_screen() -> None:
    table = read(text(GOOD_ROWS, head='ORIGINATOR "a\x1b[2Jb"'))
    assert table.originator == "a\\x1b[2Jb"
    fields = "SAMPLE_ID INK_\u202eSoot XYZ_X XYZ_Y XYZ_Z"
    assert "changes the direction of writing (U+202E)" in faults(text(GOOD_ROWS, fields=fields))
    dash = text(GOOD_ROWS, head="ORIGINATOR \u2013").encode("cp1252")
    assert read(dash).originator == "\u2013"


def test_an_ink_without_a_name() -> None:
    message = faults(text(GOOD_ROWS, fields='SAMPLE_ID "INK_ " XYZ_X XYZ_Y XYZ_Z'))
    assert "column 2 is an ink without a name" in message


@pytest.mark.parametrize("name", ['a"b', '"', "it's", "night ink", "night\u00a0ink", "a;b", "#1"])
def test_names_with_quotes_and_blanks_are_written_and_read(name: str) -> None:
    column = '"INK_' + name.replace('"', '""') + '"'
    table = read(text(GOOD_ROWS, fields=f"SAMPLE_ID {column} XYZ_X XYZ_Y XYZ_Z"))
    assert table.plates == (name,)
    assert read(cgats_text(table)).plates == (name,)


def test_spectra_on_two_scales_are_refused() -> None:
    message = faults(spectral({"0": GREY["0"], "50": np.full(36, 2.0)}, HOUSE))
    assert "R_380): 2 beside a paper that reads 0.8" in message


def test_lab_that_no_surface_has() -> None:
    fields = "SAMPLE_ID CMYK_K LAB_L LAB_A LAB_B"
    message = faults(text("1 0 95 0 -2\n2 100 20 60 100", fields=fields))
    assert "line 8" in message
    assert "Lab 20/60/100, but no surface has it: Z would be -3.5" in message
    # noise: Z is -0.2 there
    noisy = colours_xyz100(read(text("1 0 95 0 -2\n2 100 1 0 5", fields=fields)))
    assert noisy[1, 2] == 0


def test_a_colour_that_is_too_bright_is_named_by_its_patch_and_line() -> None:
    """Each number is in range, the colour is not: Y is 100 (164 / 116)^3 = 282.6, after CIE 15."""
    fields = "SAMPLE_NAME CMYK_K LAB_L LAB_A LAB_B"
    message = faults(text("bare 0 95 0 -2\nA7 100 148 0 0", fields=fields))
    assert "line 8, column 8 (LAB_L): patch A7 has XYZ 272.5/282.6/233.2, but" in message
    assert "bare" not in message
    glow = {"0": np.full(36, 0.8), "100": np.full(36, 2.6)}
    message = faults(spectral(glow, HOUSE, head="SPECTRAL_NORM 1"))
    assert "(R_380): patch 100 has XYZ" in message


def test_spectra_may_begin_at_410_and_end_at_680() -> None:
    nm = np.arange(410, 681, 10)
    table = read(spectral({"0": np.full(28, 0.5)}, nm))
    assert table.reflectance is not None
    np.testing.assert_allclose(table.reflectance, 0.5)
    assert "spectra from 420 to 680 nm" in faults(spectral({"0": np.full(27, 0.5)}, nm[1:]))
    assert "spectra from 410 to 670 nm" in faults(spectral({"0": np.full(27, 0.5)}, nm[:-1]))


def test_fine_steps_are_averaged_under_a_triangle_of_10_nm() -> None:
    """By hand: of weights 1/2, 1, 1/2 the middle one takes half, and nothing reaches 10 nm on."""
    nm = np.arange(380, 731, 5)
    table = read(spectral({"0": np.where(nm == 500, 0.8, 0.0)}, nm, name="SPECTRAL_DEC"))
    assert table.reflectance is not None
    np.testing.assert_allclose(table.reflectance[0, HOUSE == 500], 0.4)
    np.testing.assert_allclose(table.reflectance[0, HOUSE != 500], 0.0)


def test_the_spectra_of_a_chart_go_before_its_colours() -> None:
    """A grey of 80 % has Y = 80, whatever the columns beside it say."""
    content = spectral(GREY, HOUSE).replace("CMYK_K", "CMYK_K XYZ_X XYZ_Y XYZ_Z")
    content = content.replace("\n0 0 ", "\n0 0 75.20 78 64.36 ")
    table = read(content.replace("\n100 100 ", "\n100 100 2.80 2.9 2.39 "))
    assert table.xyz100 is not None
    np.testing.assert_allclose(colours_xyz100(table)[:, 1], [80, 3], atol=0.01)


@pytest.mark.parametrize(
    "lab",
    [[93.0, -5.0, 55.0], [72.0, 48.0, 40.0], [40.0, -10.0, -35.0], [14.0, 2.0, 4.0]],
    ids=["yellow", "salmon", "dark blue", "black"],
)
def test_papers_in_bright_colours_are_no_fault(lab: list[float]) -> None:
    """Colours of dyed papers, by eye (common practice)."""
    rows = np.array([lab, [30.0, 2.0, 5.0], [10.0, 1.0, 1.0]])
    assert len(read(chart(LAB_FIELDS, rows))) == 3
    assert len(read(chart("SAMPLE_ID CMYK_M XYZ_X XYZ_Y XYZ_Z", lab_to_xyz100(rows)))) == 3


# --- colours for another light -----------------------------------------------------------------

D50_XYZ = np.array([[84.48, 87.62, 74.57], [33.03, 16.79, 15.01], [1.98, 2.06, 1.70]])
LAB_FIELDS = "SAMPLE_ID CMYK_M LAB_L LAB_A LAB_B"


def lab_under_d65(xyz100: np.ndarray) -> np.ndarray:
    """Lab by the white of D65, as a program's default makes it."""
    return xyz100_to_lab(xyz100 * (np.array([96.422, 100, 82.521]) / D65_WHITE_XYZ100))


def chart(fields: str, *blocks: np.ndarray) -> str:
    rows = np.concatenate(blocks, axis=1)
    tones = (0, 100, 100)
    body = "\n".join(
        f"{k} {tones[k]} " + " ".join(f"{v:.2f}" for v in row) for k, row in enumerate(rows)
    )
    return text(body, fields=fields)


def test_lab_of_d65_beside_xyz_of_d50_is_refused() -> None:
    fields = "SAMPLE_ID CMYK_M XYZ_X XYZ_Y XYZ_Z LAB_L LAB_A LAB_B"
    message = faults(chart(fields, D50_XYZ, lab_under_d65(D50_XYZ)))
    assert "only with the white of D65" in message
    assert "or export the spectra" in message


def test_lab_alone_that_is_plainly_d65_is_refused() -> None:
    assert "tinted as D65 data" in faults(chart(LAB_FIELDS, lab_under_d65(D50_XYZ)))


def test_tinted_paper_is_no_fault() -> None:
    kraft = np.array([[62.0, 8.0, 22.0], [45.0, 40.0, 12.0], [18.0, 1.0, 1.0]])
    assert len(read(chart(LAB_FIELDS, kraft))) == 3


def test_paper_as_blue_as_d65_is_no_fault_beside_a_neutral_black() -> None:
    """The same light tints both: a black that it would make yellow speaks for the paper."""
    bluish = D65_WHITE_XYZ100 * 0.85
    neutral = np.array([96.422, 100, 82.521]) * 0.02
    assert len(read(chart(LAB_FIELDS, xyz100_to_lab([bluish, D50_XYZ[1], neutral])))) == 3


def test_one_row_whose_lab_is_another_colour_is_named() -> None:
    lab = xyz100_to_lab(D50_XYZ)
    lab[1] += [0, 20, 0]
    fields = "SAMPLE_ID CMYK_M XYZ_X XYZ_Y XYZ_Z LAB_L LAB_A LAB_B"
    message = faults(chart(fields, D50_XYZ, lab))
    assert "line 8, column 25 (LAB_L)" in message
    assert "1 rows disagree" in message


def test_spectra_excuse_colours_of_another_light() -> None:
    content = spectral(GREY, HOUSE, head='ILLUMINANT "D65"').replace(
        "CMYK_K", "CMYK_K XYZ_X XYZ_Y XYZ_Z"
    )
    content = content.replace("\n0 0 ", "\n0 0 76 80 87 ").replace(
        "\n100 100 ", "\n100 100 2.9 3 3.3 "
    )
    table = read(content)
    assert table.xyz100 is None
    assert "the spectra are" in table.notes[-1]


# --- anything at all ----------------------------------------------------------------------------

SEED = text(GOOD_ROWS, head='ORIGINATOR "x"\nKEYWORD "Y"\nNUMBER_OF_SETS 3').encode()
PIECES = [b'"', b"\t", b"\n", b"#", b"END_DATA", b"BEGIN_DATA\n", b"NaN", b"-1", b"1e999", b"\0"]
PIECES += [b"KEYWORD", b"\xff", b"SPECTRAL_NM420", b"\xc2\xb2", b"1_0", b"END_DATA_FORMAT\n", b" "]


@given(
    st.lists(
        st.tuples(st.integers(0, len(SEED)), st.integers(0, 12), st.sampled_from(PIECES)),
        max_size=6,
    )
)
@settings(max_examples=300, deadline=None)
def test_any_damage_gives_a_table_or_faults(cuts: list[tuple[int, int, bytes]]) -> None:
    data = SEED
    for start, length, piece in cuts:
        data = data[:start] + piece + data[start + length :]
    try:
        table = read(data)
    except MeasurementError as error:
        places = [fault.where for fault in error.faults]
    else:
        places = [table.source]
        assert np.isfinite(table.tone_pct).all()
        assert len(table) == len(table.tone_pct) > 0
    assert all(place.startswith("chart.txt") for place in places)


# --- written and read again --------------------------------------------------------------------


@given(tables())
@settings(max_examples=60, deadline=None)
def test_write_then_read_gives_equal_values(table: MeasurementTable) -> None:
    again = parse_cgats(cgats_text(table).encode(), where="again")
    assert_equal(again, table, "keywords")
    assert table.keywords.items() <= again.keywords.items()
    assert_equal(parse_cgats(cgats_text(again).encode(), where="again"), again)


@given(tables())
@settings(max_examples=30, deadline=None)
def test_a_list_of_patches_is_written_and_read(table: MeasurementTable) -> None:
    bare = replace(table, xyz100=None, lab=None, reflectance=None, density=None)
    bare = replace(bare, density_channels=(), density_status="")
    data = cgats_text(bare).encode()
    with pytest.raises(MeasurementError, match="no columns with colour"):
        parse_cgats(data, where="list")
    if bare.plates:
        assert_equal(parse_patch_list(data, where="list"), bare, "keywords")
    else:
        with pytest.raises(MeasurementError, match="no columns with tone values"):
            parse_patch_list(data, where="list")


@pytest.mark.parametrize("name", ["fogra39l", "fogra29l", "tr002"])
def test_published_sets_are_written_and_read(name: str) -> None:
    table = parse_cgats((REFERENCE / f"{name}.txt").read_bytes(), where=name)
    assert_equal(parse_cgats(cgats_text(table).encode(), where=name), table)


def test_signs_that_act_are_not_written() -> None:
    table = replace(read(text(GOOD_ROWS)), sample_names=("a\nEND_DATA", '"', "\x1b[2J"))
    again = read(cgats_text(table, comments=["one\nEND_DATA"]))
    assert again.sample_names == ("a END_DATA", '"', "\\x1b[2J")


@given(line=st.text(alphabet='ab.1"# \t\u00a0', max_size=20))
def test_the_quick_way_to_the_texts_of_a_line_is_the_long_one(line: str) -> None:
    try:
        expected = [word.text for word in tokens.split_words(line)]
    except tokens.UnclosedQuoteError:
        with pytest.raises(tokens.UnclosedQuoteError):
            tokens.split_texts(line)
    else:
        assert tokens.split_texts(line) == expected
