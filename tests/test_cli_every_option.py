"""Every option of every command takes effect, or is refused: none is passed over in silence.

The options come from the commands themselves, so a new one fails here until it is listed.
"""

import contextlib
import re
import tempfile
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import click
import night_book
import numpy as np
import pytest
from drawn_book import BOOK, CGATS, MEASURED, NIGHT, Ran, changed, command, digests, draw_book
from photographed_form import write_photograph
from plate_files import write_png

from inkmix.base.errors import InkmixError, OutputError
from inkmix.batch import watch as watching
from inkmix.batch.book import crew_of
from inkmix.cli.main import COMMANDS
from inkmix.cli.main import inkmix as whole
from inkmix.press.constants import PAPER_CLASSES

TONES = """
[[tones]]
name = "dusk"
mix = { Soot = 40, Rowan = 60 }
intended = "#5a3a40"
tolerance_de00 = 5

[[override]]
spreads = ["back"]
paper = { lab = [90, 0, 8], class = "uncoated" }
press = { ink_limit_pct = 200 }
"""
TEXT = BOOK + NIGHT + TONES
DOUBTFUL = changed("[paper]", "[paper]\nguessed = true", BOOK + NIGHT)  # so nothing passes
INKED = changed("ink_limit_pct = 260", "ink_limit_pct = 180", TEXT)  # so something is mended
RECIPE = '{"format": 1, "title": "", "inks": [], "spreads": []}'
OTHER_TONES = f"""{BOOK}
[[override]]
spreads = ["back"]
tones = [{{ name = "dawn", mix = {{ Soot = 30, Fjord = 50 }}, intended = "#405070" }}]
"""
IN_REACH = "#684a50"  # of the inks of the book, so that no others are tried
SOOT, ROWAN = "{}/plates/front/Soot.tif", "{}/plates/front/Rowan.tif"

CHART = """\
CGATS.17
DESCRIPTOR "drawn for a test"
NUMBER_OF_FIELDS 6
BEGIN_DATA_FORMAT
SAMPLE_ID Soot Rowan XYZ_X XYZ_Y XYZ_Z
END_DATA_FORMAT
NUMBER_OF_SETS 11
BEGIN_DATA
1 0 0 81.0 84.0 66.0
2 50 0 38.0 39.5 32.0
3 100 0 5.0 5.2 4.5
4 0 50 56.0 49.0 28.0
5 0 100 34.0 21.0 7.0
6 50 50 26.0 23.0 14.0
7 100 50 4.0 3.9 2.9
8 50 100 16.0 10.5 4.0
9 100 100 3.0 2.6 1.6
10 25 75 33.0 24.5 11.0
11 75 25 17.0 16.8 12.5
END_DATA
"""

NUMBERED = "SAMPLE_ID,XYZ_X,XYZ_Y,XYZ_Z\n" + "".join(
    ",".join([line.split()[0], *line.split()[3:]]) + "\n" for line in CHART.splitlines()[8:-1]
)


@dataclass(frozen=True, kw_only=True)
class Effect:
    """An option in use: what is written, beside what, in which book, after a first run or not.

    It is compared with what comes without the option, or with another value of it.
    """

    words: tuple[str, ...]
    other: tuple[str, ...] = ()
    beside: tuple[str, ...] | None = None
    text: str = TEXT
    after_a_run: bool = False


@dataclass(frozen=True, kw_only=True)
class Mode:
    """A way to use a command: what always stands there, and what each option does beside it."""

    command: str
    called: str
    beside: tuple[str, ...]
    changes: Mapping[str, Effect | tuple[str, ...]]
    refused: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    proven: Mapping[str, Callable[[], bool]] = field(default_factory=dict)

    def effects(self) -> Iterator[tuple[str, Effect]]:
        for name, effect in self.changes.items():
            yield name, effect if isinstance(effect, Effect) else Effect(words=effect)


def gives_up_lights() -> bool:
    """Whether `--give-up-lights` makes a correction that is left alone otherwise."""
    with tempfile.TemporaryDirectory() as folder:
        book = night_book.draw_book(Path(folder) / "book", lightest_L=24.5).folder
        words = ["mend", str(book), "--only", "night", "--to"]
        whole.main([*words, f"{folder}/kept"], standalone_mode=False)
        whole.main([*words, f"{folder}/given", "--give-up-lights"], standalone_mode=False)
        return not Path(folder, "kept").exists() and Path(folder, "given").exists()


def replaces_a_form() -> bool:
    """Whether `--replace` writes over another form, which stays without it."""
    with tempfile.TemporaryDirectory() as folder:
        book = draw_book(Path(folder) / "book", TEXT)
        words = ["testform", str(book), "--to", f"{folder}/form", "--sheet", "148x105"]
        whole.main(words, standalone_mode=False)
        with contextlib.suppress(OutputError):
            whole.main([*words, "--repeats", "1"], standalone_mode=False)
        kept = Path(folder, "form", "testform.txt").read_bytes()
        whole.main([*words, "--repeats", "1", "--replace"], standalone_mode=False)
        return Path(folder, "form", "testform.txt").read_bytes() != kept


SMALLER = {"width_px": 1500, "height_px": 1100, "turned": 0}
"""A picture of a form that is read in a second."""


def reads_a_photograph(*words: str) -> str:
    """The folder into which a press file is written that a photograph tells; empty where none is.

    Words come in place of what stands there without them.
    """
    with tempfile.TemporaryDirectory() as folder:
        photo = write_photograph(Path(folder), **SMALLER)
        usual = {"--photo": str(photo), "--form": f"{folder}/form"}
        usual |= dict(zip(words[::2], [word.format(folder) for word in words[1::2]], strict=True))
        named = [part for pair in usual.items() for part in pair]
        with contextlib.suppress(InkmixError):
            whole.main(["calibrate", folder, *named], standalone_mode=False)
        return "".join(path.parent.name for path in Path(folder).rglob("*.toml")
                       if path.name != "book.toml")  # fmt: skip


def watches() -> bool:
    """Whether `--watch` comes to the watching."""

    class WatchedError(Exception):
        pass

    def watch(*arguments: Any, **named: Any) -> None:
        raise WatchedError

    with pytest.MonkeyPatch.context() as patch, contextlib.ExitStack() as stack:
        folder = draw_book(Path(stack.enter_context(tempfile.TemporaryDirectory())) / "book", TEXT)
        patch.setattr(watching, "watch_book", watch)
        arguments = ["batch", str(folder), "--engine", "threads", "--watch"]
        with pytest.raises(WatchedError):
            whole.main(arguments, standalone_mode=False)
    return True


PICTURES = {
    "inks": ("--inks", "Soot"),
    "each": ("--each",),
    "pair": ("--pair",),
    "adapt_to_paper": ("--adapt-to-paper",),
}
CARD = "--candidates", "{}/card.csv"
CHALK = "--candidates", "{}/chalk.txt"  # one ink to choose, in place of all that are shipped
LOOSE = {
    "paper": ("--paper", "night-ferry/coated"),
    "process": ("--process", "screen print"),
}
MIX = {
    "step": ("--step", "10"),
    "limit": ("--limit", "120"),
    "inks": ("--inks", "Soot,Rowan"),
    "most": ("--most", "1"),
    "as_json": ("--json",),
}
TRIED = {
    "candidates": Effect(words=CHALK, beside=("#00ff00",)),
}
DARK = {"cast": ("--cast", "red"), "double_hit": ("--double-hit",)}
PALETTE = {
    "choose": Effect(words=("--choose", "1"), beside=("{}", *CHALK, "--no-plates")),
    "fixed": ("--fix", "Soot"),
    "excluded": ("--without", "Rowan"),
    "candidates": Effect(words=CHALK, beside=("{}", "--choose", "1", "--no-plates")),
    "tones_file": ("--tones", "{}/colours.txt"),
    "picture": ("--picture", "{}/masks/cellar.png"),
    "weights": ("--weight", "dark=30"),
    "limit": ("--limit", "110"),
    "target": ("--to", "{}/choice.html"),
    "as_json": ("--json",),
}
NO_NAMES = {"inks": ("--inks", "Soot,Rowan")}
SHEET = {
    "targets": ("--to", "{}/more.json"),
    "spread": ("--spread", "back"),
    "swaps": ("--ink", "Rowan=#203040"),
    "view": ("--as", "grey"),
}
PAGE, PPI = {"page": ("--page", "A4")}, {"ppi": ("--ppi", "40")}

MODES = (
    Mode(
        command="predict",
        called="a book",
        beside=("{}", "--spread", "front"),
        changes={
            "target": ("--to", "{}/other.png"),
            "spread_name": Effect(words=("--spread", "front"), beside=("{}",)),
            "order": ("--order",),
            "swaps": ("--ink", "Rowan=#203040"),
            "candidates": Effect(
                words=CARD, beside=("{}", "--spread", "front", "--ink", "Rowan=Rust")
            ),
            **PICTURES,
        },
        refused={**LOOSE, "ppi": ("--ppi", "300")},
    ),
    Mode(
        command="predict",
        called="loose files",
        beside=(SOOT, ROWAN),
        changes={
            "target": ("--to", "{}/other.png"),
            "order": ("--order",),
            "swaps": ("--ink", "Rowan=#203040"),
            "ppi": ("--ppi", "300"),
            **PICTURES,
            **LOOSE,
        },
        refused={"spread_name": ("--spread", "front"), "candidates": CARD},
    ),
    Mode(
        command="predict",
        called="orders of a book",
        beside=("{}", "--order"),
        changes={
            "target": ("--to", "{}/other.png"),
            "spread_name": Effect(words=("--spread", "back"), text=OTHER_TONES),
            "order": Effect(words=("--order",), beside=("{}", "--spread", "front")),
            "swaps": ("--ink", "Rowan=#203040"),
            "candidates": Effect(words=CARD, beside=("{}", "--order", "--ink", "Rowan=Rust")),
        },
        refused={**PICTURES, **LOOSE, "ppi": ("--ppi", "300")},
    ),
    Mode(
        command="predict",
        called="orders of loose files",
        beside=(SOOT, ROWAN, "--order"),
        changes={
            "target": ("--to", "{}/other.png"),
            "order": Effect(words=("--order",), beside=(SOOT, ROWAN)),
            "swaps": ("--ink", "Rowan=#203040"),
            **LOOSE,
        },
        refused={
            **PICTURES,
            "ppi": ("--ppi", "300"),
            "spread_name": ("--spread", "front"),
            "candidates": CARD,
        },
    ),
    Mode(
        command="check",
        called="a spread",
        beside=("{}", "--spread", "front"),
        changes={
            "spread": Effect(words=("--spread", "front"), beside=("{}",)),
            "folder": ("--to", "{}/elsewhere"),
            "picture": ("--picture", "{}/print.tif"),
            "only": ("--only", "total ink"),
            "skip": ("--skip", "night"),
            "strict": Effect(words=("--strict",), text=DOUBTFUL),
            "as_json": ("--json",),
        },
    ),
    Mode(
        command="batch",
        called="a book",
        beside=("{}", "--engine", "threads"),
        changes={
            "folder": ("--to", "{}/elsewhere"),
            "again": Effect(words=("--again",), after_a_run=True),
            "only": ("--only", "total ink"),
            "skip": ("--skip", "night"),
            "strict": Effect(words=("--strict",), text=DOUBTFUL),
            "as_json": ("--json",),
        },
        proven={  # neither changes a bit of what is written
            "workers": lambda: crew_of("threads", 3) != crew_of("threads", 2),
            "engine": lambda: type(crew_of("threads", 1)) is not type(crew_of("processes", 1)),
            "watch": watches,
        },
    ),
    Mode(
        command="mend",
        called="a book",
        beside=("{}", "--to", "{}/mended"),
        changes={
            "folder": Effect(words=("--to", "{}/elsewhere"), beside=("{}",), text=INKED),
            "spread": Effect(words=("--spread", "front"), text=INKED),
            "again": Effect(words=("--again", "{}/recipe.json"), text=INKED),
            "only": Effect(words=("--only", "total ink"), text=INKED),
            "skip": Effect(words=("--skip", "total-ink"), text=INKED),
            "strict": Effect(words=("--strict",), text=DOUBTFUL),
            "as_json": Effect(words=("--json",), text=INKED),
        },
        proven={"give_up_lights": gives_up_lights},
    ),
    Mode(
        command="palette",
        called="without plates",
        beside=("{}", "--choose", "1", *CHALK, "--no-plates"),
        changes={
            **PALETTE,
            "spread": ("--spread", "back"),
            "no_plates": Effect(words=("--no-plates",), beside=("{}", "--choose", "1", *CHALK)),
        },
        refused=NO_NAMES,
    ),
    Mode(
        command="palette",
        called="with plates",
        beside=("{}", "--choose", "1", *CHALK),
        changes={
            **PALETTE,
            "choose": Effect(words=("--choose", "1"), beside=("{}", *CHALK)),
            "candidates": Effect(words=CHALK, beside=("{}", "--choose", "1")),
            "spread": ("--spread", "front"),
            "no_plates": ("--no-plates",),
        },
        refused=NO_NAMES,
    ),
    Mode(
        command="mix",
        called="colours",
        beside=(IN_REACH,),
        changes={
            "book_path": ("--book", "{}/second"),
            "file": ("--from", "{}/colours.txt"),
            "white": Effect(words=("--white", "absolute"), beside=("{}/sky.png@0,0",)),
            **MIX,
            **TRIED,
        },
        refused={"darkest": ("--darkest",), **DARK},
    ),
    Mode(
        command="mix",
        called="a file of colours",
        beside=("--from", "{}/many.txt"),
        changes={
            "book_path": ("--book", "{}/second"),
            "file": Effect(words=("--from", "{}/colours.txt"), beside=(IN_REACH,)),
            **MIX,
            **TRIED,
        },
        refused={"white": ("--white", "paper"), "darkest": ("--darkest",), **DARK},
    ),
    Mode(
        command="mix",
        called="the darkest",
        beside=("--darkest",),
        changes={
            "book_path": ("--book", "{}/second"),
            "darkest": Effect(words=("--darkest",), beside=()),
            **MIX,
            **DARK,
        },
        refused={
            "file": ("--from", "{}/colours.txt"),
            "white": ("--white", "paper"),
            "candidates": CHALK,
        },
    ),
    Mode(
        command="sheet",
        called="PDF",
        beside=("{}",),
        changes={**SHEET, **PAGE},
        refused=PPI,
    ),
    Mode(
        command="sheet",
        called="PNG",
        beside=("{}", "--to", "{}/sheet.png", "--ppi", "40"),
        changes={
            **SHEET,
            **PAGE,
            "ppi": Effect(words=("--ppi", "40"), beside=("{}", "--to", "{}/sheet.png")),
        },
    ),
    Mode(
        command="sheet",
        called="CSV",
        beside=("{}", "--to", "{}/sheet.csv"),
        changes=SHEET,
        refused={**PAGE, **PPI},
    ),
    Mode(
        command="sheet",
        called="JSON",
        beside=("{}", "--to", "{}/sheet.json"),
        changes={**SHEET, "targets": ("--to", "{}/more.csv")},
        refused={**PAGE, **PPI},
    ),
    *(
        Mode(
            command="inks",
            called=called,
            beside=("Brass", *beside),
            changes={
                "paper": ("--paper", "coated"),
                "status": ("--status", "T"),
                "as_json": ("--json",),
                "page": Effect(words=("--page", "{}/inks.html"), beside=("Brass",)),
                "adopt": Effect(
                    words=("--adopt", "{}/earlier", "--to", "{}/known.toml"), beside=("{}",)
                ),
            },
            refused={
                "adopted": ("--adopt-ink", "Soot=Soot"),
                "target": ("--to", "{}/known.toml"),
            },
        )
        for called, beside in (("a list", ()), ("a page", ("--page", "{}/page.html")))
    ),
    Mode(
        command="inks",
        called="taking over",
        beside=("{}", "--adopt", "{}/earlier", "--to", "{}/known.toml"),
        changes={
            "adopt": Effect(
                words=("--adopt", "{}/earlier"), beside=("{}/second", "--to", "{}/second/new.toml")
            ),
            "adopted": ("--adopt-ink", "Fjord=Soot"),
            "target": Effect(
                words=("--to", "{}/other.toml"), beside=("{}", "--adopt", "{}/earlier")
            ),
            "as_json": ("--json",),
        },
        refused={
            "paper": ("--paper", "coated"),
            "status": ("--status", "T"),
            "page": ("--page", "{}/inks.html"),
        },
    ),
    Mode(
        command="start",
        called="a folder",
        beside=("{}/plates",),
        changes={"schema": ("--schema",)},
    ),
    Mode(
        command="demo",
        called="with faults",
        beside=("{}/new", "--ppi", "20"),
        changes={
            "fault": Effect(words=("--fault", "wrong-tone"), other=("--fault", "heavy-ink")),
            "seed": Effect(
                words=("--seed", "3"), beside=("{}/new", "--fault", "heavy-ink", "--ppi", "20")
            ),
            "ppi": Effect(
                words=("--ppi", "21"),
                other=("--ppi", "20"),  # without it a sheet a hundred times as large is drawn
                beside=("{}/new", "--fault", "heavy-ink"),
            ),
        },
    ),
    Mode(
        command="demo",
        called="without faults",
        beside=("{}/new", "--fault", "none"),
        changes={
            "fault": Effect(
                words=("--fault", "none"),
                other=("--fault", "heavy-ink"),
                beside=("{}/new", "--ppi", "20"),
            ),
            "ppi": Effect(words=("--ppi", "20"), other=("--ppi", "21")),
        },
        refused={"seed": ("--seed", "3")},
    ),
    Mode(
        command="testform",
        called="a whole form",
        beside=("{}", "--to", "{}/form", "--sheet", "148x105"),
        changes={
            "folder": Effect(words=("--to", "{}/other"), beside=("{}", "--sheet", "148x105")),
            "sheet_mm": Effect(words=("--sheet", "160x105"), beside=("{}", "--to", "{}/form")),
            "seed": ("--random", "3"),
            "repeats": ("--repeats", "3"),
            "small": ("--small", "10"),
        },
        proven={"replace": replaces_a_form},
    ),
    Mode(
        command="score",
        called="a chart",
        beside=("{}/chart.txt", "--known", "solids"),
        changes={
            "known": Effect(words=("--known", "ramps"), beside=("{}/chart.txt",)),
            "extra": ("--extra", "1"),
            "paper_class": ("--paper", "uncoated"),
            "order": ("--order", "Rowan,Soot"),
            "as_json": ("--json",),
        },
    ),
    Mode(
        command="calibrate",
        called="a chart",
        beside=("{}", "{}/chart.txt"),
        changes={
            "folder": ("--to", "{}/known"),
            "averages": ("--averages", "{}/mean.csv"),
            "form": Effect(
                words=("--form", "{}/chart.txt"), beside=("{}", "{}/numbers.csv"), other=()
            ),
        },
        refused={"photo": ("--photo", "{}/sky.png")},
    ),
    Mode(
        command="calibrate",
        called="a photograph",
        beside=("{}", "--photo", "{}/sky.png", "--form", "{}"),
        changes={},
        refused={"averages": ("--averages", "{}/mean.csv")},
        proven={
            "folder": lambda: "elsewhere" in reads_a_photograph("--to", "{}/elsewhere"),
            "form": lambda: reads_a_photograph("--form", "{}/nowhere") == "",
            "photo": lambda: reads_a_photograph() == "press",
        },
    ),
)


def command_named(name: str) -> click.Command:
    found = whole.get_command(click.Context(whole), name)
    assert found is not None
    return found


def options(name: str) -> dict[str, click.Option]:
    found = command_named(name).params
    return {str(one.name): one for one in found if isinstance(one, click.Option)}


@pytest.fixture(scope="module")
def usual(tmp_path_factory: pytest.TempPathFactory) -> dict[tuple[Any, ...], Any]:
    """What runs without the option left, which many options are compared with."""
    return {}


def furnished(folder: Path, text: str) -> Path:
    """A book of two spreads, and all that an option may name."""
    draw_book(folder, text, spreads=("front", "back"))
    (folder / "second").mkdir()
    (folder / "second" / "book.toml").write_text(changed("[26, 1, 1]", "[40, 9, 9]"), "utf-8")
    (folder / "earlier").mkdir()
    (folder / "earlier" / "book.toml").write_text(MEASURED, "utf-8")
    (folder / "earlier" / "rowan.txt").write_text(CGATS, "utf-8")
    (folder / "chart.txt").write_text(CHART, "utf-8")
    (folder / "numbers.csv").write_text(NUMBERED, "utf-8")
    (folder / "recipe.json").write_text(RECIPE, "utf-8")
    (folder / "chalk.txt").write_text(CGATS.replace("Rowan", "Chalk"), "utf-8")
    (folder / "card.csv").write_text("coated paper, 95, 0, -2\nRust, 50, -40, 20\n", "utf-8")
    (folder / "colours.txt").write_text("#684a50\n#6c4e54\n", "utf-8")
    write_png(folder / "sky.png", np.full((2, 2, 3), 90, np.uint8))
    (folder / "many.txt").write_text("".join(f"{L} 10 -8\n" for L in range(42, 50)), "utf-8")
    return folder


def ran(folder: Path, name: str, words: tuple[str, ...], capfd, text: str, *, twice: bool) -> Any:
    """Exit code, words and files that a command leaves, wherever it ran."""
    home = furnished(folder / "book", text)
    arguments = [word.format(home) for word in words]
    with contextlib.chdir(home):
        if twice:
            command(capfd, name, *arguments)
        one = command(capfd, name, *arguments)
    said = [re.sub(r"\S*/book\b", "BOOK", stream) for stream in (one.out, one.err)]
    return one.code, *said, digests(home)


def cases() -> Iterator[Any]:
    for mode in MODES:
        for name, effect in mode.effects():
            yield pytest.param(mode, effect, id=f"{mode.command}, {mode.called}: {name}")


@pytest.mark.parametrize("mode", MODES, ids=lambda mode: f"{mode.command}, {mode.called}")
def test_every_option_is_listed(mode):
    listed = [*mode.changes, *mode.refused, *mode.proven]
    assert sorted(listed) == sorted(options(mode.command))


def test_every_command_is_listed():
    assert {mode.command for mode in MODES} == set(COMMANDS)


@pytest.mark.parametrize(("mode", "effect"), list(cases()))
def test_it_takes_effect(mode, effect, usual, tmp_path, capfd):
    beside = mode.beside if effect.beside is None else effect.beside
    without = (*beside, *effect.other)
    key = mode.command, without, effect.text, effect.after_a_run
    twice = effect.after_a_run
    if key not in usual:
        usual[key] = ran(tmp_path / "a", mode.command, without, capfd, effect.text, twice=twice)
    words = (*beside, *effect.words)
    got = ran(tmp_path / "b", mode.command, words, capfd, effect.text, twice=twice)
    assert got[0] in (0, 1), got[2]
    assert got != usual[key]


@pytest.mark.parametrize(
    ("mode", "name"),
    [
        pytest.param(mode, name, id=f"{mode.command}, {mode.called}: {name}")
        for mode in MODES
        for name in mode.refused
    ],
)
def test_it_is_refused(mode, name, tmp_path, capfd):
    home = furnished(tmp_path / "book", TEXT)
    before = digests(home)
    words = [word.format(home) for word in (*mode.beside, *mode.refused[name])]
    with contextlib.chdir(home):
        got: Ran = command(capfd, mode.command, *words)
    assert (got.code, got.out, digests(home)) == (2, "", before)
    assert any(long_name(mode.command, name) in line for line in got.messages)


@pytest.mark.parametrize(
    ("mode", "name"),
    [(mode, name) for mode in MODES for name in mode.proven],
    ids=lambda one: one if isinstance(one, str) else one.command,
)
def test_it_takes_effect_where_nothing_shows(mode, name):
    assert mode.proven[name]()


# --- values that cannot be ------------------------------------------------------------------------


def first_mode(name: str) -> Mode:
    return next(mode for mode in MODES if mode.command == name)


def of_all(wanted: Callable[[click.Option], bool]) -> list[tuple[str, str]]:
    return [
        (command, name)
        for command in COMMANDS
        for name, option in options(command).items()
        if wanted(option)
    ]


def mode_for(command: str, name: str) -> tuple[str, ...]:
    """What stands beside an option where it means something, without the option itself."""
    for mode in MODES:
        if mode.command == command and name in mode.changes:
            effect = dict(mode.effects())[name]
            return mode.beside if effect.beside is None else effect.beside
    return first_mode(command).beside


def takes_number(option: click.Option) -> bool:
    return isinstance(option.type, click.types.FloatParamType | click.types.IntParamType)


def takes_value(option: click.Option) -> bool:
    return not option.is_flag


def long_name(command: str, name: str) -> str:
    return next(one for one in options(command)[name].opts if one.startswith("--"))


def refused(capfd, tmp_path: Path, command_name: str, words: list[str]) -> Ran:
    home = furnished(tmp_path / "book", TEXT)
    before = digests(home)
    with contextlib.chdir(home):
        got = command(capfd, command_name, *(word.format(home) for word in words))
    assert (got.code, got.out) == (2, ""), got.err
    assert digests(home) == before
    return got


@pytest.mark.parametrize("value", ["nan", "inf", "-inf", "-1", "1e400", "9" * 400, "some"])
@pytest.mark.parametrize(("command_name", "name"), of_all(takes_number))
def test_numbers_that_are_none(command_name, name, value, tmp_path, capfd):
    option = long_name(command_name, name)
    words = [*mode_for(command_name, name)]
    if option in words:
        at = words.index(option)
        del words[at : at + 2]
    refused(capfd, tmp_path, command_name, [*words, f"{option}={value}"])


@pytest.mark.parametrize(("command_name", "name"), of_all(takes_value))
def test_an_empty_value(command_name, name, tmp_path, capfd):
    option = long_name(command_name, name)
    got = refused(capfd, tmp_path, command_name, [*first_mode(command_name).beside, option, ""])
    assert f"inkmix: {option}: is empty; write a value, or leave it out" in got.messages


@pytest.mark.parametrize("command_name", COMMANDS)
def test_an_empty_argument(command_name, tmp_path, capfd):
    if not [one for one in command_named(command_name).params if isinstance(one, click.Argument)]:
        return
    words = [word for word in first_mode(command_name).beside if word.startswith("-")]
    needs = ["--known", "ramps"] if command_name == "score" else []
    needs += ["--choose", "1"] if command_name == "palette" else []
    got = refused(capfd, tmp_path, command_name, ["", *needs])
    assert len(got.messages) == 1
    assert got.messages[0].endswith(": is empty; write a value, or leave it out"), words


LISTS = {"inks", "only", "skip", "fixed", "excluded", "candidates"}  # names, with commas


@pytest.mark.parametrize(
    ("command_name", "name"), of_all(lambda one: takes_value(one) and not one.multiple)
)
def test_a_value_given_twice(command_name, name, tmp_path, capfd):
    option = long_name(command_name, name)
    words = [word for word in first_mode(command_name).beside if not word.startswith(option)]
    got = refused(capfd, tmp_path, command_name, [*words, option, "1", option, "2"])
    do = (
        "; separate names with commas"
        if name in LISTS and (command_name, name) != ("palette", "inks")
        else ""
    )
    said = f"inkmix: {option}: is given twice, but it takes one value{do}"
    more = f"inkmix: {option}: is given 3 times, but it takes one value{do}"
    assert said in got.messages or more in got.messages


def test_weights_and_inks_that_contradict_themselves(tmp_path, capfd):
    got = refused(capfd, tmp_path, "palette", ["{}", "--choose", "1", "--weight", "dark=1,dark=3"])
    assert "dark is weighed twice" in got.err


def test_an_ink_told_twice(tmp_path, capfd):
    words = [SOOT, "--ink", "Soot=#111111", "--ink", "Soot=#222222"]
    got = refused(capfd, tmp_path, "predict", words)
    assert got.messages == [
        "inkmix: --ink: Soot is given twice, as #111111 and as #222222; choose one of them"
    ]


def test_classes_of_paper_are_those_of_the_model():
    assert tuple(options("score")["paper_class"].type.choices) == tuple(PAPER_CLASSES)
