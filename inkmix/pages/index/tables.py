"""spreads.csv, findings.csv and tones.csv: a row a spread, a finding, a named tone on a spread.

Which columns there are, and what they mean; how a cell is written stands in `pages/tables.py`. The
name of the first column tells that inkmix wrote the file.
"""

from collections.abc import Iterator, Mapping, Sequence

from inkmix.base.errors import Fault
from inkmix.checks import table
from inkmix.checks.finding import FAIL, NOT_READY, UNSURE
from inkmix.checks.uses import ColourUse
from inkmix.jobs.book_answer import UNREADABLE, BatchResult, InkUse, ShownFinding, SpreadRow
from inkmix.pages.folders import report_path
from inkmix.pages.index.words import mean_mix
from inkmix.pages.tables import csv_number, csv_table, csv_yes
from inkmix.sheet.places import place

FIRST_COLUMN = "spread"

SPREAD_COLUMNS = {
    FIRST_COLUMN: "name of the spread",
    "state": "what has to be looked at: the worst verdict of what is not waived, or unreadable",
    "verdict": "the worst verdict of all checks, before waivers",
    "left_out": "checks that were left out of the run; they neither pass nor fail",
    "sentence": "the head of its report; of an unreadable spread its first fault",
    "report": "its report, relative to this file",
    "exit_code": "0 nothing fails, 1 something fails, 2 or 3 it could not be checked",
    "failing": "findings that fail and are not waived",
    "not_ready": "findings that rest on guesses, so that nothing can be promised",
    "unsure": "findings that are unsure and not waived",
    "waived": "findings that the book waives",
    "expired": "findings whose waiver has expired",
    "new": "findings that the last run did not have",
    "gone": "findings that only the last run had",
    "new_spread": "yes: the last run did not have the spread",
    "faults": "how many faults kept it from being checked",
    "paper": "the paper it is checked for",
    "width_mm": "trimmed",
    "height_mm": "trimmed",
    "sheet_m2": "area of the plates, bleed included",
}
"""Then the columns that checks add, as the table of checks tells them, and these:"""

INK_COLUMNS = {
    "mean_tone_pct": "mean tone value in the file",
    "mean_coverage_pct": "mean coverage as it prints",
    "solid_m2": "area of full ink that one copy takes",
}
"""For each ink of the book; its name follows after a space."""

FINDING_COLUMNS = {
    FIRST_COLUMN: "name of the spread",
    "state": "open, waived, waiver expired; fault: the spread could not be checked",
    "number": "in the report of the spread",
    "check": "name of the check",
    "name": "of what the check looked at, such as an area or a tone; of a fault the file",
    "verdict": "fail, not ready, unsure, no limit given or not checked; of a fault unreadable",
    "sentence": "the finding in words",
    "where": "the place in words",
    "do": "the best remedy",
    "value": "what was found, in `unit`",
    "limit": "what is allowed, in `unit`",
    "expected_error": "95 % expected error of the value, in `unit`; empty: counted",
    "unit": "% total ink, L* or dE00",
    "new": "yes: the last run did not have it; empty too where nothing was compared",
    "rests_on": "state of all that it rests on; a waiver names it",
    "waived_by": "who waived it, also where that has expired",
    "reason": "why",
    "first_row_px": "of the place on the plates, from 1",
    "last_row_px": "",
    "first_column_px": "",
    "last_column_px": "",
}

TONE_COLUMNS = {
    FIRST_COLUMN: "name of the spread",
    "tone": "as the book names it",
    "used": "yes: some place larger than a speck looks like its mix",
    "within_de00": "so near to its mix a place counts, unless another tone or bare paper is nearer",
    "area_mm2": "all such places together",
    "area_pct": "their share of the plates",
    "places": "how many there are, specks aside",
    "largest_place": "the largest of them in words",
    "L": "mean predicted colour of these places, CIELAB, D50",
    "a": "",
    "b": "",
    "from_mix_de00": "how far that is from what the mix of the book predicts",
    "from_intended_de00": "and from the colour intended; empty where none was given",
    "apart_de00": "between the two spreads where it differs most; the same for all its rows",
    "mean_mix": "mean tone values there, %",
    "same_mix_as": "the tone before it with the very same mix, for which all places count",
}

SPREADS_MARK, FINDINGS_MARK, TONES_MARK = (
    ",".join(list(columns)[:3]).encode()
    for columns in (SPREAD_COLUMNS, FINDING_COLUMNS, TONE_COLUMNS)
)
"""By their first columns these files are known as ours."""

_DIGITS = 4
_AREA_DIGITS = 6


def spreads_csv(result: BatchResult) -> bytes:
    """One row a spread, in natural order; three columns more for each ink of the book."""
    inks = [total.ink for total in result.inks]
    of_inks = (f"{column} {ink}" for ink in inks for column in INK_COLUMNS)
    header = [*SPREAD_COLUMNS, *figure_columns(), *of_inks]
    left_out = ", ".join(result.left_out)
    return csv_table(header, (_spread(row, inks, left_out) for row in result.rows))


def findings_csv(result: BatchResult) -> bytes:
    """One row a finding, in natural order of the spreads, as numbered in their reports."""
    return csv_table(
        list(FINDING_COLUMNS), (line for row in result.rows for line in _findings(row))
    )


def tones_csv(result: BatchResult) -> bytes:
    """One row for each named tone on each spread that was checked, in natural order."""
    apart = {colour.name: colour.apart_de00 for colour in result.colours}
    lines = (
        _use_of_tone(row.name, kept.use, apart[kept.use.name])
        for row in result.rows
        if row.checked is not None
        for kept in row.checked.uses
    )
    return csv_table(list(TONE_COLUMNS), lines)


def _use_of_tone(spread: str, use: ColourUse, apart_de00: float | None) -> list[object]:
    return [
        spread,
        use.name,
        csv_yes(use.is_used),
        _number(use.within_de00),
        _number(use.area_mm2),
        _number(use.area_pct),
        use.areas,
        place(use.places[0]) if use.places else "",
        *(["", "", ""] if use.lab is None else map(_number, use.lab)),
        _number(use.from_mix_de00),
        _number(use.from_intended_de00),
        _number(apart_de00),
        mean_mix(use.mean_tone_pct) if use.is_used else "",
        use.same_mix_as,
    ]


def _spread(row: SpreadRow, inks: Sequence[str], left_out: str) -> list[object]:
    checked = row.checked
    sheet: list[object] = [""] * 4
    figures: Mapping[str, float | None] = {}
    if checked is not None:
        size = [round(value, _DIGITS) for value in (checked.width_mm, checked.height_mm)]
        sheet = [checked.paper, *size, round(checked.sheet_m2, _AREA_DIGITS)]
        figures = checked.figures
    uses = {} if checked is None else {use.ink: use for use in checked.inks}
    return [
        row.name,
        row.state,
        "" if checked is None else checked.verdict,
        left_out,
        checked.sentence if checked is not None else next(map(str, row.faults), ""),
        "" if checked is None else report_path(checked.folder),
        row.exit_code,
        *_counts(row),
        csv_yes(row.is_new),
        len(row.faults),
        *sheet,
        *(_number(figures.get(column)) for column in figure_columns()),
        *(value for ink in inks for value in _use(uses.get(ink))),
    ]


def figure_columns() -> dict[str, str]:
    """Columns of all checks with what they mean."""
    return {name: means for check in table.CHECKS for name, means in check.figures.items()}


def _counts(row: SpreadRow) -> list[int]:
    left = [shown.finding.verdict for shown in row.findings if shown.waiver is None]
    return [
        left.count(FAIL),
        left.count(NOT_READY),
        left.count(UNSURE),
        sum(shown.waiver is not None for shown in row.findings),
        sum(shown.expired is not None for shown in row.findings),
        sum(shown.is_new for shown in row.findings),
        len(row.gone),
    ]


def _use(use: InkUse | None) -> list[object]:
    if use is None:
        return [""] * len(INK_COLUMNS)
    shares = [_number(use.mean_tone_pct), _number(use.mean_coverage_pct)]
    return [*shares, round(use.solid_m2, _AREA_DIGITS)]


def _findings(row: SpreadRow) -> Iterator[list[object]]:
    for fault in row.faults:
        yield _fault(row, fault)
    for shown in row.findings:
        yield _finding(row, shown)


def _fault(row: SpreadRow, fault: Fault) -> list[object]:
    sentence = f"{fault.found}, but {fault.expected}" if fault.expected else fault.found
    said = [row.name, "fault", "", "", fault.where, UNREADABLE, sentence, "", fault.do]
    return [*said, *[""] * (len(FINDING_COLUMNS) - len(said))]


def _finding(row: SpreadRow, shown: ShownFinding) -> list[object]:
    found, waiver = shown.finding, shown.waiver or shown.expired
    state = "waived" if shown.waiver else "waiver expired" if shown.expired else "open"
    return [
        row.name,
        state,
        found.number,
        found.check,
        found.name,
        found.verdict,
        found.sentence,
        found.where,
        found.do.replace("\n", " "),
        _number(found.value),
        _number(found.limit),
        _number(found.error),
        found.unit,
        csv_yes(shown.is_new),
        found.rests_on,
        "" if waiver is None else waiver.by,
        "" if waiver is None else waiver.reason,
        *_ends(found.rows_px),
        *_ends(found.cols_px),
    ]


def _ends(half_open: tuple[int, int] | None) -> tuple[object, object]:
    return ("", "") if half_open is None else (half_open[0] + 1, half_open[1])


def _number(value: float | None) -> object:
    return csv_number(value, _DIGITS)
