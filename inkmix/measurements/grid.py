"""Rows of words turned into numbers, with the place of each for the messages.

Here belongs what every tabular reader needs between words and a MeasurementTable; a cell that is
no number, and a row of the wrong length, are named by line and column.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from inkmix.arrays import FloatArray
from inkmix.errors import Fault
from inkmix.measurements.columns import Meaning
from inkmix.measurements.words import UnclosedQuoteError, Word, split_texts, split_words

MAX_FAULTS = 20  # beyond that the file is wrong as a whole, and a person has seen enough
MAX_COUNTED = 1_000  # faults of one kind that are counted before reading gives up


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Grid:
    """A table of numbers whose cells know where they stood.

    Parameters
    ----------
    meanings : mapping of int to Meaning
        Column number to what it holds; columns without a meaning are not in it.
    values : (N, F) ndarray
        NaN in columns that hold no numbers.
    """

    where: str
    fields: tuple[str, ...]
    meanings: Mapping[int, Meaning]
    values: FloatArray
    rows: tuple[tuple[int, str], ...]

    def columns(self, kind: str) -> dict[str, int]:
        """Key to column number of all columns of this kind, in the order of the file."""
        return {what.key: at for at, what in self.meanings.items() if what.kind == kind}

    def labels(self, key: str) -> tuple[str, ...] | None:
        """The words of a label column, or None if there is none."""
        at = self.columns("label").get(key)
        return None if at is None else tuple(split_texts(line)[at] for _, line in self.rows)

    def place(self, row: int, column: int) -> str:
        """Where a cell stands: file, line, column."""
        number, line = self.rows[row]
        return _place(self.where, number, split_words(line)[column].column, self.fields[column])


def read_grid(
    fields: list[str],
    meanings: Mapping[int, Meaning],
    rows: list[tuple[int, str]],
    *,
    where: str,
) -> tuple[Grid, list[Fault]]:
    """The numbers of all rows of the right length; a fault for each row or cell that is wrong."""
    grid = Grid(
        where=where,
        fields=tuple(fields),
        meanings=meanings,
        values=np.full((len(rows), len(fields)), np.nan),
        rows=tuple(rows),
    )
    numeric = [at for at, what in meanings.items() if what.kind != "label"]
    faults: list[Fault] = []
    for row in range(len(rows)):
        if not _read_row(grid, row, numeric):
            faults += _row_faults(grid, row, numeric)
        if len(faults) >= MAX_COUNTED:
            break
    return grid, faults


def _read_row(grid: Grid, row: int, numeric: list[int]) -> bool:
    """Put the numbers of one row in place; False if anything is wrong with it."""
    line = grid.rows[row][1]
    try:
        texts = split_texts(line)
        numbers = [float(texts[at]) for at in numeric]
    except (IndexError, ValueError):
        return False
    grid.values[row, numeric] = numbers
    sound = len(texts) == len(grid.fields) and all(map(math.isfinite, numbers))
    return sound and not any("_" in texts[at] for at in numeric)


def _row_faults(grid: Grid, row: int, numeric: list[int]) -> list[Fault]:
    """What is wrong with a row that could not be read."""
    number, line = grid.rows[row]
    try:
        words = split_words(line)
    except UnclosedQuoteError as error:
        return [error.fault(grid.where, number)]
    if len(words) != len(grid.fields):
        return [_wrong_length(grid.fields, words, where=f"{grid.where}, line {number}")]
    return [
        _no_number(words[at].text, grid.place(row, at))
        for at in numeric
        if _number(words[at].text) is None
    ]


def capped(faults: list[Fault], *, where: str) -> list[Fault]:
    """The first MAX_FAULTS and the count of the rest."""
    if len(faults) <= MAX_FAULTS:
        return faults
    more = f"{len(faults) - MAX_FAULTS} more"
    if len(faults) >= MAX_COUNTED:
        more = f"at least {MAX_COUNTED - MAX_FAULTS} more"
    rest = Fault(where=where, found=f"and {more}")
    return [*faults[:MAX_FAULTS], rest]


def _number(text: str) -> float | None:
    """A finite decimal number, or None."""
    try:
        value = float(text)
    except ValueError:
        return None
    return value if math.isfinite(value) and "_" not in text else None


def _place(where: str, line: int, column: int, name: str) -> str:
    return f"{where}, line {line}, column {column} ({name})"


def _no_number(text: str, place: str) -> Fault:
    do = ""
    if _number(text.replace(",", ".", 1)) is not None:
        do = "write it with a decimal point"
    return Fault(
        where=place, found=f'"{text[:40]}"', expected="a finite number belongs here", do=do
    )


def _wrong_length(fields: Sequence[str], words: list[Word], *, where: str) -> Fault:
    """Names the first column that is missing, or the first word that is too many."""
    if len(words) < len(fields):
        at = f"{where}, column {words[-1].column + len(words[-1].text)} ({fields[len(words)]})"
    else:
        at = f"{where}, column {words[len(fields)].column}"
    found = f"the row has {len(words)} cells"
    return Fault(where=at, found=found, expected=f"the table has {len(fields)} columns")
