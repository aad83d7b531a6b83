"""Malformed inputs of every kind, from fixed seeds: none may be a finding (see tests/fuzz)."""

import importlib
import json
import os
import signal
import subprocess
import sys
from collections import Counter
from pathlib import Path

import pytest
from fuzz.cases import Plan, damages_of, made, plan_of
from fuzz.judging import digests
from fuzz.run import SHARES

FUZZ = Path(__file__).resolve().parent / "fuzz"
needs_linux = pytest.mark.skipif(
    not sys.platform.startswith("linux"), reason="forks are told from pidfd and /proc"
)


def ran(script: str, *words: str, seconds: float) -> dict:
    """What a script of the folder prints as JSON."""
    quiet = {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}
    paths = [str(FUZZ.parent.parent), os.environ.get("PYTHONPATH", "")]
    done = subprocess.run(
        [sys.executable, str(FUZZ / script), *words],
        capture_output=True,
        env={**os.environ, **quiet, "PYTHONPATH": os.pathsep.join(paths)},
        timeout=seconds,
    )
    assert done.stdout, done.stderr.decode()
    return json.loads(done.stdout)


def refuse_findings(results: list[dict]) -> None:
    """Fail with all that was found, and how to repeat it."""
    found = [
        f"python tests/fuzz/run.py --only {r['case']}  # {', '.join(r['findings'])}"
        for r in results
        if r["findings"]
    ]
    assert not found, "\n".join(found)


@needs_linux
@pytest.mark.parametrize(
    ("seed", "count"),
    [(100, 60), *(pytest.param(seed, 150, marks=pytest.mark.long) for seed in (101, 102))],
)
def test_malformed_inputs_bring_no_finding(seed, count, tmp_path):
    words = ("--seed", str(seed), "--count", str(count), "--programs", "2", "--servers", "1")
    results = ran("run.py", *words, "--json", "--to", str(tmp_path), seconds=900)["results"]

    assert len(results) == count
    assert sum(result["program"] for result in results) == 2
    refuse_findings(results)
    accepted = Counter(result["outcome"] for result in results)["accepted"]
    assert 0.3 * count <= accepted <= 0.7 * count  # neither all sound nor all beyond reading


@needs_linux
@pytest.mark.long
def test_10_000_malformed_inputs_bring_no_finding(tmp_path):
    words = ("--seed", "103", "--count", "10000", "--programs", "300", "--json")
    done = ran("run.py", *words, "--to", str(tmp_path), seconds=3000)

    results = done["results"]
    assert len(results) == 10_000
    assert sum(result["program"] for result in results) == 300
    refuse_findings(results)
    for name in SHARES:
        mine = [r["outcome"] for r in results if plan_of(r["case"]).generator == name]
        assert 0.25 <= mine.count("accepted") / len(mine) <= 0.75, name


CASES = """
import json, sys, time
for number, found in enumerate(([], ["traceback: planted"], [])):
    print(json.dumps({
        "case": f"books:{number}", "program": False, "outcome": "finding" if found else "refused",
        "damages": [], "seconds": 0.1, "findings": found,
    }), flush=True)
time.sleep(60)
"""
"""A server that finds something in the second of three cases, and then takes its time."""


@needs_linux
def test_findings_are_told_as_they_come_and_the_sum_when_it_is_stopped():
    script = (
        f"import subprocess, sys; from fuzz import run\n"
        f"run._started = lambda *_: subprocess.Popen([sys.executable, '-c', {CASES!r}],"
        f" stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, process_group=0)\n"
        f"sys.exit(run.main(['--servers', '1']))"
    )
    with subprocess.Popen(
        [sys.executable, "-c", script],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        cwd=FUZZ.parent,
        text=True,
    ) as running:
        told = [running.stderr.readline() for _ in range(2)]  # while the server still runs
        assert told == ["books:1 \n", "    traceback: planted\n"]
        running.send_signal(signal.SIGINT)
        out, err = running.communicate(timeout=20)
    assert err == "stopped before all was tried\n"
    assert running.returncode == 1
    assert out.splitlines()[-1].startswith(("2 cases in ", "3 cases in "))


@pytest.mark.long
@needs_linux
def test_what_is_planted_is_found():
    planted = ran("planted.py", seconds=600)

    for name, kind in planted["expected"].items():
        found = planted["found"][name]
        assert kind in found if kind else not found, (name, found)


@pytest.mark.parametrize("name", SHARES)
def test_a_seed_fixes_the_case(name, tmp_path):
    """Twice the same files and question, so that a finding can be repeated from its name."""
    module = importlib.import_module(f"fuzz.{name}")
    for seed in range(6):
        twice = []
        for time in "ab":
            folder = tmp_path / f"{seed}{time}"
            folder.mkdir()
            asked, damages = made(Plan(generator=name, seed=seed), module, folder)
            twice.append((asked, damages, digests(folder)))
        assert twice[0] == twice[1]


def test_a_case_whose_damages_undo_each_other_can_be_made(tmp_path):
    """16 bits declared as 8, and then the tag that declares them is taken away."""
    plan = plan_of("plates:27182818001433")
    _, damages = made(plan, importlib.import_module("fuzz.plates"), tmp_path)
    assert {"bits_halved", "tag_missing"} <= set(damages)


@needs_linux
def test_a_server_that_falls_ends_the_run_at_once():
    falls = "raise SystemExit(7)"
    script = (
        f"import subprocess, sys; from fuzz import run\n"
        f"run._started = lambda _, number: subprocess.Popen("
        f"[sys.executable, '-c', ({CASES!r}, {falls!r})[number]],"
        f" stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, process_group=0)\n"
        f"sys.exit(run.main(['--servers', '2']))"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, cwd=FUZZ.parent, text=True, timeout=40
    )
    assert done.returncode == 1
    assert done.stderr.endswith("a server ended with 7\n")


def test_fewer_damages_are_the_same_damages():
    """What is left out while a finding is shrunk changes nothing of the rest."""
    module = importlib.import_module("fuzz.books")
    for seed in range(40):
        all_of_them = damages_of(Plan(generator="books", seed=seed), module)
        for one in all_of_them:
            plan = plan_of(f"books:{seed}:{one[0]}")
            assert damages_of(plan, module) == [one]


def test_the_cases_of_two_seeds_differ(tmp_path):
    names = [tmp_path / "a", tmp_path / "b"]
    for seed, folder in enumerate(names):
        folder.mkdir()
        made(Plan(generator="plates", seed=seed), importlib.import_module("fuzz.plates"), folder)
    assert digests(names[0]) != digests(names[1])
