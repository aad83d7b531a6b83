"""What a chart says of its inks in its own keywords: lay-down order, opacity.

Words of a keyword are parted by semicolons; an opacity stands behind the name of its ink.
"""

from collections.abc import Mapping

from inkmix.errors import Fault, MeasurementError
from inkmix.measurements.table import MeasurementTable

_SCALE = "0 (transparent) to 1; whites reach .9"


def stated_order(table: MeasurementTable) -> tuple[str, ...] | None:
    """The lay-down order that the chart states, or None where it states none.

    Raises
    ------
    MeasurementError
        If it does not name just the inks of the chart, each once.
    """
    words = _words(table, "LAY_DOWN_ORDER")
    names = tuple(_plate(table, word) or word for word in words)
    if names and sorted(names) != sorted(table.plates):
        raise MeasurementError(
            Fault(
                where=f"{table.source}, LAY_DOWN_ORDER",
                found=", ".join(words),
                expected=f"the inks of the chart, each once: {', '.join(table.plates)}",
                do="mend the keyword, or say the order with --order",
            )
        )
    return names or None


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
        elif (plate := _plate(table, name)) in told:
            where, twice = f"{table.source}, OPACITY", f"{plate} twice"
            faults.append(Fault(where=where, found=twice, expected="each ink once"))
        elif plate is not None:
            told[plate] = value
    return told, faults


def _plate(table: MeasurementTable, name: str) -> str | None:
    """The chart's own spelling of an ink, or None."""
    wanted = name.strip().casefold()
    return next((plate for plate in table.plates if plate.casefold() == wanted), None)


def _words(table: MeasurementTable, keyword: str) -> tuple[str, ...]:
    words = (word.strip() for word in table.keywords.get(keyword, "").split(";"))
    return tuple(word for word in words if word)


def _number(text: str) -> float | None:
    try:
        return float(text)
    except ValueError:
        return None
