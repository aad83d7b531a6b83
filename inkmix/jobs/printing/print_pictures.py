"""The pictures that are asked for of a spread or of loose plates: which, and under what names.

How they are made, in one pass over the plates, stands in inkmix.jobs.printing.predict.
"""

from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType

from inkmix.book.first.loose import LoosePlates
from inkmix.book.meant.swap import with_swapped
from inkmix.book.values import Book
from inkmix.jobs.books import refuse_inks
from inkmix.jobs.printing.predict import Wanted, Written, write_predictions
from inkmix.jobs.printing.targets import refuse_targets
from inkmix.jobs.spread import (
    Progress,
    Spread,
    choose_spread,
    no_progress,
    open_loose,
    open_uncounted,
)
from inkmix.plates.files.scratch.room import ScratchRoom

PREDICTED = "predicted"
"""The folder beside the book for pictures that nobody named."""


def _unheard(sentence: str) -> None:
    """Tell nobody."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Predicted:
    """Pictures that were written.

    Parameters
    ----------
    written : tuple of Written
        Paths, and the share of pixels that sRGB cannot show.
    notes : tuple of str
        What was accepted of book and plates and has to be said.
    unproven : tuple of str
        Why the model was never tried on such a print.
    """

    written: tuple[Written, ...]
    notes: tuple[str, ...]
    unproven: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Pictures:
    """Which pictures are wanted.

    Parameters
    ----------
    to : Path or None
        Ends in .png, .tif or .tiff; None: predicted/SPREAD.png beside the book.
    inks : tuple of str
        Only these plates; empty: all.
    each : bool
        One picture a plate, each in its ink.
    pair : bool
        Also the layers as a screen multiplies them.
    paper_white : bool
        The paper as the screen's white.
    """

    to: Path | None = None
    inks: tuple[str, ...] = ()
    each: bool = False
    pair: bool = False
    paper_white: bool = False


ONE_PICTURE = Pictures()


def predict_spread(
    book: Book,
    name: str | None = None,
    *,
    pictures: Pictures = ONE_PICTURE,
    swaps: Mapping[str, str] = MappingProxyType({}),
    announce: Callable[[str], None] = _unheard,
    progress: Progress = no_progress,
) -> Predicted:
    """Write pictures of what a spread will print, at full size.

    Colours are sRGB; those that it cannot show are cut to its edge. A prediction on a screen is no
    proof.

    Parameters
    ----------
    name : str or None
        The spread; None: the only one.
    pictures : Pictures
        Which are wanted; else one, of all plates.
    swaps : mapping of str to str
        For an ink of the book, the ink that prints its plate instead: a swatch, or "#rrggbb".
    announce : callable of str
        Told of files that need much room.
    progress : callable
        Told what is being done and how far it is, 0-1.

    Raises
    ------
    UsageError
        An ink or a spread that is not there, or several spreads and none named.
    PlateError
        With all that is wrong with the plates; then no picture is written.
    OutputError
        Where a file cannot be written, is an input, or was not written by inkmix.

    Examples
    --------
    ::

        book = inkmix.read_book("night-ferry")
        done = inkmix.predict_spread(book, pictures=inkmix.Pictures(inks=("Rowan",)))
        (one,) = done.written
        assert one.path.parent == book.folder / "predicted" and one.path.suffix == ".png"
        assert 0 <= one.outside_srgb_pct <= 100
    """
    book = with_swapped(book, swaps)
    name = choose_spread(book, name)
    refuse_inks(book.for_spread(name), pictures.inks)
    room = ScratchRoom(folder=_folder(book, pictures), announce=announce)
    spread = open_uncounted(book, name, room=room, progress=progress)
    return _written(spread, pictures, progress)


def predict_plates(
    plates: LoosePlates,
    *,
    pictures: Pictures = ONE_PICTURE,
    announce: Callable[[str], None] = _unheard,
    progress: Progress = no_progress,
) -> Predicted:
    """Write pictures of what plates without a book will print, as `predict_spread` does."""
    refuse_inks(plates.book, pictures.inks)
    room = ScratchRoom(folder=_folder(plates.book, pictures), announce=announce)
    return _written(open_loose(plates.book, plates.sources, room=room), pictures, progress)


def _folder(book: Book, pictures: Pictures) -> Path:
    return book.folder / PREDICTED if pictures.to is None else pictures.to.parent


def _written(spread: Spread, pictures: Pictures, progress: Progress) -> Predicted:
    wanted = list(_wanted(spread, pictures))
    refuse_targets(spread, [picture.path for picture in wanted])
    counted, written = write_predictions(spread, wanted, progress=progress)
    return Predicted(written=written, notes=counted.notes, unproven=counted.condition.doubts)


def _wanted(spread: Spread, pictures: Pictures) -> Iterator[Wanted]:
    target = pictures.to or spread.book.folder / PREDICTED / f"{spread.name or 'plates'}.png"
    for path, inks in _targets(target, pictures, spread.plates.inks):
        yield Wanted(path=path, inks=inks, paper_white=pictures.paper_white)
    if pictures.pair:
        path = _beside(target, "on-screen")
        yield Wanted(
            path=path, inks=pictures.inks, on_screen=True, paper_white=pictures.paper_white
        )


def _targets(
    target: Path, pictures: Pictures, inks: Collection[str]
) -> Iterator[tuple[Path, tuple[str, ...]]]:
    if not pictures.each:
        yield target, pictures.inks
        return
    for name in pictures.inks or inks:
        yield _beside(target, name), (name,)


def _beside(target: Path, name: str) -> Path:
    return target.with_name(f"{target.stem}-{name}{target.suffix}")
