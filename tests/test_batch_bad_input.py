"""`inkmix batch` on folders that are wrong, strange or go away: clear words, the rest unharmed."""

import json
import os
import shutil
import subprocess
import sys
import time
import unicodedata
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote_to_bytes

import pytest
from drawn_book import (
    BOOK,
    INKS,
    PPI,
    Ran,
    command,
    digests,
    draw_book,
    plate_of,
    plates,
    states,
    untouched,
)
from plate_files import write_tiff
from rights import drop_rights

from inkmix.base.output_files import held
from inkmix.batch.task import RUN_NAME

NAMES = (
    "two words",
    "Überfahrt",
    unicodedata.normalize("NFD", "Möwe"),
    'it\'s "quoted"',
    "two\nlines",
    "<img src=x onerror=alert(1)>",
    "a&amp;b",
    "index.html",
    "batch.json",
    "con",
    "#frag?ment%20",
    "-flag",
    "{braces}",
    os.fsdecode(b"latin\xff"),
)


def batched(folder: Path, capfd, *options: str | Path) -> tuple[Ran, dict]:
    """What a run says that ended, and its data."""
    ran = command(capfd, "batch", folder, "--engine", "threads", *options)
    return ran, json.loads((folder / "reports" / "batch.json").read_text(encoding="utf-8"))


def faults(document: dict, name: str) -> str:
    (row,) = [row for row in document["rows"] if row["name"] == name]
    return "\n".join(" ".join(fault.values()) for fault in row["faults"])


class Links(HTMLParser):
    """Targets of all links of a page, and its tags."""

    def __init__(self) -> None:
        super().__init__()
        self.targets: list[str] = []
        self.tags: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.targets += [value or "" for name, value in attrs if name == "href"]


# --- nothing to check ----------------------------------------------------------------------------


def test_a_book_without_plates(tmp_path, capfd):
    folder = draw_book(tmp_path / "book")
    shutil.rmtree(folder / "plates")
    with untouched(folder):
        ran = command(capfd, "batch", folder)
    assert ran.code == 3
    (message,) = ran.messages
    assert "no plate was found" in message
    assert "plates/{spread}/{ink}.tif" in message


def test_a_folder_without_a_book(tmp_path, capfd):
    with untouched(tmp_path):
        ran = command(capfd, "batch", tmp_path)
    assert ran.code == 2
    assert "there is not a book file" in ran.messages[0]


def test_a_wrong_book(tmp_path, capfd):
    folder = draw_book(tmp_path / "book", BOOK.replace("uncoated", "wet"))
    with untouched(folder):
        ran = command(capfd, "batch", folder)
    assert ran.code == 2
    assert "paper.class" in ran.messages[0]


# --- names ---------------------------------------------------------------------------------------


def test_names_that_are_strange(tmp_path, capfd):
    folder = draw_book(tmp_path / "book", spreads=NAMES)
    ran, document = batched(folder, capfd)
    assert ran.code == 0, ran.err
    assert set(states(document).values()) == {"pass"}
    assert len(document["rows"]) == len(NAMES)
    page = (folder / "reports" / "index.html").read_text(encoding="utf-8")
    links = Links()
    links.feed(page)
    reports = [link for link in links.targets if "report.html" in link]
    here = os.fsencode(folder / "reports")
    assert len(set(reports)) == len(NAMES)
    assert all(os.path.isfile(os.path.join(here, unquote_to_bytes(link))) for link in reports)
    assert links.tags.count("script") == 1, "the page's own"
    assert "<img src=x" not in page


def test_two_spreads_that_claim_one_name(tmp_path, capfd):
    folder = draw_book(tmp_path / "book", spreads=("1", "Night", "night"))
    ran, document = batched(folder, capfd)
    assert (ran.code, document["exit_code"]) == (3, 3)
    assert sorted(states(document).values()) == ["pass", "unreadable"]
    (name,) = [name for name, state in states(document).items() if state == "unreadable"]
    assert "2 folders claim this name" in faults(document, name)


def test_ten_thousand_files(tmp_path, capfd):
    folder = draw_book(tmp_path / "book", spreads=("1",))
    for number in range(2, 1002):
        (folder / "plates" / str(number)).mkdir()
        for ink in INKS:
            (folder / "plates" / str(number) / f"{ink}.tif").symlink_to("no-such-file")
    for number in range(7000):
        (folder / "plates" / "1" / f"note {number}.txt").touch()
    began = time.monotonic()
    ran, document = batched(folder, capfd)
    assert time.monotonic() - began < 60
    assert ran.code == 3
    assert len(ran.err.splitlines()) < 30, "the page has all of them"
    assert states(document).pop("1") == "pass"
    assert len(document["rows"]) == 1001
    assert "a link that leads nowhere" in faults(document, "1000")


# --- what cannot be read -------------------------------------------------------------------------


def test_a_loop_of_links(tmp_path, capfd):
    folder = draw_book(tmp_path / "book", spreads=("1", "2"))
    (folder / "plates" / "loop").symlink_to(folder / "plates")
    (folder / "plates" / "around").symlink_to("around")
    plate_of(folder, "Rowan", "2").unlink()
    plate_of(folder, "Rowan", "2").symlink_to("Rowan.tif")
    ran, document = batched(folder, capfd)
    assert ran.code == 3
    assert states(document)["1"] == "pass"
    assert states(document)["2"] == "unreadable"


@pytest.mark.skipif(os.name != "posix", reason="permission bits are a thing of POSIX")
def test_without_the_right_to_read(tmp_path):
    folder = draw_book(tmp_path / "book", spreads=("1", "2", "3"))
    plate_of(folder, "Fjord", "2").chmod(0)
    (folder / "plates" / "3").chmod(0)
    try:
        ran = subprocess.run(
            [sys.executable, "-m", "inkmix", "batch", folder, "--engine", "threads"],
            capture_output=True,
            text=True,
            preexec_fn=drop_rights,
        )
    finally:
        (folder / "plates" / "3").chmod(0o755)
    assert ran.returncode == 3, ran.stderr
    assert "Traceback" not in ran.stderr
    document = json.loads((folder / "reports" / "batch.json").read_text(encoding="utf-8"))
    assert states(document)["1"] == "pass"
    assert states(document)["2"] == "unreadable"
    assert "Permission denied" in faults(document, "2")
    assert "3" in ran.stderr, "a folder that nobody may look into is said"


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() != 0, reason="needs mount")
@pytest.mark.skipif(sys.platform != "linux", reason="tmpfs is a thing of Linux")
def test_a_network_folder_that_vanishes(tmp_path):
    folder = draw_book(tmp_path / "book", spreads=("0",))
    away = folder / "plates"
    shutil.rmtree(away)
    away.mkdir()
    if subprocess.run(["mount", "-t", "tmpfs", "none", away], capture_output=True).returncode:
        pytest.skip("mounting is not permitted here")
    try:
        for spread in range(1, 13):
            (away / str(spread)).mkdir()
            for ink, numbers in plates().items():
                write_tiff(plate_of(folder, ink, str(spread)), numbers, PPI)
        run = subprocess.Popen(
            [
                sys.executable,
                "-m",
                "inkmix",
                "batch",
                folder,
                "--engine",
                "threads",
                "--workers",
                "1",
            ],
            stderr=subprocess.PIPE,
            text=True,
        )
        reports = folder / "reports"
        while run.poll() is None and not (reports / "1" / "kept.json").exists():
            time.sleep(0.01)
        subprocess.run(["umount", "--lazy", away], check=True)
        _, err = run.communicate(timeout=120)
    finally:
        subprocess.run(["umount", "--lazy", away], capture_output=True)
    assert "Traceback" not in err
    assert run.returncode == 3, err
    document = json.loads((reports / "batch.json").read_text(encoding="utf-8"))
    by_state = states(document)
    assert by_state["1"] == "pass"
    assert by_state["12"] == "unreadable"
    assert set(by_state.values()) == {"pass", "unreadable"}
    assert (reports / "1" / "report.html").is_file()


# --- where it cannot be written ------------------------------------------------------------------


def test_two_runs_into_one_folder(tmp_path, capfd):
    folder = draw_book(tmp_path / "book")
    with held(folder / "reports" / RUN_NAME), untouched(folder):
        ran = command(capfd, "batch", folder)
    assert ran.code == 2
    assert ran.messages == [
        f"inkmix: {folder / 'reports'}: another run is writing here; wait for it, or "
        "choose another name or folder"
    ]
    assert command(capfd, "batch", folder, "--engine", "threads").code == 0


def test_two_runs_at_once_for_real(tmp_path):
    folder = draw_book(tmp_path / "book", spreads=("1", "2", "3", "4"))
    both = [
        subprocess.Popen(
            [sys.executable, "-m", "inkmix", "batch", folder, "--engine", "threads"],
            stderr=subprocess.PIPE,
            text=True,
        )
        for _ in range(2)
    ]
    said = [run.communicate(timeout=120)[1] for run in both]
    codes = [run.returncode for run in both]
    assert 0 in codes, said
    assert set(codes) <= {0, 2}
    assert all(
        "another run is writing here" in err for err, code in zip(said, codes, strict=True) if code
    )
    document = json.loads((folder / "reports" / "batch.json").read_text(encoding="utf-8"))
    assert set(states(document).values()) == {"pass"}
    assert not list(folder.rglob("*.inkmix-part"))


@pytest.mark.parametrize("name", ["index.html", "batch.json", "spreads.csv", "junit.xml"])
def test_files_of_others_are_never_replaced(name, tmp_path, capfd):
    folder = draw_book(tmp_path / "book")
    (folder / "reports").mkdir()
    (folder / "reports" / name).write_text("my own notes")
    with untouched(folder):
        ran = command(capfd, "batch", folder)
    assert ran.code == 2
    assert name in ran.messages[0]


def test_a_report_of_others_stops_its_spread_only(tmp_path, capfd):
    folder = draw_book(tmp_path / "book", spreads=("1", "2"))
    (folder / "reports" / "2").mkdir(parents=True)
    (folder / "reports" / "2" / "report.html").write_text("my own notes")
    ran, document = batched(folder, capfd)
    assert ran.code == 2
    assert states(document) == {"1": "pass", "2": "unreadable"}
    assert "was not written by inkmix" in faults(document, "2")
    assert (folder / "reports" / "2" / "report.html").read_text() == "my own notes"


def test_an_output_folder_that_is_a_file(tmp_path, capfd):
    folder = draw_book(tmp_path / "book")
    (tmp_path / "out").write_text("a file")
    before = digests(tmp_path)
    ran = command(capfd, "batch", folder, "--to", tmp_path / "out")
    assert ran.code == 2
    assert digests(tmp_path) == before
    assert str(tmp_path / "out") in ran.messages[0]


def test_reports_never_lie_among_the_files_of_a_book(tmp_path, capfd):
    folder = draw_book(tmp_path / "book")
    with untouched(folder):
        ran = command(capfd, "batch", folder, "--to", folder)
    assert ran.code == 2
    assert "is the folder of a book" in ran.messages[0]


def test_a_book_that_is_not_there(tmp_path, capfd):
    ran = command(capfd, "batch", tmp_path / "nowhere")
    assert ran.code == 2
    assert ran.messages == [
        f"inkmix: {tmp_path / 'nowhere'}: there is no such file or folder; name the folder of a "
        "book, or its book.toml"
    ]
