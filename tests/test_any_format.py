"""Measurements told by what a file holds, whatever it is called; and files that hold none."""

import subprocess
import sys
from io import BytesIO
from pathlib import Path
from zipfile import ZipFile

import numpy as np
import pytest
from cxf_text import Document
from PIL import Image

from inkmix.base.errors import MeasurementError
from inkmix.colour.measured.any_format import parse_measurements
from inkmix.press.swatches.files import read_inks, read_measurements
from inkmix.press.values import Paper

CGATS = (
    b"CGATS.17\nBEGIN_DATA_FORMAT\nSAMPLE_ID INK_Soot LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\n"
    b"BEGIN_DATA\n1 0 95 0 -2\n2 100 16 0 0\nEND_DATA\n"
)
CSV = b"id,Soot,L,a,b\n1,0,95,0,-2\n2,100,16,0,0\n"


def _cxf() -> bytes:
    document = Document()
    document.specification("CS")
    document.patch("1", tones={"Soot": 0.0}, lab=[95.0, 0.0, -2.0])
    document.patch("2", tones={"Soot": 100.0}, lab=[16.0, 0.0, 0.0])
    return document.data()


@pytest.mark.parametrize("data", [CGATS, CSV, _cxf(), b"\xef\xbb\xbf" + CSV, b"\n\n" + CGATS])
@pytest.mark.parametrize("name", ["a.txt", "a.cxf", "a.csv", "a"])
def test_the_content_tells_the_format(tmp_path: Path, data: bytes, name: str) -> None:
    path = tmp_path / name
    path.write_bytes(data)
    table = read_measurements(path)
    assert table.plates == ("Soot",)
    assert table.source == name
    np.testing.assert_array_equal(table.tone_pct, [[0], [100]])
    np.testing.assert_array_equal(table.lab, [[95, 0, -2], [16, 0, 0]])


def _picture(kind: str) -> bytes:
    file = BytesIO()
    Image.new("RGB", (4, 4)).save(file, kind)
    return file.getvalue()


def _zip() -> bytes:
    file = BytesIO()
    with ZipFile(file, "w") as archive:
        archive.writestr("chart.txt", CGATS)
    return file.getvalue()


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (_picture("JPEG"), "this is a photograph (JPEG), but measurements are CGATS text"),
        (_picture("PNG"), "this is a picture (PNG)"),
        (_picture("TIFF"), "this is a picture (TIFF)"),
        (_zip(), "this is a zip archive, perhaps a spreadsheet"),
        (b"%PDF-1.7\n", "this is a PDF"),
        (CSV.decode().encode("utf-16"), "the text is UTF-16; export the measurements as text"),
        (b"", "the file is empty"),
        (b"\0" * 100, "zero bytes"),
        (b"\n".join([b"dear printer,"] * 5), "no columns with colour (columns: dear printer)"),
        (b"dear printer", 'the first line is "dear printer", but measurements are CGATS text'),
    ],
)
def test_other_files_are_called_by_name(data: bytes, words: str) -> None:
    with pytest.raises(MeasurementError) as caught:
        parse_measurements(data, where="chart")
    assert words in str(caught.value)


def test_xml_of_two_bytes_a_letter_is_no_utf_16_text() -> None:
    data = _cxf().decode().replace("utf-8", "utf-16").encode("utf-16")
    assert len(parse_measurements(data, where="chart")) == 2


def test_inks_are_read_from_cxf(tmp_path: Path) -> None:
    path = tmp_path / "inks"
    path.write_bytes(_cxf())
    paper = Paper(name="x", paper_class="coated", xyz100=(85.0, 88.0, 72.0))
    (ink,) = read_inks(path, paper=paper).inks
    assert ink.name == "Soot"


_READ = """
import resource, sys, time
from inkmix.base.errors import MeasurementError
from inkmix.press.swatches.files import read_measurements
before = resource.getrusage(resource.RUSAGE_SELF)
try:
    read_measurements(sys.argv[1])
except MeasurementError as error:
    after = resource.getrusage(resource.RUSAGE_SELF)
    print(after.ru_utime - before.ru_utime, after.ru_maxrss - before.ru_maxrss, len(str(error)))
"""


@pytest.mark.skipif(sys.platform != "linux", reason="ru_maxrss is counted in KiB on Linux")
@pytest.mark.parametrize("start", [b"", b"<CxF>", b"\xff\xd8\xff"])
def test_100_mb_of_junk(tmp_path: Path, start: bytes) -> None:
    """No more than 16 MiB of it are read: little time, and memory for the bytes twice."""
    path = tmp_path / "junk"
    with open(path, "wb") as file:
        file.write(start + b"1,<a>;\n" * 1000)
        file.truncate(100 * 10**6)  # zeros, which take no room on the disk
    told = subprocess.run(
        [sys.executable, "-c", _READ, path], capture_output=True, text=True, check=True
    )
    cpu_s, more_kib, letters = map(float, told.stdout.split())
    assert cpu_s < 2
    assert more_kib < 64 * 1024
    assert 0 < letters < 1000
