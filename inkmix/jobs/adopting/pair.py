"""Two books side by side: the one that is to know more, and the earlier one that knows it.

Both are resolved once; which ink of the one is which of the other is settled here.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from inkmix.base.errors import Fault, InkmixError, UsageError
from inkmix.base.names import folded, same_name, spelling
from inkmix.book.faults import did_you_mean
from inkmix.book.meant.collected_faults import placed
from inkmix.book.meant.condition import press_of, resolve_inks, resolve_paper
from inkmix.book.values import Book, InkSpec
from inkmix.press.calibration.press_file import PressFile
from inkmix.press.inks import Ink, Paper
from inkmix.press.paper_change import is_same_paper
from inkmix.press.swatches.by_name import is_invented_ink
from inkmix.press.values import KNOWN

GUESSED, HINT, HUE, MEASURED = range(4)
"""How well an ink is known: by nobody, by a screen colour, as an invented hue, by readings."""

OTHER_ORDER = "the inks are printed in another order there, or another number of times"


@dataclass(frozen=True, slots=True, kw_only=True)
class Side:
    """One of the books.

    Parameters
    ----------
    photograph : str
        Its press-condition file, where a camera made it: it is left aside then, since what a camera
        saw holds beside the book's own word. Else empty.
    """

    book: Book
    paper: Paper
    inks: Mapping[str, Ink]
    press: PressFile | None
    photograph: str = ""

    def is_printed(self, name: str) -> bool:
        """Whether the press-condition file of the book tells an ink."""
        return self.press is not None and any(same_name(name, one) for one in self.press.names)

    def spec(self, name: str) -> InkSpec:
        """What the book says of an ink."""
        return next(one for one in self.book.inks if one.name == name)

    def hits(self, name: str) -> tuple[str, ...]:
        """The names under which an ink is printed: its own, then further hits."""
        return tuple(one.name for one in self.book.inks if root_of(one) == name)

    def order_of(self, names: Mapping[str, str]) -> list[str]:
        """Some inks in lay-down order, each as often as it is printed, called by other names."""
        roots = [root_of(one) for one in self.book.inks]
        return [names[root] for root in roots if root in names]


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """This book and the other one.

    Parameters
    ----------
    theirs : mapping of str to str
        For an ink of this book its name in the other one; not for further hits.
    named : frozenset of str
        Inks of this book that somebody named to be taken over.
    """

    ours: Side
    other: Side
    theirs: Mapping[str, str]
    named: frozenset[str]

    @property
    def is_same_paper(self) -> bool:
        """Whether what was measured on the other book's paper was measured on this one's."""
        return is_same_paper(self.other.paper, self.ours.paper)

    def rank(self, side: Side, name: str) -> int:
        """How well an ink of one of the books is known on the paper of this one."""
        spec, ink = side.spec(name), side.inks[name]
        if ink.guessed:
            return GUESSED
        if ink.known == "screen colour":
            return HINT
        swatch = None if side.is_printed(name) else spec.swatch
        if swatch is not None and is_invented_ink(swatch):
            return HUE
        here = swatch is not None or is_same_paper(ink.measured_on, self.ours.paper)
        return MEASURED + (KNOWN.index(ink.known) if here else 0)

    @property
    def paper_words(self) -> str:
        """Why a mix from the other book's paper says nothing of this one's."""
        if self.other.paper.guessed:
            return "nobody says on which paper that was printed"
        return "that was printed on another paper"

    def is_known_here(self, name: str) -> bool:
        """Whether this book knows an ink as well or better, and nobody named it."""
        own, other = self.rank(self.ours, name), self.rank(self.other, self.theirs[name])
        return name not in self.named and own >= other

    def is_other_order(self, held: Mapping[str, str]) -> bool:
        """Whether some inks, by their names there and here, are laid down differently.

        A double hit counts as two.
        """
        here = self.ours.order_of({name: name for name in held.values()})
        return self.other.order_of(held) != here

    def is_alike(self, name: str) -> bool:
        """Whether both books tell an ink alike, and neither by a guess."""
        own, other = self.ours.spec(name), self.other.spec(self.theirs[name])
        one, two = self.ours.inks[name], self.other.inks[other.name]
        if one.guessed or two.guessed:
            return False
        is_printed = self.ours.is_printed(name) or self.other.is_printed(other.name)
        if not is_printed and (own.swatch is not None or other.swatch is not None):
            return own.swatch == other.swatch
        return (
            one.known == two.known
            and np.array_equal(one.tone_pct, two.tone_pct)
            and np.allclose(one.xyz100, two.xyz100, rtol=0, atol=1e-9)
            and is_same_paper(two.measured_on, one.measured_on)
        )


def root_of(spec: InkSpec) -> str:
    """The ink that a further hit is one of; itself for a first one."""
    return spec.hit_of or spec.name


def pair_of(book: Book, other: Book, names: Mapping[str, str]) -> Pair:
    """Both books, with the inks that are the same.

    Parameters
    ----------
    names : mapping of str to str
        For an ink of this book, what the other calls it; in any letter case.

    Raises
    ------
    InkmixError
        Where they are one book, an ink that is named is in neither, or paper and inks of one of
        them cannot be made out.
    """
    if other.path == book.path:
        found, do = "is the book itself", "name another one, from which inks are taken over"
        raise UsageError(Fault(where=str(other.path), found=found, do=do))
    given = {spelling(ours, book.ink_names): theirs for ours, theirs in names.items()}
    faults = [
        Fault(where=f"ink {name}", found="the book has no such ink",
              do=did_you_mean(name, list(book.ink_names)))
        for name in given
        if name not in book.ink_names
    ]  # fmt: skip
    faults += [
        Fault(where=f"ink {ours}={theirs}", found=f"{other.title} has no ink {theirs}",
              do=did_you_mean(theirs, list(other.ink_names)))
        for ours, theirs in given.items()
        if spelling(theirs, other.ink_names) not in other.ink_names
    ]  # fmt: skip
    meant = [spelling(theirs, other.ink_names) for theirs in given.values()]
    faults += [
        Fault(where=f"ink {name}", found="is named for two inks", do="choose one of them")
        for name in dict.fromkeys(meant)
        if meant.count(name) > 1
    ]
    if faults:
        raise UsageError(faults)
    return Pair(
        ours=_side(book),
        other=_other_side(other),
        theirs=_same_inks(book, other, given),
        named=frozenset(given),
    )


def _same_inks(book: Book, other: Book, given: Mapping[str, str]) -> dict[str, str]:
    """An ink that is named for one of ours is not the same as another one of its name."""
    roots = {folded(one.name): root_of(one) for one in other.inks}
    named = {folded(theirs) for theirs in given.values()}
    called = {
        one.name: given.get(one.name, one.name)
        for one in book.inks
        if is_first(one) and (one.name in given or folded(one.name) not in named)
    }
    return {name: roots[folded(word)] for name, word in called.items() if folded(word) in roots}


def is_first(spec: InkSpec) -> bool:
    """Whether it is the first hit of its ink."""
    return root_of(spec) == spec.name


def _side(book: Book) -> Side:
    paper = replace(resolve_paper(book), guessed=book.paper.is_guess)
    inks = resolve_inks(book, paper)
    return Side(book=book, paper=paper, inks={ink.name: ink for ink in inks}, press=press_of(book))


def _other_side(other: Book) -> Side:
    """The other book; what is wrong with it is said of it, for both may be called book.toml."""
    try:
        press = press_of(other)
        if press is None or not press.is_photograph:
            return _side(other)
        told = replace(other, press=replace(other.press, condition=None))
        return replace(_side(told), photograph=other.press.condition or "")
    except InkmixError as error:
        raise placed(error, str(other.folder)) from None
