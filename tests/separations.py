"""Plates that nobody drew: photographs of scikit-image's wheel, separated into a few inks.

The separation is plain and honest: what the picture lacks of red, green and blue goes to the blue,
red and yellow ink, part of what all three lack to black. Books of such plates are written to a
folder; nothing is computed that the tests then check.
"""

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import tifffile
from numpy.typing import NDArray
from skimage import data

from inkmix.book.values import Book
from inkmix.jobs.books import read_book
from inkmix.jobs.printing.predict import Wanted, Written, write_predictions
from inkmix.jobs.spread import Progress, Spread, no_progress
from inkmix.press.condition import PressCondition, press_condition
from inkmix.press.processes import find_process
from inkmix.press.swatches.by_name import load_ink, load_overprints, load_paper

PPI = 200.0
SPREAD = "photograph"
PAPER = "night-ferry/uncoated"
INKS = ("Soot", "Fjord", "Rowan", "Brass", "Fog")
LAYOUTS = (
    {"compression": "lzw", "rowsperstrip": 7},
    {"compression": "deflate", "tile": (32, 48)},
    {"compression": None, "rowsperstrip": 16},
    {"compression": "zstd"},
    {"compression": "packbits", "rowsperstrip": 1},
)


def photograph(name: str, rows: slice, cols: slice) -> NDArray[np.float64]:
    """A part of a photograph, sRGB 0-1, (rows, cols, 3), every pixel as in the file."""
    return getattr(data, name)()[rows, cols] / 255.0


def separated(srgb1: NDArray[np.float64], inks: tuple[str, ...] = INKS) -> dict[str, NDArray]:
    """Ink amounts (rows, cols), 0-1, of each of these inks."""
    lacks = 1 - srgb1
    cyan, magenta, yellow = np.moveaxis(lacks, -1, 0)
    grey = lacks.min(axis=-1)
    amounts = {
        "Soot": grey**1.5,
        "Fjord": np.clip(cyan - 0.4 * grey, 0, 1),
        "Rowan": np.clip(magenta - 0.4 * grey, 0, 1),
        "Brass": np.clip(yellow - 0.4 * grey, 0, 1),
        "Fog": 0.8 * cyan * (1 - yellow),
        "Bottle": np.minimum(cyan, yellow),
        "Mussel": np.minimum(cyan, magenta),
        "Rust": np.minimum(magenta, yellow) ** 2,
    }
    return {ink: amounts[ink] for ink in inks}


def in_steps(amount: NDArray[np.float64], bits: int = 8) -> NDArray:
    """Ink amounts as numbers of a plate, full ink at the top."""
    top = 2**bits - 1
    return np.rint(amount * top).astype(np.uint16 if bits == 16 else np.uint8)


def write_plate(path: Path, amount: NDArray, *, ppi: float = PPI, **layout) -> None:
    """A grey TIFF in which dark is ink; booleans give a 1-bit plate."""
    kind = "miniswhite" if amount.dtype == np.bool_ else "minisblack"
    path.parent.mkdir(parents=True, exist_ok=True)
    tifffile.imwrite(
        path,
        amount if amount.dtype == np.bool_ else ~amount,
        photometric=kind,
        resolution=(ppi, ppi),
        resolutionunit="INCH",
        metadata=None,
        **layout,
    )


def read_plate(path: Path) -> NDArray:
    """Ink amounts of such a file, by another reader and as a whole."""
    pixels = tifffile.imread(path)
    return pixels if pixels.dtype == np.bool_ else ~pixels


def swatch_ink(name: str) -> str:
    """An ink of the book: a shipped one."""
    return f'[[inks]]\nname = "{name}"\nswatch = "night-ferry/{name}"\n'


@dataclass(frozen=True, kw_only=True)
class PhotoBook:
    """A folder with plates and a book."""

    folder: Path
    plates: dict[str, NDArray]

    @property
    def book(self) -> Book:
        return read_book(self.folder / "book.toml")

    def tone_pct(self) -> NDArray[np.float64]:
        """Tone values (rows, cols, I) of the files, %."""
        planes = [read_plate(self.folder / f"plates/{SPREAD}-{ink}.tif") for ink in self.plates]
        return np.stack([100.0 * plane / np.iinfo(plane.dtype).max for plane in planes], axis=-1)


def write_book(
    folder: Path, plates: dict[str, NDArray], *, more: str = "", ink_limit_pct: float = 240, **known
) -> PhotoBook:
    """Plates in several layouts, and the book that finds them; `known` gives inks otherwise."""
    for index, (ink, amount) in enumerate(plates.items()):
        layout = LAYOUTS[index % len(LAYOUTS)] if amount.dtype != np.bool_ else {}
        write_plate(folder / f"plates/{SPREAD}-{ink}.tif", amount, **layout)
    inks = "\n".join(known.get(ink, swatch_ink(ink)) for ink in plates)
    (folder / "book.toml").write_text(
        f'format = 1\ntitle = "A photograph"\n[paper]\nswatch = "{PAPER}"\n{inks}\n'
        f'[press]\nprocess = "sheet-fed offset"\nink_limit_pct = {ink_limit_pct:g}\n'
        f'[plates]\npattern = "plates/{{spread}}-{{ink}}.tif"\n{more}',
        encoding="utf-8",
    )
    return PhotoBook(folder=folder, plates=plates)


def write_picture(
    spread: Spread, path: Path, *, progress: Progress = no_progress, **wanted
) -> Written:
    """One picture of a spread; `wanted` as in Wanted."""
    asked = [Wanted(path=path, **wanted)]
    _, (written,) = write_predictions(spread, asked, progress=progress)
    return written


def press(*names: str) -> PressCondition:
    """The press condition of such a book, put together without the book."""
    paper = load_paper(PAPER)
    swatches = [f"night-ferry/{name}" for name in names]
    inks = [load_ink(name, paper=paper) for name in swatches]
    patches = load_overprints(paper, swatches)
    return press_condition(paper, inks, process=find_process("sheet-fed offset"), patches=patches)
