"""What a chart says of its inks in its own keywords: lay-down order, opacity.

Words of a keyword are separated by semicolons; an opacity stands behind the name of its ink.
"""

from collections.abc import Mapping
from typing import NamedTuple

from inkmix.base.errors import COUNTED_FAULTS, Fault, MeasurementError
from inkmix.base.names import same_name
from inkmix.base.quoting import clipped, listed, nearest, quoted
from inkmix.colour.measured.table import MeasurementTable


def stated_order(table: MeasurementTable) -> tuple[str, ...] | None:
    """The lay-down order that the chart states, or None where it states none.

    Raises
    ------
    MeasurementError
        If it does not name just the inks of the chart, each once.
    """
    words = words_of(table, "LAY_DOWN_ORDER")
    names = tuple(_plate(table, word) or word for word in words)
    if names and sorted(names) != sorted(table.plates):
        raise MeasurementError(
            Fault(
                where=f"{table.source}, LAY_DOWN_ORDER",
                found=listed(words),
                expected=f"the inks of the chart, each once: {listed(table.plates)}",
                do="correct the keyword, or say the order with --order",
            )
        )
    return names or None


class StatedOpacity(NamedTuple):
    """Opacity by ink as a chart states it, what is wrong with that, and inks it does not hold."""

    told: Mapping[str, float]
    faults: list[Fault]
    strangers: list[str]


def stated_opacity(table: MeasurementTable) -> StatedOpacity:
    """What the keyword OPACITY of a chart says; inks are named in any letters."""
    told: dict[str, float] = {}
    faults: list[Fault] = []
    strangers: list[str] = []
    for words in words_of(table, "OPACITY"):
        if len(faults) >= COUNTED_FAULTS:
            break
        name, _, text = words.rpartition(" ")
        value, plate = _number_0_to_1(text), _plate(table, name)
        if value is None or not name.strip():
            faults.append(_no_opacity(table, words))
        elif plate is None:
            strangers.append(name.strip())
        elif plate in told:
            found = f"{clipped(plate)} is named twice"
            where = f"{table.source}: OPACITY"
            faults.append(Fault(where=where, found=found, do="keep one of the two"))
        else:
            told[plate] = value
    return StatedOpacity(told, faults, strangers)


def no_such_ink(table: MeasurementTable, keyword: str, name: str) -> Fault:
    """Words for an ink that a keyword names and the chart does not hold."""
    near = nearest(name, table.plates, cutoff=0.5)
    return Fault(
        where=f"{table.source}: {keyword}" if keyword else table.source,
        found=f"no ink {clipped(name)}",
        expected=f"it holds {listed(table.plates) or 'none'}",
        do="" if near is None else f"did you mean {clipped(near)}?",
    )


def _no_opacity(table: MeasurementTable, words: str) -> Fault:
    return Fault(
        where=f"{table.source}: OPACITY",
        found=quoted(words),
        expected="an ink and a number from 0 (transparent) to 1 are needed, whites reach 0.9",
        do='write it like "Rowan 0.03; Gull 0.5"',
    )


def _plate(table: MeasurementTable, name: str) -> str | None:
    """The chart's own spelling of an ink, or None."""
    return next((plate for plate in table.plates if same_name(plate, name.strip())), None)


def words_of(table: MeasurementTable, keyword: str) -> tuple[str, ...]:
    """The words of an own keyword."""
    words = (word.strip() for word in table.keywords.get(keyword, "").split(";"))
    return tuple(word for word in words if word)


def _number_0_to_1(text: str) -> float | None:
    try:
        value = float(text)
    except ValueError:
        return None
    return value if 0 <= value <= 1 else None
