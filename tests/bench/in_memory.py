"""The table of what lies in memory: windows of about 1 Mpx, one core, three kinds of artwork."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import littlecms
import numpy as np
import numpy_rows
import vips_rows
from artwork import INKS, KINDS, Artwork
from inkmix_rows import Checking, bench_condition, colouring_only, layer_srgb8
from numpy.typing import NDArray
from timing import Row, measure, table

from inkmix.colour.colorimetry import delta_e00, srgb1_to_xyz100, xyz100_to_lab
from inkmix.press.condition import PressCondition
from inkmix.press.table.colouring import Colouring
from inkmix.press.table.disk_cache import kept_lookup

MPX = 8.0
BASES = ("LittleCMS default", "inkmix colour")
MAX_MEAN_DE00 = 3.0
"""LittleCMS must show about the same colours, else the comparison is none."""

_WIDTH_PX, _WINDOW_ROWS = 4000, 250
_NO_LITTLECMS = "LittleCMS is not installed"
_SAMPLED = 4000


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Tools:
    """What rows are made with; transforms by the name of their row, none without the library."""

    condition: PressCondition
    colouring: Colouring
    layers: NDArray[np.uint8]
    transforms: dict[str, littlecms.Transform]


def open_tools() -> Tools:
    """The press condition and everything computed from it."""
    condition = bench_condition()
    lcms, transforms = littlecms.library(), {}
    if lcms is not None:
        lab16 = littlecms.table_lab16(condition)
        flags = {"LittleCMS default": littlecms.DEFAULT, "LittleCMS 17 nodes": littlecms.NODES_17}
        transforms = {
            name: littlecms.make_transform(lcms, lab16, flag) for name, flag in flags.items()
        }
    return Tools(
        condition=condition,
        colouring=Colouring(kept_lookup(condition, inks=INKS, depth=8)),
        layers=layer_srgb8(condition),
        transforms=transforms,
    )


def differences(tools: Tools) -> dict[str, tuple[float, float]]:
    """Mean and largest dE00 between inkmix and each LittleCMS row, over random pixels.

    Raises
    ------
    AssertionError
        If the colours are not about the same.
    """
    rng = np.random.default_rng(0)
    amounts = rng.uniform(size=(INKS, 1, _SAMPLED))
    amounts[..., ::2] **= 3  # every other mix is light
    planes = np.rint(255 * amounts).astype(np.uint8)
    own = _lab(tools.colouring.srgb8(planes)[0][0])
    found = {}
    for name, transform in tools.transforms.items():
        other = littlecms.converting(transform, planes.transpose(1, 0, 2))()[0]
        de00 = delta_e00(own, _lab(other))
        assert de00.mean() < MAX_MEAN_DE00, f"{name} shows other colours: dE00 {de00.mean():.1f}"
        found[name] = (float(de00.mean()), float(de00.max()))
    return found


def _lab(srgb8: NDArray[np.uint8]) -> NDArray[np.float64]:
    return xyz100_to_lab(srgb1_to_xyz100(srgb8 / 255))


def rows_of(windows: NDArray[np.uint8], tools: Tools) -> list[Row]:
    """All rows on windows (windows, inks, rows, cols) of one kind of artwork."""
    flat = windows.reshape(*windows.shape[:2], -1)
    checking = Checking(
        condition=tools.condition,
        colouring=tools.colouring,
        windows=windows,
        masks=_masks(windows),
    )
    counting = replace(checking, ink_limit_pct=None, lightest_L=None)
    return [
        Row(name="memory copy", run=numpy_rows.copying(flat)),
        *(
            _littlecms_row(name, tools, flat)
            for name in ("LittleCMS default", "LittleCMS 17 nodes")
        ),
        _vips_row(windows, tools),
        Row(name="NumPy multiply", run=numpy_rows.multiplying(flat, tools.layers)),
        Row(name="inkmix colour", run=colouring_only(tools.colouring, windows)),
        Row(name="inkmix with all statistics", run=counting.run),
        Row(name="inkmix with three checks", run=checking.run),
    ]


def _windows(kind: str, mpx: float) -> NDArray[np.uint8]:
    """(windows, inks, rows, cols), as many whole windows as make about so many megapixels."""
    height = max(1, round(mpx * 1e6 / _WIDTH_PX))
    count = max(1, height // _WINDOW_ROWS)
    rows = height // count
    planes = Artwork(kind=kind, width_px=_WIDTH_PX).planes(count * rows)
    cut = planes.reshape(INKS, count, rows, _WIDTH_PX)
    return np.ascontiguousarray(cut.transpose(1, 0, 2, 3))


def _masks(windows: NDArray[np.uint8]) -> NDArray[np.bool_]:
    """The upper left half of the sheet, cut along its diagonal."""
    count, _, rows, cols = windows.shape
    down = np.arange(count * rows)[:, None] / (count * rows)
    return (down + np.arange(cols) / cols < 1).reshape(count, rows, cols)


def _littlecms_row(name: str, tools: Tools, flat: NDArray[np.uint8]) -> Row:
    transform = tools.transforms.get(name)
    if transform is None:
        return Row(name=name, run=None, why_not=_NO_LITTLECMS)
    return Row(name=name, run=littlecms.converting(transform, flat))


def _vips_row(windows: NDArray[np.uint8], tools: Tools) -> Row:
    vips, run = vips_rows.library(threads=1), None
    if vips is not None:
        planes = windows.transpose(1, 0, 2, 3).reshape(INKS, -1, _WIDTH_PX)
        run = vips_rows.multiplying(vips, planes, tools.layers)
    return Row(name="libvips multiply", run=run, why_not=vips_rows.NOT_INSTALLED)


def print_tables(*, mpx: float, rounds: int, say: Callable[[str], None]) -> None:
    """Measure and tell everything."""
    tools = open_tools()
    for name, (mean, largest) in differences(tools).items():
        say(
            f"{name} beside inkmix, {_SAMPLED} random mixes: dE00 {mean:.2f}, at most {largest:.1f}"
        )
    for kind in KINDS:
        windows = _windows(kind, mpx)
        rows = rows_of(windows, tools)
        say(f"\n{kind} artwork, {mpx:g} Mpx in memory, one core, best of {rounds} rounds")
        measured = measure(rows, rounds=rounds)
        pixels = windows[:, 0].size
        say(table(rows, measured, pixels=pixels, bases=BASES, memory="added memory"))
