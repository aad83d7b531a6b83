"""A book with another ink on one of its plates: how would this drawing print in that ink?

The plate keeps its name and its file; only the ink that prints it changes. Names alone are looked
up here; colours are put together by condition.py.
"""

import re
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict, replace
from types import MappingProxyType
from typing import Any

from inkmix.base.errors import Fault, UsageError
from inkmix.base.names import folded, same_name, spelling
from inkmix.base.quoting import listed, quoted
from inkmix.base.words import listing
from inkmix.book.double_hits import first_hits
from inkmix.book.faults import did_you_mean
from inkmix.book.meant.condition import resolve_paper
from inkmix.book.meant.swap_order import laid_down
from inkmix.book.values import TONES, Book, InkSpec
from inkmix.press.inks import Ink
from inkmix.press.paper_change import is_same_paper
from inkmix.press.swatches.by_name import inks_that_fit, list_inks, load_paper

_SWAPPED = "ink"  # as the option and as the mapping
_HEX = re.compile("#[0-9A-Fa-f]{6}")
_FEWEST = 2  # inks of a measured mixture


def with_swapped(
    book: Book, swaps: Mapping[str, str], *, told: Mapping[str, Ink] = MappingProxyType({})
) -> Book:
    """The book with some plates printed in other inks.

    Plates keep their names; an ink that prints another's plate once more follows it. Inks are laid
    down as inkmix.book.meant.swap_order says, which leaves a note where one moves. What the book
    says of the old ink (opacity, tone value increase, a guess) does not hold for the new one, and
    measured mixtures count only where no swapped ink is in them.

    Parameters
    ----------
    swaps : mapping of str to str
        For an ink of the book, a swatch of the book's paper ("Ember", "night-ferry/Ember"), or a
        screen colour "#rrggbb" as a hint; names in any letter case.
    told : mapping of str to Ink
        Inks of files beside the book; of an ink of theirs and a swatch of one name theirs counts.

    Raises
    ------
    UsageError
        With all that is wrong: an ink that the book has not, one that was not printed on its
        paper, one that is there already.
    """
    if not swaps:
        return book
    books = (book, *(override.book for override in book.overrides))
    names = list(dict.fromkeys(name for one in books for name in one.ink_names))
    swaps = _spelt(swaps, names, told)
    faults = [_no_ink(name, names) for name in swaps if name not in names]
    shipped = {name: new for name, new in swaps.items() if new not in told}
    faults += [fault for one in books for fault in _faults(one, swaps, shipped, list(told))]
    if faults:
        raise UsageError(dict.fromkeys(faults))
    overrides = (replace(o, book=_swapped(o.book, swaps, told)) for o in book.overrides)
    return replace(_swapped(book, swaps, told), overrides=tuple(overrides))


def named_as_printed(book: Book, swaps: Mapping[str, str]) -> Book:
    """A swapped book whose inks are called by what prints, in its tones too; no plates fit it.

    An ink that the book has twice then is told apart by a number.
    """
    names: dict[str, str] = {}
    swapped = {folded(name) for name in swaps}
    kept = {ink.name for ink in book.inks if folded(ink.plate or ink.name) not in swapped}
    for ink in book.inks:
        taken = {*kept, *names.values()}
        names[ink.name] = ink.name if ink.name in kept else _free(_of_ink(ink), taken)
    inks = (
        replace(ink, name=names[ink.name], plate=ink.plate and names[ink.plate],
                hit_of=ink.hit_of and names[ink.hit_of])
        for ink in book.inks
    )  # fmt: skip
    tones = (
        replace(tone, mix_pct={names[ink]: pct for ink, pct in tone.mix_pct.items()})
        for tone in book.tones
    )
    return replace(book, inks=tuple(inks), sections={**book.sections, TONES.table: tuple(tones)})


def _spelt(
    swaps: Mapping[str, str], names: Collection[str], told: Collection[str]
) -> dict[str, str]:
    """Swaps with names as book and files spell them; what names an ink again stays as it is."""
    spelt: dict[str, str] = {}
    for name, new in swaps.items():
        own = spelling(name, names)
        is_again = own in spelt or (own != name and own in swaps)
        spelt[name if is_again else own] = spelling(new, told)
    return spelt


def _of_ink(ink: InkSpec) -> str:
    """What the ink itself is called; a screen colour has the name of its plate."""
    if ink.told is not None:
        return ink.told.name
    return ink.name if ink.swatch is None else _last(ink.swatch)


def _free(name: str, taken: set[str]) -> str:
    number = 2
    free = name
    while free in taken:
        free, number = f"{name} {number}", number + 1
    return free


def _no_ink(name: str, names: list[str]) -> Fault:
    found = f"the book has no ink {name}"
    return Fault(where=f"{_SWAPPED} {name}", found=found, do=did_you_mean(name, names))


def _faults(
    book: Book, swaps: Mapping[str, str], shipped: Mapping[str, str], told: Sequence[str]
) -> Iterator[Fault]:
    """What is wrong with the swaps that concern one book; `shipped` are not to inks of files."""
    for ink in book.inks:
        if ink.name not in swaps:
            continue
        where, new = f"{_SWAPPED} {ink.name}={swaps[ink.name]}", swaps[ink.name]
        if ink.plate is not None:
            found = f"{ink.name} prints the plate of {ink.plate} once more"
            yield Fault(where=where, found=found, do=f"swap {ink.plate}, which it follows")
        elif ink.name not in shipped:
            continue
        elif new.startswith("#"):
            yield from _colour_faults(ink, new, where)
        else:
            yield from _swatch_faults(book, ink, new, where, told)


def _colour_faults(ink: InkSpec, colour: str, where: str) -> Iterator[Fault]:
    if not _HEX.fullmatch(colour):
        expected = "a screen colour has six hex digits, as #3a2c4d"
        yield Fault(where=where, found=quoted(colour), expected=expected)
    elif (ink.srgb or "").lower() == colour.lower():
        yield _onto_itself(ink, where)


def _swatch_faults(
    book: Book, ink: InkSpec, name: str, where: str, told: Sequence[str]
) -> Iterator[Fault]:
    found = _swatches(book, name)
    if len(found) > 1:
        yield Fault(
            where=where,
            found=f"{name} is in several sets",
            do=f"write one of {', '.join(found)}",
        )
    elif not found:
        yield _unknown(book, name, where, told)
    elif found[0] == ink.swatch:
        yield _onto_itself(ink, where)


def _onto_itself(ink: InkSpec, where: str) -> Fault:
    found = f"{ink.name} is printed in that ink already"
    return Fault(where=where, found=found, do="name another ink")


def _unknown(book: Book, name: str, where: str, told: Sequence[str]) -> Fault:
    """No such ink on the paper: printed elsewhere, or nowhere."""
    here = _on_paper(book)
    if any(_is_called(name, ink.name) for ink in list_inks()):
        found = f"{name} was not printed on {book.paper.swatch}"
        return Fault(where=where, found=found, expected=f"its inks are {listed(_short(here))}")
    names = [*told, *(here if "/" in name else _short(here))]
    return Fault(where=where, found=f"there is no ink {name}", do=did_you_mean(name, names))


def _swatches(book: Book, name: str) -> list[str]:
    """Full names of the inks on the book's paper that a name, full or short, may mean."""
    here = _on_paper(book)
    exact = [full for full in here if name == full] or [f for f in here if name == _last(f)]
    return exact or [full for full in here if _is_called(name, full)]


def _is_called(name: str, full: str) -> bool:
    """Whether a swatch is meant by a name, in any letter case."""
    return same_name(name, full) or same_name(name, _last(full))


def _on_paper(book: Book) -> list[str]:
    """Inks that fit the paper of the book; all where it is no swatch."""
    paper = book.paper.swatch
    return [
        ink.name for ink in (list_inks() if paper is None else inks_that_fit(load_paper(paper)))
    ]


def _short(names: Iterable[str]) -> list[str]:
    return [_last(name) for name in names]


def _last(name: str) -> str:
    return name.rpartition("/")[2]


def _swapped(book: Book, swaps: Mapping[str, str], told: Mapping[str, Ink]) -> Book:
    """One book, overrides left alone; every swap was found sound."""
    inks = [_new_ink(book, ink, swaps.get(ink.plate or ink.name), told) for ink in book.inks]
    hits = first_hits([_as_given(ink) for ink in inks])
    still = sum(new is old for new, old in zip(inks, book.inks, strict=True))
    press = book.press if still >= _FEWEST else replace(book.press, overprints=None)
    new = replace(
        book, inks=tuple(replace(ink, hit_of=hits[ink.name]) for ink in inks), press=press
    )
    laid = laid_down(book, new)
    return replace(laid, notes=(*laid.notes, *_notes(book, laid, swaps), *_told_notes(laid)))


def _as_given(ink: InkSpec) -> dict[str, Any]:
    """An ink as a book would give it; one of a file by what it is called there."""
    given = {**asdict(replace(ink, told=None)), "xyz": ink.xyz100}
    return given if ink.told is None else given | {"swatch": f"{ink.told.source}: {ink.told.name}"}


def _told_notes(book: Book) -> Iterator[str]:
    """What has to be said of inks of files that are known on another paper."""
    inks = [ink.told for ink in book.inks if ink.told is not None and ink.plate is None]
    if not inks:
        return
    paper = resolve_paper(book)
    for ink in inks:
        if not is_same_paper(ink.measured_on, paper):
            yield _elsewhere(ink.name, ink.measured_on.name)


def _elsewhere(name: str, papers: str) -> str:
    return (
        f"{name} is known on {papers} only; how it prints on this paper is a guess, with a larger "
        "expected error"
    )


def _notes(old: Book, new: Book, swaps: Mapping[str, str]) -> Iterator[str]:
    """What has to be said of an ink of ours: nobody sells it, and it may be of another paper."""
    shipped = {ink.name: ink for ink in list_inks()}
    paper = old.paper.swatch
    had = {ink.swatch for ink in old.inks}
    for ink in new.inks:
        told = shipped.get(ink.swatch or "")
        if ink.name not in swaps or told is None or told.name in had:
            continue
        name = _last(told.name)
        if told.invented:
            yield (
                f"{name} comes with inkmix and is invented: a hue to ask your printer for, not an "
                "ink to buy"
            )
        if paper not in told.papers:
            yield _elsewhere(name, listing(told.papers))


def _new_ink(book: Book, ink: InkSpec, new: str | None, told: Mapping[str, Ink]) -> InkSpec:
    """The ink that prints this plate instead; what belongs to the plate stays."""
    if new is None:
        return ink
    plate = InkSpec(
        name=ink.name, polarity=ink.polarity, channel=ink.channel, plate=ink.plate,
        angle_deg=ink.angle_deg, ruling_lpi=ink.ruling_lpi, press_pass=ink.press_pass,
    )  # fmt: skip
    if new in told:
        return replace(plate, told=told[new], column=new)
    if new.startswith("#"):
        return replace(plate, srgb=new.lower(), column=new)
    (swatch,) = _swatches(book, new)
    # The name of its column is no column of measured mixtures, unless they hold the new ink.
    return replace(plate, swatch=swatch, column=swatch)
