"""A book for plates that lie loose: inks by file name or as told, nothing but the press condition.

No file is opened; what is wrong with the plates is found when they are.
"""

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from inkmix.base.errors import Fault, InkmixError, UsageError
from inkmix.base.quoting import quoted
from inkmix.book.double_hits import first_hits
from inkmix.book.first.inkwords import InkGuess, guess_each, unordered
from inkmix.book.first.order import USUAL, Unordered, order_words, proposed_order
from inkmix.book.meant.collected_faults import all_of, placed
from inkmix.book.values import Book, InkSpec, PaperSpec, PlatesSpec, PressSpec
from inkmix.plates.plate import PlateSource
from inkmix.press.inks import Paper
from inkmix.press.order import lay_down_order
from inkmix.press.processes import find_process
from inkmix.press.swatches.by_name import list_papers, load_ink, load_paper

_HEX = re.compile("#[0-9A-Fa-f]{6}")
_FEWEST_IN_ORDER = 2  # one ink alone has no order


@dataclass(frozen=True, slots=True, kw_only=True)
class LoosePlates:
    """Plates without a book.

    Parameters
    ----------
    book : Book
        Inks in lay-down order, paper and process; nothing else is known.
    sources : mapping of str to PlateSource
        By ink.
    guesses : tuple of str
        What was guessed, in words.
    """

    book: Book
    sources: Mapping[str, PlateSource | None]
    guesses: tuple[str, ...]


def loose_book(
    files: Sequence[Path],
    *,
    inks: Mapping[str, str],
    paper: str,
    process: str,
    ppi: float | None,
) -> LoosePlates:
    """Plates that lie loose, with what can be said of their inks; no file is opened.

    Parameters
    ----------
    files : sequence of Path
        One an ink; the file name without its ending is the ink's name.
    inks : mapping of str to str
        For a name, a swatch ("night-ferry/Soot") or a screen colour ("#27508a"). Where several are
        given they say their lay-down order, and the others take their proposed places among them.
    paper : str
        Swatch.

    Raises
    ------
    UsageError
        Two files of one name, an ink that no file has.
    SwatchError, ModelError
        Unknown paper or process.
    """
    all_of(_checks(inks, paper=paper, process=process))
    by_name = _by_name(files, inks)
    guessed = tuple(guess for guess in guess_each(tuple(by_name)) if guess.name not in inks)
    unsorted = [_told(name, inks[name]) for name in inks] + [_guessed(guess) for guess in guessed]
    specs, order_note = _laid_down(unsorted, told=len(inks), paper=load_paper(paper))
    told = [{"name": s.name, "swatch": s.swatch, "srgb": s.srgb} for s in specs if s.name in inks]
    hits = first_hits(told)
    folder = files[0].resolve().parent
    book = Book(
        path=folder / "plates",
        folder=folder,
        title=", ".join(by_name),
        paper=PaperSpec(swatch=paper),
        inks=tuple(specs),
        press=PressSpec(process=process),
        plates=PlatesSpec(pattern="", ppi=ppi),
    )
    sources: dict[str, PlateSource | None] = {
        spec.name: PlateSource(path=by_name[spec.name], hit_of=hits.get(spec.name))
        for spec in specs
    }
    guesses = (*(_note(guess) for guess in guessed), *order_note)
    return LoosePlates(book=book, sources=sources, guesses=guesses)


def _by_name(files: Sequence[Path], inks: Mapping[str, str]) -> dict[str, Path]:
    by_name: dict[str, Path] = {}
    faults = []
    for path in files:
        if path.stem in by_name:
            found = f"the same ink name as {by_name[path.stem]}"
            faults.append(Fault(where=str(path), found=found, do="name one file for each ink"))
        by_name[path.stem] = path
    for name in inks:
        if name not in by_name:
            found = f"no file {name}.tif or {name}.png among those named"
            faults.append(Fault(where=f"ink {name}", found=found, do="name files after their inks"))
    if faults:
        raise UsageError(faults)
    return by_name


def _checks(inks: Mapping[str, str], *, paper: str, process: str) -> list[Callable[[], object]]:
    """What finds faults in the words of the person, each under the option that holds them."""
    return [
        partial(_under, "--paper", partial(load_paper, paper)),
        partial(find_process, process),
        *(partial(_under, f"--ink {name}", partial(_known, inks[name])) for name in inks),
    ]


def _under(option: str, find: Callable[[], object]) -> None:
    try:
        find()
    except InkmixError as error:
        raise placed(error, option) from None


def _known(colour: str) -> None:
    """Refuse a colour that is neither a swatch nor written as #rrggbb."""
    if not colour.startswith("#"):
        load_ink(colour, paper=list_papers()[0])
    elif not _HEX.fullmatch(colour):
        expected = "a screen colour has six hex digits, as #3a2c4d"
        raise UsageError(Fault(where="", found=quoted(colour), expected=expected))


def _told(name: str, colour: str) -> InkSpec:
    if colour.startswith("#"):
        return InkSpec(name=name, srgb=colour)
    return InkSpec(name=name, swatch=colour)


def _guessed(guess: InkGuess) -> InkSpec:
    return InkSpec(name=guess.name, swatch=guess.swatch, srgb=guess.srgb)


def _laid_down(
    specs: Sequence[InkSpec], *, told: int, paper: Paper
) -> tuple[tuple[InkSpec, ...], tuple[str, ...]]:
    """Inks in lay-down order, and a note where some of it is guessed; the first are as told."""
    inks = [_unordered(spec, paper) for spec in specs]
    if told < _FEWEST_IN_ORDER:
        proposal = proposed_order(inks, paper)
        places, why = proposal.places, order_words(proposal)
    else:
        places = lay_down_order([one.ink for one in inks], paper, told=range(told))
        why = f"the inks given in the order given, the others where they usually come: {USUAL}"
    laid = tuple(specs[at] for at in places)
    if told == len(specs) or len(specs) < _FEWEST_IN_ORDER:
        return laid, ()
    names = ", ".join(spec.name for spec in laid)
    return laid, (f"printed in the order {names} ({why}); to set it, give all inks with --ink",)


def _unordered(spec: InkSpec, paper: Paper) -> Unordered:
    """An ink as it is taken to print."""
    guess = InkGuess(name=spec.name, swatch=spec.swatch, srgb=spec.srgb, why="")
    return unordered(guess, paper)


def _note(guess: InkGuess) -> str:
    colour = guess.swatch or guess.srgb
    return f"{guess.name} is taken as {colour} ({guess.why}); set it with --ink {guess.name}=..."
