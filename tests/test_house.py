"""The house: which part may know which, and what stays unloaded until it is needed."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[1] / "inkmix"

# Lowest first; a part may import parts of a lower line, and its own.
LAYERS = (
    ("errors", "arrays", "canonical", "filestate", "heap", "inorder", "leaving", "plain_text"),
    ("inputs", "parts", "quoting", "shipped", "streams"),
    ("observer", "monotone", "cache"),
    ("colorimetry", "kernels"),
    ("loops",),
    ("measurements", "colours_told", "vision"),
    ("press",),
    ("charts",),
    ("swatches",),
    ("mixes", "sheet", "inklist", "overview"),
    ("plates", "lookup"),
    ("colours", "tables"),
    ("book",),
    ("resolve",),
    ("checks",),
    ("result",),
    ("passes", "export", "report"),
    ("overprints",),
    ("start", "simulate"),
    ("assignments", "batch", "demo", "palette"),
    ("index", "palettepage"),
    ("cli",),
    ("__main__",),
)
LEVEL = {part: level for level, parts in enumerate(LAYERS) for part in parts}
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


def part_of(dotted):
    return dotted.split(".")[1]


def imports_of(path):
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative import"
            yield node.module
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


def test_every_part_has_a_layer():
    assert {part_of(name_of(path)) for path in modules()} <= set(LEVEL)


def test_imports_point_down():
    upward = [
        f"{name_of(path)} -> {name}"
        for path in modules()
        for name in imports_of(path)
        if name.startswith("inkmix.") and name.split(".")[1] in LEVEL
        if LEVEL[part_of(name)] > LEVEL[part_of(name_of(path))]
    ]
    assert upward == []


def test_neighbours_of_one_layer_do_not_know_each_other():
    across = [
        f"{name_of(path)} -> {name}"
        for path in modules()
        for name in imports_of(path)
        if name.startswith("inkmix.") and name.split(".")[1] in LEVEL
        if part_of(name) != part_of(name_of(path))
        if LEVEL[part_of(name)] == LEVEL[part_of(name_of(path))]
    ]
    assert across == []


def graph_inside():
    known = {name_of(path): path for path in modules()}
    return {
        name: {target for target in imports_of(path) if target in known and target != name}
        for name, path in known.items()
    }


def test_names_are_guessed_at_in_one_place_which_is_bounded():
    """What is compared may be of any length, and a comparison takes the product of both."""
    guessing = [path.name for path in PACKAGE.rglob("*.py") if "difflib" in path.read_text("utf-8")]
    assert guessing == ["quoting.py"]


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
    assert users == {"inkmix.book.read"}


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
        "import inkmix.colorimetry",
        "import inkmix.tables.kept",
    ],
)
def test_heavy_libraries_stay_unloaded(code):
    assert loaded_by(code) & set(HEAVY) == set()


def test_to_look_at_an_unchanged_book_takes_no_reader_of_plates_and_no_compiler():
    code = (
        "import inkmix.batch.run, inkmix.batch.document, inkmix.batch.engines, inkmix.index.write"
    )
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


def test_no_module_grows_too_long():
    long = [name_of(path) for path in modules() if path.stat().st_size > 14_000]
    assert long == []
