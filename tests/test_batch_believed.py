"""What a run believes of a folder of reports: what this user's runs wrote there, as written."""

import json
import os
import shutil
from hashlib import sha256
from pathlib import Path

import pytest
from drawn_book import BOOK, NIGHT, batched, changed, command, draw_book, plate_of, states

import inkmix.batch.run
from inkmix.batch.run import Wanted, run_batch
from inkmix.cli.main import run
from inkmix.jobs.books import read_book

SPREADS = ("1", "2")
TEXT = changed("ink_limit_pct = 260", "ink_limit_pct = 120", BOOK) + NIGHT  # all fail
FLIPS = 200  # of each file, spread over it
RECORD, DATA, PAGE = "1/kept.json", "1/report.json", "1/report.html"


@pytest.fixture
def cache(tmp_path, monkeypatch):
    """A cache of this test's own."""
    monkeypatch.setenv("INKMIX_CACHE", str(tmp_path / "cache"))
    return tmp_path / "cache"


@pytest.fixture
def book(tmp_path: Path, cache: Path) -> Path:
    return draw_book(tmp_path / "book", TEXT, spreads=SPREADS)


@pytest.fixture(scope="module")
def run_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A book, the reports of a run that found every spread to fail, and the cache of the run."""
    folder = tmp_path_factory.mktemp("run")
    draw_book(folder / "book", TEXT, spreads=SPREADS)
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("INKMIX_CACHE", str(folder / "cache"))
        assert run(["batch", str(folder / "book"), "--engine", "threads"]) == 1
    said = json.loads((folder / "book" / "reports" / "batch.json").read_bytes())
    assert states(said) == dict.fromkeys(SPREADS, "fail")
    return folder


@pytest.fixture
def to(run_once: Path, book: Path, cache: Path) -> Path:
    """The reports of that run, the book and the cache, copied for this test."""
    for copy in (book, cache):
        shutil.copytree(run_once / copy.name, copy, dirs_exist_ok=True)
    return book / "reports"


@pytest.fixture
def given_out(book: Path, monkeypatch: pytest.MonkeyPatch):
    """A run that only says which spreads it would have checked; the index is not written."""

    def names() -> list[str]:
        given: list[str] = []

        def each_done(crew, work, tasks, take) -> None:
            given.extend(task.found.name for task in tasks)

        monkeypatch.setattr(inkmix.batch.run, "each_done", each_done)
        nothing = {"crew": None, "show": lambda *_: None, "tell": lambda _: None}
        run_batch(read_book(book / "book.toml"), Wanted(to=book / "reports", **nothing))
        return given

    return names


def flipped(data: bytes, bit: int) -> bytes:
    spoilt = bytearray(data)
    spoilt[bit // 8] ^= 1 << bit % 8
    return bytes(spoilt)


def test_what_nobody_touched_is_believed(to, given_out):
    assert given_out() == []


@pytest.mark.parametrize("name", [RECORD, DATA, PAGE])
def test_no_flipped_bit_is_believed(name, to, given_out):
    path = to / name
    data = path.read_bytes()
    believed = []
    for k in range(FLIPS):
        bit = k * 8 * len(data) // FLIPS + k % 8
        path.write_bytes(flipped(data, bit))
        if given_out() != ["1"]:
            believed.append(bit)
    assert believed == []
    path.write_bytes(data)
    assert given_out() == []


@pytest.mark.parametrize("word", ["fail", "pass", "unsure", "no limit given", "not checked"])
@pytest.mark.parametrize("name", [RECORD, DATA, PAGE])
def test_no_edited_verdict_is_believed(name, word, to, given_out):
    path = to / name
    text = path.read_text(encoding="utf-8")
    others = [text.replace("fail", word), text.replace('"fail"', f'"{word}"', 1)]
    for edited in {*others, text + "\n"} - {text}:
        path.write_text(edited, encoding="utf-8")
        assert given_out() == ["1"]


def test_a_forged_answer_with_right_digests_is_not_believed(to, book, capfd):
    """Record, report and page agree with one another: only nobody here wrote them."""
    for name in (PAGE, DATA):
        path = to / name
        path.write_bytes(path.read_bytes().replace(b"fail", b"pass"))
    record = json.loads((to / RECORD).read_text().replace('"fail"', '"pass"'))
    record["findings"] = []
    record["report_sha256"] = sha256((to / PAGE).read_bytes()).hexdigest()
    record["data_sha256"] = sha256((to / DATA).read_bytes()).hexdigest()
    (to / RECORD).write_text(json.dumps(record, indent=1) + "\n")
    second = batched(book, capfd)
    assert states(second) == dict.fromkeys(SPREADS, "fail")
    assert (second["exit_code"], json.loads((to / RECORD).read_text())["verdict"]) == (1, "fail")
    assert 'failures="0"' not in (to / "junit.xml").read_text()


def test_the_record_of_another_spread_is_not_believed(to, given_out):
    shutil.copytree(to / "1", to / "2", dirs_exist_ok=True)
    assert given_out() == ["2"]


def test_reports_of_somebody_else_are_not_believed(to, given_out, cache):
    """As they come with a book; or the user's cache was cleared."""
    shutil.rmtree(cache)
    assert given_out() == list(SPREADS)


def test_a_book_that_moved_keeps_what_is_its_users_own(to, book, capfd):
    moved = book.rename(book.with_name("moved"))
    assert "unchanged since they were checked: 2 of 2" in batched(moved, capfd)["err"]


def test_a_record_that_is_a_pipe_is_not_waited_for(to, given_out):
    (to / RECORD).unlink()
    os.mkfifo(to / RECORD)
    assert given_out() == ["1"]


@pytest.mark.parametrize("kind", ["empty", "half", "not text"])
def test_a_spoilt_cache_makes_a_run_check_again(kind, to, given_out, cache):
    said = list(cache.glob("records/*/*.sha256"))
    assert len(said) == len(SPREADS)
    for path in said:
        data = {"empty": b"", "half": path.read_bytes()[:32], "not text": b"\xff" * 64}[kind]
        path.write_bytes(data)
    assert given_out() == list(SPREADS)


def test_no_spoilt_memory_of_files_makes_a_changed_book_pass(
    book, given_out, cache, capfd, monkeypatch
):
    """The digests of files are remembered too: damage there costs time, never an answer."""
    monkeypatch.setattr("inkmix.base.file_state.REST_S", -3600)  # the plates were drawn just now
    batched(book, capfd)
    (path,) = cache.glob("digests/*.json")
    text = path.read_text(encoding="ascii")
    plate = plate_of(book, "Fjord", "1")
    data = bytearray(plate.read_bytes())
    data[-1] ^= 255
    plate.write_bytes(data)
    for k in range(FLIPS // 4):
        bit = 8 * (k * len(text) * 4 // FLIPS) + k % 7
        path.write_bytes(flipped(text.encode("ascii"), bit))
        assert "1" in given_out()


# --- batch.json ----------------------------------------------------------------------------------


@pytest.fixture
def unreadable(book: Path, capfd: pytest.CaptureFixture[str]) -> Path:
    """The document of a run that could not read one spread."""
    os.truncate(plate_of(book, "Fjord", "2"), 300)
    assert states(batched(book, capfd)) == {"1": "fail", "2": "unreadable"}
    return book / "reports" / "batch.json"


def resealed(text: str) -> bytes:
    """A document as somebody writes it who knows how its digest is made."""
    body = text[: text.rindex(',\n "sha256"')] + "\n}\n"
    return body.replace(
        "\n}\n", f',\n "sha256": "{sha256(body.encode()).hexdigest()}"\n}}\n'
    ).encode()


def test_a_spread_that_cannot_be_read_is_not_tried_again(unreadable, given_out):
    assert given_out() == []


@pytest.mark.parametrize("is_forged", [False, True])
@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('"exit_code": 3', '"exit_code": 0'),
        ('"found": "', '"found": "wonderful '),
        ('"state": "unreadable"', '"state": "pass"'),
    ],
)
def test_no_edit_turns_what_cannot_be_read_into_anything_else(
    old, new, is_forged, unreadable, book, capfd
):
    text = unreadable.read_text(encoding="utf-8")
    assert old in text
    edited = text.replace(old, new)
    unreadable.write_bytes(resealed(edited) if is_forged else edited.encode())
    again = batched(book, capfd)
    row = again["rows"][1]
    assert (row["state"], row["exit_code"], again["exit_code"]) == ("unreadable", 3, 3)
    assert "wonderful" not in row["faults"][0]["found"]


def test_no_flipped_bit_of_the_document_is_compared_with(unreadable, given_out, book):
    data, seen = unreadable.read_bytes(), []
    for k in range(FLIPS // 4):
        bit = 8 * (k * len(data) * 4 // FLIPS) + k % 8
        unreadable.write_bytes(flipped(data, bit))
        if given_out() != ["2"]:
            seen.append(bit)
    assert seen == []


def test_that_the_document_was_changed_is_said_once(to, book, capfd):
    document = to / "batch.json"
    text = document.read_text(encoding="utf-8")
    document.write_text(text.replace('"check": "total ink"', '"check": "night"'))
    spoilt, after = batched(book, capfd), batched(book, capfd)
    words = "was changed since inkmix wrote it, so nothing could be compared with the last run"
    assert [words in " ".join(one["notes"]) for one in (spoilt, after)] == [True, False]
    assert [one["compared"] for one in (spoilt, after)] == [False, True]


def test_without_a_cache_every_run_checks(book, capfd, monkeypatch, tmp_path):
    (tmp_path / "file").write_text("")
    monkeypatch.setenv("INKMIX_CACHE", str(tmp_path / "file"))
    for _ in range(2):
        done = batched(book, capfd)
        assert states(done) == dict.fromkeys(SPREADS, "fail")
        assert "unchanged" not in done["err"]
    logged = command(capfd, "-v", "batch", book, "--engine", "threads")
    assert logged.code == 1


@pytest.mark.skipif(os.name != "posix", reason="rights as POSIX has them")
@pytest.mark.parametrize("kind", ["records", "digests"])
def test_a_cache_that_others_can_write_to_is_not_believed(kind, to, cache, given_out):
    folder = cache / kind
    assert folder.stat().st_mode & 0o077 == 0
    assert given_out() == []
    folder.chmod(0o777)
    if kind == "records":
        assert given_out() == list(SPREADS)
    else:  # the files themselves say what they are
        before = states_of_files(folder)
        assert given_out() == []
        assert states_of_files(folder) == before


def states_of_files(folder: Path) -> dict[Path, tuple[int, int]]:
    return {
        path: (path.stat().st_mtime_ns, path.stat().st_ino)
        for path in folder.rglob("*")
        if path.is_file()
    }
