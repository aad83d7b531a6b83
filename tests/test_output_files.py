"""Files that leave the program: all of a set or none, and nothing of anybody else's."""

import errno
import os
from pathlib import Path
from threading import Timer

import pytest

from inkmix.base import output_files
from inkmix.base.atomic_files import Part, part_of
from inkmix.base.errors import OutputError
from inkmix.base.output_files import Output, held, opened_together, refuse_outputs, write_together

MARK = b"ours"
NAMES = ("page.html", "deep/er/data.json", "table.csv")


def outputs(folder: Path, mark: bytes = MARK) -> list[Output]:
    return [Output(path=folder / name, mark=mark) for name in NAMES]


def files(folder: Path) -> dict[str, bytes]:
    paths = (path for path in folder.rglob("*") if path.is_file())
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in paths}


def write(folder: Path, data: bytes, mark: bytes = MARK, **options: object) -> None:
    write_together(dict.fromkeys(outputs(folder, mark), data), **options)


def test_nothing_to_write_makes_nothing(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    write_together({})
    assert files(tmp_path) == {}


def test_a_path_given_twice_is_said_so(tmp_path):
    twice = (Output(path=tmp_path / "a.csv"), Output(path=tmp_path / "a.csv", mark=MARK))
    with pytest.raises(OutputError, match=r"a\.csv: is to be written twice; give each file"):
        write_together(dict.fromkeys(twice, b"ours"))
    assert files(tmp_path) == {}


def test_all_take_their_names_at_the_end_and_replace_older_ones(tmp_path):
    write(tmp_path, b"ours 1")
    with opened_together(outputs(tmp_path)) as opened:
        for file in opened:
            file.write(b"ours 2")
        assert {files(tmp_path)[name] for name in NAMES} == {b"ours 1"}
    assert files(tmp_path) == dict.fromkeys(NAMES, b"ours 2")


def test_what_does_not_belong_to_the_new_ones_goes_with_the_old(tmp_path):
    write(tmp_path, b"ours")
    page, _, table = outputs(tmp_path)
    write_together({page: b"ours"}, gone=[table])
    assert set(files(tmp_path)) == {"page.html", "deep/er/data.json"}
    table.path.write_bytes(b"somebody's")
    with pytest.raises(OutputError, match="not written by inkmix"):
        write_together({page: b"ours"}, gone=[table])
    assert files(tmp_path)["table.csv"] == b"somebody's"


@pytest.mark.parametrize(
    ("mark", "step", "failing"),
    [
        (MARK, "flush", "table.csv"),
        (MARK, "take_place", "page.html"),  # the first: older ones are replaced one by one
        (b"", "flush", "table.csv"),
        (b"", "take_free_place", "table.csv"),  # the last: new ones that have their names go again
    ],
)
def test_one_that_fails_leaves_all_as_it_was(mark, step, failing, tmp_path, monkeypatch):
    if mark:
        write(tmp_path, b"ours, older")
    before, real = files(tmp_path), getattr(Part, step)

    def full(part):
        if part.path == tmp_path / failing:
            raise OSError(errno.ENOSPC, "No space left on device")
        real(part)

    monkeypatch.setattr(Part, step, full)
    with pytest.raises(OutputError, match="cannot be written \\(No space left on device\\)"):
        write(tmp_path, b"ours", mark)
    assert files(tmp_path) == before
    assert (tmp_path / "deep").exists() == bool(mark)


def test_a_new_file_never_replaces_what_came_meanwhile(tmp_path):
    path = tmp_path / "book.toml"
    with pytest.raises(OutputError, match="File exists"), opened_together([Output(path=path)]):
        path.write_bytes(b"somebody's")
    assert files(tmp_path) == {"book.toml": b"somebody's"}


def test_a_disk_without_second_names_holds_new_files_too(tmp_path, monkeypatch):
    def refused(*_: object) -> None:
        raise OSError(errno.EPERM, "Operation not permitted")

    monkeypatch.setattr(os, "link", refused)
    write(tmp_path, b"new", b"")
    assert files(tmp_path) == dict.fromkeys(NAMES, b"new")
    with part_of(tmp_path / "page.html") as part, pytest.raises(OSError, match="not permitted"):
        part.take_free_place()
    assert files(tmp_path) == dict.fromkeys(NAMES, b"new")


def test_all_that_is_in_the_way_is_told_at_once(tmp_path):
    (tmp_path / "page.html").write_bytes(b"somebody's")
    (tmp_path / "deep").write_bytes(b"a file")
    (tmp_path / "table.csv").mkdir()
    for refuse in (refuse_outputs, lambda all_: write_together(dict.fromkeys(all_, MARK))):
        with pytest.raises(OutputError) as caught:
            refuse(outputs(tmp_path))
        assert [(fault.where, fault.found) for fault in caught.value.faults] == [
            (str(tmp_path / "page.html"), "already exists and was not written by inkmix"),
            (str(tmp_path / "deep"), "is a file"),
            (str(tmp_path / "table.csv"), "is a folder"),
        ]


@pytest.mark.parametrize(
    ("data", "mark", "is_refused"),
    [
        (b"ours, from before", MARK, False),
        (b"", MARK, False),
        (bytes(output_files.HEAD_BYTES - len(MARK)) + MARK, MARK, False),
        (bytes(output_files.HEAD_BYTES - len(MARK) + 1) + MARK, MARK, True),
        (b"somebody's", MARK, True),
        (b"", b"", True),
    ],
)
def test_a_file_is_known_by_the_mark_in_its_first_bytes(data, mark, is_refused, tmp_path):
    path = tmp_path / "page.html"
    path.write_bytes(data)
    if is_refused:
        with pytest.raises(OutputError, match="already exists"):
            refuse_outputs([Output(path=path, mark=mark)])
    else:
        refuse_outputs([Output(path=path, mark=mark)])


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="pipes with names are a thing of POSIX")
def test_a_pipe_is_no_place_for_a_file(tmp_path):
    os.mkfifo(tmp_path / "page.html")
    for mark in (MARK, b""):
        with pytest.raises(OutputError, match="is a pipe, but a file is to be written"):
            refuse_outputs(outputs(tmp_path, mark))


def test_two_sets_are_never_mixed(tmp_path, monkeypatch):
    """Whoever has not all of them has none, and says where."""
    monkeypatch.setattr(output_files, "PATIENCE_S", 0.05)
    with part_of(tmp_path / "table.csv"):
        with pytest.raises(OutputError) as caught:
            write(tmp_path, b"ours")
        assert [path.name for path in tmp_path.iterdir()] == [".table.csv.inkmix-part"]
    assert str(caught.value).startswith(f"{tmp_path}: another run is writing here; wait for it")


def test_a_run_that_writes_for_a_moment_is_waited_for(tmp_path):
    with part_of(tmp_path / "table.csv") as other:
        leaving = Timer(0.1, other.discard)
        leaving.start()
        write(tmp_path, b"ours")
        leaving.join()
    assert files(tmp_path) == dict.fromkeys(NAMES, b"ours")


def test_a_name_is_held_by_one_and_leaves_nothing(tmp_path):
    lock = tmp_path / "reports" / ".run"
    with held(lock):
        with pytest.raises(OutputError, match="reports: another run is writing here"), held(lock):
            pass
        with pytest.raises(FileNotFoundError):  # what goes wrong meanwhile is not its own
            (tmp_path / "nowhere").read_bytes()
    with held(lock):
        pass
    assert files(tmp_path) == {}
