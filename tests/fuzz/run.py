"""Try many malformed inputs; run: python tests/fuzz/run.py --seed 7 --count 10000

Two servers share the cases. Findings are told as they come, shrunk, and written to a folder each,
with the files, what was seen, and the command that repeats it. Ctrl-C ends it early with the sum of
what was tried. Ends with 1 if there is a finding. `--only books:123:0,2` tries single cases.
"""

import argparse
import json
import os
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from queue import Queue
from threading import Thread

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE.parent), str(HERE.parent.parent)]

SHARES = {
    "plates": 24, "pictures": 16, "profiles": 14, "measurements": 8, "books": 16, "options": 8,
    "colours": 8, "csv_tables": 3, "cxf_documents": 3,
}  # fmt: skip
"""Of a hundred cases; what takes longer has fewer."""
_KEPT_OF_A_KIND = 3


def main(words: list[str] | None = None) -> int:
    """Exit code: 0 without a finding."""
    asked = _asked(words)
    if asked.serve is not None:
        return _serve(asked)
    began, results = time.monotonic(), []
    try:
        for result in _from_servers(asked):
            results.append(result)
            _tell_findings(result)
    except KeyboardInterrupt:
        print("stopped before all was tried", file=sys.stderr)
    return _told(asked, results, time.monotonic() - began)


def _asked(words: list[str] | None) -> argparse.Namespace:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawTextHelpFormatter
    )
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--count", type=int, default=300)
    parser.add_argument("--programs", type=int, help="of them through python -m inkmix (3 in 100)")
    parser.add_argument("--servers", type=int, default=2)
    parser.add_argument("--generator", choices=tuple(SHARES))
    parser.add_argument("--only", nargs="*", default=[], metavar="CASE")
    parser.add_argument("--to", type=Path, default=Path(tempfile.gettempdir()) / "inkmix-fuzz")
    parser.add_argument("--json", action="store_true", help="results as JSON lines")
    parser.add_argument("--serve", type=int, help=argparse.SUPPRESS)
    asked = parser.parse_args(words)
    asked.servers = max(1, min(asked.servers, len(asked.only) or asked.count))
    if asked.programs is None:
        asked.programs = asked.count * 3 // 100
    return asked


def plans(asked: argparse.Namespace) -> Iterator:
    """All cases of a run, in order."""
    from fuzz.cases import Plan, plan_of

    if asked.only:
        yield from map(plan_of, asked.only)
        return
    deck = [name for name, share in SHARES.items() for _ in range(share)]
    for number in range(asked.count):
        name = asked.generator or deck[number * 37 % len(deck)]
        as_program = (number + 1) * asked.programs % asked.count < asked.programs  # evenly spread
        yield Plan(generator=name, seed=asked.seed * 10**6 + number, as_program=as_program)


# --- a server ------------------------------------------------------------------------------------


def _serve(asked: argparse.Namespace) -> int:
    """Try every so manyth case, one line of JSON each, until all is done or Ctrl-C comes."""
    with suppress(KeyboardInterrupt):
        return _served(asked)
    return 0


def _served(asked: argparse.Namespace) -> int:
    fast = Path("/dev/shm")
    with tempfile.TemporaryDirectory(dir=fast if fast.is_dir() else None) as folder:
        from fuzz.server import Server

        server = Server(Path(folder))
        print(json.dumps({"idle_kib": server.idle_kib}), flush=True)
        seen: Counter[str] = Counter()
        parent = os.getppid()
        for number, plan in enumerate(plans(asked)):
            if os.getppid() != parent:
                return 1  # whoever asked is gone
            if number % asked.servers == asked.serve:
                print(json.dumps(_result(server, plan, seen, asked.to)), flush=True)
    return 0


def _result(server, plan, seen: Counter, target: Path) -> dict:
    began = time.monotonic()
    word, found, damages = server.tried(plan)
    result = {
        "case": plan.name,
        "program": plan.as_program,
        "outcome": word,
        "damages": damages,
        "seconds": round(time.monotonic() - began, 3),
        "findings": [f"{one.kind}: {one.seen}" for one in found],
    }
    if found:
        words = re.sub(r"[^a-z]+", "-", found[0].seen.lower())[:40]
        kind = f"{plan.generator}-{found[0].kind}-{words}"
        seen[kind] += 1
        if seen[kind] <= _KEPT_OF_A_KIND:
            result["kept"] = str(_keep(server, plan, found, target))
    return result


def _keep(server, plan, found, target: Path) -> Path:
    """Shrink a finding and write it down."""
    least = server.shrunk(plan, found[0].kind)
    place = target / re.sub(r"\W+", "-", f"{found[0].kind}-{least.name}")
    shutil.rmtree(place, ignore_errors=True)
    place.mkdir(parents=True)
    words = server.kept(least, place / "files")
    (place / "what.txt").write_text(
        f"case: {least.name} (of {plan.name})\n"
        f"again: python tests/fuzz/run.py --only {least.name}\n"
        f"or, in the folder `files`: python -m inkmix {' '.join(map(repr, words))}\n\n"
        + "\n".join(f"{one.kind}: {one.seen}" for one in found),
        encoding="utf-8",
        errors="backslashreplace",
    )
    return place


# --- all servers ---------------------------------------------------------------------------------


def _from_servers(asked: argparse.Namespace) -> Iterator[dict]:
    """Results of all servers as they come; these are stopped where nobody wants any more."""
    servers = [_started(asked, number) for number in range(asked.servers)]
    lines: Queue[bytes | None] = Queue()
    for server in servers:
        Thread(target=_pass_on, args=(server, lines), daemon=True).start()
    try:
        for _ in servers:
            for line in iter(lines.get, None):
                result = json.loads(line)
                if "case" in result:
                    yield result
            if codes := [server.returncode for server in servers if server.returncode]:
                raise SystemExit(f"a server ended with {codes[0]}")
    finally:
        _stop(servers)


def _started(asked: argparse.Namespace, number: int) -> subprocess.Popen:
    """A server in a group of its own: Ctrl-C comes to it from here, at a time of our choice."""
    command = [sys.executable, str(HERE / "run.py"), *_passed_on(asked), "--serve", str(number)]
    environment = {**os.environ, "OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}
    environment["PYTHONPATH"] = os.pathsep.join(
        [str(HERE.parent.parent), os.environ.get("PYTHONPATH", "")]
    )
    environment["PYTHONHASHSEED"] = "0"
    return subprocess.Popen(command, stdout=subprocess.PIPE, env=environment, process_group=0)


def _pass_on(server: subprocess.Popen, lines: Queue) -> None:
    """Its lines, and None once it has ended."""
    try:
        for line in server.stdout:
            lines.put(line)
        server.wait()
    finally:
        lines.put(None)


def _stop(servers: list[subprocess.Popen]) -> None:
    """End those that still run, and what they started, gently at first."""
    for how, patience_s in ((signal.SIGINT, 5), (signal.SIGKILL, None)):
        for server in servers:
            if server.poll() is None:
                os.killpg(server.pid, how)
        for server in servers:
            with suppress(subprocess.TimeoutExpired):
                server.wait(patience_s)


def _passed_on(asked: argparse.Namespace) -> list[str]:
    words = ["--seed", str(asked.seed), "--count", str(asked.count), "--to", str(asked.to)]
    words += ["--programs", str(asked.programs), "--servers", str(asked.servers)]
    words += ["--generator", asked.generator] if asked.generator else []
    return [*words, "--only", *asked.only] if asked.only else words


def _tell_findings(result: dict) -> None:
    if not result["findings"]:
        return
    print(f"{result['case']} {','.join(result['damages'])}", file=sys.stderr)
    for line in result["findings"]:
        print(f"    {line!s:.300}", file=sys.stderr)
    if "kept" in result:
        print(f"    kept in {result['kept']}", file=sys.stderr)
    sys.stderr.flush()


def _told(asked: argparse.Namespace, results: list[dict], seconds: float) -> int:
    if asked.json:
        print(json.dumps({"seconds": seconds, "results": results}))
    else:
        _say_counts(results, seconds)
    return 1 if any(result["findings"] for result in results) else 0


def _say_counts(results: list[dict], seconds: float) -> None:
    """A row for each generator: one that makes only what is refused is seen here."""
    heads = ("cases", "accepted", "refused", "finding", "accepted %", "ms")
    print(f"{'generator':<14}" + "".join(f"{head:>12}" for head in heads))
    for name in (*SHARES, "all"):
        mine = [r for r in results if name in ("all", r["case"].split(":")[0])]
        if mine:
            each = Counter(r["outcome"] for r in mine)
            share = round(100 * each["accepted"] / len(mine))
            ms = round(1000 * sum(r["seconds"] for r in mine) / len(mine))
            cells = (len(mine), *(each[head] for head in heads[1:4]), share, ms)
            print(f"{name:<14}" + "".join(f"{cell:>12}" for cell in cells))
    programs = sum(r["program"] for r in results)
    print(f"{len(results)} cases in {seconds:.0f} s, {programs} of them as programs")


if __name__ == "__main__":
    sys.exit(main())
