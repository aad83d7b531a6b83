"""The list of small mistakes fits the program, and tests notice a sample of them."""

import mutants
import pytest
from mutants import CAUGHT, EQUIVALENT, NOTICED, STALE, SURVIVED, Mutant

#: Ten that matter, by what they would do; each is noticed by one test of a second or two.
SAMPLE = (
    "web offset on uncoated paper: 10 % too much ink passes",
    "thresholds of look-alike tones swapped",
    "a remedy for one night spoils another",
    "a remedy that solves is not preferred",
    "charts run from right to left",
    "pictures of the report have no colour profile",
    "the smallest dot itself is never proposed",
    "palettes that others beat are shown as compromises",
    "a misspelt key is passed over",
    "a new place beside an old one is not told as new",
)


def _mutant(**changed):
    told = {"old": "less than", "new": "more than", "tests": ("test_limit.py",), "why": "x"}
    return Mutant(name="limits 1", file="limit.py", **told | changed)


@pytest.fixture
def program(tmp_path):
    (tmp_path / "limit.py").write_text("# less than\nLIMIT = 3\n", encoding="utf-8")
    (tmp_path / "test_limit.py").write_text(
        "import limit\n\n\ndef test_limit():\n    assert limit.LIMIT == 3\n", encoding="utf-8"
    )
    return tmp_path


def test_no_mutant_is_stale():
    listed = mutants.read_lists()
    assert mutants.stale(listed) == []
    assert len({mutant.name for mutant in listed}) == len(listed)
    assert len({(mutant.file, mutant.old, mutant.new) for mutant in listed}) == len(listed)


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"old": "more"}, "stands 0 times"),
        ({"old": "s"}, "stands 2 times"),
        ({"new": "less than"}, "replaced by itself"),
        ({"tests": ("test_none.py",)}, "test_none.py is not there"),
        ({"tests": ("test_limit.py::test_gone",)}, "test_limit.py::test_gone is not there"),
        ({"tests": ()}, "names no test"),
    ],
)
def test_a_mutant_that_does_not_fit_is_stale(program, changed, said):
    (line,) = mutants.stale([_mutant(**changed)], program)
    assert line.startswith("limits 1: ")
    assert said in line


def test_a_stale_mutant_of_a_file_that_went(program):
    (program / "limit.py").unlink()
    assert mutants.stale([_mutant()], program) == ["limits 1: limit.py is not there"]


def test_an_entry_with_a_wrong_key_is_refused(tmp_path):
    (tmp_path / "limits.toml").write_text('[[mutant]]\nfile = "a"\nnew = "b"\n', encoding="utf-8")
    with pytest.raises(mutants.ListError, match="limits 1: expected file, new, old, tests, why"):
        mutants.read_lists(tmp_path)


def test_lists_and_files_are_named():
    listed = mutants.read_lists()
    some = mutants.chosen(listed, ["colour"])
    assert some
    assert len(some) < len(listed) or {m.name.split()[0] for m in listed} == {"colour"}
    assert {m.file for m in mutants.chosen(listed, ["inkmix/colour/monotone.py"])} == {
        "inkmix/colour/monotone.py"
    }
    with pytest.raises(mutants.ListError, match="colours"):
        mutants.chosen(listed, ["colours"])


def test_the_copy_is_as_it_was_afterwards(program):
    path = program / "limit.py"
    before = path.read_bytes(), path.stat().st_mtime_ns
    with mutants.mutated(_mutant(old="= 3", new="= 4"), program):
        assert path.read_text(encoding="utf-8") == "# less than\nLIMIT = 4\n"
        # Bytecode of the file as it was would pass for that of the mutant, which is as long.
        assert int(path.stat().st_mtime) != before[1] // 10**9
    assert (path.read_bytes(), path.stat().st_mtime_ns) == before


@pytest.mark.long
@pytest.mark.parametrize(
    ("changed", "result"),
    [
        ({"old": "= 3", "new": "= 4"}, CAUGHT),
        ({}, SURVIVED),
        ({"equivalent": "a comment"}, EQUIVALENT),
        ({"old": "= 3", "new": "= 4", "equivalent": "a comment"}, NOTICED),
        ({"old": "= 3", "new": "= = 3"}, STALE),  # cannot be imported
        ({"tests": ("test_limit.py::test_gone",)}, STALE),
    ],
)
def test_what_becomes_of_a_mutant(program, changed, result):
    assert mutants.attempt(_mutant(**changed), program, seconds=60.0) == result


@pytest.mark.long
def test_a_mutant_without_end_is_caught(program):
    endless = _mutant(old="LIMIT = 3", new="def __getattr__(name):\n    while True: pass")
    assert mutants.attempt(endless, program, seconds=3.0) == CAUGHT


@pytest.mark.long
def test_ten_mutants_are_caught_by_tests_that_pass_without():
    sample = [mutant for mutant in mutants.read_lists() if mutant.why in SAMPLE]
    assert len(sample) == len(SAMPLE)
    results = {mutant.why: result for mutant, result in mutants.try_all(sample, workers=1)}
    assert results == dict.fromkeys(SAMPLE, CAUGHT)


@pytest.mark.parametrize(
    ("results", "code"),
    [
        ([CAUGHT] * 19 + [SURVIVED], 0),
        ([CAUGHT] * 18 + [SURVIVED], 1),
        ([CAUGHT, EQUIVALENT], 0),
        ([CAUGHT] * 99 + [NOTICED], 1),
        ([CAUGHT] * 99 + [STALE], 2),
    ],
)
def test_nineteen_of_twenty_have_to_be_caught(results, code):
    assert mutants.exit_code(results) == code
