"""How the index is written: whole or not at all, beside nobody else's files."""

import fcntl
import os
from dataclasses import replace

import pytest
from index_cases import all_pass, two_dozen, under_way

from inkmix.base import output_files
from inkmix.base.atomic_files import aside_of
from inkmix.base.errors import OutputError
from inkmix.pages.index.write import MARKS, refuse_index, write_index

WITHOUT_TONES = {name: mark for name, mark in MARKS.items() if name != "tones.csv"}
DOCUMENT = b'{\n "format": 1,\n "program": {\n  "name": "inkmix"\n }\n}\n'
LATER = DOCUMENT.replace(b"}\n}", b'},\n "later": true\n}')


def written(folder) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


@pytest.fixture
def folder(tmp_path):
    """A folder with the index of a run that ended."""
    write_index(two_dozen(), tmp_path / "reports", document=DOCUMENT)
    return tmp_path / "reports"


def test_all_files_are_written_and_each_carries_its_mark(folder):
    files = written(folder)
    assert set(files) == set(WITHOUT_TONES)
    assert files["batch.json"] == DOCUMENT
    for name, mark in WITHOUT_TONES.items():
        assert mark in files[name][:400]


def test_a_title_of_any_length_leaves_the_marks_in_place(tmp_path):
    long = replace(all_pass(), title="The Night Ferry " * 200)
    for _ in range(2):  # the second run has to know the files of the first
        write_index(long, tmp_path, document=DOCUMENT)


def test_a_run_that_is_not_complete_leaves_nothing_for_scripts(folder):
    write_index(under_way(), folder, document=LATER)
    assert set(written(folder)) == {"index.html", "batch.json"}
    assert written(folder)["batch.json"] == LATER
    write_index(two_dozen(), folder, document=DOCUMENT)
    assert set(written(folder)) == set(WITHOUT_TONES)


@pytest.mark.parametrize("name", MARKS)
def test_files_of_others_are_never_replaced(tmp_path, name):
    (tmp_path / name).write_bytes(b"spread,remark\r\n01,ask Ada\r\n")
    for result in (two_dozen(), under_way()):
        with pytest.raises(OutputError, match="not written by inkmix"):
            write_index(result, tmp_path, document=DOCUMENT)
    with pytest.raises(OutputError, match="move it away"):
        refuse_index(tmp_path)
    assert written(tmp_path) == {name: b"spread,remark\r\n01,ask Ada\r\n"}


def test_all_that_is_in_the_way_is_told_at_once(tmp_path):
    (tmp_path / "index.html").mkdir()
    (tmp_path / "junit.xml").write_text("<testsuites name='others'/>")
    with pytest.raises(OutputError) as caught:
        refuse_index(tmp_path)
    assert [fault.where for fault in caught.value.faults] == [
        str(tmp_path / "index.html"),
        str(tmp_path / "junit.xml"),
    ]


@pytest.mark.parametrize("call", range(1, 6))
def test_a_full_disk_changes_nothing(folder, monkeypatch, call):
    before, calls, fsync = written(folder), [], os.fsync

    def full(handle):
        calls.append(handle)
        if len(calls) == call:
            raise OSError(28, "No space left on device")
        fsync(handle)

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OutputError, match="No space left on device"):
        write_index(all_pass(), folder, document=LATER)
    assert written(folder) == before


def test_another_run_that_writes_is_told_and_left_alone(folder, monkeypatch):
    monkeypatch.setattr(output_files, "PATIENCE_S", 0.05)
    before, aside = written(folder), aside_of(folder / "spreads.csv")
    with aside.open("wb") as file:
        fcntl.flock(file.fileno(), fcntl.LOCK_EX)
        with pytest.raises(OutputError, match="another run is writing"):
            write_index(all_pass(), folder, document=LATER)
        assert aside.exists()
        aside.unlink()
    assert written(folder) == before


def test_what_a_killed_run_left_is_cleared(folder):
    aside_of(folder / "junit.xml").write_bytes(b"<tests")
    write_index(under_way(), folder, document=LATER)
    assert set(written(folder)) == {"index.html", "batch.json"}


def test_a_folder_that_cannot_be_is_refused_before_and_while_writing(tmp_path):
    (tmp_path / "file").write_text("")
    (tmp_path / "round").symlink_to(tmp_path / "round")
    for name in ("file", "file/below", "round", "round/below"):
        with pytest.raises(OutputError):
            write_index(all_pass(), tmp_path / name, document=DOCUMENT)
    for name in ("file", "file/below"):
        with pytest.raises(OutputError, match="is a file, but a folder is needed"):
            refuse_index(tmp_path / name)
    refuse_index(tmp_path / "not" / "yet")
    assert not (tmp_path / "not").exists()
