"""Where an ink is laid down that prints a plate in another one's stead.

Inks that stay keep the order of the book. A new ink takes the place that is proposed for it among
them; an ink that the book prints already stays where it is printed, whatever its plate.
"""

from collections.abc import Iterator
from dataclasses import replace

from inkmix.base.errors import InkmixError
from inkmix.book.meant.condition import resolve_inks, resolve_paper
from inkmix.book.values import Book, InkSpec
from inkmix.press.inks import Ink, Paper
from inkmix.press.order import lay_down_order


def laid_down(old: Book, new: Book) -> Book:
    """A book after a swap with its inks in lay-down order, and a note on every ink that moved.

    Where paper or inks cannot be made out nothing moves; whoever puts them together refuses.

    Parameters
    ----------
    old, new : Book
        The same plates in the same order; what is swapped is another ink.
    """
    try:
        paper = resolve_paper(new)
        before, after = resolve_inks(old, paper), resolve_inks(new, paper)
    except InkmixError:
        return new
    ranks = _ranks(old, new, before, after, paper)
    order = sorted(range(len(ranks)), key=lambda at: (ranks[at], at))
    laid = replace(new, inks=tuple(new.inks[at] for at in order))
    return replace(laid, notes=(*new.notes, *_notes(old, laid)))


def _ranks(
    old: Book, new: Book, before: tuple[Ink, ...], after: tuple[Ink, ...], paper: Paper
) -> list[int]:
    """For each plate, how late its ink is printed."""
    homes = [_home(old, at, spec) for at, spec in enumerate(new.inks)]
    strange = [at for at, home in enumerate(homes) if home is None]
    # Names decide between inks that are equally dark: those of the inks, not those of the plates.
    named = (replace(after[at], name=_name(new.inks[at])) for at in strange)
    order = lay_down_order((*before, *named), paper, told=range(len(before)))
    rank = {ink: place for place, ink in enumerate(order)}
    ranks = []
    for at, home in enumerate(homes):
        ranks.append(rank[len(before) + strange.index(at) if home is None else home])
    return ranks


def _home(old: Book, at: int, new: InkSpec) -> int | None:
    """Which ink of the book decides when a plate is printed; None for an ink that it has not.

    A second hit stays where it is: that is what it is printed for.
    """
    if _stays(old.inks[at], new) or new.plate is not None:
        return at
    same = (k for k, ink in enumerate(old.inks) if _colour(ink) == _colour(new))
    return next(same, None)


def _stays(old: InkSpec, new: InkSpec) -> bool:
    """Whether a plate prints in its own ink; which hit of it, is counted anew."""
    return replace(new, hit_of=old.hit_of) == old


def _colour(ink: InkSpec) -> tuple[str | None, str | None]:
    """What a swap gives an ink; an ink of the book that is known otherwise is like no other."""
    if ink.told is not None:
        return ink.told.name, ink.told.source
    srgb = None if ink.srgb is None else ink.srgb.lower()
    return (ink.swatch, srgb) if ink.swatch or srgb else (ink.name, ink.name)


def _name(ink: InkSpec) -> str:
    if ink.told is not None:
        return ink.told.name
    return (ink.swatch or ink.srgb or ink.name).rpartition("/")[2]


def _notes(old: Book, laid: Book) -> Iterator[str]:
    was = {ink.name: (at, ink) for at, ink in enumerate(old.inks)}
    for at, ink in enumerate(laid.inks):
        before, same = was[ink.name]
        if not _stays(same, ink) and ink.plate is None and at != before:
            order = ", ".join(_name(one) if one.name == ink.name else one.name for one in laid.inks)
            yield (
                f"{_name(ink)} is laid down where it usually is, not in the place of {ink.name}: "
                f"{order}; ask your printer"
            )
