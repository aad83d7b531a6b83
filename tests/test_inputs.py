"""Files that somebody names: what is no plain file is refused before it is opened."""

import os
import socket
import threading
from pathlib import Path

import pytest

from inkmix.base.inputs import opened_input, read_input, special_kind


@pytest.fixture
def special(tmp_path: Path) -> dict[str, Path]:
    """A device, a pipe and a socket."""
    pipe, plug = tmp_path / "pipe", tmp_path / "plug"
    os.mkfifo(pipe)
    with socket.socket(socket.AF_UNIX) as server:
        server.bind(str(plug))
    return {"a device": Path("/dev/zero"), "a pipe": pipe, "a socket": plug}


def test_what_is_no_file_is_named_and_never_opened(
    special: dict[str, Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    def opened(*_: object) -> int:
        raise AssertionError("was opened")

    monkeypatch.setattr(os, "open", opened)
    for kind, path in special.items():
        assert special_kind(path) == kind
        with pytest.raises(OSError, match=f"{kind}, not a file"), opened_input(path):
            pass


def test_a_pipe_that_takes_the_place_of_a_file_is_not_waited_for(
    special: dict[str, Path], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    file = tmp_path / "file"
    file.write_bytes(b"ink")
    was = file.stat()
    file.unlink()
    os.mkfifo(file)
    monkeypatch.setattr(Path, "stat", lambda self, **_: was)
    said: list[str] = []

    def read() -> None:
        try:
            read_input(file, most_bytes=9)
        except OSError as error:
            said.append(str(error.strerror))

    reading = threading.Thread(target=read, daemon=True)
    reading.start()
    reading.join(5)
    assert said == ["a pipe, not a file"]


def test_a_file_is_read_up_to_the_bound(tmp_path: Path) -> None:
    file = tmp_path / "file"
    file.write_bytes(b"x" * 3000)
    assert read_input(file, most_bytes=3000) == b"x" * 3000
    with pytest.raises(OSError, match="larger than 3 kB"):
        read_input(file, most_bytes=2999)


def test_files_folders_and_nothing_are_not_special(tmp_path: Path) -> None:
    for path in (Path(__file__), tmp_path, tmp_path / "absent", Path("a\0b")):
        assert special_kind(path) is None
