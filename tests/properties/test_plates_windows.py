"""Whatever the windows, a set gives the same numbers: no bit hangs on how it is cut."""

from itertools import pairwise

import numpy as np
import pytest
import tifffile
from hypothesis import given, settings
from hypothesis import strategies as st

from inkmix.plates.plate import PlateSource
from inkmix.plates.set import open_set

ROWS, COLS = 47, 59


@pytest.fixture(scope="module")
def plates(tmp_path_factory):
    """A line plate three times finer, a screened one, a 16-bit one in tiles, an 8-bit one."""
    folder, rng = tmp_path_factory.mktemp("set"), np.random.default_rng(8)
    fine = rng.random((3 * ROWS + 1, 3 * COLS - 1)) < 0.2
    kinds = {
        "Soot": (fine, 600, {"photometric": "miniswhite", "compression": "packbits"}),
        "Fjord": (rng.random((ROWS, COLS)) < 0.4, 200, {"photometric": "miniswhite"}),
        "Rowan": (rng.integers(0, 65536, (ROWS, COLS)).astype(np.uint16), 200, {"tile": (16, 16)}),
        "Fog": (rng.integers(0, 256, (ROWS, COLS)).astype(np.uint8), 200, {"rowsperstrip": 7}),
    }
    files = {}
    for ink, (pixels, ppi, options) in kinds.items():
        options = {"photometric": "minisblack", **options}
        path = folder / f"{ink}.tif"
        tifffile.imwrite(path, pixels, resolution=(ppi, ppi), resolutionunit="INCH", **options)
        files[ink] = PlateSource(path=path)
    return open_set(files, edge_growth_mm=0.06)


@st.composite
def cuts(draw, size):
    """A way to cut a length into pieces."""
    inner = draw(st.lists(st.integers(1, size - 1), max_size=5, unique=True))
    edges = [0, *sorted(inner), size]
    return [slice(a, b) for a, b in pairwise(edges)]


@given(rows=cuts(ROWS), cols=cuts(COLS))
@settings(max_examples=30, deadline=None)
def test_any_cutting_gives_the_same_ink(plates, rows, cols):
    for read in (plates.read, plates.read_for_total):
        whole = read(slice(0, ROWS), slice(0, COLS))
        pieces = [np.concatenate([read(r, c) for c in cols], axis=2) for r in rows]
        np.testing.assert_array_equal(np.concatenate(pieces, axis=1), whole)
