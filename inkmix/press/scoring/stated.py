"""What a chart says of its inks in its own keywords: lay-down order, opacity.

Words of a keyword are parted by semicolons; an opacity stands behind the name of its ink.
"""

from collections.abc import Mapping

from inkmix.errors import Fault
from inkmix.measurements.table import MeasurementTable

_SCALE = "0 (transparent) to 1; whites reach .9"


def stated_order(table: MeasurementTable) -> tuple[str, ...] | None:
    """The lay-down order that the chart states, or None where it states none of just its inks."""
    names = _words(table, "LAY_DOWN_ORDER")
    return names if sorted(names) == sorted(table.plates) else None


def stated_opacity(table: MeasurementTable) -> tuple[Mapping[str, float], list[Fault]]:
    """Opacity by ink as the chart states it, and what is wrong with that."""
    told: dict[str, float] = {}
    faults = []
    for words in _words(table, "OPACITY"):
        name, _, text = words.rpartition(" ")
        value = _number(text)
        if value is None or not 0 <= value <= 1:
            where = f"{table.source}, OPACITY of {name.strip() or 'an ink'}"
            faults.append(Fault(where=where, found=repr(text), expected=_SCALE))
        elif name.strip() in table.plates:
            told[name.strip()] = value
    return told, faults


def _words(table: MeasurementTable, keyword: str) -> tuple[str, ...]:
    words = (word.strip() for word in table.keywords.get(keyword, "").split(";"))
    return tuple(word for word in words if word)


def _number(text: str) -> float | None:
    try:
        return float(text)
    except ValueError:
        return None
