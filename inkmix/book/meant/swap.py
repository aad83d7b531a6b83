"""A book with another ink on one of its plates: how would this drawing print in that ink?

The plate keeps its name and its file; only the ink that prints it changes. Names alone are looked
up here; colours are put together by condition.py.
"""

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict, replace

from inkmix.base.errors import Fault, UsageError
from inkmix.base.quoting import listed, quoted
from inkmix.book.double_hits import first_hits
from inkmix.book.faults import did_you_mean
from inkmix.book.meant.swap_order import laid_down
from inkmix.book.values import TONES, Book, InkSpec
from inkmix.press.swatches.by_name import list_inks

_SWAPPED = "ink"  # as the option and as the mapping
_HEX = re.compile("#[0-9A-Fa-f]{6}")
_FEWEST = 2  # inks of a measured mixture


def with_swapped(book: Book, swaps: Mapping[str, str]) -> Book:
    """The book with some plates printed in other inks.

    Plates keep their names; an ink that prints another's plate once more follows it. Inks are laid
    down as inkmix.book.meant.swap_order says, which leaves a note where one moves. What the book
    says of the old ink (opacity, tone value increase, a guess) does not hold for the new one, and
    measured mixtures count only where no swapped ink is in them.

    Parameters
    ----------
    swaps : mapping of str to str
        For an ink of the book, a swatch of the book's paper ("Ember", "night-ferry/Ember"), or a
        screen colour "#rrggbb" as a hint.

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
    faults = [_no_ink(name, names) for name in swaps if name not in names]
    faults += [fault for one in books for fault in _faults(one, swaps)]
    if faults:
        raise UsageError(dict.fromkeys(faults))
    overrides = (replace(o, book=_swapped(o.book, swaps)) for o in book.overrides)
    return replace(_swapped(book, swaps), overrides=tuple(overrides))


def named_as_printed(book: Book, swaps: Mapping[str, str]) -> Book:
    """A swapped book whose inks are called by what prints, in its tones too; no plates fit it.

    An ink that the book has twice then is told apart by a number.
    """
    names: dict[str, str] = {}
    kept = {ink.name for ink in book.inks if (ink.plate or ink.name) not in swaps}
    for ink in book.inks:
        new = _last(swaps.get(ink.plate or ink.name, "#"))
        taken = {*kept, *names.values()}
        names[ink.name] = ink.name if new.startswith("#") else _free(new, taken)
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


def _free(name: str, taken: set[str]) -> str:
    number = 2
    free = name
    while free in taken:
        free, number = f"{name} {number}", number + 1
    return free


def _no_ink(name: str, names: list[str]) -> Fault:
    found = f"the book has no ink {name}"
    return Fault(where=f"{_SWAPPED} {name}", found=found, do=did_you_mean(name, names))


def _faults(book: Book, swaps: Mapping[str, str]) -> Iterator[Fault]:
    """What is wrong with the swaps that concern one book."""
    for ink in book.inks:
        if ink.name not in swaps:
            continue
        where, new = f"{_SWAPPED} {ink.name}={swaps[ink.name]}", swaps[ink.name]
        if ink.plate is not None:
            found = f"{ink.name} prints the plate of {ink.plate} once more"
            yield Fault(where=where, found=found, do=f"swap {ink.plate}, which it follows")
        elif new.startswith("#"):
            yield from _colour_faults(ink, new, where)
        else:
            yield from _swatch_faults(book, ink, new, where)


def _colour_faults(ink: InkSpec, colour: str, where: str) -> Iterator[Fault]:
    if not _HEX.fullmatch(colour):
        expected = "a screen colour has six hex digits, as #3a2c4d"
        yield Fault(where=where, found=quoted(colour), expected=expected)
    elif (ink.srgb or "").lower() == colour.lower():
        yield _onto_itself(ink, where)


def _swatch_faults(book: Book, ink: InkSpec, name: str, where: str) -> Iterator[Fault]:
    found = _swatches(book, name)
    if len(found) > 1:
        yield Fault(
            where=where,
            found=f"{name} is in several sets",
            do=f"write one of {', '.join(found)}",
        )
    elif not found:
        yield _unknown(book, name, where)
    elif found[0] == ink.swatch:
        yield _onto_itself(ink, where)


def _onto_itself(ink: InkSpec, where: str) -> Fault:
    found = f"{ink.name} is printed in that ink already"
    return Fault(where=where, found=found, do="name another ink")


def _unknown(book: Book, name: str, where: str) -> Fault:
    """No such ink on the paper: printed elsewhere, or nowhere."""
    here = _on_paper(book)
    if any(name in (ink.name, _last(ink.name)) for ink in list_inks()):
        found = f"{name} was not printed on {book.paper.swatch}"
        return Fault(where=where, found=found, expected=f"its inks are {listed(_short(here))}")
    names = here if "/" in name else _short(here)
    return Fault(where=where, found=f"there is no ink {name}", do=did_you_mean(name, names))


def _swatches(book: Book, name: str) -> list[str]:
    """Full names of the inks on the book's paper that a name, full or short, may mean."""
    here = _on_paper(book)
    return [name] if name in here else [full for full in here if _last(full) == name]


def _on_paper(book: Book) -> list[str]:
    """Inks that were printed on the paper of the book; all where it is no swatch."""
    paper = book.paper.swatch
    return [ink.name for ink in list_inks() if paper is None or paper in ink.papers]


def _short(names: Iterable[str]) -> list[str]:
    return [_last(name) for name in names]


def _last(name: str) -> str:
    return name.rpartition("/")[2]


def _swapped(book: Book, swaps: Mapping[str, str]) -> Book:
    """One book, overrides left alone; every swap was found sound."""
    inks = [_new_ink(book, ink, swaps.get(ink.plate or ink.name)) for ink in book.inks]
    hits = first_hits([{**asdict(ink), "xyz": ink.xyz100} for ink in inks])
    still = sum(new is old for new, old in zip(inks, book.inks, strict=True))
    press = book.press if still >= _FEWEST else replace(book.press, overprints=None)
    new = replace(
        book, inks=tuple(replace(ink, hit_of=hits[ink.name]) for ink in inks), press=press
    )
    return laid_down(book, new)


def _new_ink(book: Book, ink: InkSpec, new: str | None) -> InkSpec:
    """The ink that prints this plate instead; what belongs to the plate stays."""
    if new is None:
        return ink
    plate = InkSpec(
        name=ink.name, polarity=ink.polarity, channel=ink.channel, plate=ink.plate,
        angle_deg=ink.angle_deg, ruling_lpi=ink.ruling_lpi, press_pass=ink.press_pass,
    )  # fmt: skip
    if new.startswith("#"):
        return replace(plate, srgb=new.lower(), column=new)
    (swatch,) = _swatches(book, new)
    # The name of its column is no column of measured mixtures, unless they hold the new ink.
    return replace(plate, swatch=swatch, column=swatch)
