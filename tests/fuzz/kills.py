"""Runs killed at seeded moments: what they leave, and what the next run makes of it.

    python tests/fuzz/kills.py --count 200 --seed 1          # two minutes on two cores
    python tests/fuzz/kills.py --seed 1 --only 17            # one case again

A lane is a process that has loaded all that commands need and has no threads. Runs are forked from
it, so that they are work from their first moment on; every tenth is a true program. Where a run is
ended: before the n-th change of a file (told by Python's audit events, and the same each time),
moments after a file began to be written, or after a share of the time that a whole run takes.
Change nothing in the package meanwhile: what a batch keeps holds a digest of the program.
"""

import argparse
import json
import os
import random
import signal
import subprocess
import sys
import threading
import time
import warnings
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from dataclasses import asdict, dataclass, field
from hashlib import sha256
from pathlib import Path
from shutil import copytree, rmtree
from tempfile import TemporaryDirectory
from typing import Any
from xml.etree import ElementTree

HERE = Path(__file__).resolve()
sys.path[:0] = [str(folder) for folder in HERE.parents[1:3]]

from batch_runs import SENTENCE, batch_line, started, tell  # noqa: E402
from drawn_book import BOOK, NIGHT, changed, digests, draw_book  # noqa: E402

PART = ".inkmix-part"
PATIENCE_S = 60.0
TRUE_PROGRAM = 10  # one case in so many
FULL_CACHE = 0.7  # of the cases; the others find an empty one
AFTER_A_PART_S = 0.003
WAYS = ("change", "change", "part", "time")
SIGNALS = (signal.SIGKILL,) * 6 + (signal.SIGTERM, signal.SIGINT)
NUMBERS = {signal.SIGKILL: -signal.SIGKILL, signal.SIGTERM: 143, signal.SIGINT: 130}

COMMANDS = {
    "check": "check one --to out/report --picture out/print.tif",
    "predict": "predict one --each --to out/print.png",
    "sheet": "sheet one --to out/sheet.pdf --to out/sheet.svg --to out/sheet.json",
    "batch": "batch three --to out --engine threads",
    "palette": "palette three --choose 1 --fix Soot --candidates night-ferry --no-plates"
    " --without Flare,Tide,Samphire,Fog,Brass --to out/palette.html",
}
TURNS = (
    *("check", "predict", "batch", "sheet", "check", "predict", "batch"),
    *("check", "predict", "batch", "palette", "check", "predict", "sheet"),
)
"""Who comes when; what takes seconds comes more seldom."""
LAST = ("report.json", "kept.json")
"""Names that go before a report is replaced and come back last, so that they never speak of another
one: a killed run may leave them out, but never beside files that they do not describe."""
ALIVE = {
    "batch": (
        "batch.json",
        "index.html",
        "spreads.csv",
        "findings.csv",
        "tones.csv",
        "junit.xml",
    )
}
"""What a run rewrites while it goes on: sound at any moment, but not as in the end."""

TEXT = BOOK + NIGHT + '\n[[tones]]\nname = "dusk"\nmix = { Soot = 30, Fjord = 60 }\n'
TEXT += 'intended = "#3a4466"\n'
OLDER = changed("Two panels", "Panels of last week", changed("[26, 1, 1]", "[28, 1, 1]", TEXT))


@dataclass(frozen=True, kw_only=True)
class Whole:
    """An undisturbed run: what lay there before, what it leaves, and what one more leaves.

    A batch says what changed since the run before. `changes` are those of files; `before`, `files`
    and `again` have digests by name.
    """

    before: Mapping[str, str]
    files: Mapping[str, str]
    again: Mapping[str, str]
    code: int
    changes: int
    took_s: float


@dataclass(frozen=True, kw_only=True)
class Case:
    """What is to happen, all of it drawn from a seed and a number."""

    index: int
    command: str
    way: str
    number: int
    over_older: bool
    full_cache: bool
    part: float

    @classmethod
    def drawn(cls, seed: int, index: int) -> "Case":
        """The case of this number."""
        chance = random.Random(f"{seed}:{index}")
        return cls(
            index=index,
            command=TURNS[index % len(TURNS)],
            way="program" if chance.random() * TRUE_PROGRAM < 1 else chance.choice(WAYS),
            number=chance.choice(SIGNALS),
            over_older=chance.random() < 0.5,
            full_cache=chance.random() < FULL_CACHE,
            part=chance.random(),
        )


@dataclass(frozen=True, kw_only=True)
class Told:
    """What came of a case; `struck` where the run did not end before."""

    case: Case
    struck: bool
    halves: int
    faults: list[str] = field(default_factory=list)


# --- one lane ------------------------------------------------------------------------------------


class Lane:
    """A folder with books and outputs, and a process without threads that runs are forked from."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.out, self.cache = folder, folder / "out", folder / "cache"
        os.environ |= {"INKMIX_CACHE": str(self.cache), "INKMIX_LOOPS": "numpy"}
        draw_book(folder / "one", TEXT)
        draw_book(folder / "three", TEXT, spreads=("1", "2", "3"))
        self._write_books(OLDER)
        for command in COMMANDS:
            self._make_older(command)
        self._write_books(TEXT)
        self.inputs = self._inputs()
        self.wholes = {
            (command, over_older): self._whole(command, over_older)
            for command in COMMANDS
            for over_older in (False, True)
        }
        copytree(self.cache, folder / "full cache")

    def tried(self, case: Case) -> Told:
        """Let a case happen, then a run that nobody disturbs, and look."""
        whole = self.wholes[case.command, case.over_older]
        self._prepare(case.command, case.over_older)
        self._empty(self.cache)
        if case.full_cache:
            copytree(self.folder / "full cache", self.cache, dirs_exist_ok=True)
        code, said, faults = self._disturbed(case, whole)
        struck = code == NUMBERS[case.number]
        faults += end_faults(case, whole, code, said)
        faults += left_faults(self.out, case, whole, struck=struck)
        halves = len([*self.out.rglob(f"*{PART}"), *self.cache.rglob(f"*{PART}")])
        faults += self._faults_of_the_next(case, whole)
        if self._inputs() != self.inputs:
            faults.append("an input was changed")
        return Told(case=case, struck=struck, halves=halves, faults=faults)

    def run(self, command: str) -> tuple[int, int, str]:
        """Run a command undisturbed: exit code, changes of files, what it said."""
        child = self._forked(command)
        code = ended(child)
        changes = self.folder / "changes"
        return code, int(changes.read_text()), self._said()

    def _disturbed(self, case: Case, whole: Whole) -> tuple[int, str, list[str]]:
        """Start a run and end it at the moment that the case says."""
        if case.way == "program":
            return self._program(case, whole)
        if case.way == "change":
            at = 1 + int(case.part * whole.changes)
            child = self._forked(case.command, at=at, number=case.number)
        else:
            child = self._forked(case.command)
            if case.way == "time":
                waited(child, case.part * whole.took_s)
            else:
                self._until_a_part(child)
                waited(child, case.part * AFTER_A_PART_S)
            tell_child(child, case.number)
        return ended(child), self._said(), []

    def _program(self, case: Case, whole: Whole) -> tuple[int, str, list[str]]:
        """The same by a program of its own, for a batch with workers; its whole group is told."""
        words = self._words(case.command)
        if case.command == "batch":
            line = batch_line(self.folder / "three", self.out, "--workers", "2")
        else:
            line = [sys.executable, "-m", "inkmix", *words]
        with started(line) as run:
            with suppress(subprocess.TimeoutExpired):
                run.process.wait(0.3 + case.part * (1 + 2 * whole.took_s))
            tell(run, case.number, group=True)
            end = run.ended()
            faults = ["processes of it are left"] if run.left() else []
        return end.code, end.err, faults

    def _faults_of_the_next(self, case: Case, whole: Whole) -> list[str]:
        """The next run gives what an undisturbed one does, and clears what was left."""
        code, _, said = self.run(case.command)
        if code != whole.code:
            return [f"the next run ended with {code}, not {whole.code}: {said}"]
        return next_faults(digests(self.out), whole)

    def _whole(self, command: str, over_older: bool) -> Whole:
        self._prepare(command, over_older)
        before = digests(self.out) if self.out.exists() else {}
        start = time.monotonic()
        code, changes, said = self.run(command)
        assert code in (0, 1), said
        took_s, files = time.monotonic() - start, digests(self.out)
        self.run(command)
        again = digests(self.out)
        return Whole(
            before=before, files=files, again=again, code=code, changes=changes, took_s=took_s
        )

    def _prepare(self, command: str, over_older: bool) -> None:
        self._empty(self.out)
        if over_older:
            copytree(self._older(command), self.out, dirs_exist_ok=True)

    def _older(self, command: str) -> Path:
        return self.folder / "older" / command

    def _inputs(self) -> dict[str, dict[str, str]]:
        return {name: digests(self.folder / name) for name in ("one", "three")}

    def _write_books(self, text: str) -> None:
        for name in ("one", "three"):
            (self.folder / name / "book.toml").write_text(text, encoding="utf-8")

    def _empty(self, folder: Path) -> None:
        rmtree(folder, ignore_errors=True)
        folder.mkdir()

    def _until_a_part(self, child: "Child") -> None:
        while not child.has_ended() and not any(
            True for folder in (self.out, self.cache) for _ in folder.rglob(f"*{PART}")
        ):
            time.sleep(0.0005)

    def _words(self, command: str) -> list[str]:
        """The words of a command, places in full."""
        return [
            str(self.folder / word) if word.partition("/")[0] in ("one", "three", "out") else word
            for word in COMMANDS[command].split()
        ]

    def _said(self) -> str:
        return (self.folder / "said").read_text(encoding="utf-8")

    def _make_older(self, command: str) -> None:
        """Run it on the older book, and load here, once, what that run had loaded in the end."""
        self._empty(self.out)
        code = ended(self._forked(command, tells_modules=True))
        assert code in (0, 1), self._said()
        copytree(self.out, self._older(command), dirs_exist_ok=True)
        for name in json.loads((self.folder / "modules").read_text()):
            if name not in sys.modules:
                with suppress(ImportError), warnings.catch_warnings(action="ignore"):
                    __import__(name)

    def _forked(
        self,
        command: str,
        *,
        at: int | None = None,
        number: int = 0,
        tells_modules: bool = False,
    ) -> "Child":
        """A run; it sends itself a signal before its change of files of number `at`."""
        sys.stdout.flush()
        assert threading.active_count() == 1  # a fork copies only the thread that forks
        pid = os.fork()
        if pid:
            return Child(pid)
        code = 99
        try:
            code = self._in_the_child(self._words(command), at=at, number=number)
            if tells_modules:
                (self.folder / "modules").write_text(json.dumps([*sys.modules]))
        finally:
            os._exit(code)

    def _in_the_child(self, words: list[str], *, at: int | None, number: int) -> int:
        said = os.open(self.folder / "said", os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
        nowhere = os.open(os.devnull, os.O_RDWR)
        for to, there in ((nowhere, 0), (nowhere, 1), (said, 2)):
            os.dup2(to, there)
        for one in (signal.SIGINT, signal.SIGTERM):
            signal.signal(one, signal.SIG_DFL)
        changes = Changes((self.out, self.cache), at=at, number=number)
        sys.addaudithook(changes)
        code = the_command_line(words)
        (self.folder / "changes").write_text(str(changes.count))
        return code


def the_command_line(words: list[str]) -> int:
    """The exit code of what `inkmix` does with these words."""
    from inkmix.__main__ import main

    sys.argv = ["inkmix", *words]
    try:
        main()
    except SystemExit as end:
        return int(end.code or 0)
    finally:
        for stream in (sys.stdout, sys.stderr):
            stream.flush()
    return 0


class Changes:
    """Counts changes of files below some folders, and before one of them sends a signal."""

    NAMED = ("os.rename", "os.remove", "os.mkdir", "os.rmdir", "os.truncate", "os.utime")

    def __init__(self, folders: tuple[Path, ...], *, at: int | None, number: int) -> None:
        self.folders = tuple(f"{folder}{os.sep}" for folder in folders)
        self.at, self.number, self.count = at, number, 0

    def __call__(self, event: str, given: tuple[Any, ...]) -> None:
        """Told of everything that happens; must not fail."""
        if not (event == "fcntl.flock" or (self._changes(event, given) and self._is_below(given))):
            return
        self.count += 1
        if self.count == self.at:
            os.kill(os.getpid(), self.number)

    def _changes(self, event: str, given: tuple[Any, ...]) -> bool:
        if event == "open":
            return bool(given[2] & (os.O_WRONLY | os.O_RDWR | os.O_CREAT))
        return event in self.NAMED

    def _is_below(self, given: tuple[Any, ...]) -> bool:
        return isinstance(given[0], str | os.PathLike) and os.fspath(given[0]).startswith(
            self.folders
        )


class Child:
    """A forked run."""

    def __init__(self, pid: int) -> None:
        self.pid = pid
        self.code: int | None = None

    def has_ended(self) -> bool:
        """Look whether it ended; then `code` is known."""
        if self.code is None:
            pid, status = os.waitpid(self.pid, os.WNOHANG)
            if pid:
                self.code = os.waitstatus_to_exitcode(status)
        return self.code is not None


def waited(child: Child, seconds: float) -> None:
    """Let time pass, as long as it runs."""
    until = time.monotonic() + seconds
    while not child.has_ended() and time.monotonic() < until:
        time.sleep(0.0005)


def ended(child: Child) -> int:
    """How it ended; a run that does not end is killed, and counts as wrong."""
    waited(child, PATIENCE_S)
    if child.code is None:
        os.kill(child.pid, signal.SIGKILL)
        os.waitpid(child.pid, 0)
        return 98
    return child.code


def tell_child(child: Child, number: int) -> None:
    """Send it a signal, if it still runs."""
    if not child.has_ended():
        os.kill(child.pid, number)


# --- what must hold ------------------------------------------------------------------------------


def end_faults(case: Case, whole: Whole, code: int, said: str) -> list[str]:
    """A run ends by its signal, with one sentence where it could speak, or had ended before."""
    if code == whole.code:
        return []
    if code != NUMBERS[case.number]:
        return [f"it ended with {code}: {said}"]
    if case.number != signal.SIGKILL and said and not said.endswith(SENTENCE):
        return [f"it said: {said}"]
    return []


def left_faults(out: Path, case: Case, whole: Whole, *, struck: bool) -> list[str]:
    """Every file is the older or the newer one, whole; only what was killed leaves parts."""
    found = digests(out) if out.exists() else {}
    alive = ALIVE.get(case.command, ())
    gone = sorted({*whole.before} - {*found, *alive})
    faults = [f"{name} is lost" for name in gone if Path(name).name not in LAST]
    faults += [f"{page} is not the one in its report.json" for page in strangers(out)]
    for name, digest in found.items():
        if name.endswith(PART):
            if not struck or case.number != signal.SIGKILL:
                faults.append(f"{name} is left")
        elif digest not in (whole.before.get(name), whole.files.get(name)) and not (
            name in alive and is_sound(out / name)
        ):
            faults.append(f"{name} is neither the older nor the newer file")
    return faults


def next_faults(found: Mapping[str, str], whole: Whole) -> list[str]:
    """The next run leaves what one run does, or two where the killed one had done all of it."""
    if found in (whole.files, whole.again):
        return []
    names = sorted({*found, *whole.files})
    return [
        f"the next run left {name} otherwise than an undisturbed one"
        for name in names
        if found.get(name) not in (whole.files.get(name), whole.again.get(name))
    ] or ["the next run left files of two runs"]


def strangers(out: Path) -> list[str]:
    """Pages that are not those of which the report.json beside them speaks, if it can be read."""
    pages = [path.with_name("report.html") for path in sorted(out.rglob("report.json"))]
    return [page.relative_to(out).as_posix() for page in pages if not is_described(page)]


def is_described(page: Path) -> bool:
    """Whether a page is there, and is the one of its report.json."""
    try:
        data = json.loads(page.with_name("report.json").read_bytes())
        return bool(data["page"]["sha256"] == sha256(page.read_bytes()).hexdigest())
    except (OSError, ValueError):
        return False


def is_sound(path: Path) -> bool:
    """Whether a file ends where it should."""
    text = path.read_text(encoding="utf-8")
    try:
        if path.suffix == ".json":
            json.loads(text)
        elif path.suffix == ".xml":
            ElementTree.fromstring(text)
    except (ValueError, ElementTree.ParseError):
        return False
    return text.endswith("\n") and (path.suffix != ".html" or "</html>" in text[-20:])


# --- all of them ---------------------------------------------------------------------------------


def cases(seed: int, *, lane: int, lanes: int) -> Iterator[Case]:
    """The cases of one lane, without end."""
    index = lane
    while True:
        yield Case.drawn(seed, index)
        index += lanes


def lane_line(count: int, drawn: Iterator[Case], say: Callable[[Told], None]) -> None:
    """Try cases until so many runs were struck; twice as many must be enough."""
    with TemporaryDirectory(prefix="kills-") as folder:
        lane, struck = Lane(Path(folder).resolve()), 0
        for tries, case in enumerate(drawn):
            told = lane.tried(case)
            say(told)
            struck += told.struck
            if struck >= count or tries > 2 * count:
                return


def say(told: Told) -> None:
    """One case a line, as JSON."""
    print(json.dumps(asdict(told)), flush=True)


def summary(lines: list[dict[str, Any]]) -> dict[str, Any]:
    """How many were struck, by command and by way; which left parts; what was wrong."""
    struck = [line for line in lines if line["struck"]]
    return {
        "tries": len(lines),
        "struck": len(struck),
        "by_command": Counter(line["case"]["command"] for line in struck),
        "by_way": Counter(line["case"]["way"] for line in struck),
        "by_signal": Counter(signal.Signals(line["case"]["number"]).name for line in struck),
        "left_parts": sum(line["halves"] > 0 for line in struck),
        "faults": [line for line in lines if line["faults"]],
    }


def in_lanes(options: argparse.Namespace) -> list[dict[str, Any]]:
    """What all lanes say; each is a process of its own."""
    line = [sys.executable, str(HERE), "--seed", str(options.seed), "--lanes", str(options.lanes)]
    line += ["--count", str(-(-options.count // options.lanes))]
    runs = [
        subprocess.Popen([*line, "--lane", str(lane)], stdout=subprocess.PIPE, text=True)
        for lane in range(options.lanes)
    ]
    said = [run.communicate()[0] for run in runs]
    if any(run.returncode for run in runs):
        sys.exit("a lane did not come to its end")
    return [json.loads(line) for text in said for line in text.splitlines()]


def main() -> None:
    """Read the options, try the cases, print what came of them; 1 where anything was wrong."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--count", type=int, default=200, help="runs that are to be struck")
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--lanes", type=int, default=2)
    parser.add_argument("--lane", type=int, help=argparse.SUPPRESS)
    parser.add_argument("--only", type=int, help="one case, by its number")
    options = parser.parse_args()
    if options.only is not None:
        lane_line(1, iter([Case.drawn(options.seed, options.only)]), say)
    elif options.lane is not None:
        drawn = cases(options.seed, lane=options.lane, lanes=options.lanes)
        lane_line(options.count, drawn, say)
    else:
        found = summary(in_lanes(options))
        print(json.dumps(found, indent=1))
        sys.exit(bool(found["faults"]))


if __name__ == "__main__":
    main()
