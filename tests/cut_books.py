"""Small books that ask much of how a sheet is cut into windows: every way plates are stored, and
connected areas that wind through all of them."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from separations import (
    INKS,
    PPI,
    SPREAD,
    PhotoBook,
    in_steps,
    photograph,
    separated,
    write_book,
    write_plate,
)

ROWS, COLS = 130, 170
LINE, PITCH = 3, 6  # px: strokes of the winding areas, and from one stroke to the next
TILES = (
    {"compression": "deflate", "tile": (16, 32)},
    {"compression": "lzw", "tile": (48, 16)},
    {"compression": None, "tile": (32, 48)},
)
MORE = """\
[strip]
panels = 2
panel_mm = [10.795, 16.51]
[total_ink]
min_area_mm2 = 0.2
[[night]]
name = "mask"
mask = "mask.png"
lightest_L = 50
share_pct = {share_pct}
[[night]]
name = "rule"
rule = [{{ plate = "Soot", at_least_pct = 25 }}, {{ plate = "Fjord", at_least_pct = 10 }}]
lightest_L = 60
share_pct = 5
[[tones]]
name = "tone"
mix = {{ Soot = 30, Rowan = 60 }}
intended = "#884433"
tolerance_de00 = 4
[reference]
picture = "wanted.png"
"""

Shape = NDArray[np.bool_]


def snake(rows: int, cols: int) -> Shape:
    """Lines from side to side, joined at the right and the left end in turn."""
    shape = np.zeros((rows, cols), np.bool_)
    for turn, top in enumerate(range(0, rows - LINE, PITCH)):
        shape[top : top + LINE] = True
        end = slice(cols - LINE, cols) if turn % 2 == 0 else slice(0, LINE)
        shape[top : top + PITCH, end] = True
    return shape


def comb(rows: int, cols: int) -> Shape:
    """Teeth from the top that only the lowest rows join."""
    shape = np.tile(np.arange(cols) % PITCH < LINE, (rows, 1))
    shape[-LINE:] = True
    return shape


def spiral(rows: int, cols: int) -> Shape:
    """A line that winds inwards from the upper left corner."""
    shape = np.zeros((rows, cols), np.bool_)
    for inset in range(0, min(rows, cols) // 2 - PITCH, PITCH):
        bottom, right = rows - inset, cols - inset
        shape[inset : inset + LINE, max(0, inset - PITCH) : right] = True
        shape[inset:bottom, right - LINE : right] = True
        shape[bottom - LINE : bottom, inset:right] = True
        shape[inset + PITCH : bottom, inset : inset + LINE] = True
    return shape


def _cat(*, shapes: tuple[Callable[[int, int], Shape], ...]) -> dict[str, NDArray[np.float64]]:
    """A cat in three inks, over the ink limit where winding areas are laid over it."""
    srgb1 = photograph("chelsea", slice(60, 60 + ROWS), slice(100, 100 + COLS))
    amounts = separated(srgb1, INKS[:3])
    places = ((slice(3, 61), slice(5, 83)), (slice(66, 128), slice(90, 168)))
    for shape, (rows, cols) in zip(shapes, places, strict=True):
        drawn = shape(rows.stop - rows.start, cols.stop - cols.start)
        for plane in amounts.values():
            plane[rows, cols][drawn] = 1.0
    return amounts


def _pictures(folder: Path, *, reference_size: tuple[int, int]) -> None:
    """The mask of an ellipse, and what the artist saw."""
    y, x = np.mgrid[:ROWS, :COLS]
    ellipse = ((y - 60) / 45) ** 2 + ((x - 85) / 70) ** 2 < 1
    Image.fromarray(ellipse).save(folder / "mask.png", dpi=(PPI, PPI))
    srgb1 = photograph("chelsea", slice(60, 60 + ROWS), slice(100, 100 + COLS))
    Image.fromarray(in_steps(srgb1)).resize(reference_size).save(folder / "wanted.png")


def _dots(amount: NDArray[np.float64]) -> Shape:
    """Diffused to dots."""
    return np.asarray(Image.fromarray(in_steps(amount)).convert("1"))


def _book(folder: Path, plates: dict[str, NDArray], *, share_pct: int) -> PhotoBook:
    """The book; a small share of dark pixels is reached, and no remedies take time."""
    return write_book(folder, plates, more=MORE.format(share_pct=share_pct), ink_limit_pct=130)


def _finer(plane: NDArray) -> NDArray:
    """Two by two pixels for each."""
    return plane.repeat(2, axis=0).repeat(2, axis=1)


def strips(folder: Path) -> PhotoBook:
    """Strips of 7 rows, tiles and one strip of all rows; dots of 1 bit; dots in 8 bits."""
    amounts = _cat(shapes=(snake, comb))
    plates = {ink: in_steps(amount) for ink, amount in amounts.items()}
    plates["Fjord"] = in_steps(1.0 * _dots(amounts["Fjord"]))
    plates["Rowan"] = _dots(amounts["Rowan"])
    _pictures(folder, reference_size=(COLS, ROWS))
    return _book(folder, plates, share_pct=95)


def tiles(folder: Path) -> PhotoBook:
    """Tiles of three shapes, 16 bits among 8, one plate finer, a smaller reference picture."""
    amounts = _cat(shapes=(spiral, snake))
    plates = {ink: in_steps(amount) for ink, amount in amounts.items()}
    plates["Fjord"] = in_steps(amounts["Fjord"], bits=16)
    _pictures(folder, reference_size=(COLS // 2, ROWS // 2))
    book = _book(folder, plates, share_pct=20)
    for (ink, plane), layout in zip(plates.items(), TILES, strict=True):
        write_plate(folder / f"plates/{SPREAD}-{ink}.tif", plane, **layout)
    finer = folder / f"plates/{SPREAD}-Rowan.tif"
    write_plate(finer, _finer(plates["Rowan"]), ppi=2 * PPI, **TILES[2])
    return book


def mixed(folder: Path) -> PhotoBook:
    """Strips of 16 bits, tiles of 8, and finer dots of 1 bit in strips."""
    amounts = _cat(shapes=(comb, spiral))
    plates = {ink: in_steps(amount) for ink, amount in amounts.items()}
    plates["Soot"] = in_steps(amounts["Soot"], bits=16)
    _pictures(folder, reference_size=(COLS - 41, ROWS - 31))
    book = _book(folder, plates, share_pct=20)
    dots = _dots(_finer(amounts["Rowan"]))
    write_plate(folder / f"plates/{SPREAD}-Rowan.tif", dots, ppi=2 * PPI, rowsperstrip=22)
    return book


BOOKS = {"strips": strips, "tiles": tiles, "mixed": mixed}
