"""The compiled LZW loop gives what the decoder of imagecodecs gives, or leaves the stream to it."""

import imagecodecs
import numpy as np
import pytest

from inkmix.base import loops
from inkmix.plates.files.tiff.lzw import unpack_lzw

pytestmark = pytest.mark.skipif(not loops.are_compiled(), reason="there are no compiled loops")


def by_loop(packed: bytes, size: int) -> tuple[int, bytes]:
    from inkmix.plates.files.tiff.lzw import _by_loop

    out = np.zeros(size, np.uint8)
    return _by_loop(packed, out), out.tobytes()


def pictures():
    rng = np.random.default_rng(6)
    for tones in (1, 2, 3, 12, 60, 256):
        for size in (1, 2, 259, 4096, 70_001):
            yield rng.integers(0, tones, size).astype(np.uint8)
    yield np.repeat(rng.integers(0, 256, 900), rng.integers(1, 90, 900)).astype(np.uint8)
    yield np.zeros(3_000_000, np.uint8)


@pytest.mark.parametrize("pixels", list(pictures()), ids=len)
def test_the_same_bytes(pixels):
    packed = bytes(imagecodecs.lzw_encode(pixels))
    assert by_loop(packed, pixels.size) == (pixels.size, pixels.tobytes())
    out = np.zeros_like(pixels)
    assert unpack_lzw(packed, out) == pixels.size
    np.testing.assert_array_equal(out, pixels)


def test_room_for_less_and_for_more():
    """As much as there is room for; what is missing shows in the count."""
    pixels = np.random.default_rng(1).integers(0, 5, 9000).astype(np.uint8)
    packed = bytes(imagecodecs.lzw_encode(pixels))
    assert by_loop(packed, 5000) == (5000, pixels[:5000].tobytes())
    assert by_loop(packed, 9100)[0] == 9000
    half, out = packed[: len(packed) // 2], np.zeros_like(pixels)
    assert unpack_lzw(half, out) < 9000


@pytest.mark.parametrize("packed", [b"", b"\x80", bytes(5000), b"\xff" * 5000, b"\x00\x01" * 50])
def test_odd_streams_are_left_to_the_other(packed):
    assert by_loop(packed, 5000)[0] == -1


def test_damage_never_gives_other_bytes_than_the_library():
    """Bytes set at random: refused, short, or the same as there."""
    rng = np.random.default_rng(8)
    pixels = rng.integers(0, 9, 20_000).astype(np.uint8)
    whole = bytes(imagecodecs.lzw_encode(pixels))
    outcomes = set()
    for _ in range(300):
        packed = bytearray(whole)
        for place in rng.integers(0, len(whole), rng.integers(1, 4)):
            packed[place] = rng.integers(256)
        count, found = by_loop(bytes(packed), pixels.size)
        if count < pixels.size:
            outcomes.add("left")
            continue
        wanted = np.zeros_like(pixels)
        assert len(imagecodecs.lzw_decode(bytes(packed), out=wanted.data)) == pixels.size
        assert found == wanted.tobytes()
        outcomes.add("same")
    assert outcomes == {"left", "same"}
