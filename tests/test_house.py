"""The house: which room may use which, and what stays unloaded until it is needed."""

import ast
import subprocess
import sys
from functools import cache
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[1] / "inkmix"

# Each room with the rooms that it may use, lowest first: no arrow points up.
ROOMS = {
    "base": "",
    "colour": "base",
    "sheet": "base",
    "plates": "base colour sheet",
    "press": "base colour",
    "export": "base colour sheet plates",
    "book": "base colour sheet plates press",
    "mixes": "base colour sheet plates press book",
    "checks": "base colour sheet plates press book mixes",
    "jobs": "base colour sheet plates press export book mixes checks",
    "pages": "base colour sheet plates press export book mixes checks jobs",
    "batch": "base sheet plates book checks jobs pages",
    "cli": "base colour plates press export book mixes checks jobs pages batch demo",
}
GUESTS = {"demo": "base sheet book checks", "__main__": "base cli"}
MAY_USE = {name: set(used.split()) for name, used in (ROOMS | GUESTS).items()}
HEAVY = (
    "numba",
    "scipy",
    "skimage",
    "colour",
    "PIL",
    "tifffile",
    "pydantic",
    "jinja2",
    "matplotlib",
)


def modules():
    return sorted(path for path in PACKAGE.rglob("*.py") if path != PACKAGE / "__init__.py")


def name_of(path):
    dotted = ".".join(path.relative_to(PACKAGE.parent).with_suffix("").parts)
    return dotted.removesuffix(".__init__")


def room_of(dotted):
    return dotted.split(".")[1]


@cache
def imports_of(path):
    return tuple(_imported(path))


def _imported(path):
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative import"
            yield node.module
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


def test_the_house_has_thirteen_rooms_and_a_guest_house():
    assert len(ROOMS) == 13
    assert {room_of(name_of(path)) for path in modules()} == set(MAY_USE)


def test_rooms_use_rooms_below_them_only():
    order = list(ROOMS)
    for room, used in ROOMS.items():
        assert set(used.split()) <= {*order[: order.index(room)], *GUESTS}, room


def test_a_room_uses_what_it_may():
    others = [
        f"{name_of(path)} -> {name}"
        for path in modules()
        for name in imports_of(path)
        if name.startswith("inkmix.") and room_of(name) in MAY_USE
        if room_of(name) not in {room_of(name_of(path)), *MAY_USE[room_of(name_of(path))]}
    ]
    assert others == []


def graph_inside():
    known = {name_of(path): path for path in modules()}
    return {
        name: {target for target in imports_of(path) if target in known and target != name}
        for name, path in known.items()
    }


def test_no_import_cycle():
    graph = graph_inside()
    done, path = set(), []

    def visit(name):
        assert name not in path, " -> ".join([*path[path.index(name) :], name])
        if name in done:
            return
        path.append(name)
        for target in graph[name]:
            visit(target)
        path.pop()
        done.add(name)

    for name in graph:
        visit(name)


@pytest.mark.parametrize("library", ["pydantic"])
def test_one_file_knows_the_library(library):
    users = {
        name_of(path)
        for path in modules()
        if any(name.split(".")[0] == library for name in imports_of(path))
    }
    assert users == {"inkmix.book.models"}


def loaded_by(code):
    program = f"{code}\nimport sys\nprint(*sys.modules)"
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )
    return {name.split(".")[0] for name in done.stdout.split()}


@pytest.mark.parametrize(
    "code",
    [
        "import inkmix",
        "from inkmix.cli.main import run; run(['--help'])",
        "import inkmix.press.condition",
        "import inkmix.colour.colorimetry",
        "import inkmix.press.table.disk_cache",
    ],
)
def test_heavy_libraries_stay_unloaded(code):
    assert loaded_by(code) & set(HEAVY) == set()


def test_to_look_at_an_unchanged_book_takes_no_reader_of_plates_and_no_compiler():
    code = "import inkmix.batch.book, inkmix.batch.document"
    code += "; import inkmix.pages.index.write"
    assert loaded_by(code) & set(HEAVY) == {"PIL", "jinja2"}  # thumbnails and templates


@pytest.mark.long
def test_every_module_can_be_imported_alone():
    names = [name_of(path) for path in modules() if path.name != "__main__.py"]
    program = (
        "import importlib, sys\n"
        "for name in sys.argv[1:]:\n"
        "    for loaded in [m for m in sys.modules if m.split('.')[0] == 'inkmix']:\n"
        "        del sys.modules[loaded]\n"
        "    importlib.import_module(name)\n"
    )
    subprocess.run([sys.executable, "-c", program, *names], check=True)
