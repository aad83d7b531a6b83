"""Rows of words turned into numbers, with the place of each for the messages.

Here belongs what every tabular reader needs between words and a MeasurementTable; a cell that is
no number, and a row of the wrong length, are named by line and column.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from inkmix.arrays import FloatArray
from inkmix.errors import Fault
from inkmix.measurements.columns import Meaning
from inkmix.measurements.words import Word

MAX_FAULTS = 20  # beyond that the file is wrong as a whole, and a person has seen enough


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
    rows: tuple[tuple[int, list[Word]], ...]

    def columns(self, kind: str) -> dict[str, int]:
        """Key to column number of all columns of this kind, in the order of the file."""
        return {what.key: at for at, what in self.meanings.items() if what.kind == kind}

    def labels(self, key: str) -> tuple[str, ...] | None:
        """The words of a label column, or None if there is none."""
        at = self.columns("label").get(key)
        return None if at is None else tuple(words[at].text for _, words in self.rows)

    def place(self, row: int, column: int) -> str:
        """Where a cell stands: file, line, column."""
        number, words = self.rows[row]
        return _place(self.where, number, words[column].column, self.fields[column])


def read_grid(
    fields: list[str],
    meanings: Mapping[int, Meaning],
    rows: list[tuple[int, list[Word]]],
    *,
    where: str,
) -> tuple[Grid, list[Fault]]:
    """The numbers of all rows of the right length; a fault for each row or cell that is wrong."""
    numeric = [at for at, what in meanings.items() if what.kind != "label"]
    values = np.full((len(rows), len(fields)), np.nan)
    faults: list[Fault] = []
    for row, (number, words) in enumerate(rows):
        if len(words) != len(fields):
            faults.append(_wrong_length(fields, words, where=f"{where}, line {number}"))
            continue
        for at in numeric:
            value = _number(words[at].text)
            if value is None:
                place = _place(where, number, words[at].column, fields[at])
                faults.append(_no_number(words[at].text, place))
            else:
                values[row, at] = value
    grid = Grid(
        where=where, fields=tuple(fields), meanings=meanings, values=values, rows=tuple(rows)
    )
    return grid, faults


def capped(faults: list[Fault], *, where: str) -> list[Fault]:
    """The first MAX_FAULTS and the count of the rest."""
    if len(faults) <= MAX_FAULTS:
        return faults
    more = len(faults) - MAX_FAULTS
    return [*faults[:MAX_FAULTS], Fault(where=where, found=f"and {more} more")]


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


def _wrong_length(fields: list[str], words: list[Word], *, where: str) -> Fault:
    """Names the first column that is missing, or the first word that is too many."""
    if len(words) < len(fields):
        at = f"{where}, column {words[-1].column + len(words[-1].text)} ({fields[len(words)]})"
    else:
        at = f"{where}, column {words[len(fields)].column}"
    found = f"the row has {len(words)} cells"
    return Fault(where=at, found=found, expected=f"the table has {len(fields)} columns")
