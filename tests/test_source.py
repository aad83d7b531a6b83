"""A plate that is replaced, cut or written to while it is read is noticed, however it is stored."""

import os

import numpy as np
import pytest
from plate_files import open_plate, ramp, write_png, write_tiff

from inkmix.base.errors import PlateError

PIXELS = ramp(400, 300)
FORMS = {
    "strips": {"compression": "lzw", "rowsperstrip": 8},
    "tiles": {"compression": "zlib", "tile": (64, 64)},
    "one plain strip": {"rowsperstrip": 400},
    "one packed strip": {"compression": "zlib", "rowsperstrip": 400},
    "PNG": None,
}


def plate_file(folder, form):
    if FORMS[form] is None:
        return write_png(folder / "Soot.png", PIXELS)
    return write_tiff(folder / "Soot.tif", PIXELS, **FORMS[form])


def replaced(path):
    """By another of the same size."""
    other = path.with_name("other")
    other.write_bytes(path.read_bytes())
    other.replace(path)


def cut(path):
    os.truncate(path, path.stat().st_size - 5)


def written_to(path):
    """In place, with the size as it was."""
    before = path.stat()
    data = path.read_bytes()
    path.write_bytes(data[:-1] + bytes([data[-1] ^ 1]))
    os.utime(path, ns=(before.st_atime_ns, before.st_mtime_ns + 1))


def set_back(path):
    """In place, with all that can be set as it was."""
    before = path.stat()
    written_to(path)
    os.utime(path, ns=(before.st_atime_ns, before.st_mtime_ns))


@pytest.mark.parametrize("segment_px", [2**22, 1])
@pytest.mark.parametrize("change", [replaced, cut, written_to, set_back])
@pytest.mark.parametrize("form", FORMS)
def test_a_change_is_noticed_at_the_next_window(tmp_path, monkeypatch, form, change, segment_px):
    monkeypatch.setattr("inkmix.plates.files.tiff.segments.MAX_SEGMENT_PX", segment_px)
    path = plate_file(tmp_path, form)
    plate = open_plate(path, ink="Soot")
    first = plate.read(slice(0, 100), slice(0, 300))
    np.testing.assert_array_equal(first, 255 - PIXELS[:100])
    change(path)
    with pytest.raises(PlateError) as caught:
        plate.read(slice(100, 200), slice(0, 300))
    words = "was changed while it was read, but it must not change until the run is over; "
    assert words + "start again when nothing changes the files" in str(caught.value)


@pytest.mark.parametrize("form", FORMS)
def test_a_file_that_is_gone(tmp_path, form):
    path = plate_file(tmp_path, form)
    plate = open_plate(path, ink="Soot")
    path.unlink()
    with pytest.raises(PlateError, match="cannot be read any more"):
        plate.read(slice(0, 9), slice(0, 9))


def test_a_file_that_is_only_looked_at_is_no_change(tmp_path):
    path = plate_file(tmp_path, "strips")
    plate = open_plate(path, ink="Soot")
    path.read_bytes()
    np.testing.assert_array_equal(plate.read(slice(0, 400), slice(0, 300)), 255 - PIXELS)
