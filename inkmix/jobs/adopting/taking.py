"""The inks that one book takes over from another.

Decided here from values; nothing is written. A guess is never taken for knowledge, and what was
read on another paper stays marked as that.
"""

from dataclasses import dataclass, field, replace

from inkmix.base.quoting import clipped
from inkmix.base.words import listing
from inkmix.book.choices import INK_COLOURS, READ_ON_PAPER
from inkmix.book.keys import MAX_TEXT, keys_of
from inkmix.book.meant.condition import ink_column, read_table
from inkmix.book.values import InkSpec, MeasuredMix, PaperSpec
from inkmix.jobs.adopting.files import CopiedFiles
from inkmix.jobs.adopting.pair import GUESSED, Pair, is_first
from inkmix.jobs.adopting.values import InkTaken, NotTaken
from inkmix.press.paper_change import is_same_paper

OF_THE_INK = (
    *INK_COLOURS, "guessed", "column", "measured_on", "read_from",
    "tone_value_increase_pct", "opacity", "character",
)  # fmt: skip
"""Keys of an ink that go with its colour; all others belong to its plate."""


@dataclass(slots=True, kw_only=True)
class Taking:
    """What is taken over.

    Attributes
    ----------
    specs : dict of str to InkSpec
        How inks of the book are told now, further hits among them.
    inks, as_there, measured, overprints, not_taken
        As `BookAdopted` has them; of mixes the mixes, of overprints the path beside the new book.
    """

    specs: dict[str, InkSpec] = field(default_factory=dict)
    inks: list[InkTaken] = field(default_factory=list)
    as_there: list[str] = field(default_factory=list)
    measured: list[MeasuredMix] = field(default_factory=list)
    overprints: str = ""
    not_taken: list[NotTaken] = field(default_factory=list)

    def leave(self, what: str, why: str) -> None:
        """Say what is not taken over."""
        self.not_taken.append(NotTaken(what=what, why=why))

    @property
    def is_empty(self) -> bool:
        """Whether there is nothing to write."""
        return not (self.specs or self.measured or self.overprints)


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
    for spec in pair.ours.book.inks:
        if is_first(spec):
            _take_ink(taking, pair, spec, files)
    return taking


def _take_ink(taking: Taking, pair: Pair, spec: InkSpec, files: CopiedFiles) -> None:
    name = spec.name
    if name not in pair.theirs:
        taking.leave(name, f"{title_of(pair)} has no ink of this name")
    elif pair.rank(pair.other, pair.theirs[name]) == GUESSED:
        taking.leave(name, f"it is a guess in {title_of(pair)}, too" if spec.is_guess
                     else f"it is a guess in {title_of(pair)}")  # fmt: skip
    elif pair.is_alike(name):
        taking.as_there.append(name)
    elif _is_known_here(pair, name):
        taking.leave(
            name,
            f"this book knows it as well or better; name it, {name}={pair.theirs[name]}, to "
            "take it over all the same",
        )
    else:
        _tell(taking, pair, name, files)


def _is_known_here(pair: Pair, name: str) -> bool:
    own, other = pair.rank(pair.ours, name), pair.rank(pair.other, pair.theirs[name])
    return name not in pair.named and own >= other


def _tell(taking: Taking, pair: Pair, name: str, files: CopiedFiles) -> None:
    """Tell an ink, and its further hits, as the other book does."""
    theirs = pair.other.spec(pair.theirs[name])
    ink = pair.other.inks[theirs.name]
    is_here = theirs.swatch is not None or is_same_paper(ink.measured_on, pair.ours.paper)
    hits = pair.ours.hits(name)
    column = _column(pair, theirs, is_renamed=hits != (theirs.name,))
    told = replace(
        theirs,
        guessed=False,
        column=column,
        measurements=theirs.measurements and files.path_of(theirs.measurements),
        measured_on=_measured_on(pair, theirs, files),
        read_from=read_from(pair, theirs.read_from),
        tone_value_increase_pct=_increase(taking, pair, name),
    )
    for hit in hits:
        taking.specs[hit] = _with_own(pair.ours.spec(hit), told)
    taking.inks.append(
        InkTaken(
            name=name,
            theirs=theirs.name,
            how=next(key for key in INK_COLOURS if _given(theirs, key) is not None),
            known=ink.known,
            paper=ink.measured_on.name,
            is_same_paper=is_here,
        )
    )


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
