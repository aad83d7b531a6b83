"""Strips and tiles that windows cut or share are unpacked once, by whichever thread comes first."""

import threading
from collections import Counter
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest
from plate_files import ramp, write_tiff

from inkmix.base.ordered_threads import in_order
from inkmix.plates.files.scratch.room import ScratchRoom
from inkmix.plates.files.scratch.space import MemorySpace
from inkmix.plates.files.tiff.segment_cache import KeptSegments
from inkmix.plates.files.tiff.unpack import Unpacker
from inkmix.plates.plate import open_raster

PIXELS = ramp(640, 500)
FIVE = np.stack([np.roll(PIXELS, ink, axis=1) for ink in range(5)], axis=-1)


@pytest.fixture
def unpacked(monkeypatch):
    """How often each strip or tile was unpacked."""
    counts = Counter()
    plain, lock = Unpacker.into, threading.Lock()

    def noting(self, out, packed, index):
        with lock:
            counts[index] += 1
        plain(self, out, packed, index)

    monkeypatch.setattr(Unpacker, "into", noting)
    return counts


def bands(rows):
    return [slice(top, min(top + rows, 640)) for top in range(0, 640, rows)]


@pytest.mark.parametrize("threads", [1, 2, 4])
@pytest.mark.parametrize("memory_bytes", [2**22, 1])
@pytest.mark.parametrize("options", [{"tile": (128, 64)}, {"rowsperstrip": 80}])
def test_bands_that_cut_segments_unpack_each_once(
    tmp_path, monkeypatch, unpacked, threads, memory_bytes, options
):
    monkeypatch.setattr("inkmix.plates.files.scratch.room.MAX_IN_MEMORY_BYTES", memory_bytes)
    path = write_tiff(tmp_path / "a.tif", PIXELS, compression="lzw", **options)
    raster = open_raster(path)
    monkeypatch.setattr("inkmix.plates.files.tiff.segments.thread_count", lambda: threads)
    parts = in_order(lambda rows: raster.read(rows, slice(0, 500), 0), bands(26), threads=threads)
    np.testing.assert_array_equal(np.concatenate(list(parts)), PIXELS)
    assert set(unpacked.values()) == {1}


@pytest.mark.parametrize("options", [{"tile": (128, 64)}, {"rowsperstrip": 64}])
def test_inks_side_by_side_share_a_segment(tmp_path, unpacked, options):
    path = write_tiff(
        tmp_path / "a.tif", FIVE, compression="zlib", planarconfig="contig", **options
    )
    raster = open_raster(path)
    for rows in bands(128):
        for ink in range(5):
            found = raster.read(rows, slice(0, 500), ink)
            np.testing.assert_array_equal(found, FIVE[rows, :, ink])
    assert set(unpacked.values()) == {1}


def test_scratch_for_a_row_of_tiles_is_announced_once(tmp_path, monkeypatch):
    monkeypatch.setattr("inkmix.plates.files.scratch.room.MAX_IN_MEMORY_BYTES", 1000)
    monkeypatch.setattr("inkmix.plates.files.scratch.room._WORTH_SAYING_BYTES", 1000)
    path = write_tiff(tmp_path / "Fog.tif", PIXELS, compression="lzw", tile=(128, 64))
    said = []
    raster = open_raster(path, room=ScratchRoom(announce=said.append))
    for rows in bands(26):
        raster.read(rows, slice(0, 500), 0)
    assert len(said) == 1


def test_one_thread_waits_for_the_other_and_nobody_for_strangers():
    """While segment 0 is unpacked, 1 can be had; a second wish for 0 waits for the first."""
    kept = KeptSegments(8, MemorySpace)
    kept.have(2)
    started, go_on = threading.Event(), threading.Event()
    fills = []

    def slow(out, index):
        fills.append(index)
        started.set()
        assert go_on.wait(10)
        out[:] = 7

    def quick(out, index):
        fills.append(index)
        out[:] = 3

    def ask(index, fill):
        return kept.rows(np.empty((8, 1), np.uint8), index, rows=slice(2, 4), fill=fill)

    with ThreadPoolExecutor(2) as pool:
        first = pool.submit(ask, 0, slow)
        assert started.wait(10)
        assert ask(1, quick).tolist() == [[3], [3]]
        second = pool.submit(ask, 0, quick)
        go_on.set()
        assert first.result().tolist() == second.result().tolist() == [[7], [7]]
    assert fills == [0, 1]


def test_a_segment_that_failed_is_tried_again():
    kept = KeptSegments(4, MemorySpace)
    kept.have(1)

    def failing(out, index):
        raise ValueError

    def filling(out, index):
        out[:] = index

    room, rows = np.empty((4, 1), np.uint8), slice(0, 1)
    with pytest.raises(ValueError):  # noqa: PT011
        kept.rows(room, 5, rows=rows, fill=failing)
    assert kept.rows(room, 5, rows=rows, fill=filling).tolist() == [[5]]
    assert kept.rows(room, 6, rows=rows, fill=filling).tolist() == [[6]]
    assert kept.rows(room, 5, rows=rows, fill=filling).tolist() == [[5]]
