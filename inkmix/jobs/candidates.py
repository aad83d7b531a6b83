"""Inks to choose from beside those of a book: hues that come with inkmix, or somebody's own inks.

`palette` and `mix` find them alike: where none are named, the hues that fit the paper are offered;
else ink sets, shade cards and measurement files. What is done with them is not known here.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from types import MappingProxyType

from inkmix.base.errors import Fault, UsageError
from inkmix.base.names import spelling
from inkmix.base.quoting import quoted
from inkmix.base.words import count, listing
from inkmix.book.meant.collected_faults import all_of
from inkmix.book.meant.condition import resolve_paper
from inkmix.book.meant.swap import with_swapped
from inkmix.book.values import Book
from inkmix.colour.named import colour_name
from inkmix.jobs.inks.entries import Field, field_of
from inkmix.press.inks import Ink, Paper
from inkmix.press.paper_change import put_on_paper
from inkmix.press.swatches.by_name import SwatchInk, inks_that_fit, load_ink
from inkmix.press.swatches.files import read_inks


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Hue:
    """An invented ink: nobody sells it, but a printer can be asked for one of its colour.

    Parameters
    ----------
    name : str
    word : str
        For its colour: "dark blue".
    field : Field
        The solid on the paper in hand.
    """

    name: str
    word: str
    field: Field


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidates:
    """Inks beside those of a book.

    Parameters
    ----------
    inks : tuple of Ink
        As they were measured; no two of one name, and none of a name that is taken.
    words : str
        What they are, to be set after "the book's own inks and"; empty where there are none.
    swatch : mapping of str to str
        Full names of those that come with inkmix.
    hues : mapping of str to Hue
        Those that are invented, by name.
    notes : tuple of str
        What has to be said of the files.
    """

    inks: tuple[Ink, ...]
    words: str
    swatch: Mapping[str, str]
    hues: Mapping[str, Hue]
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Part:
    """The inks of one set or file."""

    inks: tuple[Ink, ...]
    words: str
    listed: tuple[SwatchInk, ...] = ()
    notes: tuple[str, ...] = ()


def candidates_for(
    book: Book, paper: Paper, names: Sequence[str] = (), *, taken: Collection[str] = ()
) -> Candidates:
    """What may be tried beside a book's own inks on its paper.

    Parameters
    ----------
    names : sequence of str
        Ink sets ("night-ferry"), and files: shade cards, or CGATS text. A relative path is looked
        for here, then beside the book. None: what comes with inkmix and fits.
    taken : collection of str
        Names and swatch names of the book's inks: of two of a name the book's word counts.

    Raises
    ------
    InkmixError
        With all that cannot be read, and sets that do not fit the paper.
    """
    makers = [partial(_named, book, paper, name) for name in names]
    parts = all_of(makers or [partial(_fitting, book, paper)])
    inks: dict[str, Ink] = {}
    swatch: dict[str, str] = {}
    hues: dict[str, Hue] = {}
    for part in parts:
        full = {ink.name.rpartition("/")[2]: ink for ink in part.listed}
        for ink in part.inks:
            told = full.get(ink.name)
            if {ink.name, told.name if told else ink.name} & {*taken, *inks}:
                continue
            inks[ink.name] = ink
            if told is not None:
                swatch[ink.name] = told.name
                hues |= {ink.name: hue_of(ink, paper)} if told.invented else {}
    if names and not inks:
        found = "holds no ink that is not there already"
        raise UsageError(Fault(where=listing(names), found=found, do="name another"))
    return Candidates(
        inks=tuple(inks.values()),
        words=listing([part.words for part in parts]) if inks else "",
        swatch=MappingProxyType(swatch),
        hues=MappingProxyType(hues),
        notes=tuple(note for part in parts for note in part.notes),
    )


def swapped(
    book: Book, swaps: Mapping[str, str], names: Sequence[str], *, spread: str | None = None
) -> Book:
    """The book with inks swapped, for swatches and for inks of files that `names` gives.

    Parameters
    ----------
    spread : str or None
        On whose paper inks of files are; None: on that of the book.

    Raises
    ------
    InkmixError
        As `candidates_for`, or for a swap that cannot be.
    """
    if not names:
        return with_swapped(book, swaps)
    if not swaps:
        raise UsageError(
            Fault(
                where="candidates",
                found="given, and no plate is to print in any of them",
                do="say which does: --ink INK=NAME",
            )
        )
    paper = resolve_paper(book if spread is None else book.for_spread(spread))
    found = candidates_for(book, paper, names)
    own = {ink.name: ink for ink in found.inks if ink.name not in found.swatch}
    full = {
        name: found.swatch.get(spelling(new, (*own, *found.swatch)), new)
        for name, new in swaps.items()
    }
    done = with_swapped(book, full, told=own)
    overrides = tuple(
        replace(o, book=replace(o.book, notes=(*o.book.notes, *found.notes)))
        for o in done.overrides
    )
    return replace(done, notes=(*done.notes, *found.notes), overrides=overrides)


def hue_of(ink: Ink, paper: Paper) -> Hue:
    """The colour that an invented ink stands for, on a paper."""
    field = field_of(put_on_paper(ink, paper).solid_xyz100)
    L, a, b = field.lab.tolist()
    return Hue(name=ink.name, word=colour_name((L, a, b)), field=field)


def _named(book: Book, paper: Paper, name: str) -> _Part:
    """The inks of a file, or of a set that fits the paper."""
    path, beside = Path(name), book.folder / name
    if not (path.suffix or path.is_file() or beside.is_file()):
        return _set(paper, name)
    read = read_inks(beside if beside.exists() and not path.exists() else path, paper=paper)
    words = f"the {count(len(read.inks), 'ink')} of {path.name}"
    return _Part(inks=read.inks, words=words, notes=read.notes)


def _set(paper: Paper, name: str) -> _Part:
    fit = inks_that_fit(paper)
    known = tuple(dict.fromkeys(_set_of(ink.name) for ink in fit))
    if name not in known:
        found = f"no ink set {quoted(name)} on this paper"
        do = f"sets on {paper.name}: {listing(known)}"
        raise UsageError(Fault(where="candidates", found=found, do=do))
    return _shipped(paper, [ink for ink in fit if _set_of(ink.name) == name], f"those of {name}")


def _fitting(book: Book, paper: Paper) -> _Part:
    """What comes with inkmix: hues, and the sets that the book uses already."""
    used = {_set_of(spec.swatch) for spec in book.inks if spec.swatch}
    fit = [ink for ink in inks_that_fit(paper) if ink.invented or _set_of(ink.name) in used]
    return _shipped(paper, fit, "hues that come with inkmix")


def _shipped(paper: Paper, fit: Sequence[SwatchInk], words: str) -> _Part:
    inks = tuple(load_ink(ink.name, paper=paper) for ink in fit)
    on = dict.fromkeys(ink.measured_on.name for ink in inks)
    told = f"{words}, known on {listing(tuple(on))}"
    return _Part(inks=inks, words=told, listed=tuple(fit))


def _set_of(name: str) -> str:
    return name.rpartition("/")[0]
