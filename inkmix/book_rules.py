"""Rules that span several keys of a book: one of many, names that must be known, paths.

Works on plain data of which single keys may be missing (they were faulty and are reported
already). Whether a number is likely is asked in book_plausible.
"""

import unicodedata
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from inkmix.book_faults import KeyPath, did_you_mean, shown
from inkmix.book_keys import MIN_PANEL_MM
from inkmix.book_paths import PLACEHOLDER, path_fault
from inkmix.book_plausible import plausibility_faults
from inkmix.book_text import BookText
from inkmix.errors import Fault

INK_COLOURS = ("swatch", "lab", "xyz", "density", "srgb", "measurements")
PAPER_COLOURS = ("swatch", "lab", "xyz", "srgb")
NIGHT_AREAS = ("mask", "rect_mm", "rule")
CONFIRMABLE = ("process", "ink_limit_pct", "edge_growth_mm", "overprints", "paper")
_NOT_IN_NAMES = set('/\\{}:*?"<>|')  # an ink's name becomes part of file names
_ORDER_OF_TABLES = {"inks": "ink", "night": "night area", "tones": "tone"}


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """A book's data without the keys already found faulty, with how to name a place in it."""

    data: dict[str, Any]
    text: BookText
    folder: Path

    def tables(self, name: str) -> Iterator[tuple[KeyPath, dict[str, Any]]]:
        """Tables of a kind with their key paths."""
        for index, table in enumerate(self.data.get(name, [])):
            yield (name, index), table

    def table(self, name: str) -> dict[str, Any]:
        """A single table; empty where there is none."""
        found: dict[str, Any] = self.data.get(name, {})
        return found

    def given(self, path: KeyPath, name: str) -> bool:
        """Whether the file gives the key, be it right or wrong."""
        here: Any = self.text.data
        for part in path:
            here = (
                here[part] if isinstance(here, list) and isinstance(part, int) else here.get(part)
            )
        return isinstance(here, dict) and name in here

    @property
    def ink_names(self) -> list[str]:
        """Names of the inks that have one."""
        return [ink["name"] for _, ink in self.tables("inks") if "name" in ink]


@dataclass(frozen=True, slots=True, kw_only=True)
class Rules:
    """What the rules found: faults, and notes on what is odd but accepted."""

    faults: tuple[Fault, ...]
    notes: tuple[str, ...]


def check_rules(data: dict[str, Any], *, text: BookText, folder: Path) -> Rules:
    """Everything the rules find, all at once."""
    view = View(data=data, text=text, folder=folder.resolve())
    faults = [fault for rule in _RULES for fault in rule(view)]
    faults += plausibility_faults(data, where=text.where)
    return Rules(faults=tuple(faults), notes=tuple(_notes(view)))


def _colours(view: View) -> Iterator[Fault]:
    for path, ink in view.tables("inks"):
        yield from _exactly_one(view, path, INK_COLOURS, f"the ink {shown(ink.get('name', ''))}")
        if "column" in ink and not view.given(path, "measurements"):
            yield _odd(view, (*path, "column"), "belongs to measurements, which is missing")
    if "paper" in view.data:
        yield from _exactly_one(view, ("paper",), PAPER_COLOURS, "the paper")
        if not view.given(("paper",), "swatch") and not view.given(("paper",), "class"):
            yield Fault(
                where=view.text.where(("paper",)),
                found="has no class",
                expected="a paper given by its colour needs one",
                do='write class = "coated", "light-coated", "supercalendered", "uncoated" or '
                '"newsprint"',
            )


def _exactly_one(view: View, path: KeyPath, keys: tuple[str, ...], what: str) -> Iterator[Fault]:
    given = [key for key in keys if view.given(path, key)]
    if len(given) == 1:
        return
    colour = "has no colour" if not given else f"is given by {' and '.join(given)}"
    words = ", ".join(keys[:-1]) + " and " + keys[-1]
    do = "" if given else 'if nothing is measured yet, srgb = "#rrggbb" serves as a hint'
    yield Fault(
        where=view.text.where(path),
        found=f"{what} {colour}",
        expected=f"exactly one of {words} is needed",
        do=do,
    )


def _areas(view: View) -> Iterator[Fault]:
    for path, night in view.tables("night"):
        given = [key for key in NIGHT_AREAS if view.given(path, key)]
        if len(given) != 1:
            yield Fault(
                where=view.text.where(path),
                found="has no area" if not given else f"is given by {' and '.join(given)}",
                expected="exactly one of mask, rect_mm and rule is needed",
            )
        if "mask_shows" in night and not view.given(path, "mask"):
            yield _odd(view, (*path, "mask_shows"), "belongs to mask, which is missing")
        yield from _rect(view, path, night)


def _rect(view: View, path: KeyPath, night: dict[str, Any]) -> Iterator[Fault]:
    if "rect_mm" not in night:
        return
    x, y, width, height = night["rect_mm"]
    where = view.text.where((*path, "rect_mm"))
    if width <= 0 or height <= 0:
        yield Fault(where=where, found=f"is {width:g} x {height:g} mm", expected="it has an area")
        return
    strip = view.table("strip")
    if not {"panels", "panel_mm"} <= strip.keys() or min(strip["panel_mm"]) < MIN_PANEL_MM:
        return
    trim_width, trim_height = strip["panels"] * strip["panel_mm"][0], strip["panel_mm"][1]
    if x >= trim_width or y >= trim_height or x + width <= 0 or y + height <= 0:
        expected = f"the strip measures {trim_width:g} x {trim_height:g} mm"
        yield Fault(where=where, found="lies wholly off the sheet", expected=expected)


def _intents(view: View) -> Iterator[Fault]:
    for path, tone in view.tables("tones"):
        both = [key for key in ("intended", "lab") if view.given(path, key)]
        if len(both) == 2:
            yield _odd(view, path, "is given by intended and lab", "only one of them can hold")
        if "tolerance_de00" in tone and not both:
            yield _odd(
                view,
                (*path, "tolerance_de00"),
                "has nothing to compare with",
                "intended or lab is needed",
            )


def _unique_names(view: View) -> Iterator[Fault]:
    for kind, word in _ORDER_OF_TABLES.items():
        seen: dict[str, KeyPath] = {}
        for path, table in view.tables(kind):
            if "name" not in table:
                continue
            name = unicodedata.normalize("NFC", table["name"]).casefold()
            if name in seen:
                found = f"{shown(table['name'])} is the name of an earlier {word} already"
                yield _odd(view, (*path, "name"), found, "names differ, not only in case")
            seen[name] = path


def _ink_names_fit_files(view: View) -> Iterator[Fault]:
    for path, ink in view.tables("inks"):
        name = ink.get("name", "ok")
        bad = sorted(_NOT_IN_NAMES & set(name)) + [c for c in name if not c.isprintable()]
        if bad or name != name.strip() or name.startswith("."):
            signs = " ".join(sorted(_NOT_IN_NAMES))
            expected = f"it becomes part of file names: no {signs}, no dot or blank in front"
            yield _odd(view, (*path, "name"), f"is {shown(name)}", expected)


def _known_inks(view: View) -> Iterator[Fault]:
    for path, name in _ink_mentions(view):
        if view.ink_names and name not in view.ink_names:
            found = f"{shown(name)} is no ink of this book"
            yield _odd(view, path, found, do=did_you_mean(name, view.ink_names))


def _ink_mentions(view: View) -> Iterator[tuple[KeyPath, str]]:
    for path, tone in view.tables("tones"):
        yield from (((*path, "mix", name), name) for name in tone.get("mix", {}))
    for path, night in view.tables("night"):
        for index, part in enumerate(night.get("rule", [])):
            if "plate" in part:
                yield (*path, "rule", index, "plate"), part["plate"]
    for index, name in enumerate(view.table("plates").get("channels", [])):
        if name:
            yield ("plates", "channels", index), name


def _channels(view: View) -> Iterator[Fault]:
    plates = view.table("plates")
    channels = [name for name in plates.get("channels", []) if name]
    if not channels:
        return
    path = ("plates", "channels")
    if len(set(channels)) < len(channels):
        yield _odd(view, path, "names an ink twice", "each channel is another ink")
    if "{ink}" in plates.get("pattern", ""):
        do = "leave out one of the two"
        yield _odd(
            view,
            path,
            "stands beside a pattern with {ink}",
            "channels are for files that hold several inks",
            do,
        )
    missing = [name for name in view.ink_names if name not in channels]
    if missing and plates.get("absent") != "empty":
        yield _odd(
            view,
            path,
            f"lacks {', '.join(missing)}",
            "every ink has a channel",
            'write absent = "empty" if they do not print',
        )


def _confirmed(view: View) -> Iterator[Fault]:
    for index, name in enumerate(view.table("press").get("confirmed_by_printer", [])):
        path = ("press", "confirmed_by_printer", index)
        inks = [f"inks.{ink}" for ink in view.ink_names]
        if name not in (*CONFIRMABLE, *inks):
            yield _odd(
                view, path, f"is {shown(name)}", do=did_you_mean(name, (*CONFIRMABLE, *inks))
            )
        elif name in CONFIRMABLE[:4] and not view.given(("press",), name):
            yield _odd(
                view,
                path,
                f"{name} is not given in [press]",
                "what the printer confirmed is written down",
                f"write {name} = ... there",
            )


def _paths(view: View) -> Iterator[Fault]:
    for path, text, allowed in _path_mentions(view):
        where = view.text.where(path)
        fault = path_fault(text, folder=view.folder, where=where, allowed=allowed)
        if fault is None and not PLACEHOLDER.search(text) and not (view.folder / text).is_file():
            fault = Fault(
                where=where, found=f"there is no file {text}", expected="the book names it"
            )
        if fault:
            yield fault


def _path_mentions(view: View) -> Iterator[tuple[KeyPath, str, tuple[str, ...]]]:
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
    allowed = ("spread", "ink")
    if fault := path_fault(
        pattern, folder=view.folder, where=view.text.where(path), allowed=allowed
    ):
        yield fault


def _odd(view: View, path: KeyPath, found: str, expected: str = "", do: str = "") -> Fault:
    return Fault(where=view.text.where(path), found=found, expected=expected, do=do)


def _notes(view: View) -> Iterator[str]:
    """What is odd but may be meant."""
    limit = view.table("press").get("ink_limit_pct")
    for path, tone in view.tables("tones"):
        total = sum(tone.get("mix", {}).values())
        if limit is not None and total > limit:
            where = view.text.where((*path, "mix"))
            yield f"{where}: the mix adds up to {total:g} %, over the ink limit of {limit:g} %"


_RULES: tuple[Callable[[View], Iterator[Fault]], ...] = (
    _colours,
    _areas,
    _intents,
    _unique_names,
    _ink_names_fit_files,
    _known_inks,
    _channels,
    _confirmed,
    _pattern,
    _paths,
)
