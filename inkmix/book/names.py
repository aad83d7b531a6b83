"""Rules on names: each its own, fit for files, and those that are mentioned known."""

from collections.abc import Iterator

from inkmix.base.errors import Fault
from inkmix.base.names import folded
from inkmix.base.quoting import listed
from inkmix.book.faults import did_you_mean, shown
from inkmix.book.form import EXCEPTIONS
from inkmix.book.statements import KeyPath
from inkmix.book.view import View

CONFIRMABLE = ("process", "ink_limit_pct", "edge_growth_mm", "overprints", "paper")
_NOT_IN_NAMES = set('/\\{}:*?"<>|')  # an ink's name becomes part of file names
UNFIT_SIGNS = " ".join(sorted(_NOT_IN_NAMES))


def unique_names(view: View) -> Iterator[Fault]:
    """Names in a list of tables differ, not only in case."""
    for kind, key in view.form.tables[""].items():
        if key.is_tables and kind not in EXCEPTIONS:
            yield from _names_used_twice(view, kind, key.word or kind)


def _names_used_twice(view: View, kind: str, word: str) -> Iterator[Fault]:
    seen: set[str] = set()
    for path, table in view.tables(kind):
        if "name" not in table:
            continue
        name = folded(table["name"])
        if name in seen:
            found = f"{shown(table['name'])} is the name of an earlier {word} already"
            yield view.fault((*path, "name"), found, "names differ, not only in case")
        seen.add(name)


def ink_names_fit_files(view: View) -> Iterator[Fault]:
    """Inks' names can be part of file names."""
    for path, ink in view.tables("inks"):
        name = ink.get("name", "ok")
        if not fits_files(name):
            expected = f"it becomes part of file names: no {UNFIT_SIGNS}, no dot or blank in front"
            yield view.fault((*path, "name"), f"is {shown(name)}", expected)


def fits_files(name: str) -> bool:
    """Whether a name can be part of file names."""
    bad = _NOT_IN_NAMES & set(name) or not name.isprintable()
    return not bad and name == name.strip() and not name.startswith(".")


def known_inks(view: View) -> Iterator[Fault]:
    """Every ink that is mentioned is one of the book."""
    names = view.ink_names
    for path, name in _ink_mentions(view):
        if names and name not in names:
            found = f"{shown(name)} is not an ink of {view.text.subject}"
            yield view.fault(path, found, do=did_you_mean(name, names))


def _ink_mentions(view: View) -> Iterator[tuple[KeyPath, str]]:
    for path, key, told in view.values():
        if key.names_inks and isinstance(told, dict):
            yield from (((*path, name), name) for name in told)
        elif key.names_inks and told:  # "" is a channel that is not used
            yield path, told


def channels(view: View) -> Iterator[Fault]:
    """The list of channels fits the pattern and the inks."""
    plates = view.table("plates")
    named = [name for name in plates.get("channels", []) if name]
    if not named:
        return
    path = ("plates", "channels")
    if len(set(named)) < len(named):
        yield view.fault(path, "names an ink twice", "each channel is another ink")
    if "{ink}" in plates.get("pattern", ""):
        found, do = "stands beside a pattern with {ink}", "leave out one of the two"
        yield view.fault(path, found, "channels are for files that hold several inks", do)
    doubled = {ink.get("name") for _, ink in view.tables("inks") if "plate" in ink}
    missing = [name for name in view.ink_names if name not in doubled.union(named)]
    if missing and plates.get("absent") != "empty":
        do = 'write absent = "empty" if they do not print'
        yield view.fault(path, f"lacks {listed(missing)}", "every ink has a channel", do)


def confirmed(view: View) -> Iterator[Fault]:
    """What the printer confirmed is a key, and written down."""
    known = (*CONFIRMABLE, *(f"inks.{ink}" for ink in view.ink_names))
    for index, name in enumerate(view.table("press").get("confirmed_by_printer", [])):
        path = ("press", "confirmed_by_printer", index)
        if name not in known:
            yield view.fault(path, f"is {shown(name)}", do=did_you_mean(name, known))
        elif name in CONFIRMABLE[:4] and not view.given(("press",), name):
            found, do = f"{name} is not given in [press]", f"write {name} = ... there"
            yield view.fault(path, found, "what the printer confirmed is written down", do)
