"""Reference pictures: what fits is read by windows; what does not is refused with its reason."""

import contextlib
import io
import os
import re
import struct
import subprocess
import sys
import zlib
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
import pytest
import tifffile
from icc_profiles import (
    P3,
    SRGB,
    SRGB_CURVE,
    gamma,
    grey_profile,
    linear,
    real,
    rgb_profile,
    table,
    with_device_class,
    with_table,
)
from PIL import Image, ImageCms
from plate_files import write_png
from png_writer import write_png_by_hand
from skimage import data

from inkmix.base.errors import PictureError, PlateError
from inkmix.plates.files.png.colour import colour_chunks
from inkmix.plates.reference import rows as reference_pieces
from inkmix.plates.reference.picture import Reference, open_reference
from inkmix.sheet.geometry import Sheet

SHEET = Sheet(width_px=200, height_px=120, ppi=200, bleed_mm=2.0)
ASSUMED = "the reference picture has no profile and is taken as sRGB"


def picture(rows: int = 60, cols: int = 100) -> Image.Image:
    return Image.fromarray(data.astronaut()).resize((cols, rows))


def whole(found: Reference) -> np.ndarray:
    return found.read(slice(0, found.height_px), slice(0, found.width_px))


def refused(path: Path, *words: str) -> None:
    with pytest.raises(PictureError) as caught:
        whole(open_reference(path, SHEET))
    text = str(caught.value)
    assert path.name in text
    for word in words:
        assert re.search(word, text), f"{word!r} is not in: {text}"
    assert caught.value.exit_code == 3


@pytest.mark.parametrize(
    ("size", "covers"), [((480, 800), "sheet"), ((177, 337), "trim"), ((120, 200), "sheet")]
)
def test_reference_of_sheet_or_trim(tmp_path, size, covers):
    """The sheet is 200 × 120 px with bleed, 168.5 × 88.5 trimmed."""
    picture(*size).save(tmp_path / "r.png")
    found = open_reference(tmp_path / "r.png", SHEET)
    assert found.covers == covers
    assert (found.height_px, found.width_px) == size
    assert found.notes == (ASSUMED,)


def test_windows_are_parts_of_the_whole(tmp_path, monkeypatch):
    monkeypatch.setattr("inkmix.plates.reference.picture._PIECE_PX", 777)
    for name in ("r.png", "r.tif", "r.jpg"):
        picture(480, 800).save(tmp_path / name)
        found = open_reference(tmp_path / name, SHEET)
        expected = np.asarray(Image.open(tmp_path / name))
        np.testing.assert_array_equal(whole(found), expected)
        part = slice(13, 200), slice(77, 500)
        np.testing.assert_array_equal(found.read(*part), expected[part])


@pytest.mark.parametrize("name", ["r.png", "r.tif", "r.jpg"])
def test_threads_read_the_same(tmp_path, name):
    image, icc = picture(480, 800), rgb_profile(gamma(2.2))
    image.save(tmp_path / name, icc_profile=icc)
    expected = whole(open_reference(tmp_path / name, SHEET))
    found = open_reference(tmp_path / name, SHEET)
    spans = [slice(top, top + 40) for top in (80, 0, 440, 40, 120, 400, 240)] * 3
    with ThreadPoolExecutor(3) as pool:
        parts = list(pool.map(lambda rows: found.read(rows, slice(5, 795)), spans))
    for rows, part in zip(spans, parts, strict=True):
        np.testing.assert_array_equal(part, expected[rows, 5:795])


@pytest.mark.parametrize("size", [(512, 512), (480, 760)])
def test_reference_of_other_proportions(tmp_path, size):
    picture(*size).save(tmp_path / "r.png")
    refused(
        tmp_path / "r.png",
        f"is {size[1]} × {size[0]} px, width to height {size[1] / size[0]:.3f}",
        "the sheet has 1.667 with bleed and 1.904 trimmed",
        "neither cropped nor stretched",
    )


def by_library(image: Image.Image, icc: bytes) -> np.ndarray:
    """The picture brought to sRGB by the picture library."""
    opened = ImageCms.ImageCmsProfile(io.BytesIO(icc))
    done = ImageCms.profileToProfile(
        image, opened, ImageCms.createProfile("sRGB"), outputMode="RGB"
    )
    return np.asarray(done)


TAKEN_FOR_SRGB = {
    "IEC 61966-2.1, 1024 entries, as most programs have it": real("astronaut.png"),
    "parametric": rgb_profile(SRGB_CURVE, version=4),
    "parametric, by another name": rgb_profile(SRGB_CURVE, name="screen", version=4),
    "table of 1024": rgb_profile(table(1024)),
    "compact table of 42": rgb_profile(table(42), name="c2"),
    "compact table of 26": rgb_profile(table(26), name="tiny"),
}


@pytest.mark.parametrize("name", TAKEN_FOR_SRGB)
def test_what_holds_srgb_is_taken_for_it(tmp_path, name):
    """Names differ, content counts: nothing is converted and nothing is said."""
    picture().save(tmp_path / "r.png", icc_profile=TAKEN_FOR_SRGB[name])
    found = open_reference(tmp_path / "r.png", SHEET)
    assert found.notes == ()
    np.testing.assert_array_equal(whole(found), np.asarray(picture()))


OTHERS = {
    "linear": rgb_profile(linear()),
    "gamma 2.2": rgb_profile(gamma(2.2)),
    "P3": rgb_profile(SRGB_CURVE, P3),
    "colorants swapped": rgb_profile(SRGB_CURVE, SRGB[::-1]),
    "Adobe RGB, real": real("rocket.jpg"),
    "a laptop's screen, real": real("color.png"),
}


@pytest.mark.parametrize("ending", ["png", "tif"])
@pytest.mark.parametrize("name", OTHERS)
def test_a_profile_is_used_and_said_whatever_it_is_called(tmp_path, name, ending):
    path = tmp_path / f"r.{ending}"
    picture().save(path, icc_profile=OTHERS[name])
    found = open_reference(path, SHEET)
    (note,) = found.notes
    assert re.fullmatch("converted from .* to sRGB", note)
    np.testing.assert_array_equal(whole(found), by_library(picture(), OTHERS[name]))


def test_a_profile_with_a_table_is_never_taken_for_srgb(tmp_path):
    """A table may do anything between the colours that are tried (ICC.1, 9.2: A2B0)."""
    icc = with_table(rgb_profile(SRGB_CURVE))
    picture().save(tmp_path / "r.png", icc_profile=icc)
    (note,) = open_reference(tmp_path / "r.png", SHEET).notes
    assert note == "converted from sRGB to sRGB"


def test_not_even_a_table_that_moves_no_colour_that_is_tried(tmp_path):
    """One that says what the colorants and curve beside it say: nothing in sight tells of it."""
    icc = with_table(rgb_profile(SRGB_CURVE, version=4), is_exact=True)
    np.testing.assert_allclose(by_library(picture(), icc), np.asarray(picture()), atol=1)
    picture().save(tmp_path / "r.png", icc_profile=icc)
    (note,) = open_reference(tmp_path / "r.png", SHEET).notes
    assert note == "converted from sRGB to sRGB"


def test_grey_60_of_a_linear_profile_called_srgb(tmp_path):
    """60 of 255 in linear light is L* 55.6, hence 133 in sRGB; unconverted it would be L* 24."""
    Image.new("RGB", (100, 60), (60,) * 3).save(
        tmp_path / "r.png", icc_profile=rgb_profile(linear())
    )
    linear_light = 60 / 255
    expected = 255 * (1.055 * linear_light ** (1 / 2.4) - 0.055)
    found = whole(open_reference(tmp_path / "r.png", None))
    assert np.abs(found - expected).max() <= 1


@pytest.mark.parametrize("mode", ["L", "LA", "1"])
def test_grey_with_a_grey_profile(tmp_path, mode):
    image = half_clear("LA") if mode == "LA" else picture().convert(mode)
    flat = Image.fromarray(over_white(image)).getchannel(0) if mode == "LA" else image.convert("L")
    for icc, is_same in ((grey_profile(table(1024)), True), (real("page.png"), False)):
        image.save(tmp_path / "r.png", icc_profile=icc)
        found = open_reference(tmp_path / "r.png", SHEET)
        assert ("converted from Dot Gain 20% to sRGB" in found.notes) == (not is_same)
        assert ASSUMED not in found.notes
        expected = np.asarray(flat.convert("RGB")) if is_same else by_library(flat, icc)
        np.testing.assert_array_equal(whole(found), expected)


@pytest.mark.parametrize("ending", ["png", "tif", "jpg"])
@pytest.mark.parametrize("icc", [real("astronaut.png"), rgb_profile(linear())])
def test_grey_with_a_profile_for_rgb_goes_by_it(tmp_path, ending, icc):
    image, path = picture().convert("L"), tmp_path / f"r.{ending}"
    image.save(path, icc_profile=icc, quality=100)
    stored = Image.open(path).convert("RGB")
    found = open_reference(path, SHEET)
    assert re.fullmatch(r"its greys are read as R = G = B, as its profile \(sRGB.*\) is for RGB",
                        found.notes[0])  # fmt: skip
    assert np.abs(whole(found).astype(int) - by_library(stored, icc)).max() <= 1
    assert len(open_reference(path, None).notes) == len(found.notes)


SPOILED = {
    "damaged": (b"no profile at all" * 20, "damaged or not for pictures"),
    "empty": (b"", "damaged or not for pictures"),
    "for grey": (grey_profile(linear()), r"for grey \(grey\)"),
    "cut off": (real("astronaut.png")[:300], "damaged or not for pictures"),
    "of two devices": (with_device_class(rgb_profile(linear()), b"link"), "not for pictures"),
    "of letters that are none": (real("astronaut.png").replace(b"RGB ", b"\x8dGB ", 1), "damaged"),
}


@pytest.mark.parametrize("ending", ["png", "tif"])
@pytest.mark.parametrize("name", SPOILED)
def test_a_fine_picture_with_an_unusable_profile(tmp_path, name, ending):
    """A reference goes on without it and says so; where colours are asked for it is refused."""
    icc, words = SPOILED[name]
    path = tmp_path / f"r.{ending}"
    if ending == "tif":
        picture().save(path, tiffinfo={34675: icc or b"\0"})
    else:
        write_png(path, np.asarray(picture()), iCCP=b"sRGB\0\0" + zlib.compress(icc))
    found = open_reference(path, SHEET)
    np.testing.assert_array_equal(whole(found), np.asarray(picture()))
    (note,) = found.notes
    assert re.fullmatch(
        f"the reference picture is RGB with a profile .*{words}.*, which is not used: "
        "it is taken as sRGB", note
    )  # fmt: skip
    with pytest.raises(PictureError, match=f"is RGB with a profile .*{words}.*, but its colours"):
        open_reference(path, None)


def test_cmyk_with_an_unusable_profile(tmp_path):
    for icc, words in ((rgb_profile(linear()), "a profile for RGB"), (b"none" * 50, "damaged")):
        picture().convert("CMYK").save(tmp_path / "r.tif", icc_profile=icc)
        refused(tmp_path / "r.tif", f"is CMYK with .*{words}", "export it as sRGB PNG")


def chunk_of_gamma(value: float) -> bytes:
    return round(value * 100_000).to_bytes(4)


def plain_gamma(exponent: float) -> bytes:
    """ICC.1:2022, 10.18, function type 0."""
    return b"para" + struct.pack(">IHHi", 0, 0, 0, round(exponent * 65536))


def chunk_of_primaries(*xy: float) -> bytes:
    return b"".join(chunk_of_gamma(value) for value in xy)


SRGB_XY = (0.3127, 0.3290, 0.64, 0.33, 0.30, 0.60, 0.15, 0.06)
P3_XY = (0.3127, 0.3290, 0.680, 0.320, 0.265, 0.690, 0.150, 0.060)
LINEAR_ICC = b"sRGB\0\0" + zlib.compress(rgb_profile(linear()))
#: Chunks of a PNG, and the profile that says the same (None: sRGB); by PNG, third edition, 4.3.
CODED = {
    "usual gamma": ({"gAMA": chunk_of_gamma(0.45455)}, None),
    "usual gamma and primaries": (
        {"gAMA": chunk_of_gamma(0.45455), "cHRM": chunk_of_primaries(*SRGB_XY)},
        None,
    ),
    "gamma a little below": (
        {"gAMA": chunk_of_gamma(0.44)},
        rgb_profile(plain_gamma(1 / 0.44), version=4),
    ),
    "gamma a little above": (
        {"gAMA": chunk_of_gamma(0.47)},
        rgb_profile(plain_gamma(1 / 0.47), version=4),
    ),
    "linear": ({"gAMA": chunk_of_gamma(1.0)}, rgb_profile(linear())),
    "gamma 1.8": ({"gAMA": chunk_of_gamma(1 / 1.8)}, rgb_profile(gamma(1.8))),
    "primaries": ({"cHRM": chunk_of_primaries(*P3_XY)}, rgb_profile(SRGB_CURVE, P3)),
    "sRGB before gamma": ({"gAMA": chunk_of_gamma(1.0), "sRGB": b"\0"}, None),
    "profile before sRGB": ({"sRGB": b"\0", "iCCP": LINEAR_ICC}, rgb_profile(linear())),
    "code before profile": ({"iCCP": LINEAR_ICC, "cICP": bytes((1, 13, 0, 1))}, None),
    "code of P3": ({"cICP": bytes((12, 13, 0, 1))}, rgb_profile(SRGB_CURVE, P3)),
    "code of linear": ({"cICP": bytes((1, 8, 0, 1))}, rgb_profile(linear())),
}


@pytest.mark.parametrize("name", CODED)
def test_what_a_png_says_of_its_colours(tmp_path, name):
    chunks, icc = CODED[name]
    path = write_png(tmp_path / "r.png", np.asarray(picture()), **chunks)
    found = open_reference(path, SHEET)
    converted = any(note.startswith("converted from ") for note in found.notes)
    assert converted == (icc is not None)
    assert (ASSUMED in found.notes) == name.startswith("usual")
    expected = np.asarray(picture()) if icc is None else by_library(picture(), icc)
    # Published colorants are rounded to four digits, which linear light shows in the darks.
    assert np.abs(whole(found).astype(int) - expected).max() <= 3


@pytest.mark.parametrize(
    ("code", "words"),
    [
        ((9, 16, 0, 1), "for HDR screens"),
        ((3, 13, 0, 1), "not read"),  # ITU-T H.273, table 2: reserved
        ((1, 7, 0, 1), "not read"),  # table 3: SMPTE ST 240, which no picture is coded in
        ((1, 13, 1, 1), "not read"),  # Y'CbCr, which no PNG holds
        ((1, 13, 0, 0), "not read"),  # 16 to 235, as video has it
        ((1, 13, 0), "damaged"),
    ],
)
def test_codes_of_colours_that_are_not_read(tmp_path, code, words):
    path = write_png(tmp_path / "r.png", np.asarray(picture()), cICP=bytes(code))
    refused(path, words, "cICP", "export it as sRGB PNG")


@pytest.mark.parametrize(
    ("damage", "words"),
    [
        (lambda data: data.replace(b"gAMA", b"gAMB"), "a check sum is wrong"),
        (lambda data: data[: data.index(b"gAMA") + 6], "it ends early"),
        (lambda data: data.replace(b"\0\0\0\4gAMA", b"\xff\0\0\4gAMA"), "it ends early"),
    ],
    ids=["sum", "cut", "length"],
)
def test_a_damaged_part_about_colour_is_not_passed_over(tmp_path, damage, words):
    path = write_png(tmp_path / "r.png", np.asarray(picture()), gAMA=chunk_of_gamma(0.45455))
    path.write_bytes(damage(path.read_bytes()))
    with pytest.raises(PlateError, match=words):
        colour_chunks(path)


def test_pixels_are_not_read_for_what_stands_before_them(tmp_path):
    path = write_png(tmp_path / "r.png", np.asarray(picture()), gAMA=chunk_of_gamma(0.45455))
    data = path.read_bytes()
    path.write_bytes(data[: data.index(b"IDAT") + 4])
    assert colour_chunks(path) == {b"gAMA": chunk_of_gamma(0.45455)}


@pytest.mark.parametrize(
    "chunks", [{"gAMA": bytes(4)}, {"cHRM": bytes(32)}, {"cHRM": b"\xff" * 32}]
)
def test_gamma_and_primaries_without_meaning(tmp_path, chunks):
    path = write_png(tmp_path / "r.png", np.asarray(picture()), **chunks)
    found = open_reference(path, SHEET)
    assert found.notes == (ASSUMED,)
    np.testing.assert_array_equal(whole(found), np.asarray(picture()))


def over_white(image: Image.Image) -> np.ndarray:
    white = Image.new("RGBA", image.size, "white")
    white.alpha_composite(image.convert("RGBA"))
    return np.asarray(white.convert("RGB"))


def half_clear(mode: str) -> Image.Image:
    image = picture().convert(mode)
    image.putalpha(Image.fromarray(np.tile(np.arange(100, dtype=np.uint8) * 2, (60, 1))))
    return image


@pytest.mark.parametrize("name", ["r.png", "r.tif"])
@pytest.mark.parametrize("mode", ["RGBA", "LA"])
def test_transparent_parts_are_shown_on_white(tmp_path, name, mode):
    image = half_clear(mode)
    image.save(tmp_path / name)
    found = open_reference(tmp_path / name, SHEET)
    assert found.notes == ("transparent parts shown on white", ASSUMED)
    np.testing.assert_array_equal(whole(found), over_white(image))
    assert isinstance(found.pieces, reference_pieces.RowPieces)


def test_colours_that_alpha_is_in_already(tmp_path):
    """Associated alpha, TIFF 6.0, section 18: the colour over white is colour + 1 - alpha."""
    image = np.asarray(half_clear("RGBA")).astype(np.int64)
    image[..., :3] = image[..., :3] * image[..., 3:] // 255
    tifffile.imwrite(tmp_path / "r.tif", image.astype(np.uint8), extrasamples=["assocalpha"])
    expected = image[..., :3] + 255 - image[..., 3:]
    found = whole(open_reference(tmp_path / "r.tif", SHEET)).astype(np.int64)
    assert np.abs(found - expected).max() <= 1  # the library divides by alpha, and back


@pytest.mark.parametrize("name", ["r.png", "r.tif"])
@pytest.mark.parametrize("mode", ["L", "1", "P"])
def test_grey_line_and_palette(tmp_path, name, mode):
    image = picture().convert(mode)
    image.save(tmp_path / name)
    found = open_reference(tmp_path / name, SHEET)
    np.testing.assert_array_equal(whole(found), np.asarray(image.convert("RGB")))
    assert found.notes == (ASSUMED,)


@pytest.mark.parametrize("deep", [False, True])
def test_grey_with_dark_as_the_high_number(tmp_path, deep):
    grey = np.asarray(picture().convert("L"))
    numbers = 65535 - grey.astype(np.uint16) * 257 if deep else 255 - grey
    tifffile.imwrite(tmp_path / "r.tif", numbers, photometric="miniswhite")
    found = open_reference(tmp_path / "r.tif", SHEET)
    np.testing.assert_array_equal(whole(found), np.repeat(grey[..., None], 3, axis=2))


def test_one_clear_colour_of_a_png(tmp_path):
    image = picture().quantize(16).convert("RGB")
    corner = image.getpixel((0, 0))
    image.save(tmp_path / "r.png", transparency=corner)
    found = whole(open_reference(tmp_path / "r.png", SHEET))
    clear = (np.asarray(image) == corner).all(axis=-1)
    assert (found[clear] == 255).all()
    np.testing.assert_array_equal(found[~clear], np.asarray(image)[~clear])


def test_sixteen_bits_are_reduced_to_eight(tmp_path):
    deep = np.asarray(picture()).astype(np.uint16) * 256 + 77
    tifffile.imwrite(tmp_path / "r.tif", deep, photometric="rgb")
    np.testing.assert_array_equal(whole(open_reference(tmp_path / "r.tif", SHEET)), deep >> 8)
    Image.fromarray(deep[..., 1]).save(tmp_path / "r.png")
    found = open_reference(tmp_path / "r.png", SHEET)
    assert found.notes == ("16 bits reduced to 8", ASSUMED)
    np.testing.assert_array_equal(whole(found)[..., 2], deep[..., 1] >> 8)


def test_reference_in_cmyk_without_profile(tmp_path):
    picture().convert("CMYK").save(tmp_path / "r.tif")
    refused(tmp_path / "r.tif", "CMYK without a profile", "export it as sRGB PNG")


@pytest.mark.parametrize("name", ["r.png", "r.jpg"])
@pytest.mark.parametrize("code", [3, 6])
def test_the_orientation_tag_is_followed(tmp_path, name, code):
    exif = Image.Exif()
    exif[274] = code
    upright = picture()
    stored = upright.transpose(
        Image.Transpose.ROTATE_180 if code == 3 else Image.Transpose.ROTATE_90
    )
    stored.save(tmp_path / name, exif=exif, quality=100, subsampling=0)
    found = open_reference(tmp_path / name, SHEET)
    assert ("turned as its orientation tag says" in found.notes) == (code == 6)
    difference = whole(found).astype(int) - np.asarray(upright)
    assert np.abs(difference).max() <= (0 if name == "r.png" else 12)


def test_turned_grey_of_16_bits_where_0_is_white_is_not_turned_to_its_negative(tmp_path):
    light = np.full((40, 60), 60_000, np.uint16)
    light[:10, :20] = 100
    upside_down = (~light[::-1, ::-1]).tobytes()
    tags = {"photometric": "miniswhite", "extratags": [(274, "H", 1, 3, True)]}
    numbers = np.frombuffer(upside_down, np.uint16).reshape(light.shape)
    tifffile.imwrite(tmp_path / "r.tif", numbers, metadata=None, **tags)

    found = open_reference(tmp_path / "r.tif", None)

    grey8 = found.read(slice(0, 40), slice(0, 60))[..., 0]
    assert np.array_equal(grey8, light >> 8)


def test_an_orientation_tag_behind_the_pixels_of_a_png(tmp_path):
    exif = Image.Exif()
    exif[274] = 6
    picture(100, 60).save(tmp_path / "r.png", exif=exif)
    chunks = (tmp_path / "r.png").read_bytes()
    start = chunks.index(b"eXIf") - 4
    stop = start + 12 + int.from_bytes(chunks[start : start + 4])
    moved = chunks[:start] + chunks[stop:-12] + chunks[start:stop] + chunks[-12:]
    (tmp_path / "r.png").write_bytes(moved)
    found = open_reference(tmp_path / "r.png", SHEET)
    assert (found.width_px, found.height_px) == (100, 60)


@pytest.mark.parametrize("content", [None, b"", b"%PDF-1.4", b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR"])
def test_unreadable_references(tmp_path, content):
    if content is not None:
        (tmp_path / "r.png").write_bytes(content)
    refused(tmp_path / "r.png", "does not exist|cannot be read|is damaged: it ends early")


@pytest.mark.parametrize("ending", ["png", "tif", "jpg"])
def test_truncated_reference(tmp_path, ending):
    picture(480, 800).save(tmp_path / f"whole.{ending}")
    content = (tmp_path / f"whole.{ending}").read_bytes()
    (tmp_path / f"r.{ending}").write_bytes(content[: len(content) // 2])
    refused(tmp_path / f"r.{ending}", "cannot be read as a picture|is damaged|is cut off")


def test_a_large_jpeg_is_read_reduced(tmp_path, monkeypatch):
    """Reduced by leaving out fine waves; within 2.5 of the mean of encoded numbers, mostly."""
    picture(480, 800).save(tmp_path / "r.jpg", quality=95, subsampling=0)
    expected = np.asarray(Image.open(tmp_path / "r.jpg")).astype(np.float64)
    monkeypatch.setattr(reference_pieces, "MAX_HELD_BYTES", 4 * 480 * 800 // 4)
    found = open_reference(tmp_path / "r.jpg", SHEET)
    assert (found.width_px, found.height_px) == (400, 240)
    assert found.notes[0] == "the reference picture was read at half of its size"
    mean = expected.reshape(240, 2, 400, 2, 3).mean(axis=(1, 3))
    assert np.percentile(np.abs(whole(found) - mean), 95) < 2.5


@pytest.mark.parametrize("kind", ["palette.png", "progressive.jpg"])
def test_what_would_have_to_be_held_whole_has_a_limit(tmp_path, monkeypatch, kind):
    image = picture().convert("P") if "palette" in kind else picture()
    image.save(tmp_path / kind, progressive=True)
    monkeypatch.setattr(reference_pieces, "MAX_HELD_BYTES", 5999)
    refused(
        tmp_path / kind,
        "is 100 × 60 px, but a \\w+ picture of its kind must be held whole",
        "RGB PNG",
    )


@pytest.mark.parametrize("kind", ["RGB", "P"])
def test_a_large_damaged_file_is_told_from_a_large_one(tmp_path, monkeypatch, kind):
    picture(480, 800).convert(kind).save(tmp_path / "whole.tif")
    content = (tmp_path / "whole.tif").read_bytes()
    end = len(content) // 2 if kind == "RGB" else None
    (tmp_path / "r.tif").write_bytes(content[:end])
    monkeypatch.setattr(reference_pieces, "MAX_HELD_BYTES", 5999)
    refused(tmp_path / "r.tif", "is cut off|is damaged" if kind == "RGB" else "must be held whole")


MEMORY = """
import re, sys
from pathlib import Path
from inkmix.plates.reference.picture import open_reference
from inkmix.sheet.geometry import Sheet
found = open_reference(sys.argv[1], Sheet(width_px=10000, height_px=6000, ppi=600))
total = 0
for row in range(0, 6000, 200):
    total += int(found.read(slice(row, row + 200), slice(0, 10000))[::50, ::50].sum())
peak = re.search(r"VmHWM:\\s+(\\d+)", Path("/proc/self/status").read_text()).group(1)
print(total, int(peak) // 1024)
"""


@pytest.mark.long
@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="says the peak of memory")
@pytest.mark.parametrize("ending", ["png", "tif"])
def test_sixty_million_pixels_in_little_memory(tmp_path, ending):
    """They would take 240 MB in the picture library; 45 MB of what is taken are libraries."""
    band = np.asarray(picture(200, 10000))
    pixels = np.tile(band, (30, 1, 1))
    path = tmp_path / f"r.{ending}"
    if ending == "png":
        Image.fromarray(pixels).save(path, compress_level=1)
    else:
        tifffile.imwrite(path, pixels, photometric="rgb", rowsperstrip=64, compression="zlib")
    done = subprocess.run(
        [sys.executable, "-c", MEMORY, str(path)], capture_output=True, text=True, check=True
    )
    total, peak_mib = map(int, done.stdout.split())
    assert total == int(band[::50, ::50].sum()) * 30
    assert peak_mib < 200


def test_no_warning_of_a_library_is_heard(tmp_path, capfd):
    """Warnings are errors here; of an interlaced picture, and of Exif that is none."""
    image = picture()
    path = write_png_by_hand(tmp_path / "r.png", np.asarray(image), interlaced=True)
    np.testing.assert_array_equal(whole(open_reference(path, SHEET)), np.asarray(image))
    image.save(tmp_path / "r.jpg", exif=b"Exif\0\0II*\0\x08\0\0\0\x05\0")
    whole(open_reference(tmp_path / "r.jpg", SHEET))
    assert capfd.readouterr().err == ""


@pytest.mark.skipif(os.name != "posix", reason="the library is asked as it is on POSIX")
def test_no_word_of_the_tiff_library_reaches_the_terminal(tmp_path, capfd):
    """It writes what it finds damaged to stderr by itself."""
    path = tmp_path / "picture.tif"
    pixels = np.random.default_rng(2).integers(0, 255, (40, 30, 3), dtype=np.uint8)
    Image.fromarray(pixels).convert("P").save(path, compression="tiff_adobe_deflate")
    with tifffile.TiffFile(path) as file:
        tags = file.pages[0].tags
        last = tags[273].value[0] + tags[279].value[0] - 1
    content = bytearray(path.read_bytes())
    content[last] ^= 255  # of the check sum of a strip
    path.write_bytes(bytes(content))
    with contextlib.suppress(PictureError):
        open_reference(path, None)
    assert capfd.readouterr().err == ""
