"""LZW streams cut at their Clear codes hold what they hold whole, whoever wrote them."""

import shutil
import subprocess
from collections.abc import Iterator

import imagecodecs
import numpy as np
import pytest
import tifffile
from PIL import Image

from inkmix.plates.files.tiff.lzw_runs import UncutLzwError, unpacked_lzw


def in_pieces(data: bytes, size: int) -> Iterator[bytes]:
    return (data[start : start + size] for start in range(0, len(data), size))


def cut(data: bytes, size: int = 2**18) -> bytes:
    return b"".join(bytes(piece) for piece in unpacked_lzw(in_pieces(data, size)))


def as_bits(codes: list[tuple[int, int]]) -> bytes:
    """Codes with their widths, first bit highest (TIFF 6.0, section 13)."""
    text = "".join(f"{code:0{width}b}" for code, width in codes)
    return int(text.ljust(-(-len(text) // 8) * 8, "0"), 2).to_bytes(-(-len(text) // 8))


def written(data: bytes, *, clear_at: int, ends: bool = True) -> bytes:
    """A plain LZW writer that clears its table at a given number of entries."""
    codes, table, width, last = [(256, 9)], {}, 9, b""
    table = {bytes([value]): value for value in range(256)}
    for value in data:
        longer = last + bytes([value])
        if longer in table:
            last = longer
            continue
        codes.append((table[last], width))
        table[longer] = len(table) + 2
        last = bytes([value])
        entries = len(table) + 2
        width = max(width, min(12, entries.bit_length() if entries > 511 else 9))
        if entries >= clear_at:
            codes.append((256, width))
            table, width = {bytes([value]): value for value in range(256)}, 9
    codes.append((table[last], width))
    entries = len(table) + 3
    width = max(width, min(12, entries.bit_length()))
    return as_bits([*codes, (257, width)] if ends else codes)


def test_the_example_of_the_standard():
    """TIFF 6.0, section 13: 7 7 7 8 8 7 7 6 6 becomes these codes (from memory)."""
    codes = [256, 7, 258, 8, 8, 258, 6, 6, 257]
    assert list(cut(as_bits([(code, 9) for code in codes]))) == [7, 7, 7, 8, 8, 7, 7, 6, 6]


@pytest.mark.parametrize("tones", [1, 2, 6, 256])
@pytest.mark.parametrize("size", [11, 4000, 2**18])
def test_random_pictures_in_pieces_of_any_size(tones, size):
    rng = np.random.default_rng(tones)
    for length in (*rng.integers(1, 40_000, 6), 120_000):
        data = rng.integers(0, tones, length).astype(np.uint8).tobytes()
        assert cut(bytes(imagecodecs.lzw_encode(data)), size) == data


def test_blank_paper_between_noise():
    rng = np.random.default_rng(2)
    noise = [rng.integers(0, 256, 30_000, np.uint8) for _ in range(2)]
    data = np.concatenate([noise[0], np.full(9_000_000, 255, np.uint8), noise[1]]).tobytes()
    assert cut(bytes(imagecodecs.lzw_encode(data)), 1000) == data


@pytest.mark.parametrize("clear_at", [259, 300, 511, 512, 1000, 1023, 1024, 2047, 4000, 4094])
def test_writers_that_clear_early(clear_at):
    rng = np.random.default_rng(clear_at)
    data = (rng.integers(0, 256, 30_000) * (rng.random(30_000) < 0.3)).astype(np.uint8).tobytes()
    packed = written(data, clear_at=clear_at)
    assert imagecodecs.lzw_decode(packed) == data  # the writer above is sound
    assert cut(packed, 997) == data


def test_a_stream_without_an_end_code():
    data = bytes(range(256)) * 9
    assert cut(written(data, clear_at=600, ends=False))[: len(data)] == data


@pytest.mark.parametrize("rows", [1, 40, 300])
def test_strips_of_libtiff(tmp_path, rows):
    """Pillow and tiffcp write through libtiff, which also clears when packing gets worse."""
    rng = np.random.default_rng(rows)
    pixels = (rng.integers(0, 40, (300, 400)) // 9 * (np.arange(300)[:, None] % 99)).astype(
        np.uint8
    )
    Image.fromarray(pixels).save(tmp_path / "a.tif", compression="tiff_lzw")
    if shutil.which("tiffcp"):
        command = ["tiffcp", "-c", "lzw", "-r", str(rows), tmp_path / "a.tif", tmp_path / "b.tif"]
        subprocess.run(command, check=True)
    for path in tmp_path.iterdir():
        with tifffile.TiffFile(path) as file:
            page = file.pages[0]
            segments = list(zip(page.dataoffsets, page.databytecounts, strict=True))
            rows = page.rowsperstrip
        data = path.read_bytes()
        for number, (offset, count) in enumerate(segments):
            wanted = pixels[number * rows : (number + 1) * rows].tobytes()
            assert cut(data[offset : offset + count], 700) == wanted


@pytest.mark.parametrize(
    "data",
    [
        b"\x00\x01\x80\x00",  # the old order of bits
        b"\x00" * 9000,
        b"\xff" * 9000,
        b"\x80\x00" + b"\x11" * 9000,  # no Clear code comes
        b"\x80",
        b"",
    ],
)
def test_what_cannot_be_cut_is_said(data):
    with pytest.raises(UncutLzwError):
        cut(data)
