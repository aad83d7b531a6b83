"""Plates of every accepted kind give the ink amount that was drawn, whatever the packing."""

import shutil
import subprocess
import tracemalloc
import zlib
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
import pytest
import tifffile
from icc_profiles import grey_profile, linear, rgb_profile
from PIL import Image, ImageCms
from plate_files import (
    line_work,
    open_plate,
    ramp,
    set_tag,
    write_png,
    write_png_bits,
    write_separated,
    write_tiff,
)
from png_writer import write_png_by_hand

from inkmix.base.errors import PlateError
from inkmix.plates.files import limits
from inkmix.plates.files.tiff import segments
from inkmix.plates.files.tiff.unpack import Unpacker
from inkmix.plates.masks.picture import open_mask
from inkmix.plates.plate import PlateSource
from inkmix.plates.set import open_set
from inkmix.sheet.geometry import Sheet

ROWS, COLS = slice(9, 50), slice(5, 77)


def ink_of(path: Path, **options) -> np.ndarray:
    """A rectangle of the plate's ink amount, read in one go and in parts that must agree."""
    plate = open_plate(path, ink="Soot", **options)
    whole = plate.read(ROWS, COLS)
    parts = [plate.read(slice(row, row + 1), COLS) for row in range(ROWS.start, ROWS.stop)]
    np.testing.assert_array_equal(whole, np.concatenate(parts))
    return whole


STORED = {
    "one plain strip": {},
    "plain strips": {"rowsperstrip": 7},
    "LZW": {"compression": "lzw", "rowsperstrip": 10},
    "deflate": {"compression": "zlib", "rowsperstrip": 10},
    "deflate, differences": {"compression": "zlib", "predictor": True, "rowsperstrip": 10},
    "LZW, differences": {"compression": "lzw", "predictor": True, "rowsperstrip": 10},
    "zstd": {"compression": "zstd", "rowsperstrip": 10},
    "packbits": {"compression": "packbits", "rowsperstrip": 10},
    "tiles": {"tile": (32, 16)},
    "tiles, LZW": {"tile": (16, 32), "compression": "lzw"},
    "BigTIFF": {"bigtiff": True, "compression": "zlib"},
    "big-endian": {"byteorder": ">"},
    "big-endian, differences": {"byteorder": ">", "compression": "zlib", "predictor": True},
}


@pytest.mark.parametrize("segment_px", [limits.MAX_SEGMENT_PX, 1])
@pytest.mark.parametrize("depth", [8, 16])
@pytest.mark.parametrize("how", STORED)
def test_every_way_a_tiff_is_stored_gives_the_same_ink(
    tmp_path, monkeypatch, how, depth, segment_px
):
    """With a limit of one pixel a segment, every file takes the way of one with a huge strip."""
    monkeypatch.setattr(segments, "MAX_SEGMENT_PX", segment_px)
    pixels = ramp() if depth == 8 else ramp().astype(np.uint16) * 257 - ramp() // 2
    path = write_tiff(tmp_path / "a.tif", pixels, **STORED[how])
    top = 255 if depth == 8 else 65535
    np.testing.assert_array_equal(ink_of(path), (top - pixels)[ROWS, COLS])


def test_white_is_zero_means_that_the_number_is_the_ink(tmp_path):
    """TIFF 6.0, section 4, PhotometricInterpretation 0."""
    path = write_tiff(tmp_path / "a.tif", ramp(), photometric="miniswhite")
    np.testing.assert_array_equal(ink_of(path), ramp()[ROWS, COLS])


@pytest.mark.parametrize("photometric", ["minisblack", "miniswhite"])
@pytest.mark.parametrize("compression", [None, "packbits", "zlib"])
def test_one_bit_is_nothing_or_full_ink(tmp_path, photometric, compression):
    path = write_tiff(
        tmp_path / "a.tif",
        line_work(),
        photometric=photometric,
        compression=compression,
        rowsperstrip=9,
    )
    ink = line_work() if photometric == "miniswhite" else ~line_work()
    np.testing.assert_array_equal(ink_of(path), ink[ROWS, COLS] * np.uint8(255))
    assert open_plate(path, ink="Soot").header.screened


@pytest.mark.parametrize("compression", ["g4", "packbits", "lzw", "zip", "none"])
@pytest.mark.parametrize("fill_order", ["msb2lsb", "lsb2msb"])
def test_one_bit_files_of_another_writer(tmp_path, compression, fill_order):
    """libtiff's tiffcp writes G4 and both fill orders."""
    if shutil.which("tiffcp") is None:
        pytest.skip("tiffcp is not installed")
    plain = write_tiff(tmp_path / "a.tif", line_work(), photometric="miniswhite")
    packed = tmp_path / "b.tif"
    command = ["tiffcp", "-c", compression, "-f", fill_order, "-r", "13", plain, packed]
    subprocess.run(command, check=True)
    np.testing.assert_array_equal(ink_of(packed), line_work()[ROWS, COLS] * np.uint8(255))


@pytest.mark.parametrize("mode", ["L", "1"])
def test_pillow_writes_g4_and_lzw_that_read_back(tmp_path, mode):
    picture = Image.fromarray(ramp() if mode == "L" else line_work())
    kind = "tiff_lzw" if mode == "L" else "group4"
    picture.save(tmp_path / "a.tif", compression=kind, dpi=(300, 300))
    light = ramp() if mode == "L" else line_work() * np.uint8(255)
    np.testing.assert_array_equal(ink_of(tmp_path / "a.tif"), 255 - light[ROWS, COLS])
    assert open_plate(tmp_path / "a.tif", ink="Soot").header.ppi == 300


def test_light_is_ink_turns_the_files_own_rule(tmp_path):
    path = write_tiff(tmp_path / "a.tif", ramp())
    np.testing.assert_array_equal(ink_of(path, polarity="light is ink"), ramp()[ROWS, COLS])
    np.testing.assert_array_equal(ink_of(path, polarity="dark is ink"), 255 - ramp()[ROWS, COLS])


def test_unknown_polarity_is_refused(tmp_path):
    path = write_tiff(tmp_path / "a.tif", ramp())
    with pytest.raises(PlateError, match="dark is ink"):
        open_plate(path, ink="Soot", polarity="inverted")


@pytest.mark.parametrize("depth", [8, 16])
def test_png_reads_as_grey(tmp_path, depth):
    pixels = ramp() if depth == 8 else ramp().astype(np.uint16) * 257
    path = write_png(tmp_path / "a.png", pixels)
    top = 255 if depth == 8 else 65535
    np.testing.assert_array_equal(ink_of(path), (top - pixels)[ROWS, COLS])
    assert open_plate(path, ink="Soot").header.ppi == 200


def test_png_of_one_bit(tmp_path):
    path = write_png_bits(tmp_path / "a.png", line_work())
    np.testing.assert_array_equal(ink_of(path), 255 - line_work()[ROWS, COLS] * np.uint8(255))
    assert open_plate(path, ink="Soot").header.screened


@pytest.mark.parametrize("interlaced", [False, True])
@pytest.mark.parametrize("clear", [(), (1,)])
@pytest.mark.parametrize("bits", [2, 4])
def test_png_of_few_bits_reads_as_pillow_has_it(tmp_path, bits, clear, interlaced):
    """Programs pack plates of few tones so; rows end anywhere in a byte."""
    for cols in (1, 3, 4, 13, 32):
        numbers = np.random.default_rng(cols).integers(0, 2**bits, (9, cols, 1))
        numbers[0, 0] = 2**bits - 1
        numbers[numbers == 1] = 0  # nothing is hidden by what is clear
        path = tmp_path / "Soot.png"
        write_png_by_hand(path, numbers, bits=bits, clear=clear, interlaced=interlaced)
        plate = open_plate(path, ink="Soot")
        assert plate.header.bits == 8
        with Image.open(path) as picture:
            grey = np.asarray(picture.convert("L"))
        np.testing.assert_array_equal(plate.read(slice(0, 9), slice(0, cols)), 255 - grey)
        assert grey.max() == 255


def test_large_png_lies_in_a_temporary_file(tmp_path, monkeypatch):
    monkeypatch.setattr("inkmix.plates.files.scratch.room.MAX_IN_MEMORY_BYTES", 1)
    path = write_png(tmp_path / "a.png", ramp())
    np.testing.assert_array_equal(ink_of(path), 255 - ramp()[ROWS, COLS])


@pytest.mark.parametrize(
    ("unit", "value", "ppi"),
    [("INCH", 300, 300), ("CENTIMETER", 118.11, 300), ("CENTIMETER", 78.7, 200), ("NONE", 1, None)],
)
def test_resolution_tags(tmp_path, unit, value, ppi):
    """118.11 and 78.7 per cm are how programs round 300 and 200 ppi."""
    path = write_tiff(tmp_path / "a.tif", ramp(), resolution=(value, value), resolutionunit=unit)
    assert open_plate(path, ink="Soot").header.ppi == ppi


def test_pages_the_first_is_read_and_it_is_said(tmp_path):
    with tifffile.TiffWriter(tmp_path / "a.tif") as file:
        file.write(ramp(), photometric="minisblack", metadata=None)
        file.write(255 - ramp(), photometric="minisblack", metadata=None)
    plate = open_plate(tmp_path / "a.tif", ink="Soot")
    assert plate.header.notes == ("page 1 of 2 is read",)
    np.testing.assert_array_equal(ink_of(tmp_path / "a.tif", page=2), ramp()[ROWS, COLS])
    with pytest.raises(PlateError, match=r"has 2 pages, but page 3 is asked for"):
        open_plate(tmp_path / "a.tif", ink="Soot", page=3)


INKS = ("Soot", "Fjord", "Rowan", "Brass", "Fog")


def inks_of(pixels: np.ndarray) -> np.ndarray:
    """Five planes, all different."""
    return np.stack([np.roll(pixels, 11 * index, axis=1) for index in range(5)])


@pytest.mark.parametrize("planar", [False, True])
@pytest.mark.parametrize("options", [{}, {"compression": "zlib", "rowsperstrip": 8}])
@pytest.mark.parametrize("segment_px", [limits.MAX_SEGMENT_PX, 1])
def test_five_inks_in_one_file_by_name(tmp_path, monkeypatch, planar, options, segment_px):
    """Photometric 5: the number is the ink (TIFF 6.0, section 16)."""
    monkeypatch.setattr(segments, "MAX_SEGMENT_PX", segment_px)
    planes = inks_of(ramp())
    pixels = planes if planar else np.moveaxis(planes, 0, -1)
    config = {"planarconfig": "separate"} if planar else {}
    path = write_separated(tmp_path / "a.tif", pixels, INKS, **config, **options)
    for ink, plane in zip(INKS, planes, strict=True):
        np.testing.assert_array_equal(open_plate(path, ink=ink).read(ROWS, COLS), plane[ROWS, COLS])


def test_separated_tags_agree_with_libtiff(tmp_path):
    """A second reader of the tags: libtiff's tiffinfo, and ours, see the same names."""
    if shutil.which("tiffinfo") is None:
        pytest.skip("tiffinfo is not installed")
    path = write_separated(tmp_path / "a.tif", np.moveaxis(inks_of(ramp()), 0, -1), INKS)
    said = subprocess.run(["tiffinfo", path], capture_output=True, text=True, check=True).stdout
    assert "Photometric Interpretation: separated" in said
    assert "Ink Names: Soot, Fjord, Rowan, Brass, Fog" in said
    assert open_plate(path, ink="Fog").raster.facts.names == INKS


def test_ink_names_match_by_any_unicode_form_and_case(tmp_path):
    names = ("Kra\u0308he", "Fjord", "Rowan", "Brass", "Fog")
    path = write_separated(tmp_path / "a.tif", np.moveaxis(inks_of(ramp()), 0, -1), names)
    assert open_plate(path, ink="KR\u00c4HE").header.channel == 0


def test_ink_name_that_is_not_in_the_file(tmp_path):
    path = write_separated(tmp_path / "a.tif", np.moveaxis(inks_of(ramp()), 0, -1), INKS)
    with pytest.raises(PlateError, match=r"names its channels Soot, .*none of them is Moss"):
        open_plate(path, ink="Moss")


def test_cmyk_needs_a_channel_list(tmp_path):
    pixels = np.moveaxis(inks_of(ramp())[:4], 0, -1)
    path = write_separated(tmp_path / "a.tif", pixels)
    with pytest.raises(PlateError, match="CMYK file of 4 channels without ink names"):
        open_plate(path, ink="Soot")
    plate = open_plate(path, ink="Soot", channel=2)
    np.testing.assert_array_equal(plate.read(ROWS, COLS), pixels[ROWS, COLS, 2])
    assert plate.header.notes == ("channel 3 of 4 is read as Soot",)
    with pytest.raises(PlateError, match="has 4 channels, but channel 5 is asked for Soot"):
        open_plate(path, ink="Soot", channel=4)


def test_channels_without_meaning_follow_their_own_polarity(tmp_path):
    pixels = np.moveaxis(inks_of(ramp()), 0, -1)
    path = write_tiff(tmp_path / "a.tif", pixels, planarconfig="contig")
    with pytest.raises(PlateError, match="5 channels without ink names"):
        open_plate(path, ink="Soot")
    np.testing.assert_array_equal(ink_of(path, channel=3), 255 - pixels[ROWS, COLS, 3])


@pytest.mark.parametrize(("low", "high"), [(255, 0), (10, 210)])
def test_dot_range_says_which_numbers_mean_none_and_full(tmp_path, low, high):
    """TIFF 6.0, section 16, DotRange: the first value is 0 %, the second 100 %."""
    pixels = np.moveaxis(inks_of(ramp())[:4], 0, -1)
    extra = [(336, 3, 2, (low, high), True)]
    path = write_tiff(tmp_path / "a.tif", pixels, photometric="separated", extratags=extra)
    plate = open_plate(path, ink="Soot", channel=0)
    wanted = np.clip(np.rint((pixels[ROWS, COLS, 0] * 1.0 - low) * 255 / (high - low)), 0, 255)
    np.testing.assert_array_equal(plate.read(ROWS, COLS), wanted)
    assert any(f"{low} and {high} stand for 0 % and 100 %" in n for n in plate.header.notes)


@pytest.mark.parametrize("ending", ["tif", "png"])
@pytest.mark.parametrize("depth", [8, 16])
@pytest.mark.parametrize("alpha", [False, True])
def test_rgb_with_equal_channels_is_grey_and_it_is_said(tmp_path, ending, depth, alpha):
    grey = ramp() if depth == 8 else ramp().astype(np.uint16) * 257
    top = 255 if depth == 8 else 65535
    channels = [grey] * 3 + ([np.full_like(grey, top)] if alpha else [])
    pixels = np.stack(channels, axis=-1)
    path = tmp_path / f"a.{ending}"
    if ending == "png":
        write_png(path, pixels)
    else:
        kind = {"extrasamples": ["unassalpha"]} if alpha else {}
        write_tiff(path, pixels, photometric="rgb", **kind)
    np.testing.assert_array_equal(ink_of(path), (top - grey)[ROWS, COLS])
    notes = open_plate(path, ink="Soot").header.notes
    assert "RGB with R = G = B is read as grey" in notes
    assert ("its alpha channel hides nothing and is left out" in notes) == alpha


@pytest.mark.parametrize("kind", ["unassalpha", "assocalpha", "unspecified"])
def test_grey_with_alpha_that_hides_nothing(tmp_path, kind):
    pixels = np.stack([ramp(), np.full_like(ramp(), 255)], axis=-1)
    path = write_tiff(tmp_path / "a.tif", pixels, extrasamples=[kind])
    np.testing.assert_array_equal(ink_of(path), 255 - ramp()[ROWS, COLS])


def test_profile_is_named_and_not_applied(tmp_path):
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    tiff = write_tiff(tmp_path / "a.tif", ramp(), iccprofile=profile)
    Image.fromarray(ramp()).save(tmp_path / "a.png", icc_profile=profile)
    for path in (tiff, tmp_path / "a.png"):
        header = open_plate(path, ink="Soot").header
        assert header.profile is not None
        assert header.profile.startswith("sRGB built-in (")
        np.testing.assert_array_equal(ink_of(path), 255 - ramp()[ROWS, COLS])


def test_unreadable_profile_is_no_reason_to_stop(tmp_path):
    path = write_tiff(tmp_path / "a.tif", ramp(), iccprofile=b"no profile at all" * 20)
    assert open_plate(path, ink="Soot").header.profile.startswith("unreadable profile (")


@pytest.mark.parametrize("profile", [rgb_profile(linear()), grey_profile(linear()), b"none" * 40])
def test_no_profile_changes_a_plate_or_a_mask(tmp_path, profile):
    """For RGB, for grey or damaged: the number in the file is the tone value."""
    iccp = b"sRGB\0\0" + zlib.compress(profile)
    tiff = write_tiff(tmp_path / "a.tif", ramp(), iccprofile=profile)
    for path in (tiff, write_png(tmp_path / "a.png", ramp(), iCCP=iccp)):
        np.testing.assert_array_equal(ink_of(path), 255 - ramp()[ROWS, COLS])
    area = np.where(line_work(), 255, 0).astype(np.uint8)
    mask = write_png(tmp_path / "m.png", area, iCCP=iccp)
    found = open_mask(mask, Sheet(width_px=83, height_px=61, ppi=200))
    assert found.share == line_work().mean()


def test_png_by_the_name_of_tif_is_read_and_it_is_said(tmp_path):
    path = write_png(tmp_path / "a.tif", ramp())
    assert "it is a PNG file, whatever its name says" in open_plate(path, ink="Soot").header.notes


def unpacked_segments(monkeypatch) -> list[int]:
    """A list that grows by the index of each strip or tile when it is unpacked."""
    asked: list[int] = []
    plain = Unpacker.into

    def noting(self, out, packed, index):
        asked.append(index)
        plain(self, out, packed, index)

    monkeypatch.setattr(Unpacker, "into", noting)
    return asked


def test_reading_touches_only_the_strips_that_are_asked_for(tmp_path, monkeypatch):
    path = write_tiff(tmp_path / "a.tif", ramp(), compression="zlib", rowsperstrip=10)
    asked = unpacked_segments(monkeypatch)
    open_plate(path, ink="Soot").read(slice(25, 32), COLS)
    assert asked == [2, 3]


def test_the_inks_of_one_file_share_what_is_unpacked(tmp_path, monkeypatch):
    pixels = np.moveaxis(inks_of(ramp()), 0, -1)
    path = write_separated(tmp_path / "a.tif", pixels, INKS, compression="zlib", rowsperstrip=8)
    asked = unpacked_segments(monkeypatch)
    plates = open_set({ink: PlateSource(path=path) for ink in INKS})
    plates.read(slice(0, 61), slice(0, 83))
    assert sorted(asked) == list(range(8))


def test_threads_read_the_same(tmp_path):
    path = write_tiff(tmp_path / "a.tif", ramp(600, 83), compression="lzw", rowsperstrip=5)
    plate = open_plate(path, ink="Soot")
    with ThreadPoolExecutor(4) as pool:
        rows = [slice(start, start + 23) for start in range(0, 577, 3)]
        found = list(pool.map(lambda part: plate.read(part, slice(0, 83)), rows))
    for part, pixels in zip(rows, found, strict=True):
        np.testing.assert_array_equal(pixels, 255 - ramp(600, 83)[part])


@pytest.mark.parametrize("value", [0, 255])
def test_a_blank_plate_packs_into_next_to_nothing(tmp_path, value):
    """One strip of 20 MB in 20 kB: the packer still holds rows when the file has been read."""
    pixels = np.full((4000, 5000), value, np.uint8)
    path = write_tiff(tmp_path / "a.tif", pixels, compression="zlib", rowsperstrip=4000)
    plate = open_plate(path, ink="Soot")
    assert (plate.read(slice(0, 4000), slice(0, 5000)) == 255 - value).all()


def test_one_huge_strip_is_unpacked_as_a_stream(tmp_path, monkeypatch):
    """A strip of 25 MB: blocks of 1 MB and a few copies of one are held, never the whole."""
    monkeypatch.setattr("inkmix.plates.files.scratch.room.MAX_IN_MEMORY_BYTES", 1)
    pixels = np.tile(ramp(60, 83), (200, 25))
    path = write_tiff(
        tmp_path / "a.tif", pixels, compression="zlib", predictor=True, rowsperstrip=len(pixels)
    )
    plate = open_plate(path, ink="Soot")
    tracemalloc.start()
    found = plate.read(slice(11_900, 12_000), slice(0, 83))
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    np.testing.assert_array_equal(found, 255 - pixels[11_900:, :83])
    assert peak < 0.3 * pixels.nbytes


@pytest.mark.parametrize("segment_px", [limits.MAX_SEGMENT_PX, 1])
@pytest.mark.parametrize("compression", ["lzw", "zlib", "packbits", "zstd", None])
@pytest.mark.parametrize("predictor", [False, True])
def test_a_strip_with_more_rows_than_the_picture(
    tmp_path, monkeypatch, segment_px, compression, predictor
):
    """Some writers fill up the last strip; the picture ends before it."""
    monkeypatch.setattr(segments, "MAX_SEGMENT_PX", segment_px)
    options = {"compression": compression} | ({"predictor": True} if predictor else {})
    if compression in (None, "packbits") and predictor:
        pytest.skip("differences go with other packings")
    path = write_tiff(tmp_path / "a.tif", ramp(), rowsperstrip=20, **options)
    set_tag(path, 257, 52)
    np.testing.assert_array_equal(ink_of(path), 255 - ramp()[ROWS, COLS])


def test_no_input_is_touched(tmp_path):
    path = write_tiff(tmp_path / "a.tif", ramp(), compression="lzw")
    before = (path.read_bytes(), path.stat().st_mtime_ns)
    ink_of(path)
    assert (path.read_bytes(), path.stat().st_mtime_ns) == before
    assert [entry.name for entry in tmp_path.iterdir()] == ["a.tif"]


def test_orientation_one_is_fine(tmp_path):
    path = write_tiff(tmp_path / "a.tif", ramp(), extratags=[(274, 3, 1, 1, True)])
    set_tag(path, 274, 1)
    np.testing.assert_array_equal(ink_of(path), 255 - ramp()[ROWS, COLS])
