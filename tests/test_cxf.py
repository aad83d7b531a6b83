"""CxF3 documents: what is read, what a second reader finds in them, and what is refused."""

import gc
import time
from xml.etree import ElementTree as ET

import numpy as np
import pytest
from cxf_text import CORE, Document
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from inkmix.base.errors import MeasurementError
from inkmix.colour.colorimetry import reflectance_to_xyz100
from inkmix.colour.measured.cgats import parse_cgats
from inkmix.colour.measured.conditions import ReadingConditions
from inkmix.colour.measured.cxf import elements
from inkmix.colour.measured.cxf.read import parse_cxf
from inkmix.colour.measured.table import MeasurementTable, colours_xyz100, ramp_rows
from inkmix.colour.measured.written_cgats import cgats_text
from inkmix.press.swatches.charts import patches_from_table

PAPER, SOLID, BLACK = (np.full(36, value) for value in (0.8, 0.2, 0.03))


def read(data: bytes) -> MeasurementTable:
    return parse_cxf(data, where="chart.cxf")


def faults(data: bytes) -> str:
    with pytest.raises(MeasurementError) as caught:
        read(data)
    assert caught.value.exit_code == 3
    return str(caught.value)


def ramp(**told: str) -> Document:
    """Paper and the solid of one ink."""
    document = Document("a test")
    document.specification("CS", **told)  # type: ignore[arg-type]
    document.patch("paper", tones={"Soot": 0.0}, spectra={"CS": PAPER.tolist()})
    document.patch("solid", tones={"Soot": 100.0}, spectra={"CS": SOLID.tolist()})
    return document


def test_spectra_and_spot_inks() -> None:
    table = read(ramp(mode="M1", backing="White").data())
    assert table.plates == ("Soot",)
    assert table.sample_names == ("paper", "solid")
    assert table.originator == "a test"
    np.testing.assert_array_equal(table.tone_pct, [[0], [100]])
    np.testing.assert_array_equal(table.reflectance, [PAPER, SOLID])
    assert table.conditions == ReadingConditions(mode="M1", backing="white")


def test_process_and_spot_inks_with_all_other_readings() -> None:
    document = Document()
    document.specification("CS")
    paper, solid = [84.48, 87.62, 74.57], [1.98, 2.06, 1.70]
    document.patch("p", tones={"C": 0.0, "M": 0.0, "Y": 0.0, "K": 0.0}, xyz100=paper)
    document.patch("s", tones={"C": 0.0, "M": 0.0, "Y": 0.0, "K": 9.5, "Rowan": 40.0}, xyz100=solid)
    document.patch("d", tones={"K": 20.0}, xyz100=solid, densities={"Red": 1.5})
    table = read(document.data())
    assert table.plates == ("C", "M", "Y", "K", "Rowan")
    np.testing.assert_array_equal(table.tone_pct[1], [0, 0, 0, 9.5, 40])
    np.testing.assert_array_equal(table.xyz100, [paper, solid, solid])
    assert (table.conditions.illuminant, table.conditions.observer) == ("D50", "2")
    assert table.notes == ("not every patch has them, so they are not used: density red",)


def test_densities_go_by_the_filter_or_by_the_ink_it_is_for() -> None:
    document = Document()
    document.specification("CS")
    for name, tone in (("p", 0.0), ("s", 100.0)):
        read_at = {"Cyan": tone / 60, "Green": 0.1, "Visual": 0.2}
        document.patch(name, tones={"C": tone}, densities=read_at)
    table = read(document.data())
    assert table.density_channels == ("red", "green", "visual")
    assert table.density_status == "T"
    assert table.density is not None
    assert table.density[1, 0] == 100 / 60


def test_of_several_modes_one_is_read() -> None:
    document = Document()
    for mode in ("M0", "M1", "M2"):
        document.specification(mode, mode=mode)
    for name, tone, level in (("p", 0.0, 0.8), ("s", 100.0, 0.1)):
        spectra = {mode: [level + k / 100] * 36 for k, mode in enumerate(("M0", "M1", "M2"))}
        document.patch(name, tones={"Soot": tone}, spectra=spectra)
    table = read(document.data())
    assert table.conditions.mode == "M1"
    assert table.notes == ("the file holds readings in M0, M1, M2; those in M1 are read",)
    np.testing.assert_allclose(table.reflectance, [[0.81] * 36, [0.11] * 36])


def test_targets_tell_what_was_printed_by_place_then_by_name() -> None:
    document = Document()
    document.specification("CS")
    for at, tone in enumerate((0.0, 50.0, 100.0)):
        document.patch("patch", tones={"Soot": tone}, place=f"{at}", id=f"t{at}")
    for at, level in ((2, 0.1), (0, 0.8), (1, 0.3)):
        document.patch("patch", spectra={"CS": [level] * 36}, place=f"{at}", id=f"m{at}")
    table = read(document.data())
    np.testing.assert_array_equal(table.tone_pct[:, 0], [100, 0, 50])
    assert table.places == ("Row 2", "Row 0", "Row 1")
    named = Document()
    named.specification("CS")
    for name, tone in (("A1", 0.0), ("A2", 100.0), ("A2", 40.0)):
        named.patch(name, tones={"Soot": tone}, id=f"t{name}{tone}")
    named.patch("A1", spectra={"CS": PAPER.tolist()}, id="m1")
    assert read(named.data()).tone_pct[0, 0] == 0
    named.patch("A2", spectra={"CS": SOLID.tolist()}, id="m2")
    assert 'two targets of other tone values are called "A2"' in faults(named.data())


def spot_document() -> Document:
    """A characterised spot ink, as ISO 17972-4 has it: tints over paper and over black."""
    document = Document()
    document.specification("CS", mode="M1")
    levels = {"s0": 0.8, "s50": 0.5, "s100": 0.3, "k0": 0.03, "k50": 0.05, "k100": 0.08}
    for name, level in levels.items():
        document.patch(name, spectra={"CS": [level] * 36})
    over = {
        "Substrate": {0: "s0", 50: "s50", 100: "s100"},
        "Black": {0: "k0", 50: "k50", 100: "k100"},
    }
    document.spot_ink("Gull", over)
    return document


def test_a_spot_ink_over_paper_and_over_black() -> None:
    table = read(spot_document().data())
    assert table.plates == ("Gull", "K")
    np.testing.assert_array_equal(
        table.tone_pct, [[0, 0], [50, 0], [100, 0], [0, 100], [50, 100], [100, 100]]
    )
    assert table.sample_names[4] == "Gull 50 over black"
    assert list(ramp_rows(table, "Gull")) == [1, 2]
    assert table.reflectance is not None
    np.testing.assert_allclose(table.reflectance[:, 0], [0.8, 0.5, 0.3, 0.03, 0.05, 0.08])


def test_a_ramp_over_black_counts_only_where_the_black_is_printed_first() -> None:
    table = read(spot_document().data())
    held = patches_from_table(table, ["K", "Gull"])
    assert held is not None
    np.testing.assert_array_equal(held.tone_pct, [[100, 50], [100, 100]])
    expected = reflectance_to_xyz100(np.array([[0.05] * 36, [0.08] * 36]))
    np.testing.assert_allclose(held.xyz100, expected)
    assert patches_from_table(table, ["Gull", "K"]) is None


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16", "iso-8859-1", "windows-1252"])
def test_encodings(encoding: str) -> None:
    document = ramp()
    document.objects[0].set("Name", "Büro")
    assert read(document.data(encoding)).sample_names[0] == "Büro"


def test_signs_that_act_on_a_screen() -> None:
    document = ramp()
    document.objects[0].set("Name", "a\u202eb\nc")
    assert read(document.data()).sample_names[0] == "a\\u202eb c"
    spoilt = SOUND.replace(b"<cc:Name>Soot", b"<cc:Name>So&#x202e;ot").replace(
        b">Soot<", b">So&#x202e;ot<"
    )
    assert read(spoilt).plates == ("So\\u202eot",)


def test_other_wavelengths_are_brought_to_the_house_grid() -> None:
    document = Document()
    document.specification("CS", first_nm=400, step_nm=20)
    document.patch("p", spectra={"CS": [0.5] * 16})
    table = read(document.data())
    np.testing.assert_allclose(table.reflectance, np.full((1, 36), 0.5))
    assert table.plates == ()


# --- a second reader -----------------------------------------------------------------------------


@st.composite
def documents(draw: st.DrawFn) -> Document:
    """Documents of any inks, with spectra, XYZ or both."""
    names = st.text(st.characters(codec="ascii", categories=["L", "N"]), min_size=2, max_size=6)
    inks = draw(st.lists(names, min_size=1, max_size=4, unique=True))
    document = Document()
    document.specification("CS", mode=draw(st.sampled_from(["", "M0", "M1"])))
    count, unit = draw(st.integers(2, 5)), st.floats(0.125, 0.875, width=32)
    spectra = draw(arrays(float, (count, 36), elements=unit))
    tones = draw(arrays(float, (count, len(inks)), elements=unit)) * 100
    for at in range(count):
        told = dict(zip(inks, tones[at].tolist(), strict=True))
        document.patch(f"p{at}", tones=told, spectra={"CS": spectra[at].tolist()})
    return document


@given(documents())
@settings(max_examples=40, deadline=None)
def test_a_second_reader_finds_the_same(document: Document) -> None:
    """By the standard library's own tree and paths, number for number; then out as CGATS text."""
    data = document.data()
    table = read(data)
    name = {"cc": CORE}
    root = ET.fromstring(data)
    for row, one in enumerate(root.iterfind(".//cc:Object", name)):
        assert one.get("Name") == table.sample_names[row]
        spots = {
            str(spot.findtext("cc:Name", "", name)): float(spot.findtext("cc:Percentage", "", name))
            for spot in one.iterfind(".//cc:SpotColor", name)
        }
        assert spots == dict(zip(table.plates, table.tone_pct[row], strict=True))
        words = one.findtext(".//cc:ReflectanceSpectrum", "", name).split()
        assert table.reflectance is not None
        np.testing.assert_array_equal(table.reflectance[row], list(map(float, words)))
    assert row + 1 == len(table)
    again = parse_cgats(cgats_text(table).encode(), where="again")
    np.testing.assert_array_equal(again.reflectance, table.reflectance)
    np.testing.assert_array_equal(again.tone_pct, table.tone_pct)
    np.testing.assert_array_equal(colours_xyz100(again), colours_xyz100(table))
    assert again.conditions == table.conditions


# --- bad documents -------------------------------------------------------------------------------

SOUND = ramp().data()


@pytest.mark.parametrize("share", [0.02, 0.3, 0.7, 0.99])
def test_half_files_are_refused(share: float) -> None:
    message = faults(SOUND[: int(len(SOUND) * share)])
    assert "the file ends before its elements are closed" in message
    assert "copy or export it again" in message


def _spoilt(old: str, new: str) -> bytes:
    text = SOUND.decode()
    assert old in text
    return text.replace(old, new, 1).encode()


BOMB = b"""<!DOCTYPE CxF [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;&a;&a;">]>
<CxF><x>&b;</x></CxF>"""
OUTSIDE = b'<!DOCTYPE CxF SYSTEM "file:///etc/hostname"><CxF/>'

BAD = {
    "entities": (BOMB, "a document type is declared, but CxF has none, and entities are not read"),
    "from outside": (OUTSIDE, "a document type is declared"),
    "an entity that nobody declares": (b"<CxF>&a;</CxF>", "this is no XML (undefined entity)"),
    "another XML": (b"<svg/>", 'XML that begins with "svg", but CxF3 (ISO 17972) begins with CxF'),
    "not closed": (b"<CxF><a></CxF>", "line 1, column 11: this is no XML (mismatched tag)"),
    "an encoding of nobody": (
        b"<?xml version='1.0' encoding='x-none'?><CxF/>",
        "the encoding cannot be read",
    ),
    "no objects": (b"<CxF/>", "no object with a reflectance spectrum, XYZ, Lab or densities"),
    "deep": (b"<CxF>" + b"<a>" * 60, "elements more than 50 deep"),
    "decimal comma": (
        _spoilt(">0.2 0.2", ">0,2 0.2"),
        '(ReflectanceSpectrum): "0,2", but a finite',
    ),
    "no number": (_spoilt(">0.2 0.2", ">nan 0.2"), '"nan", but a finite number'),
    "a tone that is none": (_spoilt(">100.0<", ">full<"), '(SpotColor): "full"'),
    "a tone above 100": (
        _spoilt(">100.0<", ">120.0<"),
        'object "solid" (Soot): 120, but tone values',
    ),
    "tones of 0-1": (_spoilt(">100.0<", ">1.0<"), "multiply tone values by 100"),
    "percent": (
        _spoilt(">0.8 0.8", ">80 0.8"),
        'object "paper" (380 nm): 80, but reflectance is 0 to 1',
    ),
    "no wavelengths": (
        _spoilt("WavelengthRange", "Range"),
        "a spectrum whose wavelengths are not told",
    ),
    "short spectrum": (
        _spoilt(">0.2 0.2", ">0.2"),
        'object "solid": 35 values from 380 nm by 10, but other spectra have 36',
    ),
    "no step": (_spoilt('Increment="10"', 'Increment="0"'), "an Increment of 0 nm"),
    "a patch that tells no tones": (
        _spoilt("<cc:Percentage>0.0</cc:Percentage>", "").replace(b"SpotColor", b"Sp", 2),
        'object "paper": no tone values, but other objects say what was printed',
    ),
}


@pytest.mark.parametrize("name", BAD)
def test_bad_documents_are_named(name: str) -> None:
    data, expected = BAD[name]
    assert expected in faults(data)


def test_colours_for_another_light_are_refused() -> None:
    for told, words in (
        ({"light": "D65"}, 'ILLUMINANT "D65"'),
        ({"observer": "10_Degree"}, "10 deg"),
    ):
        document = Document()
        document.specification("CS", **told)
        document.patch("p", tones={"K": 0.0}, lab=[95.0, 0.0, -2.0])
        assert words in faults(document.data())


def test_spot_inks_that_cannot_be_read() -> None:
    text = spot_document().data().decode()
    for old, new, words in (
        ('"Substrate"', '"Process_Gold"', 'Background "Process_Gold", but Substrate and Black'),
        ('ObjectRef="s50"', 'ObjectRef="none"', 'ObjectRef "none", but no object of that Id'),
        ('TintLevel="50"', 'TintLevel="half"', '(Measurement): "half"'),
        ('SpotInkName="Gull"', "", "no SpotInkName"),
    ):
        assert old in text
        assert words in faults(text.replace(old, new, 1).encode())


def test_readings_that_no_two_patches_share() -> None:
    document = Document()
    document.specification("CS")
    document.patch("p", tones={"K": 0.0}, lab=[95.0, 0.0, -2.0])
    document.patch("s", tones={"K": 100.0}, xyz100=[2.0, 2.0, 1.7])
    assert 'object "s": no lab, but every patch needs the same kind' in faults(document.data())


def test_elements_are_bounded(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(elements, "MAX_ELEMENTS", 5)
    assert "more than 5 elements" in faults(SOUND)
    monkeypatch.setattr(elements, "MAX_BYTES", 100)
    assert "more than the 100" in faults(SOUND)


def test_text_in_many_pieces_is_read_in_linear_time() -> None:
    """150,000 pieces of a text of 6 MB: joined one by one they would be copied for minutes."""
    gc.collect()
    before = time.process_time()
    message = faults(b"<CxF>" + 150_000 * (b"k" * 36 + b"<a/>") + b"</CxF>")
    assert "no object with" in message
    assert time.process_time() - before < 10


PIECES = [b"<", b">", b"&", b'"', b"</cc:Object>", b"NaN", b"-1", b"\0", b"\xff", b"<cc:a>", b"]]>"]


@given(
    st.lists(
        st.tuples(st.integers(0, len(SOUND)), st.integers(0, 12), st.sampled_from(PIECES)),
        max_size=4,
    )
)
@settings(max_examples=200, deadline=None)
def test_any_damage_gives_a_table_or_faults(cuts: list[tuple[int, int, bytes]]) -> None:
    data = SOUND
    for start, length, piece in cuts:
        data = data[:start] + piece + data[start + length :]
    try:
        places = [read(data).source]
    except MeasurementError as error:
        places = [fault.where for fault in error.faults]
    assert all(place.startswith("chart.cxf") for place in places)
