"""The predicted print as a picture at full size: all plates or some, on the paper or on white.

Colours come from the table of the press condition; the file is written band by band.
"""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt
from numpy.typing import NDArray

from inkmix.book.values import Book
from inkmix.checks.window import Planes
from inkmix.colorimetry import WHITE_XYZ100
from inkmix.errors import Fault, OutputError, UsageError
from inkmix.export.picture import picture_writer, refuse_target
from inkmix.lookup import ColourModel, Lookup, outside_srgb, srgb_to_srgb8
from inkmix.passes import coloured_windows
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
    known = spread.plates.inks
    absent = [index for index, name in enumerate(known) if inks and name not in inks]
    width, height = spread.plates.width_px, spread.plates.height_px
    outside = 0

    def without(planes: Planes, window: Window) -> Planes:
        planes = planes.copy()
        planes[absent] = 0
        return planes

    change = without if absent else None
    with picture_writer(path, width_px=width, height_px=height, ppi=spread.plates.ppi) as writer:
        for window in coloured_windows(spread.plates, lookup, change=change):
            writer.write_rows(srgb_to_srgb8(window.srgb))
            outside += int(outside_srgb(window.srgb).sum())
            progress(f"writing {path.name}", window.checked.rows.stop / height)
    return Written(path=path, outside_srgb_pct=100 * outside / (width * height))
