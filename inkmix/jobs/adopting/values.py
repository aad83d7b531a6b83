"""What was taken over from another book, what was not, and what that means."""

from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True, slots=True, kw_only=True)
class InkTaken:
    """An ink that is told now as the other book tells it.

    Parameters
    ----------
    name, theirs : str
        Its name in this book, and there.
    hits : tuple of str
        Names in this book of its further hits, which are told alike.
    how : str
        The key that tells its colour: swatch, lab, measurements ..., or "press file".
    known : str
        What that is: "screen colour", "density", "solid" or "ramp".
    paper : str
        What it was measured on.
    is_same_paper : bool
        Whether that is the paper of this book.
    was_guess, is_invented : bool
        Whether it was a guess in this book; whether it is a hue that nobody ever printed.
    """

    name: str
    theirs: str
    hits: tuple[str, ...]
    how: str
    known: str
    paper: str
    is_same_paper: bool
    was_guess: bool
    is_invented: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class NotTaken:
    """Something that was not taken over, and why."""

    what: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ErrorChange:
    """The expected error of a mix, 95 %, before and after.

    Parameters
    ----------
    name : str
        A named tone, or the darkest mix under the ink limit.
    mix_pct : dict of str to float
    before_de00, after_de00, before_L, after_L : float
    paper_costs_de00, paper_costs_L : float
        How much of `after` comes from inks that were measured on another paper.
    """

    name: str
    mix_pct: dict[str, float]
    before_de00: float
    after_de00: float
    before_L: float
    after_L: float
    paper_costs_de00: float
    paper_costs_L: float


@dataclass(frozen=True, slots=True, kw_only=True)
class NextReading:
    """An ink that should be measured next: how much surer the mix that gains most would be."""

    ink: str
    mix: str
    saves_de00: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BookAdopted:
    """What was taken over, and where it stands now.

    Parameters
    ----------
    path : Path
        The new book file.
    title : str
        Of the book that it comes from.
    paper, other_paper : str
        Of this book and of the other one.
    is_same_paper, paper_is_guess : bool
        Whether they are one stock; whether this book's is a guess.
    inks : tuple of InkTaken
    as_there : tuple of str
        Inks that both books tell alike.
    measured : int
        [[measured]] mixes that came over.
    overprints, condition : str
        The file of measured overprints, and the press-condition file, that came over; else empty.
    not_taken : tuple of NotTaken
    files : tuple of str
        Measurement files that were copied, as paths beside the new book.
    errors : tuple of ErrorChange
    next_readings : tuple of NextReading
        Which saves most first.
    """

    path: Path
    title: str
    paper: str
    other_paper: str
    is_same_paper: bool
    paper_is_guess: bool
    inks: tuple[InkTaken, ...]
    as_there: tuple[str, ...]
    measured: int
    overprints: str
    condition: str
    not_taken: tuple[NotTaken, ...]
    files: tuple[str, ...]
    errors: tuple[ErrorChange, ...]
    next_readings: tuple[NextReading, ...]
