"""What a check says: verdicts, findings, remedies, as data plus one sentence each.

No pixels and no colour arithmetic here. Everything in this module can be written to JSON as it is.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Annotated

from inkmix.base.arrays import BoolArray
from inkmix.base.json_document import UNTOLD, one_of
from inkmix.checks.mending.correction import ChangeMap, Correction
from inkmix.sheet.geometry import Place

PASS = "pass"
FAIL = "fail"
NOT_READY = "not ready"
"""Nothing stands against it, but it rests on what nobody told."""
UNSURE = "unsure"
NO_LIMIT = "no limit given"
NOT_CHECKED = "not checked"
VERDICTS = (FAIL, NOT_READY, UNSURE, NO_LIMIT, NOT_CHECKED, PASS)  # worst first

TAKE_OFF = "take off smoothly"
MIX = "set in the mix"

Verdict = Annotated[str, one_of(VERDICTS)]
Unit = Annotated[str, one_of(("%", "L*", "dE00"))]


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One thing to do to one plate.

    Parameters
    ----------
    plate : str
        Name of the ink.
    operation : str
        TAKE_OFF (part of one correction of several plates, which takes at most `amount` points and
        fades out around the place; `inkmix mend` does it), or MIX (the named tone's recipe holds
        `amount` of this ink).
    amount_pct : float
        Tone value, 0-100.
    place : Place or None
        Where; None for a whole night area or a recipe.
    area : str or None
        Name of the night area or of the named tone that the step is confined to.
    """

    plate: str
    operation: Annotated[str, one_of((TAKE_OFF, MIX))]
    amount_pct: float
    place: Place | None = None
    area: str | None = None


LEAST_TEXTURE_PCT = 50.0
"""A night that keeps less of the local spread of its L* is another picture."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """How much a correction changes the predicted colour, in dE00, over what it changes.

    Parameters
    ----------
    mean_de00, p95_de00, most_de00 : float
        The mean, what 95 % of it do not exceed, the greatest that was found; by samples.
    cells : ChangeMap or None
        Where it changes by how much.
    """

    mean_de00: float
    p95_de00: float
    most_de00: float
    cells: ChangeMap | None = field(
        default=None, repr=False, compare=False, metadata={UNTOLD: True}
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class CurveStep:
    """A tone curve for one plate in one area.

    Parameters
    ----------
    plate : str
        Name of the ink.
    area : str
        Name of the night area.
    heights_pct : tuple of float
        Heights of the curve at evenly spaced tone values from 0 to 100 % (a Bernstein polynomial).
    most_pct : float
        Points that the plate gains where it gains most.
    """

    plate: str
    area: str
    heights_pct: tuple[float, ...]
    most_pct: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Remedy:
    """Something that was tried by the program and helps, or the best that can be had.

    Parameters
    ----------
    do : str
        What to do, in plain words made from the data.
    loses, gains : str
        What the picture loses by it, and what is reached; empty where there is nothing to say.
    advice : str
        What else is to be done; empty where nothing is.
    steps : tuple of Step
        Empty where nothing done to the plates helps (another hit, another paper).
    curves : tuple of CurveStep
        Tone curves that darken a night, its lights left out.
    fade_mm : float or None
        Distance over which curves fade out at the border of the area.
    lights_kept, lights_lost : int or None
        Lights of the area that stay as they are, and those that turn dark.
    lights_lost_at : tuple of Place
        Where the largest of those lie that turn dark, largest first.
    share_for_lights_pct : float or None
        Where lights turn dark, the share of the area that may be asked for so that all have room:
        reckoned by their size, whole %.
    texture_pct : float or None
        Share of the local spread of L* that stays, %.
    reaches_L, reaches_de00, reaches_total_pct : float or None
        What was predicted after the steps.
    solves : bool
        Whether the finding is gone afterwards.
    change : Change or None
        What a correction of total ink does to the colour.
    correction : Correction or None
        What does it to plates.
    """

    do: str
    loses: str = ""
    gains: str = ""
    advice: str = ""
    steps: tuple[Step, ...] = ()
    curves: tuple[CurveStep, ...] = ()
    fade_mm: float | None = None
    lights_kept: int | None = None
    lights_lost: int | None = None
    lights_lost_at: tuple[Place, ...] = ()
    share_for_lights_pct: float | None = None
    texture_pct: float | None = None
    reaches_L: float | None = None
    reaches_de00: float | None = None
    reaches_total_pct: float | None = None
    solves: bool = False
    change: Change | None = None
    correction: Correction | None = field(
        default=None, repr=False, compare=False, metadata={UNTOLD: True}
    )

    @property
    def paragraphs(self) -> tuple[str, ...]:
        """All that is said of it, one thing after the other."""
        return tuple(filter(None, (self.do, self.loses, self.gains, self.advice)))

    @property
    def sentence(self) -> str:
        """The same in a row."""
        return " ".join(self.paragraphs)

    @property
    def spoils_picture(self) -> bool:
        """Whether a night loses lights by it, or half its texture."""
        flat = self.texture_pct is not None and self.texture_pct < LEAST_TEXTURE_PCT
        return bool(self.lights_lost) or flat


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """One of several places that a finding speaks of; value in the unit of the finding."""

    place: Place
    rows_px: tuple[int, int]
    cols_px: tuple[int, int]
    value: float
    area_mm2: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Shape:
    """Which pixels a finding speaks of, in square cells of the sheet that hold any of them.

    Parameters
    ----------
    cells : (rows, cols) ndarray of bool
    x_mm, y_mm : float
        Of their top left corner, from the trim's.
    cell_mm : float
        Side of a cell.
    """

    cells: BoolArray
    x_mm: float
    y_mm: float
    cell_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing a check says about one place or one named tone.

    Parameters
    ----------
    check : str
        Name of the check, as in table.py.
    name : str
        Name of the night area or the named tone; for total ink "area 1", "area 2", ... worst first.
    verdict : str
        One of VERDICTS.
    sentence : str
        The finding in plain words.
    value, limit, error : float or None
        What was found, what is allowed, and the 95 % expected error of the value, all in `unit`.
    unit : str
        "%", "L*" or "dE00".
    whose : str
        Whose limit it is: "printer", "user" or "process default".
    place : Place or None
        Where on the sheet.
    rows_px, cols_px : (int, int) or None
        The same as half-open ranges of plate pixels.
    area_mm2, area_pct : float or None
        How much of the sheet (night: of the masked area) is concerned.
    pixels_state : str
        Hex digits, the same as long as the pixels that it speaks of stay the same; empty where it
        speaks of the whole sheet, or of none.
    picture : str or None
        Key of a picture in the result's pictures.
    spots : tuple of Spot
        Night: the patches that are too light, largest first; the first is `place`.
    shape : Shape or None
        The pixels themselves, where they are known.
    """

    check: str
    name: str
    verdict: Verdict
    sentence: str
    unit: Unit
    value: float | None = None
    limit: float | None = None
    error: float | None = None
    whose: str = "user"
    place: Place | None = None
    rows_px: tuple[int, int] | None = None
    cols_px: tuple[int, int] | None = None
    area_mm2: float | None = None
    area_pct: float | None = None
    pixels_state: str = ""
    picture: str | None = None
    spots: tuple[Spot, ...] = ()
    remedies: tuple[Remedy, ...] = ()
    shape: Shape | None = field(default=None, repr=False, compare=False, metadata={UNTOLD: True})


def worst(verdicts: "list[str] | tuple[str, ...]") -> str:
    """The verdict that matters most; pass where there is none."""
    return min(verdicts, key=VERDICTS.index, default=PASS)


def overall(verdicts: Iterable[str], order: Sequence[str] = VERDICTS) -> str:
    """The worst verdict of all checks, worst first in `order`; "not checked" only if all are."""
    looked_at = [verdict for verdict in verdicts if verdict != NOT_CHECKED]
    return min(looked_at, key=order.index, default=NOT_CHECKED)


def stops(verdict: str, *, strict: bool) -> bool:
    """Whether a verdict stands against sending the plates; `strict`: also what nobody can tell."""
    return verdict == FAIL or (strict and verdict in (NOT_READY, UNSURE))


def judge_at_most(
    value: float,
    limit: float | None,
    *,
    error: float,
    may_pass: bool,
    on_guess: bool = False,
) -> str:
    """Verdict on a value that must not exceed a limit.

    Parameters
    ----------
    value, limit : float
        In one unit; no limit gives NO_LIMIT.
    error : float
        95 % expected error of the value, same unit; 0 for counted things.
    may_pass : bool
        False where the value rests on a screen colour or lies outside the evidence (unproven).
    on_guess : bool
        True where value or limit rests on something that nobody told.
    """
    if limit is None:
        return NO_LIMIT
    if on_guess:
        return FAIL if value > limit + error else NOT_READY
    if error > 0 and abs(value - limit) <= error:
        return UNSURE
    if value > limit:
        return FAIL
    return PASS if may_pass else UNSURE
