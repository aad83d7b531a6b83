"""A batch on a real cluster on this machine: a scheduler and workers in programs of their own."""

import json
import os
import shutil
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import batch_runs
import pytest
from batch_runs import (
    DEADLY,
    PATIENCE_S,
    ROOT,
    Run,
    batch_line,
    halves,
    long,
    ran,
    report_bytes,
    said,
    started,
    wait_until,
    with_work,
)
from drawn_book import BOOK, NIGHT, command, digests, draw_book, plate_of, untouched

import inkmix.batch.cluster
import inkmix.batch.run
from inkmix.base.errors import UsageError
from inkmix.batch.cluster import ClusterCrew
from inkmix.batch.document import document_bytes
from inkmix.batch.run import Wanted, run_batch
from inkmix.jobs.books import read_book

pytestmark = long

SPREADS = tuple(str(number) for number in range(1, 9))
CUT = "2"
HERE = "127.0.0.1"


@dataclass(frozen=True, kw_only=True)
class Scheduler:
    """A scheduler that answers."""

    address: str
    run: Run
    folder: Path

    @contextmanager
    def workers(
        self, count: int, *, hidden: tuple[Path, ...] = (), **environment: str
    ) -> Iterator[list[Run]]:
        """So many workers of one thread; `hidden` folders are empty for them."""
        told = {**TOLD, **environment}
        line = [sys.executable, "-m", "distributed.cli.dask_worker", self.address, "--no-nanny"]
        line += ["--host", HERE, "--nthreads", "1", "--no-dashboard", "--death-timeout", "30"]
        line += ["--local-directory", str(self.folder)]
        with ExitStack() as stack:
            runs = [stack.enter_context(started(blind(line, hidden), **told)) for _ in range(count)]
            for run in runs:
                wait_until(lambda run=run: "Registered to" in said(run.err), run)
                assert run.process.poll() is None, said(run.err)
            yield runs
            for run in runs:  # so that the scheduler knows at long
                run.process.terminate()
            for run in runs:
                run.process.wait(PATIENCE_S)


PATH = os.pathsep.join([str(Path(__file__).parent), os.environ.get("PYTHONPATH", "")])
TOLD = {"PYTHONPATH": PATH}


PROGRAM = ("-m", "distributed.cli.dask_scheduler")


@contextmanager
def scheduler_in(
    folder: Path, *, program: tuple[str, str] = PROGRAM, **environment: str
) -> Iterator[Scheduler]:
    """A scheduler on a free port of this machine alone."""
    note = folder / "scheduler.json"
    line = [sys.executable, *program, "--host", HERE, "--port", "0"]
    line += ["--dashboard-address", f"{HERE}:0", "--no-dashboard", "--scheduler-file", str(note)]
    with started(line, **TOLD, **environment) as run:
        wait_until(lambda: note.exists() and note.read_text(), run)
        assert run.process.poll() is None, said(run.err)
        address = json.loads(note.read_text())["address"]
        yield Scheduler(address=address, run=run, folder=folder)


def blind(line: list[str], hidden: tuple[Path, ...]) -> list[str]:
    """A program for which some folders are empty, because something else is mounted there."""
    if not hidden:
        return line
    asked = ["unshare", "--mount"] if os.geteuid() == 0 else ["unshare", "-r", "--mount"]
    mounts = " && ".join(f'mount -t tmpfs none "${number}"' for number in range(1, len(hidden) + 1))
    script = f'{mounts} && shift {len(hidden)} && exec "$@"'
    return [*asked, "sh", "-c", script, "sh", *map(str, hidden), *line]


@pytest.fixture(scope="module")
def scheduler(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Scheduler]:
    with scheduler_in(tmp_path_factory.mktemp("scheduler")) as one:
        yield one
    assert batch_runs.marked(one.run.mark) == []


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Eight spreads, one of which cannot be read."""
    folder = draw_book(tmp_path_factory.mktemp("cluster") / "book", BOOK + NIGHT, spreads=SPREADS)
    cut = plate_of(folder, "Fjord", CUT)
    cut.write_bytes(cut.read_bytes()[:-5000])
    return folder


@pytest.fixture(scope="module")
def whole(book: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """What processes of this machine write."""
    to = tmp_path_factory.mktemp("processes") / "to"
    assert ran(book, to, "--workers", "2").code == 3
    assert set(report_bytes(to)) == {*SPREADS} - {CUT}
    return digests(to)


def engine(scheduler: Scheduler) -> tuple[str, str]:
    return "--engine", f"dask:{scheduler.address}"


# --- work ----------------------------------------------------------------------------------------


def test_a_cluster_writes_the_same(scheduler, book, whole, tmp_path, capfd):
    to = tmp_path / "to"
    with scheduler.workers(2) as workers, untouched(book):
        done = command(capfd, "batch", book, "--to", to, *engine(scheduler))
        assert (done.code, done.messages) == (3, [])
        assert all(run.process.poll() is None for run in workers)
    assert digests(to) == whole


def test_a_worker_that_is_killed_costs_nothing(scheduler, book, whole, tmp_path):
    to = tmp_path / "to"
    with scheduler.workers(2) as workers:
        with started(batch_line(book, to, *engine(scheduler))) as run:
            wait_until(lambda: [*to.glob("*/report.json")], run)
            workers[0].process.kill()
            ended = run.ended()
            assert run.left() == []
        assert workers[1].process.poll() is None
    assert (ended.code, "Traceback" in ended.err, "distributed" in ended.err) == (3, False, False)
    assert digests(to) == whole


@pytest.mark.skipif(os.name != "posix", reason="signals are a thing of POSIX")
def test_a_run_that_is_interrupted_goes_on_later(scheduler, book, whole, tmp_path, capfd):
    to = tmp_path / "to"
    with scheduler.workers(1):
        with started(batch_line(book, to, *engine(scheduler))) as run:
            wait_until(lambda: [*to.glob("*/report.json")], run)
            batch_runs.tell(run, signal.SIGINT, group=True)
            ended = run.ended()
        assert (ended.code, ended.out, ended.err) == (130, "", batch_runs.SENTENCE)
        assert command(capfd, "batch", book, "--to", to, *engine(scheduler)).code == 3
    assert (halves(to), digests(to)) == ([], whole)


def run_here(
    book: Path, to: Path, scheduler: Scheduler, *, tell: Callable[..., None] = lambda _: None
) -> dict:
    """A run in this process with little patience; what its document says."""

    def show(result, last):
        (to / "batch.json").write_bytes(document_bytes(result, last=last))

    crew = ClusterCrew(address=scheduler.address, patience_s=4)
    run_batch(read_book(book), Wanted(to=to, crew=crew, show=show, tell=tell))
    return json.loads((to / "batch.json").read_bytes())


def test_a_spread_that_kills_its_workers_is_named(tmp_path, monkeypatch):
    with_work(monkeypatch, batch_runs.check_or_die)
    book, to = draw_book(tmp_path / "book", spreads=("1", DEADLY, "3", "4")), tmp_path / "to"
    most = {"DASK_DISTRIBUTED__SCHEDULER__ALLOWED_FAILURES": "0"}
    with scheduler_in(tmp_path, **most) as scheduler, scheduler.workers(2):
        rows = {row["name"]: row for row in run_here(book, to, scheduler)["rows"]}
    assert [row["name"] for row in rows.values() if row["faults"]] == [DEADLY], rows
    assert set(report_bytes(to)) == {"1", "3", "4"}
    found = rows[DEADLY]["faults"][0]["found"]
    assert found.startswith("every worker that checked it was killed")


@pytest.mark.parametrize(
    ("who", "found"),
    [("workers", "the cluster has no workers any more"), ("scheduler", "the workers went away")],
)
def test_a_cluster_that_goes_away(who, found, book, tmp_path):
    to = tmp_path / "to"

    def tell(how) -> None:
        if [*to.glob("*/report.json")]:
            for run in runs:
                run.process.kill()

    with scheduler_in(tmp_path) as scheduler, scheduler.workers(1) as workers:
        runs = workers if who == "workers" else [scheduler.run]
        with pytest.raises(UsageError, match=f"{found}; start them again and run again"):
            run_here(book, to, scheduler, tell=tell)
        for run in workers:
            run.process.kill()
    assert 1 <= len(report_bytes(to)) < len(SPREADS) - 1


# --- what a worker cannot see --------------------------------------------------------------------


@pytest.fixture
def may_hide(tmp_path: Path) -> None:
    if shutil.which("unshare") is None:
        pytest.skip("no program to mount something for one process alone")
    tried = subprocess.run(blind(["true"], (tmp_path,)), capture_output=True, text=True)
    if tried.returncode:
        pytest.skip(f"nothing can be mounted for one process alone: {tried.stderr}")


@pytest.mark.usefixtures("may_hide")
def test_what_no_worker_sees_is_named(scheduler, book, tmp_path, capfd):
    to = tmp_path / "to"
    to.mkdir()
    with scheduler.workers(1, hidden=(book, to)), untouched(book):
        done = command(capfd, "batch", book, "--to", to, "--json", *engine(scheduler))
    faults = {row["name"]: row["faults"] for row in json.loads(done.out)["rows"]}
    here = f"the worker on {socket.gethostname()} cannot see it"
    told = [(str(book / "book.toml"), here), (str(to), here)]
    assert (done.code, report_bytes(to)) == (2, {})
    assert {name: pairs(of_one) for name, of_one in faults.items()} == dict.fromkeys(SPREADS, told)
    assert f"{book / 'book.toml'}: {here}; let every worker see the same folder" in done.err


@pytest.mark.usefixtures("may_hide")
def test_those_who_see_do_their_part(scheduler, book, tmp_path):
    to = tmp_path / "to"
    to.mkdir()
    with scheduler.workers(1), scheduler.workers(1, hidden=(to,)):
        rows = run_here(book, to, scheduler)["rows"]
    here = f"the worker on {socket.gethostname()} cannot see it"
    blamed = {row["name"] for row in rows if pairs(row["faults"]) == [(str(to), here)]}
    assert blamed
    assert set(report_bytes(to)) == {*SPREADS} - blamed - {CUT}


def pairs(faults: list[dict]) -> list[tuple[str, str]]:
    return [(fault["where"], fault["found"]) for fault in faults]


_WITHOUT_INKMIX = """
import sys
sys.modules["inkmix"] = None  # as Python notes what is not there
from distributed.cli.dask_scheduler import main
main()
"""


def test_who_runs_another_inkmix_is_named(book, tmp_path, capfd):
    for name in ("inkmix", "swatches"):
        shutil.copytree(ROOT / name, tmp_path / "other" / name)
    with (tmp_path / "other" / "inkmix" / "errors.py").open("a") as file:
        file.write("# another\n")
    other = {"PYTHONPATH": str(tmp_path / "other"), "PYTHONSAFEPATH": "1"}
    with (
        scheduler_in(tmp_path, program=("-c", _WITHOUT_INKMIX)) as scheduler,
        scheduler.workers(1, **other) as workers,
    ):
        address = address_of(workers[0])
        done = command(capfd, "batch", book, "--to", tmp_path / "to", *engine(scheduler))
    assert (done.code, len(done.messages), report_bytes(tmp_path / "to")) == (2, 2, {})
    do = "; install there what is installed here, and start it again"
    differs = (
        f"inkmix: the cluster's {address}: runs another version of inkmix or of its libraries{do}"
    )
    assert done.messages[0] == differs
    assert done.messages[1].startswith("inkmix: the cluster's scheduler: cannot load inkmix (")
    assert done.messages[1].endswith(do)


def address_of(worker: Run) -> str:
    lines = said(worker.err).splitlines()
    return next(line for line in lines if "Start worker at" in line).split()[-1]


# --- what is not there ---------------------------------------------------------------------------


@pytest.fixture
def impatient(monkeypatch: pytest.MonkeyPatch) -> None:
    """The command waits for two seconds, which busy machines need to answer."""
    crew = partial(ClusterCrew, patience_s=2)
    monkeypatch.setattr(inkmix.batch.cluster, "ClusterCrew", crew)


@pytest.fixture
def mute() -> Iterator[str]:
    """Somebody who takes calls and never answers."""
    with socket.create_server((HERE, 0)) as server:
        yield f"tcp://{HERE}:{server.getsockname()[1]}"


@pytest.fixture
def nobody() -> str:
    """A port where nobody listens."""
    with socket.create_server((HERE, 0)) as server:
        return f"tcp://{HERE}:{server.getsockname()[1]}"


def refused(capfd, book: Path, to: Path, address: str) -> str:
    """The one message by which a run on a cluster is refused, soon."""
    began = time.monotonic()
    done = command(capfd, "batch", book, "--to", to, "--engine", f"dask:{address}")
    assert time.monotonic() - began < 8
    assert (done.code, done.out, len(done.messages)) == (2, "", 1)
    assert not report_bytes(to)
    where, _, what = done.messages[0].partition(f"dask:{address}: ")
    assert where == "inkmix: engine "
    return what


@pytest.mark.usefixtures("impatient")
@pytest.mark.parametrize("who", ["nobody", "mute"])
def test_no_scheduler(who, book, tmp_path, capfd, request):
    what = refused(capfd, book, tmp_path / "to", request.getfixturevalue(who))
    assert what.startswith("no scheduler answers ")
    assert what.endswith("; start a scheduler there, or correct the address")


@pytest.mark.usefixtures("impatient")
@pytest.mark.parametrize("address", ["", "tcp://", HERE, f"tcp://{HERE}:many", "moon://x:1", "x y"])
def test_no_address(address, book, tmp_path, capfd):
    assert refused(capfd, book, tmp_path / "to", address).startswith("no scheduler answers (")


@pytest.mark.usefixtures("impatient")
def test_no_workers(scheduler, book, tmp_path, capfd):
    what = refused(capfd, book, tmp_path / "to", scheduler.address)
    start = f"start some with `dask worker {scheduler.address}`"
    assert what == f"the cluster has no workers; {start}"


@pytest.mark.usefixtures("impatient")
def test_a_worker_is_no_scheduler(scheduler, book, tmp_path, capfd):
    with scheduler.workers(1) as workers:
        what = refused(capfd, book, tmp_path / "to", address_of(workers[0]))
    assert "(but a worker does)" in what


_WITHOUT = """
import sys
sys.modules["distributed"] = None  # as Python notes what is not there
from inkmix.cli.main import run
sys.exit(run(sys.argv[1:]))
"""


def test_no_library(book, tmp_path):
    line = [sys.executable, "-c", _WITHOUT, "batch", str(book), "--to", str(tmp_path / "to")]
    done = subprocess.run([*line, "--engine", "dask:tcp://x:1"], capture_output=True, text=True)
    assert (done.returncode, done.stdout, "Traceback" in done.stderr) == (2, "", False)
    told = [text for text in done.stderr.splitlines() if text.startswith("inkmix: ")]
    assert len(told) == 1
    assert "the library distributed is missing" in told[0]
    assert told[0].endswith("install it with `pip install 'inkmix[cluster]'`")
