"""A lay-down order as somebody gives it, and all that may be wrong with it."""

from collections import Counter

from inkmix.base.errors import Fault, UsageError, capped
from inkmix.base.quoting import clipped, listed, nearest, quoted
from inkmix.colour.measured.table import MeasurementTable


def plates_in_order(table: MeasurementTable, order: str) -> tuple[str, ...]:
    """The plates of a table in the order that was given; all that is wrong with it at once."""
    parted = "," in order or order in table.plates
    names = tuple(part.strip() for part in order.split(",")) if parted else tuple(order.strip())
    if not parted and max(map(len, table.plates)) > 1:
        names = (order.strip(),)  # letters cannot name these plates
    faults = [*_named_twice(names), *_unknown(names, table), *_left_out(names, table)]
    if faults:
        raise UsageError(capped(faults, where="lay-down order"))
    return names


def _named_twice(names: tuple[str, ...]) -> list[Fault]:
    twice = [(name, times) for name, times in Counter(names).items() if times > 1]
    return [
        Fault(
            where="lay-down order",
            found=f"{quoted(name)} is named {times} times",
            expected="each ink is printed once",
        )
        for name, times in twice
    ]


def _unknown(names: tuple[str, ...], table: MeasurementTable) -> list[Fault]:
    return [
        Fault(
            where="lay-down order",
            found=f"{quoted(name)} is not an ink of {table.source}",
            expected=f"its inks are {listed(table.plates)}",
            do=_meant(name, table.plates),
        )
        for name in dict.fromkeys(names)
        if name not in table.plates
    ]


def _meant(name: str, plates: tuple[str, ...]) -> str:
    near = nearest(name, plates)
    return "" if near is None else f"did you mean {clipped(near)}?"


def _left_out(names: tuple[str, ...], table: MeasurementTable) -> list[Fault]:
    missing = [name for name in table.plates if name not in names]
    if not missing:
        return []
    return [
        Fault(
            where="lay-down order",
            found=f"{listed(missing)} left out",
            expected="every ink of the chart has its place",
            do="leave out --order to have one proposed",
        )
    ]
