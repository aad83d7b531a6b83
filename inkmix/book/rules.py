"""Rules that span several keys of a book, all asked at once, and the paths it names.

Works on plain data of which single keys may be missing (they were faulty and are reported
already).
"""

import os
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import chain, islice

from inkmix.base.errors import COUNTED_FAULTS, Fault
from inkmix.base.quoting import clipped
from inkmix.base.words import percent
from inkmix.book.choices import colours
from inkmix.book.double_hits import shared_plates
from inkmix.book.form import Rule
from inkmix.book.names import (
    channels,
    confirmed,
    ink_names_fit_files,
    known_inks,
    unique_names,
)
from inkmix.book.paths import PLACEHOLDER, path_fault
from inkmix.book.plausible import implausible
from inkmix.book.spread_rules import named_twice, overrides
from inkmix.book.statements import KeyPath
from inkmix.book.view import View


@dataclass(frozen=True, slots=True, kw_only=True)
class Rules:
    """What the rules found: faults, and notes on what is odd but accepted."""

    faults: tuple[Fault, ...]
    notes: tuple[str, ...]


def check_rules(view: View) -> Rules:
    """Everything the rules find, all at once."""
    found = chain.from_iterable(rule(view) for rule in (*view.form.rules, *_RULES))
    faults = tuple(islice(found, COUNTED_FAULTS))
    return Rules(faults=faults, notes=tuple(_notes(view)))


def _paths(view: View) -> Iterator[Fault]:
    """Every path stays inside the folder, and what it names is there."""
    for path, key, text in view.values():
        if key.path_holds is not None and isinstance(text, str):
            yield from _path_faults(view, path, text, allowed=key.path_holds)


def _path_faults(
    view: View, path: KeyPath, text: str, *, allowed: tuple[str, ...]
) -> Iterator[Fault]:
    where = view.text.where(path)
    if fault := path_fault(text, folder=view.folder, where=where, allowed=allowed):
        yield fault
    elif PLACEHOLDER.search(text):
        return
    elif "ink" in allowed:
        do = 'write for example "plates/{spread}/{ink}.tif"'
        yield view.fault(path, "names neither {spread} nor {ink}", do=do)
    elif not os.path.isfile(view.folder / text):
        do = "put it there, or take the line out"
        yield view.fault(path, f"there is no file {clipped(text, 100)}", "the book names it", do)


def _notes(view: View) -> Iterator[str]:
    """What is odd but may be meant."""
    limit = view.table("press").get("ink_limit_pct")
    for path, mix in view.mixes():
        total = sum(mix.values())
        if limit is not None and total > limit:
            adds_up = percent(total, beside=limit)
            over = f"over the ink limit of {percent(limit)}"
            yield f"{view.text.where(path)}: the mix adds up to {adds_up}, {over}"
    yield from _opacity_notes(view)


def _opacity_notes(view: View) -> Iterator[str]:
    """One sentence on what numbers of opacity mean, for a book may be older than that meaning."""
    told = [
        (path, ink)
        for path, ink in view.tables("inks")
        if isinstance(ink.get("opacity"), int | float)
    ]
    if told:
        numbers = ", ".join(f"{ink.get('name', 'an ink')} {ink['opacity']:g}" for _, ink in told)
        yield (
            f"{view.text.where((*told[0][0], 'opacity'))}: {numbers}: a number now is the share of "
            "its own colour that a solid adds to whatever lies under it; in older books it said "
            "how far the ink covers, which is nearly the same"
        )


_RULES: tuple[Rule, ...] = (
    colours,
    unique_names,
    ink_names_fit_files,
    known_inks,
    channels,
    shared_plates,
    confirmed,
    overrides,
    named_twice,
    _paths,
    implausible,
)
