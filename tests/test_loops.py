"""Compiled loops or plain ones: chosen once, said in words, and the same bytes either way.

The last part is about code that other programs compile at the same time.
"""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from drawn_book import BOOK, NIGHT, command, draw_book
from rights import drop_rights

from inkmix import loops
from inkmix.shipped import swatches_folder

PACKAGE = Path(loops.__file__).parent
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
        assert words.count("no folder to keep compiled code in") == 1


# --- code that is kept on disk --------------------------------------------------------------------

COUNT = """
import sys
import numpy as np
from inkmix.kernels import counts
plane = np.tile(np.arange(70, dtype=np.uint8), (3, 2))
plane = plane[:, :: int(sys.argv[1])]
found = counts.changes(plane)
assert found == np.count_nonzero(np.diff(plane.astype(int))), found
print(sum(counts.changes.stats.cache_hits.values()))
"""


def counting(folder: Path, step: int) -> subprocess.Popen[str]:
    """Count changes in whole rows (step 1) or in every second pixel: two layouts, two codes."""
    environment = {**os.environ, "NUMBA_CACHE_DIR": str(folder)}
    return subprocess.Popen(
        [sys.executable, "-c", COUNT, str(step)],
        env=environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def hits(*processes: subprocess.Popen[str]) -> list[int]:
    """How much each took from disk; all counted right."""
    ended = [(process.communicate(), process.returncode) for process in processes]
    assert [code for _, code in ended] == [0] * len(ended), ended
    return [int(out) for (out, _), _ in ended]


def kept(folder: Path, suffix: str) -> Path:
    (path,) = folder.rglob(f"counts.changes-*.1{suffix}" if suffix == ".nbc" else "counts.ch*.nbi")
    return path


@pytest.fixture(scope="module")
def compiled(tmp_path_factory) -> dict[int, Path]:
    """Two folders, each with the code for one layout, as the first that was compiled there."""
    folders = {step: tmp_path_factory.mktemp(f"step {step}") for step in (1, 2)}
    assert hits(*(counting(folder, step) for step, folder in folders.items())) == [0, 0]
    return folders


@pytest.mark.long
@compiled_only
def test_two_programs_may_compile_at_once(tmp_path):
    assert len(hits(*(counting(tmp_path, step) for step in (1, 2, 1, 2)))) == 4
    hits(counting(tmp_path, 1), counting(tmp_path, 2))


@compiled_only
def test_code_of_another_layout_under_the_name_of_this_one_is_not_run(compiled, tmp_path):
    """As two programs leave it that find no index at the same moment."""
    shutil.copytree(compiled[1], tmp_path, dirs_exist_ok=True)
    shutil.copy(kept(compiled[2], ".nbc"), kept(tmp_path, ".nbc"))
    assert hits(counting(tmp_path, 1)) == [0]
    assert hits(counting(tmp_path, 1)) == [1]


@compiled_only
@pytest.mark.parametrize("suffix", [".nbi", ".nbc"])
def test_damaged_code_is_compiled_anew(suffix, compiled, tmp_path):
    shutil.copytree(compiled[1], tmp_path, dirs_exist_ok=True)
    path = kept(tmp_path, suffix)
    path.write_bytes(path.read_bytes()[:40])
    assert hits(counting(tmp_path, 1)) == [0]
    assert hits(counting(tmp_path, 1)) == [1]


@compiled_only
def test_a_loop_knows_of_changes_in_every_module_of_loops(tmp_path):
    from inkmix.kernels import jit, night

    shutil.copytree(PACKAGE / "kernels", tmp_path, dirs_exist_ok=True)
    before = jit.sources_digest(tmp_path)
    with (tmp_path / "counts.py").open("a", encoding="utf-8") as module:
        module.write("# changed\n")
    assert jit.sources_digest(tmp_path) != before
    assert jit.sources_digest(PACKAGE / "kernels") == before
    assert before in night.count._cache._cache_file._source_stamp
