"""Files of tests that touch what has a compiled loop and a NumPy twin: they are run both ways.

python tests/tools/twins.py prints them. A module has twins where it asks whether loops are
compiled; a test touches it if it imports it, or a module that does. Whole checks touch them all and
take long without compiled loops: of tests that only make some, those of ALWAYS stand for all.
"""

import ast
from pathlib import Path

ROOT = Path(__file__).parents[2]
ALWAYS = ("tests/properties/test_simulate_windows.py", "tests/test_loops.py")
"""Whole runs of the program, each way in turn, and the switch itself."""

WHOLE_CHECK = "inkmix.jobs.check"


def with_twins() -> set[str]:
    """Modules that ask whether loops are compiled."""
    modules = (ROOT / "inkmix").rglob("*.py")
    asking = (path for path in modules if "are_compiled" in path.read_text(encoding="utf-8"))
    return {_dotted(path) for path in asking if "base" not in path.relative_to(ROOT).parts}


def tests_of_twins() -> list[str]:
    """Paths of the files of tests, from the root."""
    twins = with_twins()
    modules = {_dotted(path): path for path in (ROOT / "inkmix").rglob("*.py")}
    near = twins | {name for name, path in modules.items() if _imports(path) & twins}
    tests = sorted((ROOT / "tests").rglob("test_*.py"))
    found = (path for path in tests if _touches(_imports(path), twins, near))
    return sorted({path.relative_to(ROOT).as_posix() for path in found} | set(ALWAYS))


def _touches(imported: set[str], twins: set[str], near: set[str]) -> bool:
    return bool(imported & (twins if WHOLE_CHECK in imported else near))


def _dotted(path: Path) -> str:
    return ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")


def _imports(path: Path) -> set[str]:
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module:
            names |= {node.module, *(f"{node.module}.{one.name}" for one in node.names)}
        elif isinstance(node, ast.Import):
            names |= {one.name for one in node.names}
    return names


if __name__ == "__main__":
    print(*tests_of_twins())
