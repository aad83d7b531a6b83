"""Files that change while a command reads them: one whole answer, of before or of after, or none.

Every change is really made, by a thread of its own, when a reader comes back to a file for the
n-th time. The judge is a run that nobody disturbs: its report, byte for byte.
"""

import json
import os
import threading
import time
from collections.abc import Callable
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pytest
from drawn_book import (
    CGATS,
    DARK_ENOUGH,
    HEIGHT_PX,
    INKS,
    MEASURED,
    PPI,
    WIDTH_PX,
    batched,
    command,
    draw_book,
    plate_of,
)
from plate_files import write_tiff

import inkmix.plates.files.raster
import inkmix.plates.set
from inkmix.base import file_state as filestate
from inkmix.base.errors import ChangedFault, Fault, PassingFault, PlateError
from inkmix.base.inputs import read_input
from inkmix.jobs.books import read_book
from inkmix.jobs.check import check_spread
from inkmix.plates.files import snapshots, source
from inkmix.plates.files.snapshots import snapshot_of, while_at_rest

TEXT = (MEASURED + DARK_ENOUGH).replace(
    "cellar.png", "cellar.tif"
) + '\n[reference]\npicture = "wanted.tif"\n'
STRIP_ROWS = 40
SOURCES = {
    "plate": "plates/front/Fjord.tif",
    "mask": "masks/cellar.tif",
    "reference": "wanted.tif",
    "measurements": "rowan.txt",
}
UNDISTURBED: dict[str, tuple[bytes, int]] = {}
"""The report on the second state of each source; how often readers come to files for the first."""


def grain(seed: int, *channels: int) -> np.ndarray:
    rng = np.random.default_rng(seed)
    return rng.integers(90, 256, (HEIGHT_PX, WIDTH_PX, *channels)).astype(np.uint8)


def night(first_col: int) -> np.ndarray:
    mask = np.zeros((HEIGHT_PX, WIDTH_PX), np.uint8)
    mask[10:-10, first_col : first_col + 70] = 255
    return mask


def tiff_bytes(path: Path, pixels: np.ndarray) -> bytes:
    """A TIFF without compression: other pixels, same size."""
    options = {"photometric": "rgb"} if pixels.ndim == 3 else {}
    return write_tiff(path, pixels, PPI, rowsperstrip=STRIP_ROWS, **options).read_bytes()


def other_bytes(kind: str, folder: Path) -> bytes:
    """A second state of a source, of the size of the first."""
    path = folder / SOURCES[kind]
    first = path.read_bytes()
    if kind == "measurements":
        other = CGATS.replace("56.0 49.0 30.0", "50.0 44.0 28.0").encode()
    else:
        pixels = {"plate": grain(7), "mask": night(60), "reference": grain(8, 3)}[kind]
        other = tiff_bytes(path, pixels)
        path.write_bytes(first)
    assert len(other) == len(first)
    assert other != first
    return other


@pytest.fixture
def book(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A book whose every source is read in several windows, by one thread."""
    folder = draw_book(tmp_path / "book", TEXT)
    for seed, ink in enumerate(INKS):
        tiff_bytes(plate_of(folder, ink), grain(seed))
    tiff_bytes(folder / SOURCES["mask"], night(10))
    tiff_bytes(folder / SOURCES["reference"], grain(5, 3))
    for module in (inkmix.plates.files.raster, inkmix.plates.set):
        monkeypatch.setattr(module, "MAX_WINDOW_PX", STRIP_ROWS * WIDTH_PX)
    monkeypatch.setattr("inkmix.base.ordered_threads.thread_count", lambda: 1)
    monkeypatch.setattr(snapshots, "PAUSE_S", 0)
    return folder


@pytest.fixture
def rested(monkeypatch: pytest.MonkeyPatch) -> None:
    """Files count as long at rest: only their states are compared."""
    monkeypatch.setattr(filestate, "REST_S", -3600)


@pytest.fixture
def coarse(monkeypatch: pytest.MonkeyPatch) -> None:
    """A clock whose step hides every change of these tests, as one of 2 s may: bytes must tell."""
    really, step_ns = filestate.state_in, 10**12

    def state_in(status: os.stat_result) -> tuple[int, ...]:
        *where, changed, set_at = really(status)
        return *where, (changed // step_ns + 1) * step_ns, (set_at // step_ns + 1) * step_ns

    monkeypatch.setattr(filestate, "state_in", state_in)
    monkeypatch.setattr(source, "state_in", state_in)


@pytest.fixture(params=["rested", "coarse"])
def clock(request: pytest.FixtureRequest) -> str:
    request.getfixturevalue(request.param)
    return request.param


@dataclass
class Readers:
    """Counts how often readers come to a file, and changes something at some of these times."""

    change: Callable[[], object] = lambda: None
    at: Callable[[int], bool] = lambda count: False
    count: int = 0
    changes: list[int] = field(default_factory=list)

    @contextmanager
    def opened(self, path: Path):
        self.count += 1
        if self.at(self.count):
            self.changes.append(self.count)
            writer = threading.Thread(target=self.change)
            writer.start()
            writer.join()
        with inkmix.plates.files.raster.opened_file(path) as file:
            yield file


@pytest.fixture
def readers(monkeypatch: pytest.MonkeyPatch) -> Readers:
    readers = Readers()
    monkeypatch.setattr(source, "opened_file", readers.opened)
    return readers


def set_back(path: Path, data: bytes) -> None:
    """Written in place, its times as they were: what some tools do, and whoever means harm."""
    before = path.stat()
    with path.open("r+b") as file:
        file.write(data)
    os.utime(path, ns=(before.st_atime_ns, before.st_mtime_ns))
    after = path.stat()
    assert (after.st_size, after.st_mtime_ns) == (before.st_size, before.st_mtime_ns)


def checked(book: Path, to: str, capfd: pytest.CaptureFixture[str]) -> bytes:
    """The report of a check that could be made."""
    ran = command(capfd, "check", book, "--to", book.parent / to)
    assert ran.messages == []
    return (book.parent / to / "report.json").read_bytes()


@pytest.mark.parametrize("share", [0.0, 0.5, 1.0])
@pytest.mark.parametrize("kind", SOURCES)
def test_an_answer_is_never_of_two_states(kind, share, clock, book, readers, capfd):
    path = book / SOURCES[kind]
    first, other = path.read_bytes(), other_bytes(kind, book)
    if kind not in UNDISTURBED:
        before, opens = checked(book, "before", capfd), readers.count
        set_back(path, other)
        UNDISTURBED[kind] = checked(book, "after", capfd), opens
        set_back(path, first)
        assert UNDISTURBED[kind][0] != before
    after, opens = UNDISTURBED[kind]
    assert opens > 20
    readers.count, when = 0, max(1, round(share * opens))
    readers.at, readers.change = lambda count: count == when, lambda: set_back(path, other)
    assert checked(book, "disturbed", capfd) == after
    assert readers.changes == [when]


def touched(path: Path) -> None:
    os.utime(path)


def linked(path: Path) -> None:
    os.link(path, path.parents[2].parent / "link")  # beside the book: among the plates it is named


def copied_over(path: Path) -> None:
    """As a tool that brings folders in step does it."""
    twin = path.with_name("twin")
    twin.write_bytes(path.read_bytes())
    twin.replace(path)


def saved_again(path: Path) -> None:
    """Emptied, and filled with the same."""
    path.write_bytes(path.read_bytes())


@pytest.mark.parametrize(
    "change", [touched, linked, copied_over, saved_again, lambda path: path.chmod(0o640)]
)
def test_what_changes_no_byte_costs_one_more_try(change, book, rested, readers, capfd):
    path, before = book / SOURCES["plate"], checked(book, "before", capfd)
    late = readers.count // 2
    readers.count, readers.change = 0, lambda: change(path)
    readers.at = lambda count: not readers.changes and count > late
    assert checked(book, "disturbed", capfd) == before
    assert len(readers.changes) == 1


@pytest.mark.parametrize("name", ["picture", "predict", "pair", "batch", "palette"])
def test_every_command_tries_again(name, book, rested, readers, capfd):
    path, other = book / SOURCES["plate"], other_bytes("plate", book)
    first = path.read_bytes()

    def outcome(to: str) -> bytes | str:
        out = book.parent / to
        if name == "batch":
            return json.dumps(batched(book, capfd, "--again", "--to", out)["rows"][0]["checked"])
        arguments = {
            "picture": ("check", book, "--to", out, "--picture", out / "print.png"),
            "predict": ("predict", book, "--to", out / "print.png"),
            "pair": ("predict", book, "--pair", "--to", out / "print.png"),
            "palette": ("palette", book, "--choose", "1", "--json", "--to", out / "palettes.html"),
        }[name]
        ran = command(capfd, *arguments)
        assert (ran.messages, ran.code in (0, 1)) == ([], True)
        return ran.out if name == "palette" else (out / "print.png").read_bytes()

    set_back(path, other)
    after = outcome("after")
    set_back(path, first)
    before = outcome("before")
    assert name == "palette" or before != after
    late = 9 if name == "palette" else 2 * len(INKS) + 3
    readers.count, readers.change = 0, lambda: set_back(path, other)
    readers.at = lambda count: not readers.changes and count > late
    assert outcome("disturbed") == after
    assert len(readers.changes) == 1


@pytest.mark.parametrize(
    "arguments",
    [("check",), ("check", "--picture"), ("predict",), ("batch", "--engine", "threads")],
)
def test_what_never_rests_is_told_after_three_tries(arguments, book, rested, readers, capfd):
    path, out = book / SOURCES["plate"], book.parent / "out"
    if "--picture" in arguments:
        arguments = (*arguments, out / "print.png")
    readers.at, readers.change = lambda count: count % 12 == 0, lambda: touched(path)
    to = out / "print.png" if arguments[0] == "predict" else out
    ran = command(capfd, arguments[0], book, "--to", to, *arguments[1:])
    assert ran.code == 3
    found, expected = "was changed while it was read", "it must not change until the run is over"
    assert f"front/Fjord.tif: {found}, but {expected}" in ran.err
    assert len(readers.changes) == snapshots.TRIES
    assert not list(out.rglob("print.png"))
    assert not list(out.rglob("report.json"))


def test_no_picture_is_kept_of_plates_that_changed_after_their_last_window(book, rested):
    path, picture = book / SOURCES["plate"], book.parent / "print.png"

    def change(doing: str, share: float) -> None:
        if (doing, share) == ("computing what will print", 1.0):
            touched(path)

    with pytest.raises(PlateError, match="was changed while it was read"):
        check_spread(read_book(book), picture=picture, progress=change, tries=1)
    assert not picture.exists()


def test_where_no_time_of_change_is_told_bytes_are_compared(
    book, rested, readers, capfd, monkeypatch
):
    """As on Windows, where only size and time of content are left to compare."""
    really = filestate.state_in
    monkeypatch.setattr(filestate, "state_in", lambda status: (*really(status)[:4], 0))
    monkeypatch.setattr(source, "state_in", filestate.state_in)
    monkeypatch.setattr(filestate, "TELLS_CHANGES", False)
    path, other = book / SOURCES["plate"], other_bytes("plate", book)
    first = path.read_bytes()
    set_back(path, other)
    after = checked(book, "after", capfd)
    set_back(path, first)
    readers.count, readers.change = 0, lambda: set_back(path, other)
    readers.at = lambda count: count == 25
    assert checked(book, "disturbed", capfd) == after


# --- the parts -----------------------------------------------------------------------------------


def fault_of(files: snapshots.Snapshot) -> str:
    with pytest.raises(PlateError) as caught:
        files.check()
    return str(caught.value)


def test_files_at_rest_are_not_read(tmp_path, rested, monkeypatch):
    path = tmp_path / "file"
    path.write_bytes(b"one")
    monkeypatch.setattr(snapshots, "file_digest", None)
    snapshot_of([path, path]).check()


def test_other_bytes_in_the_same_state_are_a_change(tmp_path, monkeypatch):
    """As where a clock stands still between two changes."""
    path = tmp_path / "file"
    path.write_bytes(b"one")
    files, state = snapshot_of([path]), filestate.state_of(path)
    monkeypatch.setattr(snapshots, "state_of", lambda _: state)
    files.check()
    path.write_bytes(b"two")
    assert "file: was changed while it was read" in fault_of(files)


def test_a_file_that_cannot_be_compared_hides_no_other(tmp_path, monkeypatch):
    paths = [tmp_path / name for name in ("changed", "closed", "gone")]
    for path in paths:
        path.write_bytes(b"one")
    files, really = snapshot_of(paths), snapshots.input_digest

    def input_digest(path: Path) -> str:
        if path.name == "closed":
            raise PermissionError(13, "Permission denied")
        return really(path)

    monkeypatch.setattr(snapshots, "input_digest", input_digest)
    paths[0].write_bytes(b"and two")
    paths[2].unlink()
    told = fault_of(files)
    assert "changed: was changed while it was read" in told
    assert "closed: cannot be read any more (Permission denied)" in told
    assert "gone: cannot be read any more (No such file or directory)" in told


def test_a_file_that_goes_or_comes(tmp_path):
    there, missing = tmp_path / "there", tmp_path / "missing"
    there.write_bytes(b"one")
    files = snapshot_of([there, missing])
    files.check()
    there.unlink()
    assert "there: cannot be read any more (No such file or directory)" in fault_of(files)
    missing.write_bytes(b"two")
    assert "missing: was changed while it was read" in fault_of(files)


def test_damage_that_is_a_change_is_told_as_such(tmp_path):
    path = tmp_path / "file"
    path.write_bytes(b"one")

    def read(*, change: bytes) -> None:
        with snapshot_of([path]).held():
            path.write_bytes(change) if change else None
            raise PlateError(Fault(where="file", found="is damaged"))

    with pytest.raises(PlateError, match="is damaged"):
        read(change=b"")
    with pytest.raises(PlateError, match="was changed"):
        read(change=b"two")


@pytest.mark.parametrize(
    ("fault", "tries"),
    [(ChangedFault, 3), (PassingFault, 1), (Fault, 1)],
    ids=["changed", "passing", "damage"],
)
def test_only_a_change_is_tried_again(fault, tries, monkeypatch):
    slept, done = [], []
    monkeypatch.setattr(time, "sleep", slept.append)

    def work() -> None:
        done.append(1)
        raise PlateError(fault(where="file", found="..."))

    with pytest.raises(PlateError):
        while_at_rest(work)
    assert (len(done), slept) == (tries, [0.5] * (tries - 1))


def test_a_file_that_is_read_whole_is_read_in_one_state(tmp_path, monkeypatch):
    """A book that an editor is just writing."""
    path, really, changes = tmp_path / "book.toml", filestate.state_in, []
    path.write_bytes(b"one")

    def state_in(status: os.stat_result) -> tuple[int, ...]:
        changes.append(1)
        return (*really(status), len(changes) if len(changes) < limit else 0)

    monkeypatch.setattr("inkmix.base.inputs.state_in", state_in)
    limit = 3
    assert read_input(path, most_bytes=9) == b"one"
    assert len(changes) == 4
    limit = 5  # at rest only in the third try
    changes.clear()
    assert read_input(path, most_bytes=9) == b"one"
    assert len(changes) == 6
    limit = 7  # one more would do
    changes.clear()
    with pytest.raises(OSError, match="changes while it is read"):
        read_input(path, most_bytes=9)
