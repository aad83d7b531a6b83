"""Files that are being written: what others see of them, and what failures leave."""

import pytest

from inkmix.base.atomic_files import BusyError, aside_of, clear_dead, folder_for, part_of


def test_a_file_takes_its_name_whole(tmp_path):
    path = tmp_path / "page.html"
    path.write_bytes(b"older")
    with part_of(path) as part:
        part.file.write(b"new")
        part.flush()
        assert path.read_bytes() == b"older"
        part.take_place()
    assert path.read_bytes() == b"new"
    assert list(tmp_path.iterdir()) == [path]


def test_what_did_not_take_its_place_is_gone(tmp_path):
    path = tmp_path / "page.html"
    path.write_bytes(b"older")
    with part_of(path) as part:
        part.file.write(b"half a pa")
    assert (path.read_bytes(), list(tmp_path.iterdir())) == (b"older", [path])


def test_what_a_living_run_writes_is_left_alone(tmp_path):
    path = tmp_path / "page.html"
    dead = aside_of(tmp_path / "other.html")
    dead.write_bytes(b"left by a run that was killed")
    with part_of(path) as part:
        part.file.write(b"mine")
        part.flush()
        clear_dead(tmp_path)
        with pytest.raises(BusyError), part_of(path):
            pass
        assert aside_of(path).read_bytes() == b"mine"
        part.take_place()
    assert path.read_bytes() == b"mine"
    assert not dead.exists()


def test_folders_made_for_a_file_go_again_where_it_fails_and_no_others(tmp_path):
    there = tmp_path / "there"
    there.mkdir()
    with pytest.raises(FileNotFoundError), folder_for(there / "new" / "newer" / "page.html"):
        (there / "new" / "newer" / "page.html").read_bytes()  # fails as writing may
    assert list(tmp_path.rglob("*")) == [there]
    with folder_for(there / "kept" / "page.html"):
        pass
    assert (there / "kept").is_dir()
