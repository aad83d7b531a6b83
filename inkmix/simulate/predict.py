"""The predicted print as a picture at full size: all plates or some, on the paper or on white.

Colours come from the table of the press condition; the file is written window by window.
"""

from collections.abc import Collection, Iterator, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt
from numpy.typing import NDArray

from inkmix.book.values import Book
from inkmix.colorimetry import WHITE_XYZ100
from inkmix.colours import Colouring
from inkmix.errors import Fault, OutputError, UsageError
from inkmix.export.picture import (
    PackedBlock,
    PictureShape,
    PictureWriter,
    picture_writer,
    refuse_target,
)
from inkmix.inorder import each_in_order
from inkmix.lookup import ColourModel, Lookup
from inkmix.plates.set import PlateSet
from inkmix.plates.windows import Window
from inkmix.resolve.plates import spread_file
from inkmix.simulate.spread import Progress, Spread, no_progress
from inkmix.tables.kept import kept_lookup

OUTSIDE_SRGB = "of the pixels hold colours that sRGB cannot show; they are cut to its edge"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OnWhite:
    """A model with its paper shown as the screen's white."""

    model: ColourModel
    paper_xyz100: NDArray[np.float64]

    def xyz100(self, tone_pct: npt.ArrayLike) -> NDArray[np.float64]:
        """XYZ (..., 3) relative to the paper, whose white is D50."""
        relative = self.model.xyz100(tone_pct) / self.paper_xyz100
        return np.asarray(relative * WHITE_XYZ100, dtype=np.float64)

    def coverage(self, tone_pct: npt.ArrayLike) -> NDArray[np.float64]:
        """Coverage (..., I), as in the model."""
        return self.model.coverage(tone_pct)


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """One picture that was written.

    Parameters
    ----------
    outside_srgb_pct : float
        Share of its pixels that sRGB cannot show.
    """

    path: Path
    outside_srgb_pct: float


def lookup_for(spread: Spread, model: ColourModel, *, paper_white: bool) -> Lookup:
    """Table of a model for the plates of a spread, on its paper or on white."""
    if paper_white:
        model = OnWhite(model=model, paper_xyz100=spread.condition.paper.xyz100)
    return kept_lookup(model, inks=len(spread.plates.inks), depth=spread.plates.depth)


def refuse_inks(book: Book, inks: Collection[str]) -> None:
    """Inks asked for must be inks of the book.

    Raises
    ------
    UsageError
        With every other name.
    """
    unknown = [name for name in inks if name not in book.ink_names]
    if unknown:
        choices = f"the inks are {', '.join(book.ink_names)}"
        raise UsageError(
            Fault(where=f"ink {name}", found="no plate has this name", expected=choices)
            for name in unknown
        )


def refuse_targets(spread: Spread, paths: Sequence[Path]) -> None:
    """What can be said against writing to these paths, before anything is computed.

    Raises
    ------
    OutputError
        A path is one of the files that the spread is made from, or a file that inkmix did not
        write, or no name of a picture.
    """
    inputs = {path.resolve() for path in _inputs(spread)}
    for path in paths:
        if path.resolve() in inputs:
            found, expected = "the prediction is made from this", "inputs are never overwritten"
            do = "choose another name"
            raise OutputError(Fault(where=str(path), found=found, expected=expected, do=do))
        refuse_target(path)


def _inputs(spread: Spread) -> Iterator[Path]:
    book = spread.book
    yield book.path
    yield from (p.header.path for p in spread.plates.plates if p.header.path is not None)
    for text in (book.reference, *(night.mask for night in book.nights)):
        if text is not None:
            yield spread_file(book, text, spread.name, key="picture")


def write_prediction(
    spread: Spread,
    lookup: Lookup,
    path: Path,
    *,
    inks: Collection[str] = (),
    progress: Progress = no_progress,
) -> Written:
    """Write a picture of a spread, PNG or TIFF, with an sRGB profile.

    Parameters
    ----------
    inks : collection of str
        Only these plates; empty: all.

    Raises
    ------
    UsageError
        An ink that the spread does not have.
    OutputError
        Where the file cannot be written.
    """
    refuse_inks(spread.book, inks)
    plates, colouring = spread.plates, Colouring(lookup)
    absent = [index for index, name in enumerate(plates.inks) if inks and name not in inks]
    grid, pixels = plates.windows(), plates.width_px * plates.height_px
    outside, done = 0, 0

    def work(window: Window) -> tuple[PackedBlock, int]:
        planes = plates.read(window.rows, window.cols)
        planes[absent] = 0
        srgb8, outside_px = colouring.srgb8(planes)
        block = writer.pack(srgb8, row=window.rows.start, col=window.cols.start)
        return block, outside_px

    def take(packed: tuple[PackedBlock, int]) -> None:
        nonlocal outside, done
        block, outside_px = packed
        writer.append(block)
        outside, done = outside + outside_px, done + block.pixels
        progress(f"writing {path.name}", done / pixels)

    with print_writer(plates, path) as writer:
        each_in_order(work, grid, take)
    return Written(path=path, outside_srgb_pct=100 * outside / pixels)


def print_writer(plates: PlateSet, path: Path) -> AbstractContextManager[PictureWriter]:
    """A writer for a picture of a spread, whose blocks are the windows of its plates."""
    grid = plates.windows()
    shape = PictureShape(
        width_px=grid.width_px,
        height_px=grid.height_px,
        block_rows=grid.rows,
        block_cols=grid.cols,
    )
    return picture_writer(path, shape, ppi=plates.ppi)
