"""The benchmark's whole jobs do what their rows say: plates as drawn, pictures as promised.

Sheets are 0.4 Mpx, wider than two tiles and no whole number of strips or tiles; their plates are
random, so every byte is its own. No time is judged.
"""

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import tifffile

pytestmark = pytest.mark.long

BENCH = Path(__file__).parent / "bench"
WIDTH_PX, HEIGHT_PX = 1200, 333
MEMORY_MIB = 64


@pytest.fixture(scope="module", autouse=True)
def _beside_the_benchmark():
    sys.path.insert(0, str(BENCH))
    yield
    sys.path.remove(str(BENCH))


@pytest.fixture(scope="module", params=["strips of 64 rows", "tiles of 512 px"])
def sheet(request, tmp_path_factory):
    from files import SheetFiles

    made = SheetFiles(
        folder=tmp_path_factory.mktemp("sheet"),
        kind="random",
        width_px=WIDTH_PX,
        height_px=HEIGHT_PX,
        layout=request.param,
    )
    made.make()
    return made


@pytest.fixture(scope="module")
def ink_planes():
    """What is drawn: (inks, rows, cols), 255 for full ink."""
    from artwork import Artwork

    return Artwork(kind="random", width_px=WIDTH_PX).planes(HEIGHT_PX)


def done(sheet, job):
    """The picture that a job writes, and its peak memory in MiB."""
    target = sheet.folder / f"{job}.tif"
    command = [sys.executable, BENCH / "jobs.py", job, sheet.folder / "book.toml", target]
    said = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    return tifffile.imread(target), float(said.split()[-1])


def test_plates_are_stored_as_said(sheet):
    for path in sheet.plates:
        with tifffile.TiffFile(path) as file:
            page = file.pages[0]
            assert page.compression == tifffile.COMPRESSION.LZW
            assert page.predictor == 1  # none
            stored = (page.tilelength, page.tilewidth) if page.is_tiled else page.rowsperstrip
            assert stored == {"tiles of 512 px": (512, 512), "strips of 64 rows": 64}[sheet.layout]


def test_decoding_and_encoding_moves_every_byte_of_three_plates(sheet, ink_planes):
    picture, _ = done(sheet, "decode-and-encode")
    assert np.array_equal(picture, np.stack(list(255 - ink_planes[:3]), axis=-1))


def test_correcting_plates_changes_every_one_of_them(sheet, ink_planes):
    target = sheet.folder / "corrected.tif"
    command = [sys.executable, BENCH / "jobs.py", "correct-plates", sheet.folder / "book.toml"]
    subprocess.run([*command, target], capture_output=True, text=True, check=True)
    for path, plane in zip(sheet.plates, ink_planes, strict=True):
        expected = np.where(plane > 128, plane - plane // 8, plane + plane // 8)
        copy = tifffile.imread(target.with_suffix("") / path.name)
        assert np.array_equal(copy, 255 - expected)


def test_libvips_multiplies_the_layers_of_all_plates(sheet, ink_planes):
    import vips_rows
    from inkmix_rows import bench_condition, layer_srgb8

    if vips_rows.library(threads=1) is None:
        pytest.skip(vips_rows.NOT_INSTALLED)
    layers = layer_srgb8(bench_condition())
    np.save(sheet.folder / "libvips.layers.npy", layers)
    picture, _ = done(sheet, "libvips")
    exact = np.prod(
        [layer[plane] / 255 for layer, plane in zip(layers, ink_planes, strict=True)], 0
    )
    assert np.abs(picture - 255 * exact).max() < 0.51  # rounding


def test_the_one_pass_shows_what_the_command_predicts(sheet):
    whole, peak_mib = done(sheet, "whole")
    predicted, _ = done(sheet, "predict")
    assert whole.shape == (HEIGHT_PX, WIDTH_PX, 3)
    assert np.array_equal(whole, predicted)
    assert peak_mib > 10  # an interpreter with NumPy; in MiB, neither KiB nor GiB
    assert peak_mib < 2000


ALLOCATING = """
import sys
sys.path.insert(0, sys.argv[1])
import numpy as np
from timing import Row, measure
row = Row(name="allocate", run=lambda: np.ones(int(sys.argv[2]) << 20, np.uint8).sum())
print(measure([row], rounds=1)["allocate"].peak_mib)
"""


def test_a_passing_allocation_is_seen_in_the_peak():
    """In a process of its own, whose heap holds nothing yet that could serve."""
    line = [sys.executable, "-c", ALLOCATING, str(BENCH), str(MEMORY_MIB)]
    said = subprocess.run(line, capture_output=True, text=True, check=True).stdout.strip()
    if said == "None":
        pytest.skip("this system does not tell a peak anew")
    assert float(said) == pytest.approx(MEMORY_MIB, rel=0.25)  # memory that was free already


def test_every_run_is_prepared_out_of_its_time():
    from timing import Row, measure

    said = []
    rows = [Row(name=name, run=lambda name=name: said.append(name)) for name in ("a", "b")]
    measure(rows, rounds=2, prepare=lambda: said.append("prepared"))
    assert said == ["prepared", "a", "prepared", "b"] * 3  # one that does not count, two rounds
