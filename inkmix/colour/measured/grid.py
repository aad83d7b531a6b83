"""Rows of words turned into numbers, with the place of each for the messages.

Here belongs what every tabular reader needs between words and a MeasurementTable; a cell that is
no number, and a row of the wrong length, are named by line and column.
"""

import math
from array import array
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from inkmix.base.arrays import BoolArray, FloatArray
from inkmix.base.errors import COUNTED_FAULTS, Fault
from inkmix.base.quoting import clipped, harmless, quoted
from inkmix.colour.measured.columns import Meaning
from inkmix.colour.measured.tokens import AT_BLANKS, Cut, UnclosedQuoteError, Word


class Rows(Protocol):
    """Where the cells of a table stood, by row and column number."""

    def __len__(self) -> int: ...

    def texts(self, column: int) -> tuple[str, ...]:
        """The words of a column."""

    def places(self, row: int, columns: Sequence[int]) -> list[str]:
        """Where cells of one row stood, for messages."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Lines:
    """Rows that were lines of a text."""

    where: str
    fields: tuple[str, ...]
    numbered: tuple[tuple[int, str], ...]
    cut: Cut

    def __len__(self) -> int:
        return len(self.numbered)

    def texts(self, column: int) -> tuple[str, ...]:
        """The words of a column."""
        return tuple(self.cut.texts(line)[column] for _, line in self.numbered)

    def places(self, row: int, columns: Sequence[int]) -> list[str]:
        """Line, column and the column's name."""
        number, line = self.numbered[row]
        words = self.cut.words(line)
        return [_place(self.where, number, words[at].column, self.fields[at]) for at in columns]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Grid:
    """A table of numbers whose cells know where they stood.

    Parameters
    ----------
    fields : tuple of str
        Names of the columns, as the file has them.
    meanings : mapping of int to Meaning
        Column number to what it holds; columns without a meaning are not in it.
    values : (N, F) ndarray
        NaN in columns that hold no numbers.
    """

    where: str
    fields: tuple[str, ...]
    meanings: Mapping[int, Meaning]
    values: FloatArray
    rows: Rows

    def columns(self, kind: str) -> dict[str, int]:
        """Key to column number of all columns of this kind, in the order of the file."""
        return {what.key: at for at, what in self.meanings.items() if what.kind == kind}

    def labels(self, key: str) -> tuple[str, ...] | None:
        """The words of a label column, or None if there is none."""
        at = self.columns("label").get(key)
        return None if at is None else tuple(map(harmless, self.rows.texts(at)))

    def place(self, row: int, column: int) -> str:
        """Where a cell stands: file, line, column."""
        return self.rows.places(row, [column])[0]

    def bare(self) -> BoolArray:
        """Which rows hold no ink; none if there are no tone values. (N,)"""
        tones = self.values[:, list(self.columns("tone").values())]
        return np.asarray((tones == 0).all(axis=1) & (tones.shape[1] > 0))


def read_grid(
    fields: list[str],
    meanings: Mapping[int, Meaning],
    rows: list[tuple[int, str]],
    *,
    where: str,
    cut: Cut = AT_BLANKS,
) -> tuple[Grid, list[Fault]]:
    """The numbers of all rows, and a fault for each row or cell that is wrong.

    Memory is taken by what was read, never by rows times columns before: where there are faults the
    grid has no numbers.
    """
    numeric = [at for at, what in meanings.items() if what.kind != "label"]
    numbers, faults = array("d"), list[Fault]()
    for numbered in rows:
        read = _read_row(cut.texts, numbered[1], numeric, len(fields))
        if read is None:
            faults += _row_faults(cut, numbered, fields, numeric, where)
        elif not faults:
            numbers.extend(read)
        if len(faults) >= COUNTED_FAULTS:
            break
    values = np.full((0 if faults else len(rows), len(fields)), np.nan)
    if len(values):
        values[:, numeric] = np.asarray(numbers).reshape(len(rows), len(numeric))
    lines = Lines(where=where, fields=tuple(fields), numbered=tuple(rows), cut=cut)
    grid = Grid(where=where, fields=lines.fields, meanings=meanings, values=values, rows=lines)
    return grid, faults


def _read_row(
    texts_of: Callable[[str], list[str]], line: str, numeric: list[int], columns: int
) -> list[float] | None:
    """The numbers of one row; None if anything is wrong with it."""
    try:
        texts = texts_of(line)
        numbers = [float(texts[at]) for at in numeric]
    except (IndexError, ValueError):
        return None
    sound = len(texts) == columns and all(map(math.isfinite, numbers))
    return numbers if sound and not any("_" in texts[at] for at in numeric) else None


def _row_faults(
    cut: Cut, numbered: tuple[int, str], fields: Sequence[str], numeric: list[int], where: str
) -> list[Fault]:
    """What is wrong with a row that could not be read."""
    number, line = numbered
    try:
        words = cut.words(line)
    except UnclosedQuoteError as error:
        return [error.fault(where, number)]
    if len(words) != len(fields):
        return [_wrong_length(fields, words, f"{where}, line {number}", cut.too_many)]
    return [
        _no_number(words[at].text, _place(where, number, words[at].column, fields[at]))
        for at in numeric
        if _number(words[at].text) is None
    ]


def _number(text: str) -> float | None:
    """A finite decimal number, or None."""
    try:
        value = float(text)
    except ValueError:
        return None
    return value if math.isfinite(value) and "_" not in text else None


def _place(where: str, line: int, column: int, name: str) -> str:
    return f"{where}, line {line}, column {column} ({clipped(name)})"


def _no_number(text: str, place: str) -> Fault:
    do = ""
    if _number(text.replace(",", ".", 1)) is not None:
        do = "write it with a decimal point"
    return Fault(where=place, found=quoted(text), expected="a finite number is needed here", do=do)


def _wrong_length(fields: Sequence[str], words: list[Word], where: str, too_many: str) -> Fault:
    """Names the first column that is missing, or the first word that is too many."""
    if len(words) < len(fields):
        end, lacking = words[-1].column + len(words[-1].text), clipped(fields[len(words)])
        at, do = f"{where}, column {end} ({lacking})", ""
    else:
        at, do = f"{where}, column {words[len(fields)].column}", too_many
    found = f"the row has {len(words)} cells"
    return Fault(where=at, found=found, expected=f"the table has {len(fields)} columns", do=do)
