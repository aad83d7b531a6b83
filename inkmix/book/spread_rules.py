"""Rules on tables that speak of single spreads: overrides, and areas that hold on some.

Which spreads there are is not known here.
"""

from collections.abc import Iterator
from dataclasses import replace

from inkmix.base.errors import Fault
from inkmix.base.names import folded
from inkmix.base.quoting import listed
from inkmix.book.faults import shown
from inkmix.book.form import OVERRIDE
from inkmix.book.keys import MERGED, REPLACED
from inkmix.book.statements import KeyPath
from inkmix.book.view import View


def overrides(view: View) -> Iterator[Fault]:
    """Every override says something, of spreads that no other speaks of."""
    seen: dict[str, int] = {}
    for path, override in view.tables(OVERRIDE):
        if not override:  # it was no table, or is reported as empty
            continue
        if view.text.data[OVERRIDE][path[1]].keys() == {"spreads"}:
            may = (*view.form.overridden(REPLACED), *view.form.overridden(MERGED))
            expected = f"it gives one of {', '.join(may)}"
            yield view.fault(path, "changes nothing", expected)
        own: set[str] = set()
        for index, name in enumerate(override.get("spreads", [])):
            number = seen.setdefault(folded(name), int(path[1]))
            if number != path[1] or name in own:
                found = f"{shown(name)} is named by override[{number + 1}] already"
                place = (*path, "spreads", index)
                yield view.fault(place, found, "a spread can have one override only")
            own.add(name)
        yield from _strangers(view, path)
        yield from _incomplete(view, path)


def named_twice(view: View) -> Iterator[Fault]:
    """A table that holds on some spreads names each of them once."""
    for path, _, table in view.tables_within():
        names = table.get("spreads", [])
        for index, name in enumerate(names):
            if name in names[:index]:
                place = (*path, "spreads", index)
                yield view.fault(place, f"{shown(name)} is named already", do="name it once")


def _strangers(view: View, path: KeyPath) -> Iterator[Fault]:
    """Spreads that tables of an override name, and it does not speak of."""
    override = view.data[OVERRIDE][path[1]]
    spreads = override.get("spreads")
    if spreads is None:
        return
    known = set(spreads)
    named: list[tuple[KeyPath, list[str]]] = [
        ((*inner, "spreads"), table.get("spreads", []))
        for inner, _, table in replace(view, data=override).tables_within()
        if inner
    ]
    named.append((("strip", "sides"), override.get("strip", {}).get("sides", [])))
    for place, names in named:
        for index, name in enumerate(names):
            if name not in known:
                found = f"{shown(name)} is not a spread of this override"
                yield view.fault((*path, *place, index), found, f"it holds for {listed(spreads)}")


def _incomplete(view: View, path: KeyPath) -> Iterator[Fault]:
    """Keys that a table of an override lacks where there is none to merge it with."""
    raw, tables = view.text.data[OVERRIDE][path[1]], view.form.tables
    for table in view.form.overridden(MERGED):
        given = raw.get(table)
        if tables[""][table].is_required or table in view.text.data or not isinstance(given, dict):
            continue
        for name, key in tables[table].items():
            if key.is_required and name not in given:
                expected = f"it is needed ({key.about}), for the book has no [{table}]"
                yield view.fault((*path, table, name), "is missing", expected)
