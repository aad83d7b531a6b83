"""What a calibration found, as plain values."""

from collections.abc import Mapping
from dataclasses import dataclass

from inkmix.base.arrays import FloatArray
from inkmix.book.values import Book
from inkmix.jobs.calibrating.photograph import Photographed
from inkmix.jobs.calibrating.read_off import InkRead, PairRead
from inkmix.jobs.calibrating.to_print import NextMixes
from inkmix.press.calibration.crossed import Predicted
from inkmix.press.calibration.drift import Drift
from inkmix.press.calibration.order import LikelyOrder
from inkmix.press.calibration.press_file import PressFile
from inkmix.press.calibration.readings import Readings
from inkmix.press.calibration.suspects import Suspect
from inkmix.press.condition import PressCondition


@dataclass(frozen=True, slots=True, kw_only=True)
class Scatter:
    """How far repeats of patches part: the press across the sheet, and the instrument.

    Parameters
    ----------
    repeated : int
        Patches that were read more than once.
    mean_de00, most_de00 : float
        From the mean of their readings.
    """

    repeated: int
    mean_de00: float
    most_de00: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SolidFound:
    """A solid, or the paper: as the book has it, and as it was measured."""

    name: str
    told: str
    told_lab: FloatArray
    lab: FloatArray
    de00: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MixKnown:
    """A mix that the book asks for, before and after.

    Parameters
    ----------
    name : str
        Of a named tone, or "the darkest mix".
    mix_pct : mapping of str to float
    was_lab, lab : (3,) ndarray
    moved_de00 : float
    was_de00, de00 : float
        Expected error, 95 %.
    was_L, L : float
        The same of L*.
    """

    name: str
    mix_pct: Mapping[str, float]
    was_lab: FloatArray
    lab: FloatArray
    moved_de00: float
    was_de00: float
    de00: float
    was_L: float
    L: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Residual:
    """A patch and how far what is predicted without it is from what was read."""

    patch: str
    mix_pct: Mapping[str, float]
    read_lab: FloatArray
    foretold_lab: FloatArray
    de00: float
    expected_de00: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Calibration:
    """What readings of a form tell of a press.

    Parameters
    ----------
    book : Book
        As it was.
    press : PressFile
        What a book is to name.
    readings : Readings
        Those that are used.
    was, condition : PressCondition
        The book's, before and after.
    before, after : Predicted or None
        Mixes as the book foretold them, and each as the others do; None where there are none, or
        too few.
    residuals : tuple of Residual
        Of `after`, the worst first.
    suspects : tuple of Suspect
        Readings left out.
    scatter : Scatter or None
        None where nothing was read twice.
    solids : tuple of SolidFound
        Paper first.
    inks : tuple of InkRead
    pairs : tuple of PairRead
    mixes : tuple of MixKnown
    thin : tuple of MixKnown
        Overprints and tints of two inks that are known worst still.
    to_print : NextMixes or None
    order : LikelyOrder or None
    drift : Drift or None
        Where the book was calibrated before.
    earlier : str
        Readings of the press file that the book names, by which it foretold; empty where none.
    notes : tuple of str
        Sentences without a full stop.
    photograph : Photographed or None
        Where a camera read it: no prediction is surer by it then.
    """

    book: Book
    press: PressFile
    readings: Readings
    was: PressCondition
    condition: PressCondition
    before: Predicted | None
    after: Predicted | None
    residuals: tuple[Residual, ...]
    suspects: tuple[Suspect, ...]
    scatter: Scatter | None
    solids: tuple[SolidFound, ...]
    inks: tuple[InkRead, ...]
    pairs: tuple[PairRead, ...]
    mixes: tuple[MixKnown, ...]
    thin: tuple[MixKnown, ...]
    to_print: NextMixes | None
    order: LikelyOrder | None
    drift: Drift | None
    earlier: str
    notes: tuple[str, ...]
    photograph: Photographed | None = None
