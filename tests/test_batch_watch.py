"""`inkmix batch --watch`: a real run beside the test, seen through what it writes."""

import io
import json
import os
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np
import pytest
from drawn_book import BOOK, NIGHT, PPI, command, draw_book, plate_of, plates
from PIL import Image
from plate_files import write_tiff
from schemas import refuse_unlike

from inkmix.batch.document import batch_schema
from inkmix.batch.watch import look
from inkmix.jobs.books import read_book
from inkmix.jobs.check import check_spread
from inkmix.jobs.printing.preview import preview_spread

PATIENCE_S = 120


@contextmanager
def watched(folder: Path, *options: str) -> Iterator[subprocess.Popen[bytes]]:
    """A run that goes on, ended as a person would."""
    with (folder.parent / "said").open("w") as said:
        run = subprocess.Popen(
            [
                sys.executable,
                "-m",
                "inkmix",
                "batch",
                folder,
                "--engine=threads",
                "--watch",
                *options,
            ],
            stderr=said,
        )
    try:
        yield run
    finally:
        run.send_signal(signal.SIGINT)
        run.wait(timeout=PATIENCE_S)


def data(folder: Path) -> dict:
    return json.loads((folder / "reports" / "batch.json").read_text(encoding="utf-8"))


def states(folder: Path) -> dict[str, str]:
    return {row["name"]: row["state"] for row in data(folder)["rows"]}


def wait_for(what: Callable[[], bool]) -> None:
    until = time.monotonic() + PATIENCE_S
    while True:
        try:
            if what():
                return
        except OSError:
            pass
        assert time.monotonic() < until, "it never came"
        time.sleep(0.02)


def wait_for_states(folder: Path, **expected: str) -> None:
    wait_for(lambda: data(folder)["complete"] and states(folder) == expected)


def too_much_ink(folder: Path, spread: str) -> None:
    numbers = np.zeros_like(plates()["Rowan"])
    write_tiff(plate_of(folder, "Rowan", spread), numbers, PPI)


@pytest.mark.skipif(os.name != "posix", reason="ended by a signal of POSIX")
def test_a_watched_book(tmp_path):
    folder = draw_book(tmp_path / "book", BOOK + NIGHT, spreads=("a", "b"))
    with watched(folder, "--again") as run:  # which is meant once
        wait_for_states(folder, a="pass", b="pass")
        untouched = (folder / "reports" / "b" / "kept.json").stat().st_mtime_ns

        too_much_ink(folder, "a")
        wait_for_states(folder, a="fail", b="pass")
        assert (folder / "reports" / "b" / "kept.json").stat().st_mtime_ns == untouched

        (folder / "book.toml").write_text("format = 1\n")
        wait_for(lambda: data(folder)["refused"])
        assert run.poll() is None, "a book that is wrong for a while ends nothing"
        assert (data(folder)["exit_code"], states(folder)) == (2, {"a": "fail", "b": "pass"})
        page = (folder / "reports" / "index.html").read_text(encoding="utf-8")
        assert "This page shows how it stood before" in page
        refuse_unlike(batch_schema, data(folder))
        (folder / "book.toml").write_text((BOOK + NIGHT).replace("260", "400"))
        wait_for_states(folder, a="pass", b="pass")
        assert data(folder)["refused"] == []

        shutil.copytree(folder / "plates" / "b", folder / "plates" / "c")
        wait_for_states(folder, a="pass", b="pass", c="pass")
        shutil.rmtree(folder / "plates" / "a")
        wait_for_states(folder, b="pass", c="pass")
        assert data(folder)["watched"]
        run.send_signal(signal.SIGINT)
        assert run.wait(timeout=PATIENCE_S) == 130
    said = (tmp_path / "said").read_text()
    assert "Traceback" not in said
    assert "book.toml" in said
    assert said.endswith("inkmix: interrupted; nothing half-written is left behind\n")
    assert not list(folder.rglob("*.inkmix-part"))


def test_news_of_a_watch_are_since_the_run_before_it(tmp_path):
    folder = draw_book(tmp_path / "book", BOOK, spreads=("a",))
    with watched(folder):
        wait_for_states(folder, a="pass")
    with watched(folder):
        wait_for(lambda: data(folder)["compared"])
        for _ in range(2):
            too_much_ink(folder, "a")
            wait_for_states(folder, a="fail")
            assert data(folder)["rows"][0]["findings"][0]["is_new"]


def test_a_look_sees_every_change_of_what_counts(tmp_path):
    folder = draw_book(tmp_path / "book", BOOK + NIGHT, spreads=("a", "b"))
    path = folder / "book.toml"
    first = look(path)
    assert look(path).is_same(first)
    (folder / "note.txt").write_text("nobody's")
    assert look(path).is_same(first)
    for change in (
        lambda: too_much_ink(folder, "a"),
        lambda: os.utime(folder / "masks" / "cellar.png", ns=(1, 1)),
        lambda: plate_of(folder, "Soot", "b").unlink(),
        lambda: path.write_text(BOOK),
        lambda: path.unlink(),
    ):
        before = look(path)
        change()
        assert not look(path).is_same(before)
    assert look(path).faults


def test_data_of_a_watch_are_asked_of_its_file(tmp_path, capfd):
    ran = command(capfd, "batch", draw_book(tmp_path / "book"), "--watch", "--json")
    assert (ran.code, ran.out) == (2, "")
    assert "read batch.json" in ran.err


@pytest.mark.parametrize("longest_px", [360, 236, 100, 33, 1])
def test_a_preview_is_the_print_seen_at_some_pixels(longest_px, tmp_path):
    folder = draw_book(tmp_path / "book", BOOK + NIGHT)
    book = read_book(folder)
    whole = preview_spread(book, "front", longest_px=10_000)
    step = -(-236 // longest_px)
    small = preview_spread(book, "front", longest_px=longest_px)
    np.testing.assert_array_equal(small, whole[::step, ::step])


def test_a_preview_has_the_colours_of_the_check(tmp_path):
    folder = draw_book(tmp_path / "book", BOOK + NIGHT)
    book = read_book(folder)
    printed = Image.open(io.BytesIO(check_spread(book, "front").pictures["print"]))
    whole = preview_spread(book, "front", longest_px=10_000)
    assert whole.shape[:2] == printed.size[::-1]
    off = np.abs(np.asarray(printed).astype(int) - whole)  # JPEG, so a few steps
    assert off.mean() < 2
