"""Numbers of the press model stand in constants.toml alone, each with its origin."""

import ast
import re
from dataclasses import fields
from pathlib import Path

import pytest

import inkmix.press.constants as constants

PRESS = Path(constants.__file__).parent
# Halves, squares, cubes; 4 t (1 - t), which is 1 at its top; powers of ten; percent and half of it.
ARITHMETIC = {0, 0.5, 1, 2, 3, 4, 10, 50, 100}
# What is no number of the model, by where it stands: each has a name there.
NAMED = {
    "limits of what is accepted": {
        "inks": ["_SCATTER"],
        "patches": ["MAX_PATCHES", "MAX_XYZ"],
        "values": ["MAX_INKS", "TONE_VALUE_INCREASE_PCT", "_LEAST_PAPER_Y100"],
    },
    "sizes of what is kept or worked on at once": {
        "condition": ["_KEPT"],
        "expected": ["_COLOURS_AT_ONCE"],
        "forward": ["_FLOAT_BYTES", "_FOLD_BYTES", "_KRIGING_BYTES"],
        "spectra": ["_KEPT"],
    },
    "guards of the arithmetic, and how a search is led": {
        "kriging": ["EXACT_VARIANCE"],
        "levenberg_marquardt": ["_EASED_BY", "_RAISED_BY", "_START"],
        "overprint": ["_LEAST"],
        "pairs": ["_NUDGE", "_OPEN"],
        "paper_change": ["_LEAST_DEPTH"],
        "primaries": ["_LEAST_Y100"],
        "spectra": ["_LAST_GAIN", "_LAST_SHARE"],
        "tone": ["_BISECTIONS", "_LEAST_CONTRAST", "_LEAST_DENSITY", "_LEAST_SQUARES"],
    },
    "what is usual, and doubted where it is not so": {"papers": ["USUAL_L"]},
    "the grid of wavelengths": {"spectra": ["SPECTRUM_NM"]},
}


def numbers_in(tree):
    """Names of numbers at the head of a module, and the bare ones elsewhere, beyond arithmetic."""
    named, bare = [], []
    for statement in tree.body:
        found = [
            node.value
            for node in ast.walk(statement)
            if isinstance(node, ast.Constant) and type(node.value) in (int, float, complex)
            if node.value not in ARITHMETIC
        ]
        is_named = isinstance(statement, ast.Assign | ast.AnnAssign)
        if found and is_named:
            named += [
                node.id
                for node in ast.walk(statement)
                if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store)
            ]
        elif found:
            bare += found
    return named, bare


@pytest.mark.parametrize(
    ("text", "named", "bare"),
    [
        ("_N: float = 2.8\nA, B = 1e-3, 7", ["_N", "A", "B"], []),
        ("def f(x):\n    return 4 * x * (1 - x) + 10.0 ** -x / 100", [], []),
        ("def f(x):\n    return 1.02 * x", [], [1.02]),
        ("def f(x, y=-2.5):\n    return x", [], [2.5]),
        ("class A:\n    n = 2.8\n    is_it = True", [], [2.8]),
    ],
)
def test_a_number_is_found_wherever_it_hides(text, named, bare):
    assert numbers_in(ast.parse(text)) == (named, bare)


def test_no_other_file_of_the_model_holds_numbers():
    named, bare = {}, {}
    for path in sorted([*PRESS.glob("*.py"), *PRESS.glob("solids/*.py")]):
        names, numbers = numbers_in(ast.parse(path.read_text(encoding="utf-8")))
        named |= {path.stem: sorted(names)} if names else {}
        bare |= {path.stem: numbers} if numbers else {}
    assert bare == {}
    listed = {}
    for files in NAMED.values():
        for file, names in files.items():
            listed[file] = sorted([*listed.get(file, []), *names])
    assert named == dict(sorted(listed.items()))


ORIGINS = re.compile(
    r"\b(fitted|chosen|no source|without a source|measured|published|mean of|a guess|"
    r"common practice|from memory|learnt|ISO|FOGRA|APTEC|of all sets)\b",
    re.IGNORECASE,
)


def without_origin(text):
    """Lines of constants whose comment, the nearest one above in their table, names no origin."""
    comment, last, table = "", "", ""
    for line in filter(None, text.splitlines()):
        if line.startswith("#"):
            comment = f"{comment} {line[2:]}" if last.startswith("#") else line
        elif line.startswith("["):
            before, table = table, line.strip("[]").split(".")[0]
            if table != before and not last.startswith("#"):
                comment = ""
        elif " = " in line and not ORIGINS.search(comment):
            yield line
        last = line


def test_every_constant_names_its_origin():
    text = (PRESS / "constants.toml").read_text(encoding="utf-8")
    assert list(without_origin(text)) == []


def test_a_constant_without_an_origin_is_found():
    text = "# Chosen.\n[a]\nx = 1\n\n[a.b]\ny = 1\n# How much.\nz = 1\n\n[c]\nw = 1\n"
    assert list(without_origin(text)) == ["z = 1", "w = 1"]


NOISES = (
    "noise_averaged",
    "noise_single_sheet",
    "noise_uneven_sheets",
    "noise_wet",
    "noise_by_eye",
    "noise_photograph",
)


def test_every_constant_is_used():
    """Each name of a table stands in some file of the model; a constant that none reads is dead."""
    tables = [getattr(constants, name) for name in dir(constants) if name.endswith("Constants")]
    names = {field.name for table in tables for field in fields(table)}
    source = "".join(
        path.read_text(encoding="utf-8")
        for path in PRESS.rglob("*.py")
        if path != Path(constants.__file__)
    )
    read = set(re.findall(r"\.([a-zA-Z_]\w*)", source)) | set(NOISES)
    assert names - read == {"least_density"}  # read as a reflectance
