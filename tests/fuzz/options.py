"""Command lines of all commands, made from the parameters that the commands themselves declare.

`--watch` never ends and a cluster needs a network, so these two are left out; a demo is drawn at
its smallest, since it takes seconds.
"""

import importlib
import random
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import click

from fuzz import texts
from fuzz.cases import NEGATIVES, NUMBERS, Asked, moved, weighted
from fuzz.measurements import build as build_chart
from fuzz.measurements import write as write_chart
from fuzz.png_chunks import png_document
from fuzz.small_book import write_book

NAME = "options"
HOW_MANY = (0, 0, 0, 1)
"""Damages: nearly each is refused, and a line with two slips shows the first."""
_OF_LOOSE_PLATES = {"paper", "process", "ppi"}
"""Options of predict that a book refuses."""
_LEFT_OUT = {("batch", "watch"), ("palette", "inks")}
_COMMANDS = {
    "start": 3, "inks": 2, "predict": 6, "sheet": 2, "check": 6, "batch": 3, "palette": 1, "mix": 4,
    "score": 2, "demo": 0.15,
}  # fmt: skip
_HOW_LONG_S = {"demo": 12.0, "sheet": 6.0, "palette": 60.0}
_NAMES = (
    *(
        "Soot",
        "Fjord",
        "Rowan",
        "Soot,Rowan",
        "night-ferry/Soot",
        "night-ferry",
        "front",
        "night-ferry/uncoated",
    ),
    *(
        "uncoated",
        "Soot=night-ferry/Fjord",
        "Rowan=#ff8800",
        "Rowan=",
        "sheet-fed offset",
        "newsprint",
    ),
    *(
        "neutral",
        "warm",
        "0,5",
        "200",
        "tones=3",
        "dark=2,tones=1",
        "threads",
        "none",
        "pale-night",
        "all",
    ),
)
_PATHS = (
    "book",
    "book/book.toml",
    "plates.tif",
    "chart.txt",
    "colours.txt",
    "picture.png",
    ".",
    "nothing",
)
_TARGETS = (
    "out/a.png",
    "out/a.tif",
    "out/a.html",
    "out/a.csv",
    "out/a.json",
    "out/a.svg",
    "out/a.pdf",
    "out/deep",
)


_LIKELY: dict[tuple[str, str | None], tuple[str, ...]] = {
    ("inks", "paper"): ("night-ferry/uncoated", "uncoated", "coated"),
    ("inks", "page"): ("out/inks.html",),
    ("predict", "target"): ("out/a.png", "out/a.tif", "out/b.png"),
    ("predict", "spread_name"): ("front",),
    ("predict", "inks"): ("Soot", "Soot,Rowan", "Fjord"),
    ("predict", "told_inks"): ("Soot=night-ferry/Rowan", "Soot=#203040"),
    ("predict", "paper"): ("night-ferry/uncoated", "night-ferry/coated"),
    ("predict", "process"): ("newsprint", "sheet-fed offset"),
    ("predict", "ppi"): ("300", "72.5"),
    ("sheet", "targets"): ("out/a.csv", "out/a.json", "out/a.svg", "out/a.png", "out/a.pdf"),
    ("sheet", "spread"): ("front",),
    ("sheet", "swaps"): ("Rowan=night-ferry/Fjord", "Soot=Rowan"),
    ("sheet", "ppi"): ("36", "72"),
    ("check", "spread"): ("front",),
    ("check", "folder"): ("out/report", "out/deep/report"),
    ("check", "picture"): ("out/print.png", "out/print.tif"),
    ("batch", "folder"): ("out/reports",),
    ("batch", "workers"): ("1", "2"),
    ("palette", "choose"): ("1",),
    ("palette", "fixed"): ("Soot,Fjord", "Soot"),
    ("palette", "excluded"): ("Rowan", "Fog"),
    ("palette", "candidates"): ("night-ferry",),
    ("palette", "tones_file"): ("colours.txt",),
    ("palette", "picture"): ("picture.png",),
    ("palette", "weights"): ("tones=3", "dark=2"),
    ("palette", "limit"): ("200", "300"),
    ("palette", "target"): ("out/a.html",),
    ("mix", "book_path"): ("book", "book/book.toml"),
    ("mix", "file"): ("colours.txt",),
    ("mix", "step"): ("5", "10", "1"),
    ("mix", "limit"): ("200", "300"),
    ("mix", "inks"): ("Soot,Rowan", "Fjord"),
    ("mix", "cast"): ("neutral", "warm", "200"),
    ("score", "order"): ("Soot,Rowan", "Rowan,Soot"),
    ("score", "extra"): ("1", "2"),
    ("demo", "fault"): ("none", "all", "pale-night"),
    ("demo", "seed"): ("3",),
}
"""Values that mean something for the files of a case."""


@dataclass(slots=True, kw_only=True)
class LineDocument:
    """A command and its words."""

    command: str
    words: list[str]


def build(rng: random.Random) -> LineDocument:
    """A likely command line."""
    name = weighted(rng, _COMMANDS)
    command: click.Command = getattr(importlib.import_module(f"inkmix.cli.{name}"), name)
    words: list[str] = []
    for parameter in command.params:
        if isinstance(parameter, click.Argument):
            words += _argument(name, rng)
        elif _may_stand(name, parameter, words) and rng.random() < _share(name, parameter):
            words += _option(name, parameter, rng)
    return LineDocument(command=name, words=words)


def _may_stand(name: str, parameter: click.Parameter, words: list[str]) -> bool:
    """Whether an option can do anything here."""
    of_loose_plates = name == "predict" and parameter.name in _OF_LOOSE_PLATES
    return (name, parameter.name) not in _LEFT_OUT and not (of_loose_plates and "book" in words)


def _share(name: str, parameter: click.Parameter) -> float:
    """How often an option stands there."""
    if name == "demo":
        return 0.9 if parameter.name == "ppi" else 0.1
    always = {"known", "engine", "target", "targets", "choose", "fixed"}
    return 0.95 if parameter.name in always else 0.12


def _argument(command: str, rng: random.Random) -> list[str]:
    usual = {
        "start": ["loose"], "inks": [], "predict": ["book"], "sheet": ["book"], "check": ["book"],
        "batch": ["book"], "palette": ["book"], "mix": ["#345678", "--book", "book"],
        "score": ["chart.txt"], "demo": ["out/demo"],
    }[command]  # fmt: skip
    if command == "predict" and rng.random() < 0.3:
        return ["loose/Soot.tif", "--ink", "Soot=night-ferry/Soot"]
    return usual if rng.random() < 0.85 else [rng.choice(_PATHS)]


def _option(command: str, parameter: click.Parameter, rng: random.Random) -> list[str]:
    flag = max(parameter.opts, key=len)
    if getattr(parameter, "is_flag", False):
        return [flag]
    return [flag, _value(command, parameter, rng)]


def _value(command: str, parameter: click.Parameter, rng: random.Random) -> str:
    """A likely value; one time in ten of something else."""
    if rng.random() < 0.9 and (likely := _LIKELY.get((command, parameter.name))):
        return rng.choice(likely)
    return _any_value(command, parameter, rng)


def _any_value(command: str, parameter: click.Parameter, rng: random.Random) -> str:
    kind: Any = parameter.type
    if command == "demo" and parameter.name == "ppi":
        return "20"
    if parameter.name == "engine":
        return "threads"
    if isinstance(kind, click.Choice):
        return str(rng.choice(tuple(kind.choices)))
    if isinstance(kind, click.Path):
        return rng.choice(
            _TARGETS
            if "to" in parameter.opts[-1] or parameter.name in ("page", "picture")
            else _PATHS
        )
    if isinstance(kind, click.types.IntParamType | click.types.FloatParamType):
        return str(rng.choice((1, 2, 3, 5, 20, 100, 200, 300)))
    return rng.choice(_NAMES)


def value_changed(document: LineDocument, rng: random.Random) -> None:
    """A word becomes a number or a name that is odd; never one that the system would not pass."""
    if document.words:
        fresh = rng.choice((*texts.NUMBERS, *texts.WORDS, *map(str, (*NUMBERS[:20], *NEGATIVES))))
        document.words[rng.randrange(len(document.words))] = fresh.replace("\0", "")


def word_moved(document: LineDocument, rng: random.Random) -> None:
    """A word removed, doubled, swapped."""
    moved(document.words, rng)


def word_new(document: LineDocument, rng: random.Random) -> None:
    """A word too many."""
    fresh = rng.choice(
        (*_NAMES, *_PATHS, *_TARGETS, "--json", "--to", "--spread", "-v", "--", "-", "--help", "-x")
    )
    document.words.insert(rng.randint(0, len(document.words)), fresh)


def target_is_input(document: LineDocument, rng: random.Random) -> None:
    """What is read is to be written over."""
    inputs = (
        "book/book.toml",
        "book/plates/front/Soot.tif",
        "book",
        "chart.txt",
        "colours.txt",
        "picture.png",
    )
    document.words += [rng.choice(("--to", "--page", "--picture")), rng.choice(inputs)]


DAMAGES = (value_changed, value_changed, word_moved, word_new, target_is_input)


def write(document: LineDocument, folder: Path, rng: random.Random) -> Asked:
    """A book, loose plates, a chart, colours and a picture, and the command line."""
    write_book(folder / "book")
    write_book(folder / "loose")
    (folder / "loose" / "book.toml").unlink()
    for plate in (folder / "loose" / "plates" / "front").iterdir():
        plate.rename(folder / "loose" / plate.name)
    write_chart(build_chart(rng), folder, random.Random(0))
    (folder / "colours.txt").write_text("lamp = #345\n50 0 0\n", encoding="utf-8")
    picture = png_document(_rows(), bits=8).written()
    (folder / "picture.png").write_bytes(picture)
    cpu_s = _HOW_LONG_S.get(document.command, 6.0)
    return Asked(call="command", words=(document.command, *_safe(document)), cpu_s=cpu_s)


def _rows() -> Any:
    import numpy as np

    return (np.arange(8 * 12 * 3).reshape(8, 12, 3) * 31 % 256).astype(np.uint8)


def _safe(document: LineDocument) -> list[str]:
    """Words without what never ends, takes minutes by right, or needs a network."""
    kept = [word for word in document.words if word not in ("--watch",)]
    if document.command == "demo":
        kept = [word for word in kept if word != "--ppi"] + ["--ppi", "20"]
    if document.command == "batch" and "--engine" not in kept:
        kept += ["--engine", "threads"]  # processes load all anew, and take seconds
    return [f".{word}" if word.startswith("/") else word for word in kept]  # nothing outside
