"""Profiles whose tags say more than they hold: no memory is taken for what is not there."""

import io
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from icc_profiles import (
    SRGB_CURVE,
    float_nodes,
    float_table,
    linear,
    lut8,
    lut16,
    lut_a_to_b,
    named,
    rgb_profile,
    with_tag,
)
from PIL import Image, ImageCms

from inkmix.plates.files.profile import profile_label, read_profile
from inkmix.plates.files.profile_tables import says_too_much

SOUND = rgb_profile(linear(), version=4)
WITHOUT_NAME = SOUND.replace(b"desc", b"none", 1)
TABLES = {
    "of 8 bits": (lut8, 1, bytes(range(256)) * 3),
    "of 16 bits": (lut16, 2, b"\0\0\xff\xff" * 3),
    "of stages": (lut_a_to_b, 2, b""),
}
OVERSTATED = {
    "languages": with_tag(WITHOUT_NAME, b"desc", named(40_000_000)),
    "nodes of 8 bits": with_tag(SOUND, b"A2B0", lut8(255)),
    "nodes of 16 bits": with_tag(SOUND, b"A2B0", lut16(255)),
    "nodes of stages": with_tag(SOUND, b"A2B0", lut_a_to_b(255)),
    "nodes of floating point": with_tag(SOUND, b"D2B0", float_table(float_nodes(200))),
}
PEAK = """
import re, sys
from pathlib import Path
from inkmix.plates.files.profile import profile_label, read_profile

def peak_kib():
    return int(re.search(r"VmHWM:\\s+(\\d+)", Path("/proc/self/status").read_text())[1])

read_profile(Path(sys.argv[1]).read_bytes())
for name in sys.argv[2:]:
    data, before = Path(name).read_bytes(), peak_kib()
    profile_label(data), read_profile(data)
    print(Path(name).stem, peak_kib() - before, sep="\\t")
"""


def by_library(data: bytes) -> np.ndarray:
    """A ramp of colours by the colour library alone."""
    opened, srgb = ImageCms.ImageCmsProfile(io.BytesIO(data)), ImageCms.createProfile("sRGB")
    return np.asarray(ImageCms.profileToProfile(ramp(), opened, srgb, outputMode="RGB"))


def ramp() -> Image.Image:
    return Image.fromarray((np.arange(300).reshape(1, 100, 3) * 37 % 256).astype(np.uint8))


def converted(data: bytes) -> np.ndarray:
    profile = read_profile(data)
    assert profile is not None
    return np.asarray(ImageCms.applyTransform(ramp(), profile.to_srgb))


@pytest.mark.parametrize("kind", TABLES)
def test_a_table_is_read_to_its_last_byte_and_not_beyond(kind):
    """The library is the referee: it reads the one, and stumbles over the other."""
    head, node_bytes, curves = TABLES[kind]
    nodes = np.random.default_rng(5).integers(0, 128, 3**3 * 3 * node_bytes, np.uint8).tobytes()
    whole = with_tag(SOUND, b"A2B0", head(3) + nodes + curves)
    assert not says_too_much(whole)
    np.testing.assert_array_equal(converted(whole), by_library(whole))
    assert not np.array_equal(converted(whole), converted(SOUND))  # the table counts

    short = with_tag(SOUND, b"A2B0", (head(3) + nodes + curves)[:-1])
    assert says_too_much(short)
    with pytest.raises(ImageCms.PyCMSError):
        by_library(short)


def test_a_name_in_one_language_of_one():
    assert profile_label(with_tag(WITHOUT_NAME, b"desc", named(1))).startswith("od (")
    assert profile_label(with_tag(WITHOUT_NAME, b"desc", named(2))).startswith("unreadable")


def test_tables_of_floating_point_are_left_out():
    """As a program may that does not know them (ICC.1:2022, 8.10.2, a): curves say what counts."""
    nodes = np.zeros(2**3 * 3, ">f4").tobytes()  # all black
    both = with_tag(SOUND, b"D2B0", float_table(float_nodes(2) + nodes))
    assert not by_library(both).any()
    np.testing.assert_array_equal(converted(both), by_library(SOUND))


def test_srgb_beside_tables_of_floating_point_is_srgb():
    profile = read_profile(
        with_tag(rgb_profile(SRGB_CURVE, version=4), b"D2B0", float_table(float_nodes(2)))
    )
    assert profile is not None
    assert profile.is_srgb


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="says the peak of memory")
def test_no_memory_is_taken_for_what_is_only_said(tmp_path):
    """Files of 1-2 kB, for which the library takes 100 to 490 MB: 10 MB are those of its code."""
    (tmp_path / "sound").write_bytes(SOUND)
    for name, data in OVERSTATED.items():
        (tmp_path / name).write_bytes(data)
    words = [str(tmp_path / name) for name in ("sound", *OVERSTATED)]
    done = subprocess.run(
        [sys.executable, "-c", PEAK, *words], capture_output=True, text=True, check=True
    )
    taken_kib = dict(line.split("\t") for line in done.stdout.splitlines())
    assert set(taken_kib) == set(OVERSTATED)
    assert max(map(int, taken_kib.values())) < 10 << 10, taken_kib
