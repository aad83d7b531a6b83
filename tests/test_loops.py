"""Compiled loops or plain ones: chosen once, said in words, and the same bytes either way.

The last part is about code that is kept: where, for whom, and that only what is whole is run.
"""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from drawn_book import BOOK, NIGHT, command, draw_book
from rights import drop_rights

from inkmix.base import loops
from inkmix.base.kernels.code_cache import read_code, write_code
from inkmix.base.shipped import swatches_folder

PACKAGE = Path(loops.__file__).parents[1]
NO_HOME = {"HOME": "/dev/null/nowhere", "PATH": os.defpath}
RUN = "from inkmix.cli.main import main; main()"
NO_NUMBA = f"""
import sys

class Refuse:
    def find_spec(self, name, path=None, target=None):
        if name.partition(".")[0] in ("numba", "llvmlite"):
            raise ModuleNotFoundError(f"No module named {{name!r}}", name=name)

sys.meta_path.insert(0, Refuse())
{RUN}
"""

posix = pytest.mark.skipif(os.name != "posix", reason="owners and rights as POSIX has them")
compiled_only = pytest.mark.skipif(not loops.are_compiled(), reason="nothing is compiled here")


@pytest.fixture(scope="module")
def book(tmp_path_factory) -> Path:
    return draw_book(tmp_path_factory.mktemp("book") / "two-panels", BOOK + NIGHT)


def outputs(folder: Path) -> dict[str, bytes]:
    """Every file below a folder."""
    files = (path for path in folder.rglob("*") if path.is_file())
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in files}


@pytest.fixture
def expected(book, tmp_path, capfd) -> dict[str, bytes]:
    """What the two commands write in this process."""
    target = tmp_path / "here"
    assert command(capfd, "check", book, "--to", target / "report").code == 0
    assert command(capfd, "predict", book, "--to", target / "print.png").code == 0
    return outputs(target)


def written(book: Path, target: Path, code: str, **options) -> tuple[dict[str, bytes], list[str]]:
    """What they write in processes of their own, and what they say."""
    said = []
    for command_line in (
        ("check", book, "--to", target / "report"),
        ("predict", book, "--to", target / "print.png"),
    ):
        done = subprocess.run(
            [sys.executable, "-c", code, *map(str, command_line)],
            capture_output=True,
            text=True,
            check=False,
            **options,
        )
        assert done.returncode == 0, done.stderr
        said.append(done.stderr)
    return outputs(target), said


def test_loops_are_compiled_unless_switched_off():
    assert loops.are_compiled() == (os.environ.get(loops.SWITCH) != "numpy")


def test_without_numba_the_same_bytes_are_written_and_that_is_said_once(book, expected, tmp_path):
    environment = {**os.environ, loops.SWITCH: ""}
    found, said = written(book, tmp_path / "there", NO_NUMBA, env=environment)
    assert found == expected
    for words in said:
        assert words.count("without compiled loops (numba is not installed)") == 1


@pytest.mark.skipif(sys.platform != "linux", reason="rights are dropped in the way of Linux")
def test_a_read_only_installation_without_a_home_writes_the_same_bytes(book, expected, tmp_path):
    """As on a shared computer, for a user whom nobody gave a home."""
    installed = tmp_path / "site" / "inkmix"
    shutil.copytree(PACKAGE, installed, ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copytree(swatches_folder(), installed / "_swatches", dirs_exist_ok=True)
    for path in (installed.parent, *installed.parent.rglob("*")):
        path.chmod(0o555 if path.is_dir() else 0o444)
    environment = {**NO_HOME, "PYTHONPATH": str(installed.parent)}
    options = {"env": environment, "cwd": tmp_path, "preexec_fn": drop_rights}
    try:
        found, said = written(book, tmp_path / "there", RUN, **options)
    finally:
        for path in (installed.parent, *installed.parent.rglob("*")):
            path.chmod(0o755)
    assert found == expected
    assert not list(installed.rglob("__pycache__"))
    for words in said:
        assert words.count("compiled code cannot be kept in /dev/null/nowhere/") == 1


# --- code that is kept on disk --------------------------------------------------------------------

COUNT = """
import sys
import numpy as np
from inkmix.base.kernels import counts
plane = np.tile(np.arange(70, dtype=np.uint8), (3, 2))
plane = plane[:, :: int(sys.argv[1])]
found = counts.changes(plane)
assert found == np.count_nonzero(np.diff(plane.astype(int))), found
print(sum(counts.changes.stats.cache_hits.values()))
"""


def counting(cache: Path, step: int) -> subprocess.Popen[str]:
    """Count changes in whole rows (step 1) or in every second pixel: two layouts, two codes."""
    return subprocess.Popen(
        [sys.executable, "-c", COUNT, str(step)],
        env={**os.environ, "INKMIX_CACHE": str(cache)},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def hits(*processes: subprocess.Popen[str]) -> list[int]:
    """How much each took from disk; all counted right."""
    ended = [(process.communicate(), process.returncode) for process in processes]
    assert [code for _, code in ended] == [0] * len(ended), ended
    return [int(out) for (out, _), _ in ended]


def kept(cache: Path) -> Path:
    """The one file of code in a cache."""
    (path,) = (cache / "loops").iterdir()
    return path


@pytest.fixture(scope="module")
def compiled(tmp_path_factory) -> dict[int, Path]:
    """Two caches, each with the code for one layout."""
    folders = {step: tmp_path_factory.mktemp(f"step {step}") for step in (1, 2)}
    assert hits(*(counting(folder, step) for step, folder in folders.items())) == [0, 0]
    return folders


@compiled_only
def test_code_lies_in_the_cache_which_is_the_users_own_and_is_found_there(compiled):
    before = set((PACKAGE / "base" / "kernels").rglob("*.nb?"))
    folder = compiled[1] / "loops"
    assert [path.suffix for path in folder.iterdir()] == [".code"]
    assert hits(counting(compiled[1], 1)) == [1]
    assert set((PACKAGE / "base" / "kernels").rglob("*.nb?")) == before
    if os.name == "posix":
        assert folder.stat().st_mode & 0o777 == 0o700


@compiled_only
def test_nothing_is_kept_beside_the_program(tmp_path):
    """A copy of it, so that what older versions left in the checkout does not count."""
    installed = tmp_path / "site" / "inkmix"
    shutil.copytree(PACKAGE, installed, ignore=shutil.ignore_patterns("__pycache__"))
    environment = {**os.environ, "PYTHONPATH": str(installed.parent)}
    code = COUNT + "print(counts.__file__, file=sys.stderr)"
    done = subprocess.run(
        [sys.executable, "-c", code, "1"],
        env={**environment, "INKMIX_CACHE": str(tmp_path / "cache")},
        cwd=tmp_path, capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert Path(done.stderr.strip()).is_relative_to(installed)
    assert {path.suffix for path in installed.rglob("__pycache__/*")} <= {".pyc"}
    assert kept(tmp_path / "cache").name.startswith("counts.changes-")


@pytest.mark.long
@compiled_only
def test_two_programs_may_compile_at_once(tmp_path):
    assert hits(*(counting(tmp_path, step) for step in (1, 2, 1, 2))).count(0) >= 2
    assert hits(counting(tmp_path, 1), counting(tmp_path, 2)) == [1, 1]


@compiled_only
def test_code_of_another_layout_under_the_name_of_this_one_is_not_run(compiled, tmp_path):
    """Sound in itself, as after a slip of the hand in the folder; the next run puts it right."""
    shutil.copytree(compiled[1], tmp_path, dirs_exist_ok=True)
    shutil.copy(kept(compiled[2]), kept(tmp_path))
    assert hits(counting(tmp_path, 1)) == [0]
    assert kept(tmp_path).read_bytes() != kept(compiled[2]).read_bytes()
    assert hits(counting(tmp_path, 1)) == [1]


def fails(*_args, **_options):
    raise TypeError("no way to keep it")


@compiled_only
@pytest.mark.parametrize(
    ("name", "instead"),
    [
        ("dumps", fails),
        ("read_code", lambda *_, **__: b"no code"),
        ("_FOLDER", Path("/dev/null/x")),
    ],
)
def test_what_hinders_keeping_stops_no_loop(name, instead, monkeypatch):
    from inkmix.base.kernels import jit

    def twice(number):
        return 2 * number

    monkeypatch.setattr(jit, "_FOLDER", Path("/dev/null/nowhere"))
    monkeypatch.setattr(jit, name, instead)
    assert jit.loop(twice)(21) == 42


KEY, CODE = bytes(range(32)), b"what was compiled" * 50


@pytest.fixture
def one(tmp_path) -> Path:
    """A file of code, which is read as it was written."""
    write_code(tmp_path, "one", CODE, key=KEY)
    assert read_code(tmp_path, "one", key=KEY) == CODE
    (path,) = tmp_path.iterdir()
    return path


def flipped(data: bytes, place: int) -> bytes:
    return data[:place] + bytes([data[place] ^ 1]) + data[place + 1 :]


SPOILED = {
    "empty": lambda data: b"",
    "cut": lambda data: data[:-1],
    "longer": lambda data: data + b"0",
    "one bit of the mark": lambda data: flipped(data, 3),
    "one bit of the key": lambda data: flipped(data, 40),
    "one bit of the code": lambda data: flipped(data, len(data) // 2),
    "one bit of the checksum": lambda data: flipped(data, len(data) - 1),
    "zeros at the end, as after a power cut": lambda data: data[:512].ljust(len(data), b"\0"),
}


@pytest.mark.parametrize("spoil", SPOILED.values(), ids=SPOILED)
def test_damaged_code_is_never_run(spoil, one):
    one.write_bytes(spoil(one.read_bytes()))
    assert read_code(one.parent, "one", key=KEY) is None


def test_code_of_another_key_is_not_run(one):
    """As above, but under its name: a file that is sound, and of something else."""
    other = bytes(32)
    one.rename(one.with_name(f"one-{other.hex()}.code"))
    assert read_code(one.parent, "one", key=other) is None


@posix
def test_code_that_somebody_else_put_there_is_not_run(one):
    """A link, a pipe that nobody writes to, and another user's file."""
    elsewhere = one.rename(one.with_name("elsewhere"))
    one.symlink_to(elsewhere)
    assert read_code(one.parent, "one", key=KEY) is None
    one.unlink()
    os.mkfifo(one)
    assert read_code(one.parent, "one", key=KEY) is None
    elsewhere.replace(one)
    assert read_code(one.parent, "one", key=KEY) == CODE
    give_away(one)
    assert read_code(one.parent, "one", key=KEY) is None


def give_away(path: Path) -> None:
    try:
        os.chown(path, 12345, 12345)
    except PermissionError:
        pytest.skip("only root may give a file away")


ASK = "from inkmix.base.loops import are_compiled; print(are_compiled())"


def asked(cache: Path) -> tuple[str, str]:
    """Whether a program with this cache runs compiled loops, and what it says."""
    done = subprocess.run(
        [sys.executable, "-c", ASK],
        env={**os.environ, "INKMIX_CACHE": str(cache)},
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    return done.stdout.strip(), done.stderr


@compiled_only
@posix
@pytest.mark.parametrize(
    ("kind", "words"),
    [
        ("open", "others can write to it; delete it, and the next run makes a safe one"),
        ("another user's", "it belongs to another user; set INKMIX_CACHE to a folder of yours"),
        ("a file", "File exists"),
    ],
)
def test_where_others_could_put_code_plain_loops_run_and_that_is_said(kind, words, tmp_path):
    folder = tmp_path / "loops"
    if kind == "a file":
        folder.write_text("")
    else:
        folder.mkdir(mode=0o700)
        give_away(folder) if kind == "another user's" else folder.chmod(0o777)
    found, said = asked(tmp_path)
    assert found == "False"
    assert f"compiled code cannot be kept in {folder}: {words})" in said
    assert "the same results, but slower" in said
    assert "Traceback" not in said


@compiled_only
def test_a_cache_that_leads_elsewhere_is_well(compiled, tmp_path):
    """As on a larger disk."""
    (tmp_path / "loops").symlink_to(compiled[1] / "loops", target_is_directory=True)
    assert hits(counting(tmp_path, 1)) == [1]


@compiled_only
def test_a_loop_knows_of_changes_in_every_module_of_loops(tmp_path, monkeypatch):
    from numba import types

    from inkmix.base.kernels import jit, night

    shutil.copytree(PACKAGE / "base" / "kernels", tmp_path, dirs_exist_ok=True)
    before = jit.sources_digest(tmp_path)
    with (tmp_path / "counts.py").open("a", encoding="utf-8") as module:
        module.write("# changed\n")
    assert jit.sources_digest(tmp_path) != before
    assert jit.sources_digest(PACKAGE / "base" / "kernels") == before == jit._SOURCES

    def key() -> bytes:
        codegen = night.count.targetctx.codegen()
        return night.count._cache._key((types.int64,), codegen)

    first = key()
    assert key() == first
    for name in ("_SOURCES", "_TOOLS"):
        with monkeypatch.context() as patch:
            patch.setattr(jit, name, "another")
            assert key() != first
