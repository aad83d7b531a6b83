"""Pictures that are written: profile, resolution, every pixel, by other readers; whole or not."""

import io
import os
import shutil
import stat
import struct
import subprocess
import tempfile
import tracemalloc
import warnings
import zlib
from pathlib import Path

import imagecodecs
import numpy as np
import pytest
import tifffile
from PIL import Image, ImageCms
from skimage import data

from inkmix.base.errors import OutputError
from inkmix.base.ordered_threads import each_in_order
from inkmix.export import tiff_stream
from inkmix.export.picture import (
    PictureShape,
    grey_writer,
    picture_writer,
    srgb_profile,
    write_picture,
)
from inkmix.export.srgb_profile import _BRADFORD_D65_TO_D50

PICTURE = np.ascontiguousarray(data.astronaut()[:201, :303])
ENDINGS = ("png", "tif")


def all_colours() -> Image.Image:
    """Every third value of each channel: 636,056 colours."""
    steps = np.arange(0, 256, 3, dtype=np.uint8)
    grid = np.stack(np.meshgrid(steps, steps, steps, indexing="ij"), axis=-1)
    return Image.fromarray(grid.reshape(86 * 86, 86, 3))


@pytest.mark.parametrize("there", [True, False])
def test_profile_equals_another_srgb_to_one_step(there):
    """LittleCMS' own sRGB is the referee; one step of 255 from rounding in the transform."""
    own = ImageCms.ImageCmsProfile(io.BytesIO(srgb_profile()))
    other = ImageCms.createProfile("sRGB")
    source, target = (own, other) if there else (other, own)
    picture = all_colours()
    found = ImageCms.profileToProfile(picture, source, target)
    difference = np.array(found).astype(int) - np.array(picture)
    assert np.abs(difference).max() <= 1


def test_profile_gives_the_same_lab_as_another_srgb():
    own = ImageCms.ImageCmsProfile(io.BytesIO(srgb_profile()))
    lab = ImageCms.createProfile("LAB")
    pictures = [
        np.array(ImageCms.profileToProfile(all_colours(), source, lab, outputMode="LAB")).astype(
            np.int16
        )
        for source in (own, ImageCms.createProfile("sRGB"))
    ]
    wrapped = (pictures[0] - pictures[1] + 128) % 256 - 128  # a and b are signed bytes
    assert np.abs(wrapped).max() <= 1


def test_profile_is_sound():
    """ICC.1:2010: size in the header, signature, name; ID over the zeroed header (7.2.18)."""
    data_bytes = srgb_profile()
    assert int.from_bytes(data_bytes[:4]) == len(data_bytes)
    assert data_bytes[36:40] == b"acsp"
    profile = ImageCms.ImageCmsProfile(io.BytesIO(data_bytes))
    assert ImageCms.getProfileDescription(profile).strip() == "sRGB (IEC 61966-2-1)"
    assert profile.profile.xcolor_space == "RGB "


def test_adaptation_in_the_profile_agrees_with_colour_science():
    """Bradford from D65 to D50; a step of the 16-bit fraction in the profile is 1.5e-5."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # it misses plotting libraries aloud
        import colour
    d65 = colour.xy_to_XYZ((0.31270, 0.32900))
    d50 = np.array([0.96422, 1.0, 0.82521])
    matrix = colour.adaptation.matrix_chromatic_adaptation_VonKries(d65, d50, transform="Bradford")
    np.testing.assert_allclose(_BRADFORD_D65_TO_D50, matrix, atol=1.5e-5)


def test_profile_primaries_are_those_of_the_standard():
    """Colorants of sRGB at D50 as ICC lists them: red 0.4361 0.2225 0.0139 (from memory)."""
    text = srgb_profile()
    place = text.index(b"XYZ \0\0\0\0", text.index(b"XYZ \0\0\0\0") + 1)
    red = np.frombuffer(text[place + 8 : place + 20], ">i4") / 65536
    np.testing.assert_allclose(red, (0.4361, 0.2225, 0.0139), atol=1e-4)


def shape(rows: int, cols: int = 303) -> PictureShape:
    return PictureShape(width_px=303, height_px=201, block_rows=rows, block_cols=cols)


def blocks(rows: int, cols: int = 303):
    for row in range(0, 201, rows):
        for col in range(0, 303, cols):
            yield row, col, PICTURE[row : row + rows, col : col + cols]


@pytest.mark.parametrize("ending", ENDINGS)
@pytest.mark.parametrize("block", [(1,), (7,), (64,), (201,), (64, 96), (16, 16), (208, 160)])
def test_pixels_profile_and_resolution_come_back(tmp_path, ending, block):
    path = tmp_path / f"print.{ending}"
    with picture_writer(path, shape(*block), ppi=240) as writer:
        for row, col, part in blocks(*block):
            writer.append(writer.pack(part, row=row, col=col))
    with Image.open(path) as picture:
        np.testing.assert_array_equal(np.array(picture), PICTURE)
        assert picture.info["icc_profile"] == srgb_profile()
        assert picture.info["dpi"] == pytest.approx((240, 240), abs=0.02)
    assert [entry.name for entry in tmp_path.iterdir()] == [path.name]


@pytest.mark.parametrize("rows", [7, 64, 201])
def test_what_a_png_packs_is_sound_to_its_check_sum(tmp_path, rows):
    """Readers of PNG may pass over the check sum of the packed bytes; zlib does not."""
    with picture_writer(tmp_path / "a.png", shape(rows), ppi=240) as writer:
        for row, col, part in blocks(rows):
            writer.append(writer.pack(part, row=row, col=col))
    data, at, packed = (tmp_path / "a.png").read_bytes(), 8, b""
    while at < len(data):
        length, kind = struct.unpack(">I4s", data[at : at + 8])
        packed += data[at + 8 : at + 8 + length] if kind == b"IDAT" else b""
        at += 12 + length
    height, width, _ = PICTURE.shape
    assert len(zlib.decompress(packed)) == height * (1 + 3 * width)


def test_second_readers_of_the_tiff(tmp_path):
    write_picture(tmp_path / "a.tif", PICTURE, ppi=118.11)
    with tifffile.TiffFile(tmp_path / "a.tif") as file:
        np.testing.assert_array_equal(file.asarray(), PICTURE)
        tags = file.pages[0].tags
        assert tags["XResolution"].value == tags["YResolution"].value == (11811, 100)
        assert tags["ResolutionUnit"].value == 2  # inch (TIFF 6.0, section 8)
        assert tags["InterColorProfile"].value == srgb_profile()
    if shutil.which("tiffinfo") is None:
        pytest.skip("tiffinfo is not installed")
    said = subprocess.run(
        ["tiffinfo", "-D", tmp_path / "a.tif"], capture_output=True, text=True, check=True
    )
    assert "Resolution: 118.11, 118.11 pixels/inch" in said.stdout
    assert "ICC Profile: <present>" in said.stdout
    assert "arning" not in said.stderr


def test_bigtiff_above_four_gigabytes(tmp_path, monkeypatch):
    monkeypatch.setattr(tiff_stream, "_CLASSIC_BYTES", 1000)
    write_picture(tmp_path / "a.tif", PICTURE, ppi=200)
    with tifffile.TiffFile(tmp_path / "a.tif") as file:
        assert file.is_bigtiff
        np.testing.assert_array_equal(file.asarray(), PICTURE)


@pytest.mark.parametrize("is_png", [True, False])
@pytest.mark.parametrize("bits", [8, 16])
@pytest.mark.parametrize("block", [(7, 303), (64, 96)])
def test_grey_pictures_of_eight_and_sixteen_bits(is_png, bits, block):
    numbers = PICTURE[..., 0].astype(np.uint16) * 257 + 5 if bits == 16 else PICTURE[..., 0]
    rows, cols = block
    size = {"width_px": 303, "height_px": 201, "block_rows": rows, "block_cols": cols}
    grey, file = PictureShape(**size, channels=1, bits=bits), io.BytesIO()
    writer = grey_writer(file, grey, is_png=is_png, ppi=240)
    for row, col, _ in blocks(*block):
        part = numbers[row : row + rows, col : col + cols, np.newaxis]
        writer.append(writer.pack(part, row=row, col=col))
    writer.finish()
    decode = imagecodecs.png_decode if is_png else tifffile.imread
    np.testing.assert_array_equal(
        decode(file.getvalue() if is_png else io.BytesIO(file.getvalue())), numbers
    )
    with Image.open(file) as picture:
        assert "icc_profile" not in picture.info
        assert picture.info["dpi"] == pytest.approx((240, 240), abs=0.02)


@pytest.mark.parametrize("ending", ENDINGS)
def test_same_pixels_same_bytes(tmp_path, ending):
    for name in ("a", "b"):
        write_picture(tmp_path / f"{name}.{ending}", PICTURE, ppi=200)
    first, second = ((tmp_path / f"{name}.{ending}").read_bytes() for name in ("a", "b"))
    assert first == second


def stop_half_way(path: Path) -> None:
    with picture_writer(path, shape(50), ppi=200) as writer:
        writer.append(writer.pack(PICTURE[:50], row=0))
        raise RuntimeError("stopped")


@pytest.mark.parametrize("ending", ENDINGS)
def test_an_older_picture_stays_when_writing_breaks_off(tmp_path, ending):
    path = tmp_path / f"print.{ending}"
    write_picture(path, PICTURE[:7], ppi=100)
    older = path.read_bytes()
    with pytest.raises(RuntimeError, match="stopped"):
        stop_half_way(path)
    assert path.read_bytes() == older
    assert [entry.name for entry in tmp_path.iterdir()] == [path.name]


@pytest.mark.parametrize("ending", ENDINGS)
def test_only_pictures_written_here_are_replaced(tmp_path, ending):
    path, other = tmp_path / f"print.{ending}", tmp_path / f"plate.{ending}"
    Image.fromarray(PICTURE).save(other)
    before = other.read_bytes()
    assert "not written by inkmix" in write_error(other)
    assert other.read_bytes() == before
    write_picture(path, PICTURE[:4], ppi=200)
    write_picture(path, PICTURE[:5], ppi=200)
    with Image.open(path) as picture:
        assert picture.size == (303, 5)


def test_blocks_must_fit_and_all_be_there(tmp_path):
    with (
        pytest.raises(ValueError, match=f"{151 * 303} pixels are missing"),
        picture_writer(tmp_path / "a.png", shape(50), ppi=200) as writer,
    ):
        writer.append(writer.pack(PICTURE[:50], row=0))
    for part, place in (
        (PICTURE[:49], (0, 0)),
        (PICTURE[:50, :300], (0, 0)),
        (PICTURE[:50], (7, 0)),
    ):
        with (
            pytest.raises(ValueError, match="is no block of"),
            picture_writer(tmp_path / "a.png", shape(50), ppi=200) as writer,
        ):
            writer.pack(part, row=place[0], col=place[1])
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("ending", ENDINGS)
def test_threads_may_pack_and_the_bytes_stay(tmp_path, ending):
    for name, threads in (("a", 1), ("b", 4)):
        with picture_writer(tmp_path / f"{name}.{ending}", shape(16, 32), ppi=240) as writer:
            each_in_order(
                lambda block: writer.pack(block[2], row=block[0], col=block[1]),
                blocks(16, 32),
                writer.append,
                threads=threads,
            )
    first, second = ((tmp_path / f"{name}.{ending}").read_bytes() for name in ("a", "b"))
    assert first == second


@pytest.mark.parametrize("block", [(64,), (64, 96)])
def test_segments_are_strips_or_tiles_as_the_blocks_are(tmp_path, block):
    path = tmp_path / "a.tif"
    with picture_writer(path, shape(*block), ppi=240) as writer:
        for row, col, part in blocks(*block):
            writer.append(writer.pack(part, row=row, col=col))
    with tifffile.TiffFile(path) as file:
        assert file.pages[0].is_tiled == (len(block) == 2)


def write_error(path: Path) -> str:
    with pytest.raises(OutputError) as caught:
        write_picture(path, PICTURE[:4], ppi=200)
    assert caught.value.exit_code == 2
    return str(caught.value)


def test_unknown_ending(tmp_path):
    assert "ends in .jpg, but a picture ends in .png or .tif" in write_error(tmp_path / "a.jpg")


def test_a_missing_folder_is_made(tmp_path):
    write_picture(tmp_path / "new" / "deep" / "a.png", PICTURE[:4], ppi=200)
    assert (tmp_path / "new" / "deep" / "a.png").exists()


def test_folder_that_is_a_file(tmp_path):
    (tmp_path / "out").write_text("here first")
    assert "out: is a file, but a folder is needed" in write_error(tmp_path / "out" / "a.png")
    assert (tmp_path / "out").read_text() == "here first"


def test_file_that_is_a_folder(tmp_path):
    (tmp_path / "a.png").mkdir()
    assert "a.png: is a folder" in write_error(tmp_path / "a.png")


def test_folder_that_cannot_be_written():
    """Root may write anywhere, so its rights are dropped for the time of writing."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        folder.chmod(stat.S_IRUSR | stat.S_IXUSR | stat.S_IRGRP | stat.S_IXGRP | 0o005)
        user = os.geteuid()
        if user == 0:
            os.seteuid(65534)
        try:
            text = write_error(folder / "a.png")
        finally:
            os.seteuid(user)
        assert "a.png: cannot be written (Permission denied); check permissions and free" in text
        assert list(folder.iterdir()) == []
        folder.chmod(0o700)


def test_a_full_disk_is_one_message(tmp_path, monkeypatch):
    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    assert "cannot be written (No space left on device)" in write_error(tmp_path / "a.png")
    assert list(tmp_path.iterdir()) == []


def test_memory_stays_bounded(tmp_path):
    """200 bands of one picture: what is kept is the packer's state and one band, not the whole."""
    band = np.ascontiguousarray(np.tile(PICTURE[:20], (1, 4, 1)))
    for ending in ENDINGS:
        tracemalloc.start()
        large = PictureShape(width_px=1212, height_px=4000, block_rows=20, block_cols=1212)
        with picture_writer(tmp_path / f"a.{ending}", large, ppi=200) as writer:
            for row in range(0, 4000, 20):
                writer.append(writer.pack(band, row=row))
        peak = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        assert peak < 0.2 * band.nbytes * 200
