"""What every command does with streams that are closed or full, with devices, pipes and sockets
in the place of files, with names that are no text, and where the machine has too little memory."""

import contextlib
import errno
import json
import os
import re
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import click
import numpy as np
import pytest
from drawn_book import BOOK, NIGHT, command, digests, draw_book
from test_cli_every_option import (
    TEXT,
    command_named,
    first_mode,
    furnished,
    long_name,
    mode_for,
    options,
)

import inkmix.jobs.check
from inkmix.base.plain_text import plain_json, plain_line, plain_text
from inkmix.cli import main as main_command
from inkmix.cli.arguments import InputPath, OutputPath
from inkmix.cli.main import COMMANDS
from inkmix.cli.shortage import shortage

ROOT = Path(__file__).parents[1]
POSIX = pytest.mark.skipif(os.name != "posix", reason="shells of POSIX close streams")
LINUX = pytest.mark.skipif(not Path("/dev/full").exists(), reason="/dev/full is a thing of Linux")


def in_a_shell(line: str) -> subprocess.CompletedProcess[str]:
    """A command line with its redirections; `inkmix` stands for this program."""
    program = f'"{sys.executable}" -m inkmix'
    return subprocess.run(
        ["sh", "-c", line.replace("inkmix", program, 1)],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=60,
    )


# --- streams that cannot be written ---------------------------------------------------------------


@POSIX
@pytest.mark.parametrize("words", ["inks Fog --json", "--version"])
def test_an_answer_that_cannot_be_given_is_an_error(words):
    ran = in_a_shell(f"inkmix {words} >&-")
    assert (ran.returncode, ran.stdout) == (2, "")
    assert ran.stderr.startswith("inkmix: stdout: is closed, but the answer is written there;")
    assert len(ran.stderr.splitlines()) == 1


@LINUX
def test_an_answer_for_which_there_is_no_room_is_an_error():
    ran = in_a_shell("inkmix inks Fog --json >/dev/full")
    assert ran.returncode == 2
    assert ran.stderr.startswith("inkmix: stdout: cannot be written (No space left on device)")
    assert len(ran.stderr.splitlines()) == 1


@POSIX
@pytest.mark.parametrize("closed", ["2>&-", "<&- 2>&-"])
def test_an_answer_is_given_though_words_cannot_be(closed):
    ran = in_a_shell(f"inkmix inks Fog --json {closed}")
    assert ran.returncode == 0
    assert json.loads(ran.stdout)["papers"]


@POSIX
@pytest.mark.parametrize("closed", [">&- 2>&-", "<&- >&- 2>&-", "2>&-"])
def test_exit_codes_hold_where_nothing_can_be_said(closed):
    ran = in_a_shell(f"inkmix check nowhere {closed}")
    assert (ran.returncode, ran.stdout, ran.stderr) == (2, "", "")


@POSIX
def test_what_is_written_keeps_clear_of_words_and_answers(tmp_path):
    """A file that took the number of a closed stream would hold words for people."""
    page = tmp_path / "inks.html"
    whole = tmp_path / "whole.html"
    assert in_a_shell(f"inkmix inks Fog --page {whole}").returncode == 0
    assert in_a_shell(f"inkmix inks Fog --page {page} <&- >&- 2>&-").returncode == 0
    assert page.read_bytes() == whole.read_bytes()


@POSIX
def test_colours_from_an_endless_stdin_end(tmp_path):
    draw_book(tmp_path / "book")
    ran = in_a_shell(f"yes | inkmix mix --book {tmp_path / 'book'} --from -")
    assert ran.returncode == 2
    assert "stdin: a larger file, but at most 16 MB are read" in ran.stderr


# --- what is no file ------------------------------------------------------------------------------

KINDS = {"zero": "a device", "pipe": "a pipe", "socket": "a socket"}


@pytest.fixture
def places(tmp_path: Path) -> Iterator[dict[str, Path]]:
    """A link to a device, since the device itself might be replaced; a pipe; a socket."""
    place = {kind: tmp_path / f"{kind}.png" for kind in KINDS}
    place["zero"].symlink_to("/dev/zero")
    os.mkfifo(place["pipe"])
    with contextlib.chdir(tmp_path), socket.socket(socket.AF_UNIX) as held:
        held.bind("socket.png")  # by a short name: a socket's path may have 100 bytes
        yield place


@contextlib.contextmanager
def at_most(seconds: int) -> Iterator[None]:
    def late(*_: object) -> None:
        raise AssertionError("waits for what never comes")

    before = signal.signal(signal.SIGALRM, late)
    signal.alarm(seconds)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)


def paths_of_all() -> list[tuple[str, str]]:
    return [
        (name, str(param.name))
        for name in COMMANDS
        for param in command_named(name).params
        if isinstance(param.type, click.Path)
    ]


def words_with(name: str, param: str, path: Path) -> list[str]:
    """A command line in which a path stands for one parameter."""
    if param in options(name):
        option = long_name(name, param)
        beside = [*mode_for(name, param)]
        if option in beside:
            at = beside.index(option)
            del beside[at : at + 2]
        return [*beside, option, str(path)]
    beside = first_mode(name).beside
    return [str(path), *beside[1:]]


def test_every_path_is_of_our_own_kinds():
    kinds = [
        type(param.type)
        for name, wanted in paths_of_all()
        for param in command_named(name).params
        if param.name == wanted
    ]
    assert set(kinds) == {InputPath, OutputPath}


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="pipes with names are a thing of POSIX")
@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize(("name", "param"), paths_of_all())
def test_no_path_may_be_a_device_a_pipe_or_a_socket(name, param, kind, places, tmp_path, capfd):
    home = furnished(tmp_path / "book", TEXT)
    before = digests(home)
    words = [word.format(home) for word in words_with(name, param, places[kind])]
    with at_most(20), contextlib.chdir(home):
        ran = command(capfd, name, *words)
    assert (ran.code, ran.out, digests(home)) == (2, "", before)
    (message,) = ran.messages
    assert message.startswith(f"inkmix: {places[kind]}: is {KINDS[kind]}, but ")
    assert "need" in message
    assert places["zero"].is_symlink()
    assert places["pipe"].is_fifo()
    assert places["socket"].is_socket()


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="pipes with names are a thing of POSIX")
@pytest.mark.parametrize("kind", ["zero", "pipe"])
@pytest.mark.parametrize(
    ("words", "usual"),
    [
        (("predict", "{}", "--spread", "front"), "predicted/front.png"),
        (("predict", "{}", "--spread", "front", "--each"), "predicted/front-Soot.png"),
        (("predict", "{}", "--spread", "front", "--pair"), "predicted/front-on-screen.png"),
        (("check", "{}", "--spread", "front"), "reports/front/report.html"),
        (("batch", "{}", "--engine", "threads"), "reports/index.html"),
        (("sheet", "{}"), "overprints.pdf"),
        (("palette", "{}", "--choose", "1", "--no-plates"), "palette.html"),
        (("start", "{}/plates"), "plates/book.toml"),
        (("start", "{}/plates", "--schema"), "plates/book.schema.json"),
        (("demo", "{}/new", "--ppi", "20"), "new/plates/night-ferry/Soot.tif"),
    ],
)
def test_nor_is_one_replaced_where_files_usually_go(words, usual, kind, tmp_path, capfd):
    home = furnished(tmp_path / "book", TEXT)
    place = home / usual
    place.parent.mkdir(parents=True, exist_ok=True)
    place.symlink_to("/dev/zero") if kind == "zero" else os.mkfifo(place)
    with at_most(20):
        ran = command(capfd, *(word.format(home) for word in words))
    assert (ran.code, ran.out) == (2, "")
    assert any(place.name in message for message in ran.messages)
    assert place.is_symlink() if kind == "zero" else place.is_fifo()


# --- names that are no text -----------------------------------------------------------------------


ONE_BY_ONE = """
import sys
from inkmix.cli.main import run
for line in " ".join(sys.argv[1:]).split(" ; "):
    code = run(line.split(" "))
    print(f"ended with {code}", file=sys.stderr, flush=True)
"""
"""The command lines of a program's arguments, in one process, since each would be half a second."""


@POSIX
def test_arguments_that_are_no_text_are_named(tmp_path):
    lines = {name: [b"no\xff/\x1b[31m"] for name in COMMANDS}
    lines["demo"] = [b"no\xff", b"--fault", b"\xff"]
    lines["score"] += [b"--known", b"ramps"]
    lines["palette"] += [b"--choose", b"1"]
    lines["calibrate"] += [b"chart.txt"]
    lines["testform"] += [b"--to", b"form"]
    lines["mend"] += [b"--to", b"out"]
    lines["mix"] += [b"--book", b"no\xff"]
    *arguments, _ = (word for name, words in lines.items() for word in (name, *words, ";"))
    ran = subprocess.run(
        [sys.executable, "-c", ONE_BY_ONE, *arguments],
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        timeout=60,
    )
    assert (ran.returncode, ran.stdout) == (0, b"")
    *told, rest = re.split(rb"ended with (\d+)\n", ran.stderr)
    assert (len(told), rest) == (2 * len(COMMANDS), b"")
    for name, said, code in zip(COMMANDS, told[::2], told[1::2], strict=True):
        assert code in (b"2", b"3"), name
        assert b"unexpected" not in said, name
        assert b"Traceback" not in said, name
        assert b"\\xff" in said or b"\\udcff" in said, name  # the other one within quotes
        assert b"\x1b" not in said, name


@POSIX
def test_a_book_in_a_folder_whose_name_is_no_text(tmp_path, capfd):
    folder = tmp_path / "night\udcff"
    try:
        folder.mkdir()
    except OSError:
        pytest.skip("this file system has names in UTF-8 only")
    draw_book(folder / "book", BOOK + NIGHT)
    ran = command(capfd, "check", folder / "book", "--spread", "front", "--json")
    assert ran.code in (0, 1)
    assert json.loads(ran.out)
    assert "night\\xff/book/reports/front/report.html" in ran.err


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("plain – ü \u30a4", "plain – ü \u30a4"),
        ("\x1b]0;title\x07", "\\x1b]0;title\\x07"),
        ("a\rb\nc", "a\\x0db\\x0ac"),
        ("\x9b31m", "\\x9b31m"),
        ("gnp.\u202etoos", "gnp.\\u202etoos"),
        ("caf\udce9", "caf\\xe9"),
        ("\ud800", "\\ud800"),
    ],
)
def test_what_cannot_be_seen_is_spelt_out(text, shown):
    assert plain_line(text) == shown
    assert plain_text(f"{text}\n", keep="\n") == f"{shown}\n".replace("\\x0a", "\n")
    assert json.loads(plain_json(json.dumps(text, ensure_ascii=False))) == text


def test_colours_pass_where_they_are_meant():
    field = "\x1b[48;2;1;2;3m  \x1b[0m"
    assert plain_text(field, colour=True) == field
    assert plain_text(f"{field}\x1b[2J", colour=True) == f"{field}\\x1b[2J"
    assert "\x1b" not in plain_text(field)


@pytest.mark.parametrize("name", ["check", "start", "batch"])
def test_a_path_of_thousands_of_letters_is_not_told_whole(name, capfd):
    assert main_command.run([name, 5_000 * "a"]) == 3
    err = capfd.readouterr().err
    assert err.startswith(f"inkmix: {100 * 'a'}")
    assert len(err) < 600


def test_words_too_many_are_not_told_whole(capfd):
    assert main_command.run(["inks", "a.txt", 3_000 * "b", 3_000 * "c", "--to"]) == 2
    assert max(map(len, capfd.readouterr().err.splitlines())) <= 1_000
    assert main_command.run(["batch", "book", 3_000 * "b", 3_000 * "c"]) == 2
    err = capfd.readouterr().err
    assert "unexpected extra arguments (bbb" in err
    assert max(map(len, err.splitlines())) <= 1_000


def test_a_folder_that_is_gone_is_named_as_such(tmp_path):
    book = draw_book(tmp_path / "book", BOOK)
    gone = tmp_path / "gone"
    gone.mkdir()
    ran = in_a_shell(f"cd {gone} && rmdir {gone} && inkmix predict {book} --to print.png")
    assert ran.returncode == 3
    assert "the current folder no longer exists" in ran.stderr


# --- too little of what a machine has -------------------------------------------------------------


def test_how_much_memory_was_needed_is_said():
    with pytest.raises(MemoryError) as caught:
        np.empty((5, 10**7, 10**6), np.uint8)
    caught.value.add_note("preparing the press model")
    assert str(shortage(caught.value)) == (
        "memory, preparing the press model: 46566.1 GiB more are needed for "
        "5 × 10000000 × 1000000 numbers and are not available; close other programs, "
        "lift the limit that was set, or use a machine with more memory"
    )


@pytest.mark.parametrize(
    ("error", "said"),
    [
        (MemoryError(), "memory: there is not enough, and"),
        (OSError(errno.ENOMEM, "Cannot allocate memory"), "memory: there is not enough, and"),
        (ImportError("x.so: failed to map segment from shared object"), "memory: there is not"),
        (RuntimeError("can't start new thread"), "no more threads can be started"),
    ],
)
def test_every_shortage_is_told_as_one(error, said):
    assert said in str(shortage(error))


@pytest.mark.parametrize("error", [RuntimeError("else"), OSError(errno.ENOENT, "No such file")])
def test_other_errors_are_none(error):
    assert shortage(error) is None


def test_a_run_that_gets_too_little_memory_says_so(tmp_path, capfd, monkeypatch):
    def too_much(*_: object) -> None:
        np.empty((5, 10**7, 10**6), np.uint8)

    monkeypatch.setattr(inkmix.jobs.check, "print_colouring", too_much)
    folder = draw_book(tmp_path / "book")
    before = digests(folder)
    ran = command(capfd, "check", folder)
    assert (ran.code, ran.out, digests(folder)) == (3, "", before)
    (message,) = ran.messages
    assert message.startswith("inkmix: memory, preparing the press model: 46566.1 GiB more are")
