"""What was mended, as plain values: what mending.json and the page are made of.

No computing here and no layout. Pictures travel as bytes beside the values, under their key.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

from inkmix.base.json_document import UNTOLD
from inkmix.checks.finding import Finding, Remedy, Verdict, overall
from inkmix.checks.guesses import Guess
from inkmix.jobs.answer import BeforeAfter


@dataclass(frozen=True, slots=True, kw_only=True)
class CorrectionMade:
    """One correction of a spread.

    Parameters
    ----------
    check : str
        Name of the check that asked for it.
    name : str
        Name of the night area; empty for the whole sheet.
    remedy : Remedy
        What it does, as it was tried on all pixels.
    crops : tuple of BeforeAfter
        Places at true pixels: the largest light that turns dark, and where most changes.
    """

    check: str
    name: str
    remedy: Remedy
    crops: tuple[BeforeAfter, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class WaivedFinding:
    """A finding that the book waives, with who accepts it and why."""

    finding: Finding
    by: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Undone:
    """Why a finding is still open; an empty `name` is for all findings of the check."""

    check: str
    name: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PlateMended:
    """What changed in one plate.

    Parameters
    ----------
    ink : str
        Name of the ink.
    file : str
        The copy, from the folder of the mended book.
    added, removed : str or None
        Grey pictures of the ink that came and went; None where none did.
    changed_pct : float
        Share of the sheet in which it changed.
    most_added_pct, most_removed_pct : float
        Most that any pixel got or lost, in points of tone value.
    """

    ink: str
    file: str
    added: str | None
    removed: str | None
    changed_pct: float
    most_added_pct: float
    most_removed_pct: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SpreadMended:
    """One spread, before and after.

    Parameters
    ----------
    spread : str
        Its name.
    was, verdict : str
        What the checks say of the plates as they came, and of the copies.
    was_sentence, sentence : str
        The same in words.
    corrections : tuple of CorrectionMade
        In the order in which they were made; none where the plates were copied as they are.
    plates : tuple of PlateMended
        Those that changed.
    left : tuple of Finding
        What is still to be done.
    misfits : tuple of str
        What of a recipe no longer fits.
    unneeded : tuple of str
        What of a recipe these plates do not need; it keeps that for the next.
    undone : tuple of Undone
        Why what is still to be done was not: corrections that spoil the picture, and others.
    waived : tuple of WaivedFinding
        What was left as it is, since the book waives it. It counts against the verdict all the
        same.
    guesses : tuple of Guess
        What nobody told yet: nothing is darkened for a guess.
    notes : tuple of str
        What was accepted and has to be said, and what the copies of plates that change leave out.
    report : str or None
        Page on the copies, from the folder of the mended book; None where nothing changed.
    pictures : mapping of str to bytes
        JPEG by key.
    """

    spread: str
    was: Verdict
    was_sentence: str
    verdict: Verdict
    sentence: str
    corrections: tuple[CorrectionMade, ...] = ()
    plates: tuple[PlateMended, ...] = ()
    left: tuple[Finding, ...] = ()
    misfits: tuple[str, ...] = ()
    unneeded: tuple[str, ...] = ()
    undone: tuple[Undone, ...] = ()
    waived: tuple[WaivedFinding, ...] = ()
    guesses: tuple[Guess, ...] = ()
    notes: tuple[str, ...] = ()
    report: str | None = None
    pictures: Mapping[str, bytes] = field(default_factory=dict, repr=False, metadata={UNTOLD: True})

    @property
    def is_changed(self) -> bool:
        """Whether any plate is another than it was."""
        return bool(self.corrections)


@dataclass(frozen=True, slots=True, kw_only=True)
class BookMended:
    """A book, before and after.

    Parameters
    ----------
    title : str
    spreads : tuple of SpreadMended
        Those that were looked at.
    copied : tuple of str
        Names of spreads that nobody asked for: their plates are copied as they are, and no check
        looks at them.
    misfits : tuple of str
        What of a recipe no longer fits the book.
    gone : tuple of str
        Files of an earlier run that do not belong to the book any more: they were taken away.
    """

    title: str
    spreads: tuple[SpreadMended, ...]
    copied: tuple[str, ...] = ()
    misfits: tuple[str, ...] = ()
    gone: tuple[str, ...] = ()

    @property
    def is_changed(self) -> bool:
        """Whether any plate is another than it was; if none is, nothing is written."""
        return any(spread.is_changed for spread in self.spreads)

    @property
    def verdict(self) -> str:
        """The worst of all spreads that were looked at, by all checks."""
        return overall(spread.verdict for spread in self.spreads)
