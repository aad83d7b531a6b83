"""Whatever rectangles are read, in what order and by how many threads, the pixels are the file's.

The judge is each file read whole by tifffile, or by imagecodecs where it is a PNG.
"""

from concurrent.futures import ThreadPoolExecutor
from itertools import pairwise, product
from pathlib import Path

import imagecodecs
import numpy as np
import pytest
import tifffile
from hypothesis import given, settings
from hypothesis import strategies as st
from plate_files import write_png, write_png_bits
from png_writer import write_png_by_hand

from inkmix.plates.files.limits import MAX_SEGMENT_PX
from inkmix.plates.plate import open_raster

ROWS, COLS = 150, 203
RNG = np.random.default_rng(4)
TONES = (np.arange(ROWS)[:, None] // 9 * 7 + np.arange(COLS) // 5 * 3).astype(np.uint8)
GRAINY = TONES + RNG.integers(0, 9, TONES.shape, np.uint8)
DEEP = GRAINY.astype(np.uint16) * 257 - TONES
LINES = RNG.random((ROWS, COLS)) < 0.3
FIVE = np.stack([np.roll(GRAINY, 11 * ink, axis=1) for ink in range(5)], axis=-1)

TIFFS = {
    "plain strips": (GRAINY, {"rowsperstrip": 16}),
    "LZW strips": (GRAINY, {"rowsperstrip": 16, "compression": "lzw"}),
    "LZW strips, differences": (
        DEEP,
        {"rowsperstrip": 7, "compression": "lzw", "predictor": True},
    ),
    "deflate, BigTIFF": (GRAINY, {"rowsperstrip": 20, "compression": "zlib", "bigtiff": True}),
    "big-endian": (DEEP, {"rowsperstrip": 31, "compression": "lzw", "byteorder": ">"}),
    "big-endian, differences": (
        DEEP,
        {"rowsperstrip": 31, "compression": "zlib", "byteorder": ">", "predictor": True},
    ),
    "tiles": (GRAINY, {"tile": (48, 64), "compression": "lzw"}),
    "deep tiles": (DEEP, {"tile": (64, 48), "compression": "zlib", "predictor": True}),
    "packbits": (GRAINY, {"rowsperstrip": 50, "compression": "packbits"}),
    "zstd": (GRAINY, {"rowsperstrip": 50, "compression": "zstd"}),
    "lines": (LINES, {"rowsperstrip": 40}),
    "lines, packbits": (LINES, {"rowsperstrip": 40, "compression": "packbits"}),
    "lines, deflate tiles": (LINES, {"tile": (32, 64), "compression": "zlib"}),
    "five inks": (FIVE, {"rowsperstrip": 24, "compression": "lzw", "planarconfig": "contig"}),
    "five inks in tiles": (
        FIVE,
        {"tile": (48, 64), "compression": "lzw", "planarconfig": "contig"},
    ),
    "five planes": (
        np.moveaxis(FIVE, -1, 0),
        {"rowsperstrip": 24, "compression": "lzw", "planarconfig": "separate"},
    ),
}
PNGS = {
    "PNG": lambda path: write_png(path, GRAINY),
    "PNG, 16 bits": lambda path: write_png(path, DEEP),
    "PNG, 1 bit": lambda path: write_png_bits(path, LINES),
    "PNG, colour": lambda path: write_png(path, FIVE[..., :3]),
    "PNG, every filter": lambda path: write_png_by_hand(path, GRAINY[..., None]),
    "PNG, every filter, 16 bits": lambda path: write_png_by_hand(path, DEEP[..., None], bits=16),
    "PNG, every filter, 1 bit": lambda path: write_png_by_hand(path, LINES[..., None], bits=1),
    "PNG, alpha": lambda path: write_png_by_hand(path, FIVE[..., :4]),
    "PNG, deep alpha": lambda path: write_png_by_hand(path, DEEP[..., None].repeat(2, -1), bits=16),
    "PNG, a clear grey": lambda path: write_png_by_hand(path, GRAINY[..., None], clear=(77,)),
    "PNG, clear white": lambda path: write_png_by_hand(path, LINES[..., None], bits=1, clear=(1,)),
    "PNG, a clear colour": lambda path: write_png_by_hand(
        path, FIVE[..., :3], clear=tuple(int(v) for v in FIVE[70, 80, :3])
    ),
    "PNG, interlaced": lambda path: write_png_by_hand(path, GRAINY[..., None], interlaced=True),
    "PNG, interlaced, 1 bit": lambda path: write_png_by_hand(
        path, LINES[..., None], bits=1, interlaced=True
    ),
    "PNG, interlaced, deep colour and alpha": lambda path: write_png_by_hand(
        path, DEEP[..., None].repeat(4, -1), bits=16, interlaced=True
    ),
    "PNG, interlaced, a clear grey": lambda path: write_png_by_hand(
        path, GRAINY[..., None], clear=(77,), interlaced=True
    ),
}
# Segments are large above one pixel, above a strip of the usual size, or never.
CASES = [*product(TIFFS, (1, MAX_SEGMENT_PX)), *((name, MAX_SEGMENT_PX) for name in PNGS)]


@st.composite
def cuts(draw, size):
    """A way to cut a length into pieces."""
    inner = draw(st.lists(st.integers(1, size - 1), max_size=5, unique=True))
    edges = [0, *sorted(inner), size]
    return [slice(a, b) for a, b in pairwise(edges)]


def written(name: str, folder: Path) -> tuple[Path, np.ndarray]:
    """A file, and its pixels (rows, cols, channels) as another reader gives them."""
    path = folder / f"{name}.{'png' if name in PNGS else 'tif'}"
    if name in PNGS:
        PNGS[name](path)
        pixels = imagecodecs.png_decode(path.read_bytes())
        # It spreads 1 bit to 0 and 255; that is kept only where alpha was added.
        pixels = pixels // 255 if "1 bit" in name else pixels
    else:
        tifffile.imwrite(path, TIFFS[name][0], photometric="minisblack", **TIFFS[name][1])
        pixels = tifffile.imread(path)
        pixels = np.moveaxis(pixels, 0, -1) if "planes" in name else pixels
    return path, pixels.reshape(ROWS, COLS, -1)


@pytest.fixture(scope="module", params=CASES, ids=lambda case: f"{case[0]}, {case[1]}")
def case(request, tmp_path_factory):
    name, segment_px = request.param
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("inkmix.plates.files.tiff.segments.MAX_SEGMENT_PX", segment_px)
        patch.setattr("inkmix.plates.files.scratch.room.MAX_IN_MEMORY_BYTES", 1000)
        for module in ("png.rows", "tiff.strip_rows"):
            patch.setattr(f"inkmix.plates.files.{module}._BLOCK_BYTES", 1500)
        patch.setattr("inkmix.plates.files.png.interlacing._BAND_BYTES", 1500)
        patch.setattr("inkmix.plates.files.tiff.strip_rows._PACKED_BYTES", 700)
        yield written(name, tmp_path_factory.mktemp("readers"))


@given(
    rows=cuts(ROWS),
    cols=cuts(COLS),
    threads=st.integers(1, 4),
    order=st.randoms(use_true_random=False),
)
@settings(max_examples=6, deadline=None)
def test_any_cut_by_any_threads_gives_the_pixels_of_the_file(case, rows, cols, threads, order):
    path, pixels = case
    raster = open_raster(path)
    found = np.zeros_like(pixels)
    parts = [*product(rows, cols, range(pixels.shape[2]))]
    order.shuffle(parts)

    def read(part):
        found[part] = raster.read(*part)

    with ThreadPoolExecutor(threads) as pool:
        list(pool.map(read, parts))
    np.testing.assert_array_equal(found, pixels)
