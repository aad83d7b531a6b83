"""Rules that span several keys of a book, all asked at once, and the paths it names.

Works on plain data of which single keys may be missing (they were faulty and are reported
already).
"""

import os
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import chain, islice
from pathlib import Path
from typing import Any

from inkmix.base.errors import COUNTED_FAULTS, Fault
from inkmix.base.quoting import clipped
from inkmix.book.choices import areas, colours, intents
from inkmix.book.double_hits import shared_plates
from inkmix.book.form import Form
from inkmix.book.names import (
    channels,
    confirmed,
    ink_names_fit_files,
    known_inks,
    unique_names,
)
from inkmix.book.paths import PLACEHOLDER, path_fault
from inkmix.book.plausible import plausibility_faults
from inkmix.book.spread_rules import overrides
from inkmix.book.statements import KeyPath
from inkmix.book.view import Places, View


@dataclass(frozen=True, slots=True, kw_only=True)
class Rules:
    """What the rules found: faults, and notes on what is odd but accepted."""

    faults: tuple[Fault, ...]
    notes: tuple[str, ...]


def check_rules(data: dict[str, Any], *, text: Places, folder: Path, form: Form) -> Rules:
    """Everything the rules find, all at once."""
    view = View(data=data, text=text, folder=folder.resolve(), form=form)
    found = chain.from_iterable(rule(view) for rule in _RULES)
    found = chain(found, plausibility_faults(data, where=text.where))
    faults = tuple(islice(found, COUNTED_FAULTS))
    return Rules(faults=faults, notes=tuple(_notes(view)))


def _paths(view: View) -> Iterator[Fault]:
    for path, text, allowed in _path_mentions(view):
        where = view.text.where(path)
        fault = path_fault(text, folder=view.folder, where=where, allowed=allowed)
        if (
            fault is None
            and not PLACEHOLDER.search(text)
            and not os.path.isfile(view.folder / text)
        ):
            fault = Fault(
                where=where,
                found=f"there is no file {clipped(text, 100)}",
                expected="the book names it",
            )
        if fault:
            yield fault


def _path_mentions(view: View) -> Iterator[tuple[KeyPath, str, tuple[str, ...]]]:
    if "measurements" in view.table("paper"):
        yield ("paper", "measurements"), view.table("paper")["measurements"], ()
    for path, ink in view.tables("inks"):
        if "measurements" in ink:
            yield (*path, "measurements"), ink["measurements"], ()
    for path, night in view.tables("night"):
        if "mask" in night:
            yield (*path, "mask"), night["mask"], ("spread",)
    if "overprints" in view.table("press"):
        yield ("press", "overprints"), view.table("press")["overprints"], ()
    if "picture" in view.table("reference"):
        yield ("reference", "picture"), view.table("reference")["picture"], ("spread",)


def _pattern(view: View) -> Iterator[Fault]:
    pattern = view.table("plates").get("pattern")
    if pattern is None:
        return
    path = ("plates", "pattern")
    where, allowed = view.text.where(path), ("spread", "ink")
    if fault := path_fault(pattern, folder=view.folder, where=where, allowed=allowed):
        yield fault
    elif not PLACEHOLDER.search(pattern):
        do = 'write for example "plates/{spread}/{ink}.tif"'
        yield view.fault(path, "names neither {spread} nor {ink}", do=do)


def _notes(view: View) -> Iterator[str]:
    """What is odd but may be meant."""
    limit = view.table("press").get("ink_limit_pct")
    for path, tone in view.tables("tones"):
        total = sum(tone.get("mix", {}).values())
        if limit is not None and total > limit:
            where = view.text.where((*path, "mix"))
            yield f"{where}: the mix adds up to {total:g} %, over the ink limit of {limit:g} %"
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


_RULES: tuple[Callable[[View], Iterator[Fault]], ...] = (
    colours,
    areas,
    intents,
    unique_names,
    ink_names_fit_files,
    known_inks,
    channels,
    shared_plates,
    confirmed,
    overrides,
    _pattern,
    _paths,
)
