"""The pictures that are asked for of a spread or of loose plates: which, and under what names.

How they are made, in one pass over the plates, stands in inkmix.jobs.printing.predict.
"""

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType

from inkmix.base.arguments import names_of, path_of
from inkmix.book.first.loose import LoosePlates
from inkmix.book.meant.condition import resolve_condition
from inkmix.book.meant.swap import named_as_printed
from inkmix.book.values import Book
from inkmix.jobs.candidates import swapped
from inkmix.jobs.printing.predict import Wanted, Written, write_predictions
from inkmix.jobs.printing.targets import refuse_targets
from inkmix.jobs.refusals import refuse_inks, refuse_no_book
from inkmix.jobs.spread import (
    Progress,
    Spread,
    choose_spread,
    no_progress,
    open_loose,
    open_uncounted,
)
from inkmix.plates.files.scratch.room import TEMPORARY, ScratchRoom

PREDICTED = "predicted"
"""The folder beside the book for pictures that nobody named."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Predicted:
    """Pictures that were written.

    Parameters
    ----------
    written : tuple of Written
        Paths, and the share of pixels that sRGB cannot show.
    notes : tuple of str
        What was accepted of book and plates and has to be said.
    cautions : tuple of str
        What the evidence is thin for.
    unproven : tuple of str
        Why the model was never tried on such a print.
    hints : tuple of str
        Names of inks that are known by a screen colour only.
    """

    written: tuple[Written, ...]
    notes: tuple[str, ...]
    cautions: tuple[str, ...]
    unproven: tuple[str, ...]
    hints: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Pictures:
    """Which pictures are wanted.

    Parameters
    ----------
    to : str, Path or None
        Ends in .png, .tif or .tiff; None: predicted/SPREAD.png beside the book.
    inks : str or sequence of str
        Only this plate, or these; empty: all.
    each : bool
        One picture a plate, each in its ink.
    pair : bool
        Also the layers as a screen multiplies them.
    adapt_to_paper : bool
        The paper as the screen's white, as eyes adapt to it.
    """

    to: str | Path | None = None
    inks: str | Sequence[str] = ()
    each: bool = False
    pair: bool = False
    adapt_to_paper: bool = False


ONE_PICTURE = Pictures()


def predict_spread(
    book: Book,
    name: str | None = None,
    *,
    pictures: Pictures | None = None,
    swaps: Mapping[str, str] = MappingProxyType({}),
    candidates: str | Sequence[str] = (),
    announce: Callable[[str], None] | None = None,
    progress: Progress | None = None,
) -> Predicted:
    """Write pictures of what a spread will print, at full size.

    Colours are sRGB; those that it cannot show are cut to its edge. A prediction on a screen is no
    proof.

    Parameters
    ----------
    name : str or None
        The spread; None: the only one.
    pictures : Pictures or None
        Which are wanted; None: one, of all plates.
    swaps : mapping of str to str
        For an ink of the book, the ink that prints its plate instead: a swatch, an ink of
        `candidates`, or "#rrggbb".
    candidates : str or sequence of str
        Shade cards, CGATS files, or ink sets in which inks of `swaps` are looked for.
    announce : callable of str, or None
        Told of files that need much room.
    progress : callable or None
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
    refuse_no_book(book)
    wanted, tell = pictures or ONE_PICTURE, progress or no_progress
    name = choose_spread(book, name)
    book = swapped(book, swaps, names_of(candidates, what="candidates"), spread=name)
    refuse_inks(book.for_spread(name), _inks(wanted))
    room = _room(book, wanted, announce)
    spread = open_uncounted(book, name, room=room, progress=tell)
    printed = named_as_printed(book.for_spread(name), swaps) if swaps else None
    return _written(spread, wanted, tell, printed=printed)


def predict_plates(
    plates: LoosePlates,
    *,
    pictures: Pictures = ONE_PICTURE,
    announce: Callable[[str], None] | None = None,
    progress: Progress = no_progress,
) -> Predicted:
    """Write pictures of what plates without a book will print, as `predict_spread` does."""
    refuse_inks(plates.book, _inks(pictures))
    room = _room(plates.book, pictures, announce)
    return _written(open_loose(plates.book, plates.sources, room=room), pictures, progress)


def _inks(pictures: Pictures) -> tuple[str, ...]:
    return names_of(pictures.inks, what="inks")


def _target(book: Book, name: str, pictures: Pictures) -> Path:
    if pictures.to is None:
        return book.folder / PREDICTED / f"{name or 'plates'}.png"
    return path_of(pictures.to, what="to")


def _room(book: Book, pictures: Pictures, announce: Callable[[str], None] | None) -> ScratchRoom:
    """Beside the pictures."""
    folder = _target(book, "", pictures).parent
    return ScratchRoom(folder=folder, announce=announce or TEMPORARY.announce)


def _written(
    spread: Spread, pictures: Pictures, progress: Progress, *, printed: Book | None = None
) -> Predicted:
    """Pictures of a spread; its inks are spoken of by the names that `printed` gives them."""
    wanted = list(_wanted(spread, pictures))
    refuse_targets(spread, [picture.path for picture in wanted])
    counted, written = write_predictions(spread, wanted, progress=progress)
    condition = counted.condition if printed is None else resolve_condition(printed)
    return Predicted(
        written=written,
        notes=counted.notes,
        cautions=condition.cautions,
        unproven=condition.doubts,
        hints=condition.hints,
    )


def _wanted(spread: Spread, pictures: Pictures) -> Iterator[Wanted]:
    target = _target(spread.book, spread.name, pictures)
    for path, inks in _targets(target, pictures, spread.plates.inks):
        yield Wanted(path=path, inks=inks, adapt_to_paper=pictures.adapt_to_paper)
    if pictures.pair:
        path = _beside(target, "on-screen")
        yield Wanted(
            path=path, inks=_inks(pictures), on_screen=True, adapt_to_paper=pictures.adapt_to_paper
        )


def _targets(
    target: Path, pictures: Pictures, inks: Collection[str]
) -> Iterator[tuple[Path, tuple[str, ...]]]:
    if not pictures.each:
        yield target, _inks(pictures)
        return
    for name in _inks(pictures) or inks:
        yield _beside(target, name), (name,)


def _beside(target: Path, name: str) -> Path:
    return target.with_name(f"{target.stem}-{name}{target.suffix}")
