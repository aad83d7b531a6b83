"""Scratch room: announced, refused where there is too little, gone with the program."""

import os
import resource
import shutil
import signal
import subprocess
import sys
import time
from collections import namedtuple

import numpy as np
import pytest
from plate_files import open_plate, ramp, write_png, write_tiff

from inkmix.base.errors import PlateError
from inkmix.plates.files.scratch import space
from inkmix.plates.files.scratch.room import ScratchRoom
from inkmix.plates.plate import PlateSource
from inkmix.plates.set import open_set

Usage = namedtuple("Usage", "total used free")
BIG = ramp(2100, 2500)
"""5.25 million bytes: more than is kept in memory."""


@pytest.fixture(autouse=True)
def all_room_is_worth_saying(monkeypatch):
    monkeypatch.setattr("inkmix.plates.files.scratch.room._WORTH_SAYING_BYTES", 5_000_000)


def picture(folder, **options):
    """A PNG that needs a scratch file."""
    return open_plate(write_png(folder / "Fjord.png", BIG), ink="Fjord", **options)


def rows_of(plate, start=0, stop=2100):
    return plate.read(slice(start, stop), slice(0, BIG.shape[1]))


def test_need_is_announced_once_a_plate(tmp_path):
    said = []
    room = ScratchRoom(folder=tmp_path / "out", announce=said.append)
    path = write_png(tmp_path / "Fjord.png", BIG)
    plates = open_set({"Fjord": PlateSource(path=path)}, room=room)
    assert said == []  # headers need no room
    for start in (0, 2000, 50):
        plates.read(slice(start, start + 9), slice(0, 30))
    out = f"{tmp_path.name}/out/"
    assert said == [f"Fjord.png: 5 MB of scratch space is used in {out}"]


def test_little_room_comes_and_goes_without_a_word(tmp_path, monkeypatch):
    monkeypatch.setattr("inkmix.plates.files.scratch.room._WORTH_SAYING_BYTES", 6_000_000)
    said = []
    rows_of(picture(tmp_path, room=ScratchRoom(announce=said.append)))
    assert said == []


def test_little_files_stay_in_memory(tmp_path):
    said = []
    path = write_png(tmp_path / "Fjord.png", ramp())
    rows_of(open_plate(path, ink="Fjord", room=ScratchRoom(announce=said.append)), 0, 61)
    assert said == []


def test_memory_for_one_piece_is_announced(tmp_path):
    said = []
    path = write_tiff(tmp_path / "Fjord.tif", BIG, compression="zstd", rowsperstrip=len(BIG))
    plate = open_plate(path, ink="Fjord", room=ScratchRoom(announce=said.append))
    np.testing.assert_array_equal(rows_of(plate), 255 - BIG)
    assert f"{path.name}: 5 MB of memory are used to unpack it in one piece" in said


def test_too_little_room_is_refused_before_anything_is_written(tmp_path, monkeypatch):
    monkeypatch.setattr(shutil, "disk_usage", lambda _: Usage(9e9, 9e9, 3_000_000))
    out = tmp_path / "out"
    out.mkdir()
    with pytest.raises(PlateError) as caught:
        rows_of(picture(tmp_path, room=ScratchRoom(folder=out)))
    assert str(caught.value).endswith(
        f"Fjord.png: needs 5 MB of scratch space in {tmp_path.name}/out/, but 3 MB are free; "
        "free some, or choose another output folder"
    )
    assert list(out.iterdir()) == []


def test_the_temporary_folder_has_a_hint_of_its_own(tmp_path, monkeypatch):
    monkeypatch.setattr(shutil, "disk_usage", lambda _: Usage(9e9, 9e9, 0))
    with pytest.raises(PlateError, match=r"in the temporary folder, but 0 MB are free; .*TMPDIR"):
        rows_of(picture(tmp_path))


@pytest.fixture
def full_after_a_megabyte():
    """Files of this process cannot grow beyond a megabyte, as on a full disk."""
    limits = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (2**20, limits[1]))
    yield
    resource.setrlimit(resource.RLIMIT_FSIZE, limits)


@pytest.mark.parametrize("is_reserved", [True, False])
def test_a_disk_that_fills_is_a_message(tmp_path, monkeypatch, request, is_reserved):
    """When room is reserved, or, where systems cannot reserve it, when rows are written."""
    plate = picture(tmp_path)
    if not is_reserved:
        monkeypatch.setattr(space, "_reserve", lambda handle, count: None)
    request.getfixturevalue("full_after_a_megabyte")
    for _ in range(2):  # the second time too, with what is there already
        with pytest.raises(PlateError, match=r"Fjord.png: needs 5 MB of scratch space"):
            rows_of(plate)


def test_a_folder_without_rights_or_of_another_kind(tmp_path):
    (tmp_path / "file").write_bytes(b"")
    room = ScratchRoom(folder=tmp_path / "file" / "out")
    np.testing.assert_array_equal(rows_of(picture(tmp_path, room=room)), 255 - BIG)


def test_scratch_files_have_no_name(tmp_path):
    out = tmp_path / "out"
    out.mkdir()
    plate = picture(tmp_path, room=ScratchRoom(folder=out))
    rows_of(plate, 0, 1000)
    assert list(out.iterdir()) == []


def test_a_killed_program_leaves_nothing(tmp_path):
    write_png(tmp_path / "Fjord.png", BIG)
    program = (
        "import os, signal, sys; from pathlib import Path\n"
        "from inkmix.plates.plate import PlateSource, open_raster, plate_of\n"
        "from inkmix.plates.files.scratch import room as scratch\n"
        "scratch._WORTH_SAYING_BYTES = 0\n"
        "folder = Path(sys.argv[1])\n"
        "room = scratch.ScratchRoom(folder=folder, announce=print)\n"
        "source = PlateSource(path=folder / 'Fjord.png')\n"
        "plate = plate_of(open_raster(source.path, room=room), source, ink='Fjord')\n"
        "plate.read(slice(0, 900), slice(0, 2500))\n"
        "sys.stdout.flush(); os.kill(os.getpid(), signal.SIGKILL)\n"
    )
    command = [sys.executable, "-c", program, tmp_path]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == -signal.SIGKILL
    assert "of scratch space is used" in done.stdout
    assert [path.name for path in tmp_path.iterdir()] == ["Fjord.png"]


def test_stale_files_are_cleared_and_young_ones_left(tmp_path):
    """Where a file needs a name for a moment, a kill in that moment leaves it."""
    old, young = (tmp_path / f"{space.PREFIX}{name}" for name in ("old", "young"))
    for path in (old, young):
        path.write_bytes(b"")
    hours_ago = time.time() - 7300
    os.utime(old, (hours_ago, hours_ago))
    rows_of(picture(tmp_path, room=ScratchRoom(folder=tmp_path)), 0, 5)
    assert not old.exists()
    assert young.exists()


@pytest.mark.parametrize("count", [100, 10_000_000])
def test_bytes_come_back(tmp_path, count):
    kept = ScratchRoom(folder=tmp_path).space(count, path=tmp_path / "Fjord.png")
    data = np.arange(50, dtype=np.uint16)
    kept.write(count - data.nbytes, data)
    found = np.empty_like(data)
    kept.read_into(count - data.nbytes, found)
    np.testing.assert_array_equal(found, data)
