"""At least 200 runs killed at seeded moments; and that what must hold then can be seen to fail."""

import json
import os
import signal
import subprocess
import sys
from dataclasses import replace
from hashlib import sha256
from pathlib import Path

import pytest
from drawn_book import digests
from fuzz.kills import COMMANDS, PART, TURNS, Case, Whole, end_faults, is_sound, left_faults

posix = pytest.mark.skipif(os.name != "posix", reason="signals are a thing of POSIX")

PROGRAM = Path(__file__).parent / "fuzz" / "kills.py"
SEED, COUNT = 12, 200
KILLED = -signal.SIGKILL


@pytest.mark.long
@posix
def test_runs_killed_at_two_hundred_moments_leave_nothing_in_the_way():
    """Every command is struck several times, in every way, and nothing is wrong after any."""
    line = [sys.executable, str(PROGRAM), "--count", str(COUNT), "--seed", str(SEED)]
    done = subprocess.run(line, capture_output=True, text=True, check=False)
    found = json.loads(done.stdout)
    assert (found["faults"], done.returncode) == ([], 0), done.stderr
    assert found["struck"] >= COUNT
    assert min(found["by_command"][name] for name in COMMANDS) >= 8, found
    assert min(found["by_way"][way] for way in ("change", "part", "time", "program")) >= 8, found
    assert found["by_signal"]["SIGKILL"] >= COUNT // 2, found
    assert found["left_parts"] >= COUNT // 10, found  # moments do fall between opening and naming


# --- that faults are found -----------------------------------------------------------------------


def test_cases_hang_on_seed_and_number_only():
    drawn = [Case.drawn(5, index) for index in range(200)]
    assert drawn == [Case.drawn(5, index) for index in range(200)]
    assert drawn != [Case.drawn(6, index) for index in range(200)]
    assert {case.command for case in drawn} == set(COMMANDS) == set(TURNS)
    assert {case.way for case in drawn} == {"change", "part", "time", "program"}


def report(folder: Path, words: bytes) -> None:
    """A page, and the data that speak of it."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "report.html").write_bytes(words)
    data = {"page": {"sha256": sha256(words).hexdigest()}}
    (folder / "report.json").write_text(json.dumps(data))


@pytest.fixture
def case() -> Case:
    drawn = replace(Case.drawn(1, 0), command="check", way="time", number=signal.SIGKILL)
    return replace(drawn, over_older=True)


@pytest.fixture
def out(tmp_path: Path) -> Path:
    """An output folder with an older report."""
    report(tmp_path / "out" / "report", b"older")
    return tmp_path / "out"


@pytest.fixture
def whole(out: Path, tmp_path: Path) -> Whole:
    report(tmp_path / "newer" / "report", b"newer")
    newer = digests(tmp_path / "newer")
    return Whole(before=digests(out), files=newer, code=0, changes=9, took_s=1.0)


def test_the_older_and_the_newer_files_are_well_and_so_are_rests_of_the_killed(out, case, whole):
    assert left_faults(out, case, whole, struck=True) == []
    (out / "report" / f".report.html{PART}").write_bytes(b"ne")
    (out / "report" / "report.json").unlink()
    assert left_faults(out, case, whole, struck=True) == []
    (out / "report" / "report.html").write_bytes(b"newer")
    assert left_faults(out, case, whole, struck=True) == []


def half(out: Path) -> None:
    (out / "report" / "report.json").unlink()
    (out / "report" / "report.html").write_bytes(b"new")


def lost(out: Path) -> None:
    (out / "report" / "report.json").unlink()
    (out / "report" / "report.html").unlink()


def of_two_runs(out: Path) -> None:
    (out / "report" / "report.html").write_bytes(b"newer")


def stray(out: Path) -> None:
    (out / "scratch-1").write_bytes(b"")


@pytest.mark.parametrize(
    ("spoil", "fault"),
    [
        (half, "report/report.html is neither the older nor the newer file"),
        (lost, "report/report.html is lost"),
        (of_two_runs, "report/report.html is not the one in its report.json"),
        (stray, "scratch-1 is neither the older nor the newer file"),
    ],
)
def test_what_a_run_must_not_leave_is_a_fault(spoil, fault, out, case, whole):
    spoil(out)
    assert left_faults(out, case, whole, struck=True) == [fault]


@pytest.mark.parametrize(("number", "struck"), [(signal.SIGTERM, True), (signal.SIGKILL, False)])
def test_only_who_was_killed_may_leave_parts(number, struck, out, case, whole):
    part = out / "report" / f".report.html{PART}"
    part.write_bytes(b"ne")
    case = replace(case, number=number)
    found = left_faults(out, case, whole, struck=struck)
    assert found == [f"report/{part.name} is left"]


def test_ends_that_are_well_and_ends_that_are_not(case, whole):
    assert end_faults(case, whole, 0, "") == []
    assert end_faults(case, whole, KILLED, "") == []
    assert end_faults(case, whole, 3, "inkmix: cannot") == ["it ended with 3: inkmix: cannot"]
    polite = replace(case, number=signal.SIGTERM)
    sentence = "inkmix: interrupted; nothing half-written is left behind\n"
    assert end_faults(polite, whole, 143, sentence) == []
    assert end_faults(polite, whole, KILLED, "") == [f"it ended with {KILLED}: "]
    assert end_faults(polite, whole, 143, "Traceback") == ["it said: Traceback"]


@pytest.mark.parametrize(
    ("name", "text", "sound"),
    [
        ("a.json", '{"a": 1}\n', True),
        ("a.json", '{"a": \n', False),
        ("a.xml", "<a></a>\n", True),
        ("a.xml", "<a><b></a>\n", False),
        ("a.html", "<html>\n</html>\n", True),
        ("a.html", "<html>\n<p>\n", False),
        ("a.csv", "a,b\n", True),
        ("a.csv", "a,b\n1", False),
    ],
)
def test_half_a_file_is_told_from_a_whole_one(name, text, sound, tmp_path):
    (tmp_path / name).write_text(text)
    assert is_sound(tmp_path / name) == sound
