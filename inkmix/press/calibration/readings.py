"""Readings of a printed form as those of a book's inks: which column is which ink."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from inkmix.base.arrays import BoolArray, FloatArray
from inkmix.base.errors import Fault, MeasurementError, capped
from inkmix.base.names import same_name
from inkmix.base.quoting import listed
from inkmix.base.words import count
from inkmix.colour.colorimetry import delta_e00, xyz100_to_lab
from inkmix.colour.measured.conditions import ReadingConditions
from inkmix.colour.measured.table import MeasurementTable, colours_xyz100
from inkmix.press.scoring.agreement import absurd, disagreement
from inkmix.press.scoring.chart import Chart

_ALIKE_BY_ROUNDING = 0.05  # of all
_UNTOLD = ReadingConditions()
_NUMBERED = re.compile(r"(?:[0-9A-FN]CLR_)?(?P<ink>\d{1,2})", re.IGNORECASE)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Readings:
    """A form as it was read.

    Parameters
    ----------
    chart : Chart
        Its plates are inks of the book whose solids were read, in the book's order.
    patches : tuple (N,) of str
        Names of the patches.
    notes : tuple of str
        What was taken for granted or left aside; sentences without a full stop.
    conditions : ReadingConditions
        How they were taken, as far as every file says it alike.
    """

    chart: Chart
    patches: tuple[str, ...]
    notes: tuple[str, ...] = ()
    conditions: ReadingConditions = _UNTOLD

    def __len__(self) -> int:
        return len(self.patches)

    def apart_from_repeats(self) -> FloatArray:
        """How far (dE00) each reading of a mix or tint that was read again lies from their mean."""
        chart = self.chart
        recipes, recipe = chart.recipes()
        times = np.bincount(recipe)
        sums = [np.bincount(recipe, band, len(recipes)) for band in chart.xyz100.T]
        means = xyz100_to_lab(np.stack(sums, axis=1) / times[:, None])
        return delta_e00(means[recipe], chart.lab)[times[recipe] > 1]

    def only(self, some: BoolArray) -> "Readings":
        """Some (N,) of them."""
        chart = self.chart
        return Readings(
            chart=Chart(
                plates=chart.plates,
                tone_pct=chart.tone_pct[some],
                xyz100=chart.xyz100[some],
                lab=chart.lab[some],
                reflectance=None if chart.reflectance is None else chart.reflectance[some],
                source=chart.source,
            ),
            patches=tuple(np.array(self.patches, dtype=object)[some]),
            notes=self.notes,
            conditions=self.conditions,
        )


def readings_of(tables: Sequence[MeasurementTable], inks: Sequence[str]) -> Readings:
    """The readings of one table or several, as those of a book's inks.

    Parameters
    ----------
    inks : sequence of str
        Of the book, in lay-down order.

    Raises
    ------
    MeasurementError
        Readings without colours, of other inks, without bare paper or without any solid.
    """
    parts = [_read(table, inks) for table in tables]
    spectra = [part.chart.reflectance for part in parts]
    charts = [part.chart for part in parts]
    joined = Chart(
        plates=tuple(inks),
        tone_pct=np.concatenate([one.tone_pct for one in charts]),
        xyz100=np.concatenate([one.xyz100 for one in charts]),
        lab=np.concatenate([one.lab for one in charts]),
        reflectance=_all_spectra(spectra),
        source=listed([one.source for one in charts]),
    )
    patches = tuple(name for part in parts for name in part.patches)
    notes = tuple(dict.fromkeys(note for part in parts for note in part.notes))
    conditions = _agreed([table.conditions for table in tables])
    read = Readings(chart=joined, patches=patches, notes=notes, conditions=conditions)
    return _with_solids(_once(read))


def _once(readings: Readings) -> Readings:
    """Without copies of readings, which tell nothing more; a few may be alike by rounding."""
    chart = readings.chart
    rows = np.column_stack([chart.tone_pct, chart.xyz100])
    first = np.zeros(len(rows), np.bool_)
    first[np.unique(rows, axis=0, return_index=True)[1]] = True
    copies = int((~first).sum())
    if copies <= _ALIKE_BY_ROUNDING * len(rows):
        return readings
    said = f"{count(copies, 'reading')} stood there before, to the last digit, and count once"
    return replace(readings.only(first), notes=(*readings.notes, said))


def _agreed(told: Sequence[ReadingConditions]) -> ReadingConditions:
    """What all say alike."""
    values = {name: {getattr(one, name) for one in told} for name in ReadingConditions.named()}
    return ReadingConditions(
        **{name: next(iter(held)) for name, held in values.items() if len(held) == 1}
    )


def _all_spectra(spectra: Sequence[FloatArray | None]) -> FloatArray | None:
    """Joined where all are known."""
    known = [one for one in spectra if one is not None]
    return np.concatenate(known) if len(known) == len(spectra) else None


def _read(table: MeasurementTable, inks: Sequence[str]) -> Readings:
    """One table, a column for each ink of the book; one that it lacks holds nothing."""
    if not table.has_colour:
        expected, do = "XYZ, Lab or spectra are needed", "export the readings with their colours"
        fault = Fault(where=table.source, found="no colours", expected=expected, do=do)
        raise MeasurementError(fault)
    columns, notes = _columns(table, inks)
    apart = disagreement(table)
    faults = absurd(table, apart)
    if faults:
        raise MeasurementError(capped(faults, where=table.source))
    notes = [*table.notes, *notes, *([] if apart is None else [str(apart).rstrip(".")])]
    tones = np.zeros((len(table), len(inks)))
    for k, ink in enumerate(inks):
        if ink in columns:
            tones[:, k] = table.tone_pct[:, columns[ink]]
    others = [k for k in range(len(table.plates)) if k not in columns.values()]
    foreign = np.asarray((table.tone_pct[:, others] > 0).any(axis=1))
    if foreign.any():
        rows, inks_there = count(int(foreign.sum()), "row"), [table.plates[k] for k in others]
        notes.append(f"{rows} with ink of {listed(inks_there)} left aside: the book has none")
    return _made(table, tuple(inks), tones, ~foreign, notes)


def _columns(table: MeasurementTable, inks: Sequence[str]) -> tuple[dict[str, int], list[str]]:
    """Where the column of each ink is that the table holds, and what was taken for granted."""
    columns = {
        ink: k for ink in inks for k, name in enumerate(table.plates) if same_name(name, ink)
    }
    if columns:
        return columns, []
    numbers = [_NUMBERED.fullmatch(name) for name in table.plates]
    if [one and int(one["ink"]) for one in numbers] == list(range(1, len(inks) + 1)):
        said = f"columns 1 to {len(inks)} are taken as {listed(inks)}, in this order"
        return {ink: k for k, ink in enumerate(inks)}, [said]
    raise MeasurementError(
        Fault(
            where=table.source,
            found=f"readings of {listed(table.plates) or 'no inks'}",
            expected=f"those of the book are {listed(inks)}",
            do="name the columns after the book's inks, or name the form's list with --form",
        )
    )


def _made(
    table: MeasurementTable,
    plates: tuple[str, ...],
    tones: FloatArray,
    some: BoolArray,
    notes: Sequence[str],
) -> Readings:
    xyz100 = np.asarray(colours_xyz100(table), np.float64)
    return Readings(
        chart=Chart(
            plates=plates,
            tone_pct=tones[some],
            xyz100=xyz100[some],
            lab=xyz100_to_lab(xyz100)[some],
            reflectance=None if table.reflectance is None else table.reflectance[some],
            source=table.source,
        ),
        patches=tuple(name for name, there in zip(table.sample_names, some, strict=True) if there),
        notes=tuple(notes),
    )


def _with_solids(readings: Readings) -> Readings:
    """Without inks whose solids were not read, and the patches that hold them."""
    chart = readings.chart
    if not chart.bare.any():
        raise MeasurementError(
            Fault(
                where=chart.source,
                found="no patch of bare paper",
                expected="a row with every ink at 0",
                do="read the unprinted paper of the form, too",
            )
        )
    known = [k for k in range(len(chart.plates)) if chart.solids_of(k).any()]
    if not known:
        raise MeasurementError(
            Fault(
                where=chart.source,
                found=f"no solid of {listed(chart.plates)}",
                expected="an ink alone at 100 %",
                do="read the solids of the form, too",
            )
        )
    names = tuple(chart.plates[k] for k in known)
    missing = [name for name in chart.plates if name not in names]
    if not missing:
        return readings
    unknown = np.delete(chart.tone_pct, known, axis=1)
    left = readings.only(np.asarray((unknown == 0).all(axis=1)))
    said = f"{listed(missing)}: no solid was read, so the book's own word stays"
    return replace(left, chart=left.chart.in_order(names), notes=(*left.notes, said))
