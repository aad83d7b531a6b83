"""What happens to a run at a bad moment: plates that fail half way, full disks, signals, two runs.

Always the same is asked: one clear message, the right exit code, inputs untouched, outputs whole or
absent, and a next run that finds nothing in its way.
"""

import importlib
import json
import os
import random
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import suppress
from hashlib import sha256
from pathlib import Path

import numpy as np
import pytest
import tifffile
from drawn_book import (
    BOOK,
    DARK_ENOUGH,
    INKS,
    NIGHT,
    PPI,
    command,
    digests,
    draw_book,
    plate_of,
    untouched,
)
from plate_files import write_png, write_tiff

import inkmix.plates.files.raster
import inkmix.plates.set
from inkmix.base.atomic_files import BusyError, aside_of, clear_dead, part_of
from inkmix.base.errors import OutputError
from inkmix.base.ordered_threads import MAX_THREADS
from inkmix.base.output_files import Output, opened_together

ROOT = Path(__file__).parents[1]
WIDTH_PX, HEIGHT_PX = 236, 157
STRIP_ROWS = 4
BAD_STRIP = 25
RUNS = {
    "check": ("check", "{}", "--to", "{}/out"),
    "check --picture": ("check", "{}", "--to", "{}/out", "--picture", "{}/out/print.tif"),
    "predict --each": ("predict", "{}", "--each", "--to", "{}/out/print.png"),
    "predict --pair": ("predict", "{}", "--pair", "--to", "{}/out/print.tif"),
}
ALL_RUNS = pytest.mark.parametrize("arguments", RUNS.values(), ids=RUNS)

posix = pytest.mark.skipif(os.name != "posix", reason="signals are a thing of POSIX")


def given(arguments: tuple[str, ...], folder: Path) -> list[str]:
    return [argument.format(folder) for argument in arguments]


def grain(seed: int) -> np.ndarray:
    """Numbers that no packing makes small."""
    rng = np.random.default_rng(seed)
    return rng.integers(90, 256, (HEIGHT_PX, WIDTH_PX)).astype(np.uint8)


@pytest.fixture
def book(tmp_path: Path) -> Path:
    return draw_book(tmp_path / "book", BOOK + NIGHT)


@pytest.fixture
def many_windows(monkeypatch: pytest.MonkeyPatch) -> None:
    """Windows of some rows, so that threads have several of them at once."""
    for module in (inkmix.plates.files.raster, inkmix.plates.set):
        monkeypatch.setattr(module, "MAX_WINDOW_PX", 8 * WIDTH_PX)
    monkeypatch.setattr("inkmix.base.ordered_threads.thread_count", lambda: MAX_THREADS)


def grainy(book: Path, *, compression: str | None = "lzw") -> Path:
    """The plates of a book in many strips; that of Fjord."""
    for seed, ink in enumerate(INKS):
        options = {"compression": compression, "rowsperstrip": STRIP_ROWS}
        write_tiff(plate_of(book, ink), grain(seed), PPI, **options)
    return plate_of(book, "Fjord")


# --- plates whose data are spoiled half way ------------------------------------------------------


def place_of(path: Path) -> tuple[int, int, int]:
    """Of the bad strip: where it lies, its length, and where that is written."""
    with tifffile.TiffFile(path) as file:
        page = file.pages[0]
        size = 4 if page.tags[279].dtype == tifffile.DATATYPE.LONG else 2
        where = page.tags[279].valueoffset + size * BAD_STRIP
        return page.dataoffsets[BAD_STRIP], page.databytecounts[BAD_STRIP], where


def cut_off(path: Path) -> None:
    place, count, _ = place_of(path)
    os.truncate(path, place + count // 2)


def told_too_short(path: Path) -> None:
    _, count, where = place_of(path)
    overwrite(path, where, (count // 3).to_bytes(2, "little"))


def zeroed(path: Path) -> None:
    place, count, _ = place_of(path)
    overwrite(path, place + count // 4, bytes(count // 2))


def overwrite(path: Path, place: int, data: bytes) -> None:
    with path.open("r+b") as file:
        file.seek(place)
        file.write(data)


@pytest.mark.usefixtures("many_windows")
@pytest.mark.parametrize(
    ("spoil", "compression"),
    [(cut_off, "lzw"), (cut_off, None), (told_too_short, "lzw"), (zeroed, "lzw"), (zeroed, "zlib")],
)
@ALL_RUNS
def test_a_plate_that_is_spoiled_half_way(arguments, spoil, compression, book, capfd):
    spoil(grainy(book, compression=compression))
    with untouched(book):
        ran = command(capfd, *given(arguments, book))
    assert (ran.code, ran.out, len(ran.messages)) == (3, "", 1)
    assert "front/Fjord.tif: " in ran.messages[0]
    first, stop = (STRIP_ROWS * number for number in (BAD_STRIP, BAD_STRIP + 1))
    assert f"strip {BAD_STRIP + 1} (rows {first}-{stop - 1})" in ran.messages[0]


# --- plates that change while they are read ------------------------------------------------------


def replaced(path: Path) -> None:
    other = path.with_name("other")
    other.write_bytes(path.read_bytes())
    other.replace(path)


def rewritten(path: Path) -> None:
    path.write_bytes(path.read_bytes())


def lengthened(path: Path) -> None:
    """As a program does that is still writing."""
    with path.open("ab") as file:
        file.write(b"more")


@pytest.mark.usefixtures("many_windows")
@pytest.mark.parametrize("change", [replaced, rewritten, lengthened, Path.unlink])
@ALL_RUNS
def test_a_plate_that_changes_while_it_is_read(arguments, change, book, capfd, monkeypatch):
    plate = grainy(book)
    name = "inkmix.jobs.checking.gather.coloured_window"
    if arguments[0] == "predict":
        name = "inkmix.jobs.printing.predict.plate_reader"
    module, function = name.rsplit(".", 1)
    real = getattr(importlib.import_module(module), function)
    one = threading.Lock()  # windows of two threads come here

    def then_changed(*given):
        result = real(*given)
        with one, suppress(FileNotFoundError):
            change(plate)
        return result

    monkeypatch.setattr(name, then_changed)
    monkeypatch.setattr("inkmix.plates.files.snapshots.PAUSE_S", 0)
    before = digests(book).keys()
    ran = command(capfd, *given(arguments, book))
    assert (ran.code, ran.out, len(ran.messages)) == (3, "", 1)
    assert "front/Fjord.tif: " in ran.messages[0]
    gone = change is Path.unlink
    assert ("cannot be read any more" if gone else "was changed while it was read") in ran.err
    assert set(digests(book)) == before - ({"plates/front/Fjord.tif"} if gone else set())


# --- disks that fill -----------------------------------------------------------------------------


@pytest.fixture
def small_disk(tmp_path: Path, request: pytest.FixtureRequest) -> Iterator[Path]:
    """A real disk of so many bytes; Linux, and with the right to mount."""
    folder = tmp_path / "disk"
    folder.mkdir()
    line = ["mount", "-t", "tmpfs", "-o", f"size={request.param}", "tmpfs", str(folder)]
    try:
        done = subprocess.run(line, capture_output=True, check=False)
    except FileNotFoundError:
        pytest.skip("no mount on this system")
    if done.returncode:
        pytest.skip(f"mounting is not allowed: {done.stderr.decode()}")
    yield folder
    subprocess.run(["umount", "-l", str(folder)], check=True)  # scratch may still be open


def on_disk(size: str) -> pytest.MarkDecorator:
    return pytest.mark.parametrize("small_disk", [size], indirect=True)


@on_disk("32k")
@pytest.mark.usefixtures("many_windows")
@pytest.mark.parametrize("name", ["a.png", "a.tif"])
@pytest.mark.parametrize("more", [("--each",), ("--pair",), ()])
def test_a_disk_that_fills_with_pictures(name, more, small_disk, book, capfd):
    grainy(book)
    (small_disk / name).write_bytes(b"")
    with untouched(book), untouched(small_disk):
        ran = command(capfd, "predict", book, *more, "--to", small_disk / "deep" / name)
    assert (ran.code, len(ran.messages)) == (2, 1)
    place = "deep" if more else f"deep/{name}"  # several go together
    assert f"disk/{place}: cannot be written (No space left on device); check " in ran.err


@on_disk("100k")
@pytest.mark.usefixtures("many_windows")
def test_a_disk_that_fills_with_the_picture_of_a_check(small_disk, book, capfd):
    grainy(book)
    arguments = ("--to", small_disk / "report", "--picture", small_disk / "print.tif")
    with untouched(book), untouched(small_disk):
        ran = command(capfd, "check", book, *arguments)
    assert (ran.code, ran.out, len(ran.messages)) == (2, "", 1)
    assert "disk/print.tif: cannot be written (No space left on device)" in ran.err


@on_disk("1m")
def test_a_disk_that_fills_with_a_report(small_disk, book, capfd):
    """An older report and an older picture stay."""
    arguments = ("check", book, "--to", small_disk / "report")
    assert command(capfd, *arguments).code == 0
    filler = small_disk / "filler"
    with filler.open("wb", buffering=0) as file:
        count = os.statvfs(small_disk).f_bavail * os.statvfs(small_disk).f_frsize
        file.write(bytes(count - 8192))
    with untouched(book), untouched(small_disk):
        ran = command(capfd, *arguments)
        other = command(capfd, *arguments[:2], "--to", small_disk / "other" / "report")
    for one, name in ((ran, "disk/report"), (other, "disk/other/report")):
        assert (one.code, one.out, len(one.messages)) == (2, "", 1)
        assert f"{name}: cannot be written (No space left on device)" in one.err
    filler.unlink()
    assert command(capfd, *arguments).code == 0


@on_disk("8m")
@pytest.mark.parametrize("name", ["check", "predict"])
def test_a_disk_that_is_too_small_for_scratch(name, small_disk, book, capfd):
    """5 MB a plate, taken in the output folder before rows are unpacked."""
    for seed, ink in enumerate(INKS):
        large = np.tile(grain(seed), (14, 10))
        write_png(plate_of(book, ink).with_suffix(".png"), large, PPI)
        plate_of(book, ink).unlink()
    text = BOOK.replace("{ink}.tif", "{ink}.png").partition("[strip]")[0]
    (book / "book.toml").write_text(text)
    to = small_disk / ("print.tif" if name == "predict" else "report")
    with untouched(book), untouched(small_disk):
        ran = command(capfd, name, book, "--to", to)
    assert (ran.code, ran.out, len(ran.messages)) == (3, "", 1)
    assert ".png: needs 5 MB of scratch space in " in ran.err
    folder = "disk" if name == "predict" else "disk/report"
    assert f"{folder}/, but 3 MB are free; " in ran.err
    assert "free some, or choose another output folder" in ran.err


# --- signals -------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def undisturbed(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, str], float]:
    """A book with an output folder beside it, what a whole run leaves there, and its seconds."""
    folder = tmp_path_factory.mktemp("undisturbed")
    draw_book(folder / "book", BOOK + DARK_ENOUGH)
    grainy(folder / "book")
    took_s = []
    for _ in range(2):  # the first one fills the cache
        start = time.monotonic()
        with started(folder) as process:
            assert process.wait() in (0, 1)
        took_s.append(time.monotonic() - start)
    return folder, digests(folder), min(took_s)


def started(folder: Path) -> "subprocess.Popen[str]":
    """A check that writes a report and a picture, in a process of its own, quick to start."""
    out = folder / "out" / "deep"
    line = [sys.executable, "-m", "inkmix", "check", str(folder / "book")]
    line += ["--to", str(out), "--picture", str(out / "print.png")]
    return subprocess.Popen(
        line,
        stderr=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        cwd=ROOT,
        env={**os.environ, "INKMIX_LOOPS": "numpy"},
    )


def left(folder: Path, whole: dict[str, str]) -> set[str]:
    """Files that a run left beside what it should: halves and rests; what is whole is well."""
    found = digests(folder)
    assert {name for name in whole if name.startswith("book")} <= found.keys()
    return {
        name for name, digest in found.items() if digest != "folder" and whole.get(name) != digest
    }


def cleared(folder: Path) -> None:
    subprocess.run(["rm", "-rf", str(folder / "out")], check=True)


@posix
@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_a_signal_ends_a_run_at_once_and_clean(number, undisturbed):
    folder, whole, took_s = undisturbed
    moments = random.Random(7 + number)
    for _ in range(3):
        cleared(folder)
        with started(folder) as process:
            time.sleep(moments.uniform(0.2, 0.95) * took_s)
            process.send_signal(number)
            process.send_signal(number)
            at = time.monotonic()
            _, err = process.communicate()
        assert time.monotonic() - at < 1
        assert process.returncode in (128 + number, 0, 1)
        if process.returncode == 128 + number:
            assert err == "inkmix: interrupted; nothing half-written is left behind\n"
        assert left(folder, whole) == set()


@pytest.mark.long
@posix
def test_a_killed_run_leaves_nothing_that_the_next_one_does_not_clear(undisturbed):
    folder, whole, took_s = undisturbed
    moments = random.Random(5)
    for trial in range(4):
        cleared(folder)
        with started(folder) as process:
            if trial < 2:  # surely while a picture, or the report, is being written
                name = ("print.png", "report.json")[trial]
                wait_for(aside_of(folder / "out" / "deep" / name), process)
            else:
                time.sleep(moments.uniform(0.2, 1.0) * took_s)
            process.kill()
        rest = left(folder, whole)
        assert all(name.endswith(".inkmix-part") for name in rest), rest
        if rest or trial == 3:
            with started(folder) as process:
                assert process.wait() in (0, 1)
            assert digests(folder) == whole


def wait_for(path: Path, process: "subprocess.Popen[str]") -> None:
    while process.poll() is None and not path.exists():
        time.sleep(0.002)


_IN_A_LIBRARY = """
import signal, sys
from inkmix.base.shutdown import leave_at_signals, undone_when_left
leave_at_signals()
class Held:
    def __del__(self):  # an exception would be lost here
        signal.raise_signal(getattr(signal, sys.argv[1]))
with undone_when_left(lambda: print("undone", flush=True)):
    try:
        del [Held()][0]
    except BaseException:  # and swallowed here
        pass
    print("went on")
"""


@posix
@pytest.mark.parametrize("name", ["SIGINT", "SIGTERM", "SIGHUP"])
def test_no_library_can_swallow_a_signal(name):
    line = [sys.executable, "-c", _IN_A_LIBRARY, name]
    done = subprocess.run(line, capture_output=True, text=True, cwd=ROOT, check=False)
    assert (done.returncode, done.stdout) == (128 + getattr(signal, name), "undone\n")
    assert done.stderr == "inkmix: interrupted; nothing half-written is left behind\n"


_TOGETHER = """
import signal
from inkmix.base.shutdown import held_together, leave_at_signals
leave_at_signals()
with held_together():
    with held_together():
        signal.raise_signal(signal.SIGINT)
    print("both steps", flush=True)
print("went on")
"""


@posix
def test_a_signal_waits_for_steps_that_belong_together():
    done = subprocess.run(
        [sys.executable, "-c", _TOGETHER], capture_output=True, text=True, cwd=ROOT
    )
    assert (done.returncode, done.stdout) == (130, "both steps\n")


@posix
def test_a_signal_that_was_switched_off_stays_so():
    """As nohup and shells do it for what runs in the background."""
    program = (
        "import signal; signal.signal(signal.SIGHUP, signal.SIG_IGN)\n"
        "from inkmix.base.shutdown import leave_at_signals; leave_at_signals()\n"
        "signal.raise_signal(signal.SIGHUP); print('went on')"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, cwd=ROOT)
    assert (done.returncode, done.stdout) == (0, "went on\n")


# --- two runs, and what dead ones left -----------------------------------------------------------


def test_two_runs_into_one_folder(undisturbed):
    """Whoever is refused says why; what is there is whole and of one run."""
    folder, whole, _ = undisturbed
    cleared(folder)
    runs = [started(folder) for _ in range(2)]
    ends = [(run.communicate()[1], run.returncode) for run in runs]
    assert digests(folder) == whole
    refused = [err for err, code in ends if code == 2]
    assert len(refused) < 2
    for err in refused:
        assert "another run is writing here; wait for it, or choose another name" in err


def test_report_and_page_are_of_one_run(undisturbed):
    folder = undisturbed[0]
    out = folder / "out" / "deep"
    said = json.loads((out / "report.json").read_bytes())
    assert said["page"]["sha256"] == sha256((out / "report.html").read_bytes()).hexdigest()


def test_a_file_is_written_by_one_only(tmp_path):
    path = tmp_path / "print.png"
    output = Output(path=path, mark=b"x")
    with opened_together([output]) as (file,):
        with (
            pytest.raises(OutputError, match="another run is writing here"),
            opened_together([output]),
        ):
            pass
        file.write(b"xyz")
    assert path.read_bytes() == b"xyz"
    assert [file.name for file in tmp_path.iterdir()] == ["print.png"]


def test_an_error_of_another_file_is_not_blamed_on_the_one_that_is_written(tmp_path):
    missing = tmp_path / "plate.tif"
    output = Output(path=tmp_path / "a.png", mark=b"x")
    with pytest.raises(FileNotFoundError) as caught, opened_together([output]):
        missing.stat()
    assert caught.value.filename == str(missing)
    assert list(tmp_path.iterdir()) == []


def test_a_lock_passes_on_when_the_file_took_its_place(tmp_path):
    path = tmp_path / "print.png"
    with part_of(path) as first:
        with pytest.raises(BusyError), part_of(path):
            pass
        first.file.write(b"first")
        first.take_place()
        with part_of(path) as second:
            second.file.write(b"second")
            first.discard()
            second.take_place()
    assert path.read_bytes() == b"second"
    assert list(tmp_path.iterdir()) == [path]


def test_what_dead_runs_left_goes_and_nothing_else(tmp_path):
    foreign = [".print.png.part", "print.inkmix-part", ".notes.txt"]
    for name in (*foreign, ".print.png.inkmix-part", ".old.tif.inkmix-part"):
        (tmp_path / name).write_bytes(b"half")
    (tmp_path / ".link.inkmix-part").symlink_to(tmp_path / ".notes.txt")
    with part_of(tmp_path / "alive.png") as alive:
        clear_dead(tmp_path)
        left = {path.name for path in tmp_path.iterdir()}
    assert left == {*foreign, ".link.inkmix-part", alive.aside.name}


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="pipes with names are a thing of POSIX")
@pytest.mark.parametrize("kind", ["a pipe", "a pipe that is read", "a link", "a folder"])
def test_what_lies_in_the_way_and_is_no_file_is_named_and_never_waited_for(kind, tmp_path):
    path = tmp_path / "page.html"
    aside = aside_of(path)
    reader = None
    if kind == "a link":
        (tmp_path / "other.txt").write_text("mine")
        aside.symlink_to(tmp_path / "other.txt")
    elif kind == "a folder":
        aside.mkdir()
    else:
        os.mkfifo(aside)
        reader = os.open(aside, os.O_RDONLY | os.O_NONBLOCK) if "read" in kind else None
    said: list[str] = []

    def write() -> None:
        clear_dead(tmp_path)
        try:
            with part_of(path):
                said.append("written")
        except OSError as error:
            said.append(str(error.strerror))

    writing = threading.Thread(target=write, daemon=True)
    writing.start()
    writing.join(10)
    assert said == [".page.html.inkmix-part is in the way and is not a file; remove it"]
    assert aside.is_symlink() == (kind == "a link")
    if kind == "a link":
        assert (tmp_path / "other.txt").read_text() == "mine"
    if reader is not None:
        os.close(reader)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="pipes with names are a thing of POSIX")
@pytest.mark.parametrize(
    ("words", "aside"),
    [
        (("check",), "reports/{}/.report.html.inkmix-part"),
        (("batch", "--workers", "1"), "reports/.run.inkmix-part"),
        (("predict", "--to", "print.png"), ".print.png.inkmix-part"),
        (("inks", "--page", "inks.html"), ".inks.html.inkmix-part"),
        (("sheet", "--to", "sheet.svg"), ".sheet.svg.inkmix-part"),
    ],
)
def test_a_pipe_where_a_result_is_written_ends_a_command_in_words(
    words, aside, tmp_path, capfd, monkeypatch
):
    name, *options = words
    folder = draw_book(tmp_path / "book", BOOK)
    monkeypatch.chdir(folder)
    place = folder / aside.format(*(path.name for path in (folder / "plates").iterdir()))
    place.parent.mkdir(parents=True, exist_ok=True)
    os.mkfifo(place)
    ran = command(capfd, name, *([] if name == "inks" else [folder]), *options)
    assert ran.code in (2, 3)
    assert place.name in ran.err
    assert place.is_fifo()
