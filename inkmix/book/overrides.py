"""Overrides: what a book says for some spreads, merged and held against the rules of a whole book.

A fault in what an override says is named there. What stays of the book and does not go with it is a
fault of the override too, for the book is sound without it.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from inkmix.base.errors import Fault
from inkmix.base.words import percent
from inkmix.book.form import EXCEPTIONS, OVERRIDE, Form
from inkmix.book.keys import MERGED, REPLACED
from inkmix.book.rules import Rules, check_rules
from inkmix.book.statements import KeyPath
from inkmix.book.text import BookText, entries_of
from inkmix.book.view import View

Data = Mapping[str, Any]

MAX_TAKEN_OVER = 1_000_000
"""Keys and values that overrides take over, all together: 2,000 of a book with 100 tones."""

_CONFIRMED = "confirmed_by_printer"


def merged(book: Data, override: Data, form: Form) -> dict[str, Any]:
    """All that holds for the spreads of an override, without overrides and waivers.

    What the printer confirmed holds for what stays as it was; a limit is said of a paper and a
    process, and measured overprints of these and the inks.
    """
    whole = {key: value for key, value in book.items() if key not in EXCEPTIONS}
    whole |= {key: override[key] for key in form.overridden(REPLACED) if key in override}
    for key in form.overridden(MERGED):
        if key in whole or key in override:
            whole[key] = {**_table(whole, key), **_table(override, key)}
    _let_go(_table(whole, "press"), override)
    if leaves_measured_aside(override):
        whole.pop("measured", None)
    return whole


def _let_go(press: dict[str, Any], override: Data) -> None:
    """Take out of the merged press what does not outlive the change."""
    for table in ("overprints", "condition"):
        if leaves_press_aside(override, table):
            press.pop(table, None)
    names = press.get(_CONFIRMED)
    if isinstance(names, list) and _CONFIRMED not in _table(override, "press"):
        press[_CONFIRMED] = [name for name in names if not _is_changed(name, override)]


def leaves_press_aside(override: Data, key: str) -> bool:
    """Whether a file of the book's press, "overprints" or "condition", is not of these spreads."""
    return _is_of_another_kind(override) and key not in _table(override, "press")


def leaves_measured_aside(override: Data) -> bool:
    """Whether measured colours of the book say nothing about these spreads."""
    return _is_of_another_kind(override) and "measured" not in override


def _is_of_another_kind(override: Data) -> bool:
    return bool({"paper", "inks"} & override.keys()) or "process" in _table(override, "press")


def _is_changed(confirmed: Any, override: Data) -> bool:
    """Whether an override changes what the printer confirmed, or what that was said of."""
    name, own = str(confirmed), _table(override, "press")
    if name == "paper" or name.startswith("inks."):
        return name.split(".")[0] in override
    return name in own or (name == "ink_limit_pct" and ("paper" in override or "process" in own))


def _table(data: Data, key: str) -> dict[str, Any]:
    """A table; empty where there is none, or something else."""
    found = data.get(key)
    return found if isinstance(found, dict) else {}


@dataclass(frozen=True, slots=True, kw_only=True)
class MergedText:
    """Where a key of a merged book stands: in the override, or in what stays of the book.

    `merged` are the tables of which an override gives single keys.
    """

    text: BookText
    index: int
    override: Data
    data: dict[str, Any]
    merged: tuple[str, ...]

    @property
    def subject(self) -> str:
        """What the data speak of, in words."""
        return "these spreads"

    def where(self, path: KeyPath) -> str:
        """File, line and key path."""
        return self.text.where((OVERRIDE, self.index, *path) if self._is_own(path) else path)

    def _is_own(self, path: KeyPath) -> bool:
        key = str(path[0]) if path else ""
        if key in self.merged and len(path) > 1:
            return path[1] in _table(self.override, key)
        return key in self.override


def override_rules(
    view: View, *, text: BookText, is_sound: bool, spoilt: Iterable[int]
) -> tuple[Rules, ...]:
    """What the rules find in each override.

    Parameters
    ----------
    view : View
        The whole book.
    is_sound : bool
        Nothing is wrong with the book apart from overrides; else what stays of it is not blamed on
        them.
    spoilt : iterable of int
        Indices of overrides that keys were taken out of: what stays then may not be meant to.
    """
    blameless = set(spoilt)
    made = []
    for index, override in enumerate(view.data.get(OVERRIDE, [])):
        found = _rules_of(view, override, text=text, index=index)
        faults = [fault for fault in found.faults if is_of_override(fault)]
        if is_sound and index not in blameless:
            stays = [fault for fault in found.faults if not is_of_override(fault)]
            faults += _blamed(stays, text, index, view.form)
        made.append(Rules(faults=tuple(faults), notes=found.notes))
    return tuple(made)


def too_much(data: Data, *, text: BookText) -> list[Fault]:
    """A fault where the overrides, each of which takes over what stays, are too many for that."""
    overrides = data.get(OVERRIDE)
    if not isinstance(overrides, list):
        return []
    stays = entries_of([data[key] for key in data if key not in EXCEPTIONS])
    if len(overrides) * stays <= MAX_TAKEN_OVER:
        return []
    return [
        Fault(
            where=text.where((OVERRIDE,)),
            found=f"{len(overrides):,} overrides take over {stays:,} keys and values each",
            expected=f"{MAX_TAKEN_OVER:,} are the most together",
            do="name several spreads in one override, or make a book of each part of the work",
        )
    ]


def is_of_override(fault: Fault) -> bool:
    """Whether a fault names a key of an override."""
    return ": override[" in fault.where


def _rules_of(view: View, override: Data, *, text: BookText, index: int) -> Rules:
    raw = text.data[OVERRIDE][index] if override else {}
    raw = {key: raw[key] for key in raw if key in override}
    data, tables = merged(text.data, raw, view.form), view.form.overridden(MERGED)
    places = MergedText(text=text, index=index, override=raw, data=data, merged=tables)
    rules = check_rules(replace(view, data=merged(view.data, override, view.form), text=places))
    notes = _notes(view.data, override, where=text.where((OVERRIDE, index)))
    return Rules(faults=rules.faults, notes=(*rules.notes, *notes))


def _blamed(faults: Iterable[Fault], text: BookText, index: int, form: Form) -> Iterator[Fault]:
    """Faults of what stays of the book, as faults of the override; one a table."""
    tables: dict[str, list[Fault]] = {}
    for fault in faults:
        tables.setdefault(_key_of(fault, text).split(".")[0].split("[")[0], []).append(fault)
    for table, (first, *more) in tables.items():
        others = f" (and {len(more)} more like it)" if more else ""
        yield Fault(
            where=text.where((OVERRIDE, index)),
            found=f"does not go with {_key_of(first, text)}, which stays: {first.found}{others}",
            expected=first.expected,
            do=_way_out(table, form),
        )


def _key_of(fault: Fault, text: BookText) -> str:
    return fault.where.removeprefix(text.name).split(": ", 1)[-1]


def _way_out(table: str, form: Form) -> str:
    one = form.tables[""][table]
    if one.override == REPLACED:
        header = f"[[override.{table}]]" if one.is_tables else f"[override.{table}]"
        return f"give these spreads {header} of their own"
    if one.override == MERGED:
        return f"say it in [override.{table}]"
    return f"[{table}] is one for all spreads; let the override fit it"


def _notes(data: Data, override: Data, *, where: str) -> Iterator[str]:
    """What is left aside, and what may not be meant to stay."""
    press = _table(data, "press")
    if "overprints" in press and leaves_press_aside(override, "overprints"):
        yield f"{where}: the book's measured overprints are of other paper, inks or process"
    if "condition" in press and leaves_press_aside(override, "condition"):
        yield f"{where}: the book's press-condition file is of other paper, inks or process"
    if "measured" in data and leaves_measured_aside(override):
        yield f"{where}: the book's measured colours are of other paper, inks or process"
    limit = press.get("ink_limit_pct")
    if "paper" in override and limit and "ink_limit_pct" not in _table(override, "press"):
        still = f"the ink limit of {percent(limit)} is still that of the book"
        yield f"{where}: another paper, and {still}"
