"""The user's cache: where it is, and that several programs may use it at once."""

import os
import subprocess
import sys

import pytest

import inkmix.base.cache as cache_module
from inkmix.base.atomic_files import part_of
from inkmix.base.cache import cache_folder, mark_used, private_folder, read_own_file, write_file

ROOM = 10**9


def test_an_unexpanded_home_is_no_folder(monkeypatch):
    monkeypatch.delenv("INKMIX_CACHE", raising=False)
    monkeypatch.setattr(cache_module.platformdirs, "user_cache_dir", lambda *_, **__: "~/.cache/i")
    with pytest.raises(OSError, match="no home"):
        cache_folder("tables")


def test_the_folder_is_the_users_cache(monkeypatch, tmp_path):
    monkeypatch.delenv("INKMIX_CACHE", raising=False)
    monkeypatch.setattr(cache_module.platformdirs, "user_cache_dir", lambda *_, **__: tmp_path)
    assert cache_folder("tables") == tmp_path / "tables"


@pytest.mark.skipif(os.name != "posix", reason="rights as POSIX has them")
def test_a_private_folder_is_for_its_owner_only(monkeypatch, tmp_path):
    """Whatever new files are open to by habit; rights that somebody widened are not believed."""
    monkeypatch.setenv("INKMIX_CACHE", str(tmp_path / "deep" / "cache"))
    habit = os.umask(0)
    try:
        folder = private_folder("loops")
    finally:
        os.umask(habit)
    assert folder.stat().st_mode & 0o777 == 0o700
    assert private_folder("loops") == folder == tmp_path / "deep" / "cache" / "loops"
    for rights in (0o702, 0o720, 0o770, 0o1777):
        folder.chmod(rights)
        with pytest.raises(PermissionError, match="others can write to it; delete it") as caught:
            private_folder("loops")
        assert caught.value.filename == str(folder)
    for rights in (0o701, 0o755):  # nobody else can have put anything there
        folder.chmod(rights)
        assert private_folder("loops").stat().st_mode & 0o777 == 0o700


needs_root = pytest.mark.skipif(
    os.name != "posix" or os.geteuid() != 0, reason="only root can give files away"
)
SOMEBODY = 65534


@needs_root
def test_a_folder_of_somebody_else_is_not_believed(monkeypatch, tmp_path):
    monkeypatch.setenv("INKMIX_CACHE", str(tmp_path))
    folder = private_folder("loops")
    os.chown(folder, SOMEBODY, -1)
    with pytest.raises(PermissionError, match="belongs to another user; set INKMIX_CACHE"):
        private_folder("loops")
    os.chown(folder, os.geteuid(), SOMEBODY)  # closed to its group
    assert private_folder("loops") == folder


@needs_root
def test_a_file_of_somebody_else_is_not_believed(tmp_path):
    path = tmp_path / "one.table"
    path.write_bytes(b"numbers")
    assert read_own_file(path) == b"numbers"
    os.chown(path, SOMEBODY, -1)
    with pytest.raises(PermissionError, match="belongs to another user") as caught:
        read_own_file(path)
    assert caught.value.filename == str(path)


def test_the_least_recently_used_go_first(tmp_path):
    for age, name in enumerate("abcd"):
        (tmp_path / f"{name}.table").write_bytes(bytes(100))
        os.utime(tmp_path / f"{name}.table", (1e9 - age, 1e9 - age))
    mark_used(tmp_path / "d.table")
    write_file(tmp_path / "e.table", bytes(50), most_bytes=250)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.table", "d.table", "e.table"]


def test_what_a_killed_run_left_goes_and_what_is_being_written_and_foreign_files_stay(tmp_path):
    for name in (".dead.table.inkmix-part", "notes.part", "notes.txt"):
        (tmp_path / name).write_text("")
    with part_of(tmp_path / "alive.table"):
        write_file(tmp_path / "new.table", bytes(50), most_bytes=ROOM)
        names = sorted(path.name for path in tmp_path.iterdir())
    assert names == [".alive.table.inkmix-part", "new.table", "notes.part", "notes.txt"]


WRITER = """
import sys
from pathlib import Path
from inkmix.base.cache import write_file
for _ in range(150):
    write_file(Path(sys.argv[1]), bytes([int(sys.argv[2])]) * 200_000, most_bytes=10**9)
"""


def test_several_programs_write_and_none_reads_a_mixture(tmp_path):
    path = tmp_path / "one.table"
    write_file(path, bytes(200_000), most_bytes=ROOM)
    writers = [
        subprocess.Popen([sys.executable, "-c", WRITER, str(path), str(number)])
        for number in (1, 2)
    ]
    seen = set()
    while any(writer.poll() is None for writer in writers):
        data = path.read_bytes()
        assert data == data[:1] * 200_000
        seen.add(data[0])
    assert [writer.returncode for writer in writers] == [0, 0]
    assert seen - {0}
    assert [file.name for file in tmp_path.iterdir()] == ["one.table"]
