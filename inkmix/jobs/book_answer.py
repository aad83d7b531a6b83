"""The answer about a whole book as plain values: what index page and tables are made of.

No computing and no layout here. Verdicts are those of the checks; what a waiver makes of them
stands beside them, never instead.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Annotated

from inkmix.base.errors import Fault
from inkmix.base.json_document import INLINE, SHA256, matching, one_of
from inkmix.book.values import Waiver
from inkmix.checks import table
from inkmix.checks.finding import (
    FAIL,
    NO_LIMIT,
    NOT_CHECKED,
    NOT_READY,
    PASS,
    UNSURE,
    Unit,
    Verdict,
)
from inkmix.checks.guesses import Guess
from inkmix.checks.uses import ColourUse

UNREADABLE = "unreadable"
WAIVED = "waived"
WAITING = "waiting"

#: What can be said of a spread in a batch, what has to be looked at first.
STATES = (UNREADABLE, FAIL, NOT_READY, UNSURE, NO_LIMIT, WAITING, NOT_CHECKED, WAIVED, PASS)

BROKEN = "cannot be checked any more"
MENDED = "can be checked again"

IN_FORCE = "in force"
EXPIRED = "expired"
NOT_NEEDED = "not needed"
NOT_LOOKED_AT = "not looked at"
NO_SPREAD = "no such spread"

ExitCode = Annotated[int, one_of((0, 1, 2, 3))]


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptFinding:
    """A finding as it is kept of a checked spread; what passes is not kept.

    Parameters
    ----------
    number : int
        As in the spread's report.
    check, name, verdict, sentence, unit, value, limit, error
        As in `inkmix.checks.finding.Finding`.
    where : str
        The place in words; empty where it has none.
    do : str
        The best remedy in words, a line for each of its paragraphs; empty where there is none.
    rows_px, cols_px : (int, int) or None
        The place as half-open ranges of plate pixels.
    rests_on : str
        Hex digits: state of all that the finding rests on, then of each ground. A waiver names it.
    """

    number: int
    check: str
    name: str
    verdict: Verdict
    sentence: str
    unit: Unit
    rests_on: str
    where: str = ""
    do: str = ""
    value: float | None = None
    limit: float | None = None
    error: float | None = None
    rows_px: tuple[int, int] | None = None
    cols_px: tuple[int, int] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class InkUse:
    """How much of one ink a spread takes.

    Parameters
    ----------
    mean_tone_pct, mean_coverage_pct : float
        Means over the plate, 0-100: of the file, and of what prints after its tone curve.
    solid_m2 : float
        Area of full ink that one copy takes, square metres, bleed included.
    """

    ink: str
    solid_srgb8: tuple[int, int, int]
    mean_tone_pct: float
    mean_coverage_pct: float
    solid_m2: float


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptUse:
    """Where a colour that the book names is used on a spread, with a small picture of that.

    Parameters
    ----------
    picture : bytes
        JPEG: the print, faded where the colour is not; empty where it is not used.
    """

    use: ColourUse
    picture: bytes = field(default=b"", repr=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Checked:
    """One checked spread, as it is kept beside its report.

    Parameters
    ----------
    folder : str
        Of the report, relative to the folder of the batch.
    key : str
        SHA-256, hex, of all that decides the report.
    verdict : str
        The worst of all checks, before waivers.
    sentence : str
        The head of the report.
    verdicts : mapping of check to verdict
    findings : tuple of KeptFinding
        Worst first, as numbered in the report.
    width_mm, height_mm : float
        Trimmed.
    sheet_m2 : float
        Area of the plates, bleed included.
    figures : mapping of str to float or None
        What the checks give for tables, by column.
    notes : tuple of str
        What was accepted and had to be said.
    guesses : tuple of Guess
        What nobody told yet.
    uses : tuple of KeptUse
        Where colours that the book names are used.
    thumbnail : bytes
        JPEG of the predicted print, longest side THUMBNAIL_PX at most.
    report_sha256, data_sha256 : str
        Of report.html and report.json.
    """

    name: str
    folder: str
    key: Annotated[str, SHA256]
    verdict: Verdict
    sentence: str
    verdicts: Mapping[str, Verdict]
    findings: tuple[KeptFinding, ...]
    paper: str
    inks: tuple[InkUse, ...]
    width_mm: float
    height_mm: float
    sheet_m2: float
    figures: Mapping[str, float | None] = field(metadata={INLINE: table.figure_types})
    notes: tuple[str, ...]
    guesses: tuple[Guess, ...] = ()
    uses: tuple[KeptUse, ...] = ()
    thumbnail: bytes = field(repr=False)
    report_sha256: str
    data_sha256: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownFinding:
    """A finding with what waivers and the last run say of it.

    Parameters
    ----------
    waiver : Waiver or None
        By which it is accepted.
    expired : Waiver or None
        By which it was accepted, until something that it rests on changed.
    is_new : bool
        Not there in the last run; False where there was none, or it left the check out.
    """

    finding: KeptFinding
    waiver: Waiver | None = None
    expired: Waiver | None = None
    is_new: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class SpreadRow:
    """One spread in the index.

    Parameters
    ----------
    state : str
        One of STATES: the worst verdict of what is not waived; WAIVED where all that would fail or
        be unsure is waived.
    checked : Checked or None
        None where it could not be read, or is waiting.
    faults : tuple of Fault
        Why it could not be read.
    faults_key : str
        SHA-256, hex, of all that decides these faults; empty where they may pass by themselves.
    preview : bytes
        While it is waiting: JPEG of a quick look at its plates, if one was had.
    exit_code : int
        2 or 3 where it could not be checked, else 0 or 1.
    is_new : bool
        The last run did not have this spread.
    gone : tuple of KeptFinding
        Findings of the last run that are not there any more; none while it cannot be checked.
    turned : str
        BROKEN or MENDED where only one of the last run and this one could check it, else empty.
    """

    name: str
    state: Annotated[str, one_of(STATES)]
    checked: Checked | None = None
    faults: tuple[Fault, ...] = ()
    faults_key: Annotated[str, matching("^([0-9a-f]{64})?$")] = ""
    preview: bytes = field(default=b"", repr=False)
    exit_code: ExitCode = 0
    findings: tuple[ShownFinding, ...] = ()
    is_new: bool = False
    gone: tuple[KeptFinding, ...] = ()
    turned: Annotated[str, one_of(("", BROKEN, MENDED))] = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class InkTotal:
    """How much of one ink the whole book takes: one copy of each spread that was checked."""

    ink: str
    solid_srgb8: tuple[int, int, int]
    spreads: int  # whose plates hold any of it
    mean_coverage_pct: float  # over all plates of this ink, by area
    solid_m2: float


@dataclass(frozen=True, slots=True, kw_only=True)
class DriftedUse:
    """A colour on one spread that is not what it is on another: it is noticed side by side, or the
    book allows less.

    Parameters
    ----------
    spread, other : str
        Where it drifts, and where it is nearest to its mix.
    apart_de00, limit_de00 : float
        Between the mean predicted colours of both, and what the book allows.
    """

    spread: str
    other: str
    apart_de00: float
    limit_de00: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ColourDrift:
    """A colour that the book names, from spread to spread.

    Parameters
    ----------
    spreads : tuple of str
        Where it is used, in natural order.
    apart_de00 : float or None
        Between the mean predicted colours of the two uses that differ most; None for less than two.
    farthest : tuple of str
        The spreads of these two.
    same_mix_as : str
        The colour named before it that has the very same mix, for which all is counted; else empty.
    drifted : tuple of DriftedUse
        Uses that are noticed beside another, or are beyond the limit that the book gives it, a note
        each and no failure; in natural order.
    """

    name: str
    spreads: tuple[str, ...]
    apart_de00: float | None
    farthest: tuple[str, ...]
    same_mix_as: str = ""
    drifted: tuple[DriftedUse, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class WaiverUse:
    """One waiver of the book, what it does, and how many findings it covers, or did.

    Parameters
    ----------
    changed : tuple of str
        What made it expire, in words; empty where it did not, or its digits do not tell.
    nearest : str
        The spread that may be meant where there is none of its name.
    """

    waiver: Waiver
    state: Annotated[str, one_of((IN_FORCE, EXPIRED, NOT_NEEDED, NOT_LOOKED_AT, NO_SPREAD))]
    findings: int
    changed: tuple[str, ...] = ()
    nearest: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchResult:
    """Everything known about a book.

    Parameters
    ----------
    complete : bool
        False while a run is under way, and for ever if it was broken off.
    checks, checks_before : tuple of str
        Names of the checks that ran, and of those of the last run.
    compared : bool
        There was a last run to compare with; what both looked at is compared.
    rows : tuple of SpreadRow
        In natural order.
    lost : tuple of str
        Spreads that the last run had and this one has not.
    strict : bool
        What is unsure counts as failing.
    watched : bool
        More is to come: the run goes on, looking for changes.
    refused : tuple of Fault
        What is wrong with the book since then; all else is as it was before.
    """

    title: str
    book: str
    complete: bool
    checks: tuple[str, ...]
    compared: bool
    rows: tuple[SpreadRow, ...]
    inks: tuple[InkTotal, ...]
    waivers: tuple[WaiverUse, ...]
    colours: tuple[ColourDrift, ...] = ()
    checks_before: tuple[str, ...] = ()
    lost: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    strict: bool = False
    watched: bool = False
    refused: tuple[Fault, ...] = ()

    @property
    def left_out(self) -> tuple[str, ...]:
        """Names of the checks that did not run."""
        return tuple(name for name in table.names() if name not in self.checks)

    @property
    def guesses(self) -> tuple[Guess, ...]:
        """What nobody told yet of any spread, each once."""
        checked = (row.checked for row in self.rows if row.checked is not None)
        return tuple(dict.fromkeys(guess for one in checked for guess in one.guesses))

    def count(self, state: str) -> int:
        """How many spreads are in a state."""
        return sum(row.state == state for row in self.rows)

    @property
    def exit_code(self) -> int:
        """The worst of all spreads: 2, then 3, then 1, then 0; 2 while the book cannot be used."""
        codes = {row.exit_code for row in self.rows} | ({2} if self.refused else set())
        return next((code for code in (2, 3, 1) if code in codes), 0)
