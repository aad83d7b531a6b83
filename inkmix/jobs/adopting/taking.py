"""The inks that one book takes over from another.

Decided here from values; nothing is written. A guess is never taken for knowledge, and what was
read on another paper stays marked as that.
"""

from dataclasses import dataclass, field, replace
from typing import Any

from inkmix.base.quoting import clipped
from inkmix.base.words import listing
from inkmix.book.choices import INK_COLOURS, READ_ON_PAPER
from inkmix.book.keys import MAX_TEXT, keys_of
from inkmix.book.meant.condition import ink_column, read_table
from inkmix.book.values import InkSpec, MeasuredMix, PaperSpec
from inkmix.jobs.adopting.files import CopiedFiles
from inkmix.jobs.adopting.pair import GUESSED, Pair, is_first
from inkmix.jobs.adopting.press import against_press, printed_there, ramp_of_press
from inkmix.jobs.adopting.values import InkTaken, NotTaken
from inkmix.press.inks import Ink
from inkmix.press.paper_change import is_same_paper
from inkmix.press.swatches.by_name import is_invented_ink

OF_THE_INK = (
    *INK_COLOURS, "guessed", "column", "measured_on", "read_from",
    "tone_value_increase_pct", "opacity", "character",
)  # fmt: skip
"""Keys of an ink that go with its colour; all others belong to its plate."""

PRESS_FILE = "press file"
"""By which an ink is told that none of the keys of its own tells."""


@dataclass(slots=True, kw_only=True)
class Taking:
    """What is taken over.

    Attributes
    ----------
    specs : dict of str to InkSpec
        How inks of the book are told now, further hits among them.
    inks, as_there, measured, overprints, condition, not_taken
        As `BookAdopted` has them; of mixes the mixes.
    """

    specs: dict[str, InkSpec] = field(default_factory=dict)
    inks: list[InkTaken] = field(default_factory=list)
    as_there: list[str] = field(default_factory=list)
    measured: list[MeasuredMix] = field(default_factory=list)
    overprints: str = ""
    condition: str = ""
    not_taken: list[NotTaken] = field(default_factory=list)

    def leave(self, what: str, why: str) -> None:
        """Say what is not taken over."""
        self.not_taken.append(NotTaken(what=what, why=why))

    @property
    def is_empty(self) -> bool:
        """Whether there is nothing to write."""
        return not (self.inks or self.measured or self.overprints)

    @property
    def held(self) -> frozenset[str]:
        """Inks of this book that came over, or were told alike before."""
        return frozenset((*(one.name for one in self.inks), *self.as_there))


def inks_taken(pair: Pair, files: CopiedFiles) -> Taking:
    """The inks that this book takes over from the other one.

    Raises
    ------
    InkmixError
        Where a measurement file of the other book cannot be read.
    """
    taking = Taking()
    ours, other = pair.ours.book.press.process, pair.other.book.press.process
    if ours != other:
        taking.leave("all of it", f"it was printed by {other}, this book is by {ours}")
        return taking
    _take_press(taking, pair, files)
    for spec in pair.ours.book.inks:
        if is_first(spec) and spec.name not in taking.held:
            _take_ink(taking, pair, spec, files)
    return taking


def _take_press(taking: Taking, pair: Pair, files: CopiedFiles) -> None:
    """Take over the press file as a whole, with all inks in it, where that can be."""
    if pair.other.photograph:
        why = "a camera read it, and what a camera saw is handed on to no other book"
        taking.leave(f"the press file ({pair.other.photograph})", why)
    file = pair.other.book.press.condition
    if file is None:
        return
    if why := against_press(pair):
        taking.leave(f"the press file ({file})", why)
        return
    taking.condition = files.path_of(file)
    taking.inks += [_taken(pair, name, is_here=True) for name in printed_there(pair)]


def _taken(pair: Pair, name: str, *, is_here: bool) -> InkTaken:
    theirs = pair.other.spec(pair.theirs[name])
    ink, how = pair.other.inks[theirs.name], _how(pair, theirs)
    return InkTaken(
        name=name,
        theirs=theirs.name,
        hits=tuple(hit for hit in pair.ours.hits(name) if hit != name),
        how=how,
        known=ink.known,
        paper=_paper_words(pair, ink),
        is_same_paper=is_here,
        was_guess=pair.ours.inks[name].guessed,
        is_invented=how == "swatch" and is_invented_ink(theirs.swatch or ""),
    )


def _take_ink(taking: Taking, pair: Pair, spec: InkSpec, files: CopiedFiles) -> None:
    name = spec.name
    if name not in pair.theirs:
        taking.leave(name, f"{title_of(pair)} has no ink of this name")
    elif pair.rank(pair.other, pair.theirs[name]) == GUESSED:
        taking.leave(name, f"it is a guess in {title_of(pair)}, too" if spec.is_guess
                     else f"it is a guess in {title_of(pair)}")  # fmt: skip
    elif pair.is_alike(name):
        taking.as_there.append(name)
    elif pair.ours.is_printed(name):
        taking.leave(name, "what the press file of this book holds counts more")
    elif pair.is_known_here(name):
        taking.leave(
            name,
            f"this book knows it as well or better; name it, {name}={pair.theirs[name]}, to "
            "take it over all the same",
        )
    else:
        _tell(taking, pair, name, files)


def _tell(taking: Taking, pair: Pair, name: str, files: CopiedFiles) -> None:
    """Tell an ink, and its further hits, as the other book does."""
    theirs = pair.other.spec(pair.theirs[name])
    ink = pair.other.inks[theirs.name]
    is_swatch = theirs.swatch is not None and not pair.other.is_printed(theirs.name)
    is_here = is_swatch or is_same_paper(ink.measured_on, pair.ours.paper)
    hits = pair.ours.hits(name)
    told = replace(
        theirs,
        guessed=False,
        **_of_reading(pair, theirs, files, is_renamed=hits != (theirs.name,)),
        read_from=read_from(pair, None if pair.other.is_printed(theirs.name) else theirs.read_from),
        tone_value_increase_pct=_increase(taking, pair, name),
    )
    for hit in hits:
        taking.specs[hit] = _with_own(pair.ours.spec(hit), told)
    taking.inks.append(_taken(pair, name, is_here=is_here))


def _how(pair: Pair, theirs: InkSpec) -> str:
    if pair.other.is_printed(theirs.name):
        return PRESS_FILE
    return next(key for key in INK_COLOURS if _given(theirs, key) is not None)


def _paper_words(pair: Pair, ink: Ink) -> str:
    on = ink.measured_on
    return f"{on.paper_class} paper" if pair.other.is_printed(ink.name) else on.name


def _of_reading(
    pair: Pair, theirs: InkSpec, files: CopiedFiles, *, is_renamed: bool
) -> dict[str, Any]:
    """The file of an ink, its column, and the paper that it was read on.

    The press file counts more than what its book says of a colour.
    """
    if pair.other.is_printed(theirs.name):
        none = {keys_of(InkSpec)[key].field: None for key in INK_COLOURS}
        return none | ramp_of_press(pair, theirs.name, files)
    return {
        "measurements": theirs.measurements and files.path_of(theirs.measurements),
        "column": _column(pair, theirs, is_renamed=is_renamed),
        "measured_on": _measured_on(pair, theirs, files),
    }


def _given(spec: InkSpec, name: str) -> object:
    return getattr(spec, keys_of(InkSpec)[name].field)


def _with_own(own: InkSpec, told: InkSpec) -> InkSpec:
    """An ink told anew: what this book says of it beyond its colour stays."""
    fields = {keys_of(InkSpec)[name].field for name in OF_THE_INK}
    more = {"tone_value_increase_pct", "opacity", "character"}
    kept = {one for one in more if getattr(own, one) not in (None, frozenset())}
    return replace(own, **{one: getattr(told, one) for one in fields - kept})


def _column(pair: Pair, theirs: InkSpec, *, is_renamed: bool) -> str | None:
    """The column in the measurement file: as told, or by name where the names differ here."""
    if theirs.measurements is None or theirs.column is not None or not is_renamed:
        return theirs.column
    return ink_column(read_table(pair.other.book, theirs.measurements), theirs)


def _measured_on(pair: Pair, theirs: InkSpec, files: CopiedFiles) -> PaperSpec | None:
    """The paper of the reading, said so that it holds whatever paper the book has."""
    if not any(_given(theirs, key) is not None for key in READ_ON_PAPER):
        return None
    paper = theirs.measured_on or pair.other.book.paper
    return PaperSpec(
        swatch=paper.swatch,
        lab=paper.lab,
        xyz100=paper.xyz100,
        srgb=paper.srgb,
        measurements=paper.measurements and files.path_of(paper.measurements),
        paper_class=paper.paper_class,
        tinted=paper.tinted,
        guessed=paper.is_guess,
    )


def read_from(pair: Pair, told: str | None) -> str:
    """What was read, and in which book that stands."""
    title = pair.other.book.title
    return clipped(title if told is None else f"{told}, {title}", MAX_TEXT)


def _increase(taking: Taking, pair: Pair, name: str) -> float | None:
    """A tone value increase holds for one class of paper."""
    theirs = pair.theirs[name]
    told = pair.other.spec(theirs).tone_value_increase_pct
    own, other = pair.ours.paper.paper_class, pair.other.inks[theirs].measured_on.paper_class
    if told is None or own == other:
        return told
    taking.leave(f"{name}, tone value increase", f"it was found on {other} paper, this is {own}")
    return None


def title_of(pair: Pair) -> str:
    """The other book, in words."""
    return pair.other.book.title


def leave_overrides(taking: Taking, pair: Pair) -> None:
    """Say which spreads keep inks of their own."""
    book = pair.ours.book
    own = [name for one in book.overrides if one.book.inks != book.inks for name in one.spreads]
    if own:
        taking.leave(listing([clipped(name) for name in own]), "the book gives it inks of its own")
