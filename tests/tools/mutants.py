"""Small mistakes put into a copy of the program, one at a time: do the tests notice?

    python tests/tools/mutants.py [NAMES...] [--sample N --seed S] [--workers 2]

A name is that of a list (press: tests/tools/mutants/press.toml) or of a file that is mutated. A
mutant replaces a text that occurs once in its file, and names the tests that should fail then. What
nobody can notice is named equivalent, with the reason; that is tried, too. Ends with 1 where fewer
than 95 of 100 mutants are caught or a test notices one that is named equivalent, with 2 where a
mutant is stale or the tests fail without any.
"""

import argparse
import os
import queue
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import tomllib
from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from xml.etree import ElementTree

ROOT = Path(__file__).resolve().parents[2]
LISTS = Path(__file__).resolve().with_suffix("")
LEAST_CAUGHT = 0.95
#: What tests of the program need of its tree.
COPIED = (
    "inkmix",
    "tests",
    "swatches",
    "notebooks",
    "pyproject.toml",
    "README.md",
    "DEVELOPERS.md",
)
KEYS = {"file", "old", "new", "tests", "why"}
#: A mutant may make a loop endless: seconds that its tests get, beside thrice what they took.
SPARE_S = 60.0
NO_TESTS = 4  # pytest's own code where it cannot begin
#: A module that cannot even be imported is no mistake that tests have to notice.
START = f"""
import importlib, sys
try:
    importlib.import_module(sys.argv[1] or "sys")
except Exception:
    sys.exit({NO_TESTS})
import pytest
sys.exit(pytest.main(sys.argv[2:]))
"""
CAUGHT, SURVIVED, EQUIVALENT, NOTICED, STALE = (
    "caught",
    "survived",
    "equivalent",
    "noticed, though named equivalent",
    "stale",
)


class ListError(Exception):
    """A list that cannot be run: what is wrong, a line each."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mutant:
    """One mistake: a text that stands once in a file, and what would stand there."""

    name: str
    file: str
    old: str
    new: str
    tests: tuple[str, ...]
    why: str
    equivalent: str | None = None


# -- The lists -------------------------------------------------------------------------------------


def read_lists(folder: Path = LISTS) -> list[Mutant]:
    """Every mutant of every list, in the order of names and lines.

    Raises
    ------
    ListError
        Where an entry lacks a key or has one too many.
    """
    mutants: list[Mutant] = []
    wrong: list[str] = []
    for path in sorted(folder.glob("*.toml")):
        entries = tomllib.loads(path.read_text(encoding="utf-8"))["mutant"]
        for number, entry in enumerate(entries, start=1):
            name = f"{path.stem} {number}"
            if set(entry) - {"equivalent"} != KEYS:
                wrong.append(
                    f"{name}: expected {', '.join(sorted(KEYS))}; found {', '.join(entry)}"
                )
            else:
                mutants.append(Mutant(name=name, **entry | {"tests": tuple(entry["tests"])}))
    if wrong:
        raise ListError("\n".join(wrong))
    return mutants


def stale(mutants: Sequence[Mutant], root: Path = ROOT) -> list[str]:
    """What no longer fits the program, a line each; none where all do."""
    return [f"{mutant.name}: {why}" for mutant in mutants for why in _stale(mutant, root)]


def _stale(mutant: Mutant, root: Path) -> Iterator[str]:
    path = root / mutant.file
    if not path.is_file():
        yield f"{mutant.file} is not there"
        return
    times = path.read_text(encoding="utf-8").count(mutant.old)
    if times != 1:
        yield f"{mutant.old!r} stands {times} times in {mutant.file}, expected once"
    if mutant.old == mutant.new:
        yield f"{mutant.old!r} is replaced by itself"
    if not mutant.tests:
        yield "names no test"
    yield from (f"{test} is not there" for test in mutant.tests if not _is_there(test, root))


def _is_there(test: str, root: Path) -> bool:
    """Whether a file of tests is there, and in it the function, if one is named."""
    path, *names = test.partition("[")[0].split("::")
    if not (root / path).is_file():
        return False
    text = (root / path).read_text(encoding="utf-8")
    return not names or f"def {names[-1]}(" in text


def chosen(mutants: Sequence[Mutant], names: Sequence[str]) -> list[Mutant]:
    """The mutants of these lists and files; all where none is named.

    Raises
    ------
    ListError
        If a name is neither.
    """
    if not names:
        return list(mutants)
    known = {name for mutant in mutants for name in _names(mutant)}
    unknown = [name for name in names if name not in known]
    if unknown:
        raise ListError(f"neither a list nor a file that is mutated: {', '.join(unknown)}")
    return [mutant for mutant in mutants if set(_names(mutant)) & set(names)]


def _names(mutant: Mutant) -> tuple[str, str, str]:
    return mutant.name.partition(" ")[0], mutant.name, mutant.file


# -- Copies of the program -------------------------------------------------------------------------


def copy_program(source: Path, target: Path) -> None:
    """The program with its tests, times of files kept: compiled code stays valid by them."""
    for name in COPIED:
        if (source / name).is_dir():
            shutil.copytree(source / name, target / name)
        else:
            target.mkdir(parents=True, exist_ok=True)
            shutil.copy2(source / name, target / name)


@contextmanager
def mutated(mutant: Mutant, tree: Path) -> Iterator[None]:
    """The copy with the mistake in it, and afterwards as it was, to the time of the file."""
    path = tree / mutant.file
    status, data = path.stat(), path.read_bytes()
    path.write_text(
        data.decode("utf-8").replace(mutant.old, mutant.new), encoding="utf-8", newline=""
    )
    # Bytecode counts as fresh by size and time: the time has to be another one.
    os.utime(path, ns=(status.st_atime_ns, status.st_mtime_ns + 10_000_000_000))
    try:
        yield
    finally:
        path.write_bytes(data)
        os.utime(path, ns=(status.st_atime_ns, status.st_mtime_ns))


def _environment(tree: Path, **more: str) -> dict[str, str]:
    """This program's own, but of another tree and without what steers a run of tests."""
    kept = {
        name: value
        for name, value in os.environ.items()
        if not name.startswith(("PYTEST_", "NUMBA_", "INKMIX_LOOPS", "INKMIX_CACHE"))
    }
    return kept | {"PYTHONPATH": str(tree)} | more


def _run(
    words: Sequence[str], tree: Path, *, seconds: float, **environment: str
) -> tuple[int | None, str]:
    """Exit code, None for a program that took too long, and what it said."""
    with tempfile.TemporaryFile(mode="w+", encoding="utf-8", errors="replace") as said:
        program = subprocess.Popen(
            [sys.executable, *words],
            cwd=tree,
            env=_environment(tree, **environment),
            stdin=subprocess.DEVNULL,
            stdout=said,
            stderr=subprocess.STDOUT,
            start_new_session=True,  # so that whatever it started can be ended with it
        )
        try:
            code: int | None = program.wait(timeout=seconds)
        except subprocess.TimeoutExpired:
            code = None
        finally:
            if program.poll() is None:
                os.killpg(program.pid, signal.SIGKILL)
                program.wait()
        said.seek(0)
        return code, said.read()


def _run_tests(
    tests: Sequence[str], tree: Path, *, first: str = "", seconds: float, **environment: str
) -> tuple[int | None, str]:
    """What pytest says of these tests, once the module `first` could be imported."""
    words = ["-x", "-q", "-p", "no:cacheprovider", "--no-header", "--tb=line"]
    words += ["--basetemp", str(tree.with_name(tree.name + "-made"))]
    return _run(["-c", START, first, *words, *tests], tree, seconds=seconds, **environment)


# -- Trying ----------------------------------------------------------------------------------------


def attempt(mutant: Mutant, tree: Path, *, seconds: float) -> str:
    """What becomes of a mutant in this copy."""
    with mutated(mutant, tree), tempfile.TemporaryDirectory() as cache:
        environment = {"PYTHONDONTWRITEBYTECODE": "1"}
        if "/kernels/" in mutant.file:  # such loops are of no use to anybody else
            environment["INKMIX_CACHE"] = cache
        code, _ = _run_tests(
            mutant.tests, tree, first=_module(mutant, tree), seconds=seconds, **environment
        )
    if code not in (0, 1, None):  # no test was run
        return STALE
    if mutant.equivalent is not None:
        return EQUIVALENT if code == 0 else NOTICED
    return SURVIVED if code == 0 else CAUGHT


def _module(mutant: Mutant, tree: Path) -> str:
    """The module that a mutant changes, or that reads what it changes; none for other files."""
    path = (tree / mutant.file).with_suffix(".py")
    if not path.is_file():
        return ""
    return ".".join(path.relative_to(tree).with_suffix("").parts).removesuffix(".__init__")


def try_all(mutants: Sequence[Mutant], *, workers: int) -> Iterator[tuple[Mutant, str]]:
    """What becomes of each, as it is known.

    Raises
    ------
    ListError
        If the tests fail before anything is changed.
    """
    with tempfile.TemporaryDirectory(prefix="mutants-") as made:
        trees = [Path(made) / f"tree-{number}" for number in range(workers)]
        took_s = _prepare(trees[0], mutants, workers=workers)
        for tree in trees[1:]:
            copy_program(trees[0], tree)
        free: queue.SimpleQueue[Path] = queue.SimpleQueue()
        for tree in trees:
            free.put(tree)

        def tried(mutant: Mutant) -> tuple[Mutant, str]:
            tree = free.get()
            try:
                return mutant, attempt(mutant, tree, seconds=_time_limit(mutant, took_s))
            finally:
                free.put(tree)

        with ThreadPoolExecutor(workers) as pool:
            yield from pool.map(tried, mutants)


def _prepare(tree: Path, mutants: Sequence[Mutant], *, workers: int) -> dict[str, float]:
    """A first copy, with bytecode and loops compiled, whose tests pass; seconds by test file."""
    copy_program(ROOT, tree)
    tests = sorted({test for mutant in mutants for test in mutant.tests})
    written = tree.with_name("tests.xml")
    words = [*tests, "-n", str(workers), "--junitxml", str(written)]
    code, said = _run_tests(words, tree, seconds=3600.0)
    if code != 0:
        raise ListError(f"the tests fail without a mutant:\n{said[-4000:]}")
    took_s: dict[str, float] = defaultdict(float)
    for case in ElementTree.parse(written).iter("testcase"):
        took_s[case.attrib["classname"]] += float(case.attrib["time"])
    return took_s


def _time_limit(mutant: Mutant, took_s: dict[str, float]) -> float:
    files = {test.partition("::")[0].removesuffix(".py").replace("/", ".") for test in mutant.tests}
    return SPARE_S + 3 * sum(took_s.get(file, 0.0) for file in files)


def _print_result(mutant: Mutant, result: str) -> None:
    print(f"{result:>10}  {mutant.name}: {mutant.file}: {mutant.why}", flush=True)
    if result not in (CAUGHT, EQUIVALENT):
        for sign, text in (("-", mutant.old), ("+", mutant.new)):
            for line in text.splitlines():
                print(f"{'':>12}{sign} {line}", flush=True)
    elif result == EQUIVALENT:
        print(f"{'':>12}{mutant.equivalent}", flush=True)


def _print_totals(results: Sequence[tuple[Mutant, str]]) -> None:
    lists = sorted({mutant.name.partition(" ")[0] for mutant, _ in results})
    for name in lists:
        counts = Counter(
            result for mutant, result in results if mutant.name.partition(" ")[0] == name
        )
        print(f"{name}: " + ", ".join(f"{counts[result]} {result}" for result in sorted(counts)))


def exit_code(results: Sequence[str]) -> int:
    """0 where the tests notice enough, 1 where they do not, 2 where the lists are wrong."""
    counts = Counter(results)
    if counts[STALE]:
        return 2
    tried = counts[CAUGHT] + counts[SURVIVED]
    return int(counts[NOTICED] > 0 or counts[CAUGHT] < LEAST_CAUGHT * tried)


def main(words: Sequence[str] | None = None) -> int:
    """Run what the words say; the exit code."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("names", nargs="*", help="lists, mutants ('press 3') or mutated files")
    parser.add_argument("--sample", type=int, help="try so many of them, drawn by chance")
    parser.add_argument("--seed", type=int, default=1, help="of the draw")
    parser.add_argument("--workers", type=int, default=2, help="copies that are tried at once")
    told = parser.parse_args(words)
    try:
        mutants = chosen(read_lists(), told.names)
        if told.sample is not None and told.sample < len(mutants):
            mutants = random.Random(told.seed).sample(mutants, told.sample)
        if lines := stale(mutants):
            raise ListError("\n".join(lines))
        results = []
        for mutant, result in try_all(mutants, workers=told.workers):
            _print_result(mutant, result)
            results.append((mutant, result))
    except ListError as error:
        print(error, file=sys.stderr)
        return 2
    _print_totals(results)
    return exit_code([result for _, result in results])


if __name__ == "__main__":
    sys.exit(main())
