"""The benchmark measures what it says: every row is there, and its rival shows the same colours."""

import re
import sys
from pathlib import Path

import numpy as np
import pytest

pytestmark = pytest.mark.long

BENCH = Path(__file__).parent / "bench"
ROWS = (
    "memory copy",
    "LittleCMS default",
    "LittleCMS 17 nodes",
    "libvips multiply",
    "NumPy multiply",
    "inkmix colour",
    "inkmix with all statistics",
    "inkmix with three checks",
)


@pytest.fixture(scope="module", autouse=True)
def _beside_the_benchmark():
    sys.path.insert(0, str(BENCH))
    yield
    sys.path.remove(str(BENCH))


@pytest.fixture(scope="module")
def said():
    """What one small round in memory prints."""
    import in_memory

    lines = []
    in_memory.print_tables(mpx=0.2, rounds=1, say=lines.append)
    return "\n".join(lines)


def test_every_kind_has_every_row(said):
    tables = said.split("in memory, one core")[1:]
    assert re.findall(r"^(\w+) artwork", said, re.MULTILINE) == ["flat", "grainy", "random"]
    for table in tables:
        lines = table.splitlines()[2 : 2 + len(ROWS)]
        assert [line.split("  ")[0] for line in lines] == list(ROWS)
        assert all("MiB" in line or "not installed" in line for line in lines)


def test_littlecms_shows_the_colours_of_inkmix(said):
    found = re.findall(r"LittleCMS.* beside inkmix.*dE00 ([\d.]+)", said)
    if not found:
        pytest.skip("LittleCMS is not installed")
    assert len(found) == 2
    assert all(0 < float(mean) < 3 for mean in found)


def test_any_block_of_rows_is_drawn_by_itself():
    from artwork import BLOCK_ROWS, KINDS, Artwork

    for kind in KINDS:
        art = Artwork(kind=kind, width_px=300)
        whole = art.rows(1, slice(0, 3 * BLOCK_ROWS))
        part = art.rows(1, slice(BLOCK_ROWS, 2 * BLOCK_ROWS))
        assert np.array_equal(whole[BLOCK_ROWS : 2 * BLOCK_ROWS], part)


def test_grain_leaves_bare_paper_bare_and_has_the_stated_spread():
    from artwork import Artwork

    flat = Artwork(kind="flat", width_px=4000).rows(0, slice(1024, 1088)).astype(int)
    grainy = Artwork(kind="grainy", width_px=4000).rows(0, slice(1024, 1088)).astype(int)
    assert (flat == 0).any()
    assert not grainy[flat == 0].any()
    unclipped = (flat > 30) & (flat < 225)
    assert np.std((grainy - flat)[unclipped]) == pytest.approx(4, abs=0.1)  # 0.1: over 10^4 pixels


def test_multiplied_layers_agree_with_exact_products():
    import numpy_rows
    import vips_rows

    rng = np.random.default_rng(5)
    planes = rng.integers(0, 256, (5, 7, 11), dtype=np.uint8)
    layers = rng.integers(0, 256, (5, 256, 3), dtype=np.uint8)
    exact = 255 * np.prod(
        [layer[plane] / 255 for layer, plane in zip(layers, planes, strict=True)], 0
    )
    by_numpy = numpy_rows.multiplying(planes.reshape(1, 5, -1), layers)()
    assert np.abs(by_numpy.reshape(7, 11, 3) - exact).max() < 0.51  # rounding
    vips = vips_rows.library(threads=1)
    if vips is not None:
        by_vips = np.frombuffer(vips_rows.multiplying(vips, planes, layers)(), np.uint8)
        assert np.abs(by_vips.reshape(7, 11, 3) - exact).max() < 0.51


@pytest.mark.parametrize("layout", ["strips of 64 rows", "tiles of 512 px"])
def test_plate_files_hold_the_artwork(tmp_path, layout):
    import tifffile
    from artwork import Artwork
    from files import SheetFiles

    sheet = SheetFiles(folder=tmp_path, kind="grainy", width_px=700, height_px=600, layout=layout)
    sheet.make()
    planes = Artwork(kind="grainy", width_px=700).planes(600)
    for path, plane in zip(sheet.plates, planes, strict=True):
        assert np.array_equal(tifffile.imread(path), 255 - plane)


def test_inkmix_takes_the_book_that_is_measured(tmp_path):
    from counted import open_spread
    from files import REFERENCE_BOOK, SheetFiles

    from inkmix.checks.night.on_spread import open_nights
    from inkmix.jobs.books import read_book

    sheet = SheetFiles(folder=tmp_path, kind="flat", width_px=2040, height_px=848)
    sheet.make()
    (night,) = open_nights(open_spread(read_book(tmp_path / "book.toml"), "sheet"))
    assert night.mask.share == pytest.approx(0.5, abs=0.001)
    assert "reference.tif" in (tmp_path / REFERENCE_BOOK).read_text(encoding="utf-8")
