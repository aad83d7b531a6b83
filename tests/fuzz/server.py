"""Cases tried one by one in children forked from this process, which is warm and has one thread.

Everything is imported and the loops are loaded before the first fork, and no thread was begun: a
fork copies only the thread that forks, with the locks that others held. A case costs some 50 ms.
Each child has limits of time and memory, and nothing of it is left in the next.
"""

import contextlib
import faulthandler
import importlib
import io
import logging
import os
import pkgutil
import resource
import select
import shutil
import signal
import statistics
import sys
import tempfile
import time
import warnings
from collections.abc import Callable
from pathlib import Path
from types import ModuleType

import inkmix
from fuzz.calls import as_command, called
from fuzz.cases import Asked, Plan, damages_of, made
from fuzz.judging import Finding, Outcome, digests, judged
from fuzz.referees import REFEREES
from fuzz.small_book import write_book

GENERATORS = (
    *("plates", "pictures", "profiles", "measurements", "books", "options", "colours"),
    *("csv_tables", "cxf_documents"),
)
WALL_S = 120.0
"""Until a child is ended: other work may hold it up, computing time is what is judged."""
MOST_FILE_BYTES = 1 << 28
_BEYOND_BYTES = 3 << 29
"""Address space beyond the server's, as the hard stop."""
_COSTS = ("time", "memory", "hang")
_ACCEPTED, _REFUSED, _FOUND = "accepted", "refused", "finding"


class Server:
    """A warm process that tries cases in a folder of its own."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.modules: dict[str, ModuleType] = {
            name: importlib.import_module(f"fuzz.{name}") for name in GENERATORS
        }
        _warm(folder)
        self.idle_kib = int(statistics.median(self._idle_kib() for _ in range(5)))
        self.most_bytes = _status("VmSize") * 1024 + _BEYOND_BYTES

    def tried(self, plan: Plan) -> tuple[str, list[Finding], tuple[str, ...]]:
        """Outcome in a word, findings, and the damages of a case.

        What takes long is tried again: the first to use a loop compiles it, and other work may
        hold up anything.
        """
        first = self._tried_once(plan)
        return self._tried_once(plan) if any(f.kind in _COSTS for f in first[1]) else first

    def _tried_once(self, plan: Plan) -> tuple[str, list[Finding], tuple[str, ...]]:
        with _room(self.folder) as room:
            asked, damages = self._made(plan, room)
            before = digests(room.inside)
            outcome = self._outcome(asked, plan, room)
            found = judged(asked, outcome, folder=room.inside, before=before, spare=room.spare)
            if not found and not plan.as_program:
                found = self._refereed(asked, outcome, room)
        return _word(outcome, found), found, damages

    def shrunk(self, plan: Plan, kind: str) -> Plan:
        """The same with the fewest damages that still bring a finding of this kind."""
        places = [place for place, _, _ in damages_of(plan, self.modules[plan.generator])]
        for place in list(places):
            fewer = tuple(other for other in places if other != place)
            less = Plan(
                generator=plan.generator, seed=plan.seed, kept=fewer, as_program=plan.as_program
            )
            if any(found.kind == kind for found in self.tried(less)[1]):
                places.remove(place)
        return Plan(
            generator=plan.generator,
            seed=plan.seed,
            kept=tuple(places),
            as_program=plan.as_program,
        )

    def kept(self, plan: Plan, target: Path) -> tuple[str, ...]:
        """The files of a case copied to a folder; the words that read them."""
        with _room(self.folder) as room:
            asked, _ = self._made(plan, room)
            shutil.copytree(room.inside, target, dirs_exist_ok=True)
        return _words(asked, plan)

    def _made(self, plan: Plan, room: "_Room") -> tuple[Asked, tuple[str, ...]]:
        """The files of a case in its folder, what is asked, and the names of the damages."""
        try:
            asked, damages = made(plan, self.modules[plan.generator], room.inside)
        except Exception as error:
            error.add_note(f"while {plan.name} was made")
            raise
        _with_book(asked, plan, room.inside)
        return asked, damages

    def _outcome(self, asked: Asked, plan: Plan, room: "_Room") -> Outcome:
        if plan.as_program:
            words = _words(asked, plan)
            return self._child(lambda: _program(words), room, is_program=True)
        words = _local(asked.words)
        return self._child(lambda: called(asked.call, words, room.answer), room)

    def _refereed(self, asked: Asked, outcome: Outcome, room: "_Room") -> list[Finding]:
        referee = REFEREES.get(asked.call)
        is_asked = outcome.code == 0 or (asked.call == "book" and any(room.answer.iterdir()))
        if referee is None or not is_asked:
            return []

        def work() -> int:
            warnings.simplefilter("ignore")  # what the others say of a file is theirs
            print(referee(room.inside / asked.words[0], room.answer, asked.told))
            return 0

        told = self._child(work, room)
        said = told.stdout.decode("utf-8", "replace").strip()
        return [Finding(kind="differs", seen=said)] if said else []

    def _child(
        self, work: Callable[[], int], room: "_Room", *, is_program: bool = False
    ) -> Outcome:
        """Run something in a forked child with its streams in files."""
        if _status("Threads") != 1:
            raise RuntimeError("the server has more than one thread; a fork may hang")
        began = time.monotonic()
        child = os.fork()
        if not child:
            _as_child(work, room, self.most_bytes, is_program=is_program)
        hung, (status, used) = _waited(child)
        return Outcome(
            code=os.waitstatus_to_exitcode(status),
            cpu_s=used.ru_utime + used.ru_stime,
            wall_s=time.monotonic() - began,
            peak_kib=used.ru_maxrss,
            idle_kib=self.idle_kib,
            stdout=(room.logs / "stdout").read_bytes(),
            stderr=(room.logs / "stderr").read_bytes(),
            foreign=(room.logs / "foreign").read_text("utf-8", "replace"),
            hung=hung,
        )

    def _idle_kib(self) -> int:
        with _room(self.folder) as room:
            self.idle_kib, self.most_bytes = 0, _status("VmSize") * 1024 + _BEYOND_BYTES
            return self._child(lambda: 0, room).peak_kib


class _Room:
    """The folders of one case; its own is deep, so that ../.. stays inside."""

    def __init__(self, root: Path) -> None:
        self.root, self.inside = root, root / "a" / "b" / "case"
        self.answer, self.logs, self.spare = root / "answer", root / "logs", root / "spare"
        for folder in (self.inside / "out", self.answer, self.logs, self.spare):
            folder.mkdir(parents=True)
        for name in ("stdout", "stderr", "foreign"):
            (self.logs / name).touch()


@contextlib.contextmanager
def _room(folder: Path):
    root = Path(tempfile.mkdtemp(dir=folder))
    try:
        yield _Room(root)
    finally:
        shutil.rmtree(root, ignore_errors=True)


def _word(outcome: Outcome, found: list[Finding]) -> str:
    return _FOUND if found else _ACCEPTED if outcome.code in (0, 1) else _REFUSED


def _words(asked: Asked, plan: Plan) -> tuple[str, ...]:
    """The command line that reads the files of a case."""
    words = as_command(asked.call, asked.words)
    return _local(words)


def _local(words: tuple[str, ...]) -> tuple[str, ...]:
    return tuple("beside" if word == "@book" else word for word in words)


def _with_book(asked: Asked, plan: Plan, folder: Path) -> None:
    """The small book beside, where a command needs one."""
    if "@book" in asked.words or (
        plan.as_program and "@book" in as_command(asked.call, asked.words)
    ):
        write_book(folder / "beside")


def _waited(child: int) -> tuple[bool, tuple[int, resource.struct_rusage]]:
    """Whether it had to be ended, and what wait4 tells."""
    handle = os.pidfd_open(child)
    try:
        poll = select.poll()
        poll.register(handle, select.POLLIN)
        hung = not poll.poll(WALL_S * 1000)
    finally:
        os.close(handle)
    with contextlib.suppress(ProcessLookupError):  # workers that it left, too
        os.killpg(child, signal.SIGKILL)
    _, status, used = os.wait4(child, 0)
    return hung, (status, used)


def _as_child(work: Callable[[], int], room: _Room, most_bytes: int, *, is_program: bool) -> None:
    """Be the child: never returns."""
    code = 99
    try:
        os.setpgid(0, 0)
        os.chdir(room.inside)
        _limits(most_bytes, is_program=is_program)
        _streams(room, is_program=is_program)
        os.environ["TMPDIR"] = str(room.spare)
        tempfile.tempdir = None
        code = work()
        sys.stdout.flush()
        sys.stderr.flush()
    except SystemExit as error:
        code = error.code if isinstance(error.code, int) else 98
    except BaseException as error:
        os.write(2, f"the child ended by {error!r}".encode())
    finally:
        os._exit(code)


def _limits(most_bytes: int, *, is_program: bool) -> None:
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    resource.setrlimit(resource.RLIMIT_CPU, (30, 35))
    resource.setrlimit(resource.RLIMIT_AS, (most_bytes, most_bytes))
    resource.setrlimit(resource.RLIMIT_FSIZE, (MOST_FILE_BYTES, MOST_FILE_BYTES))


def _streams(room: _Room, *, is_program: bool) -> None:
    """What the program says goes to one file, what others say past it to another."""
    nothing = os.open(os.devnull, os.O_RDONLY)
    os.dup2(nothing, 0)
    for number, name in ((1, "stdout"), (2, "stderr" if is_program else "foreign")):
        os.dup2(os.open(room.logs / name, os.O_WRONLY | os.O_APPEND), number)
    if is_program:
        return
    faulthandler.enable(2)
    foreign = io.TextIOWrapper(io.FileIO(2, "wb", closefd=False), write_through=True)
    sys.stdout = (room.logs / "stdout").open("w", encoding="utf-8")
    sys.stderr = (room.logs / "stderr").open(
        "w", encoding="utf-8", errors="backslashreplace", buffering=1
    )
    logging.lastResort = logging.StreamHandler(foreign)

    def shown(message, category, filename, lineno, file=None, line=None):
        foreign.write(f"{filename}:{lineno}: {category.__name__}: {message}\n")

    warnings.showwarning = shown


def _program(words: tuple[str, ...]) -> int:
    """The true command line, in the place of the child."""
    os.execv(sys.executable, [sys.executable, "-m", "inkmix", *words])


def _status(name: str) -> int:
    """A number of this process, as the system tells it."""
    with open("/proc/self/status", encoding="ascii") as lines:
        return next(int(line.split()[1]) for line in lines if line.startswith(f"{name}:"))


def _warm(folder: Path) -> None:
    """Import everything, load loops and tables, make no thread."""
    for module in pkgutil.walk_packages(inkmix.__path__, "inkmix."):
        if not module.name.endswith(("__main__", "cluster")):
            importlib.import_module(module.name)
    import colour  # noqa: F401  the referee of colours

    from inkmix.base.ordered_threads import use_at_most
    from inkmix.cli.main import run

    use_at_most(1)
    book = folder / "warm"
    write_book(book)
    (book / "colours.txt").write_text("#345")
    for words in (
        ("check", str(book)),
        ("predict", str(book), "--to", str(book / "print.png")),
        ("mix", "#345", "--book", str(book), "--json"),
        ("sheet", str(book), "--to", str(book / "a.png"), "--to", str(book / "a.pdf")),
    ):
        with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
            code = run(list(words))
        if code:
            raise RuntimeError(
                f"inkmix {' '.join(words)} ends with {code} before anything is spoilt"
            )
