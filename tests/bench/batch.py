"""How fast `inkmix batch` is, as ratios; run: python tests/bench/batch.py

Without an option it draws books of 200 spreads of 1.5 Mpx in five inks (3 GB of disk), checks each
by one worker and by two, alternately, each time into an empty folder, and once more over unchanged
files; one book has damaged spreads. Then a book of 2,000 small spreads, for its index page. A
quarter of an hour on two cores. Nothing fails for being slow: figures are for people, and machines
differ.
"""

import argparse
import sys
import tempfile
from collections.abc import Iterable
from contextlib import AbstractContextManager, nullcontext
from pathlib import Path

from in_browser import NOT_INSTALLED, browser, open_page
from timed_batches import Run, fresh, run_batch

sys.path.append(str(Path(__file__).parents[1]))
from many_spreads import draw_spreads

COUNT, INDEX_COUNT = 200, 2000
DAMAGED = 3
SIZE_PX = (1500, 1000)
SMALL_PX = (450, 300)  # more than a thumbnail of the index, little to compute
WORKERS = (1, 2)
KINDS = ("flat", "grainy")
OPENED = 3  # times, the best counts

_MB = 1_000_000
_READY = "book.toml"  # written last


def main(arguments: list[str] | None = None) -> None:
    """Measure what is asked for and print it."""
    asked = _parser().parse_args(arguments)
    with _folder(asked.keep) as name:
        folder = Path(name)
        warm(folder)
        for kind in filter(None, asked.kinds.split(",")):
            print_runs(folder, kind, count=asked.count, rounds=asked.rounds)
        if asked.damaged:
            damaged = min(DAMAGED, asked.count)
            print_runs(folder, KINDS[0], count=asked.count, rounds=asked.rounds, damaged=damaged)
        if asked.index:
            print_index(folder, count=asked.index)


def warm(folder: Path) -> None:
    """Let the table of these inks be built, and loops be compiled, before anything is measured."""
    book = _book(folder / "warm", count=1, size_px=SMALL_PX, kind=KINDS[0])
    run_batch(book, fresh(folder / "warm-reports"), workers=1)


def print_runs(
    folder: Path,
    kind: str,
    *,
    count: int,
    rounds: int,
    damaged: int = 0,
    size_px: tuple[int, int] = SIZE_PX,
) -> None:
    """Times of first and second runs by each number of workers."""
    name = folder / f"{kind}-{count}-{damaged}"
    book = _book(name, count=count, size_px=size_px, kind=kind, damaged=damaged)
    width_px, height_px = size_px
    _say(
        f"\n{kind} artwork, {count} spreads of {width_px} x {height_px} px in 5 inks, "
        f"{damaged} of them damaged, {_read(book)}"
    )
    first: dict[int, list[Run]] = {workers: [] for workers in WORKERS}
    second: dict[int, list[Run]] = {workers: [] for workers in WORKERS}
    for _ in range(rounds):
        for workers in WORKERS:
            to = fresh(folder / "reports")
            first[workers].append(run_batch(book, to, workers=workers))
            second[workers].append(run_batch(book, to, workers=workers))
    _print_table(
        {workers: _best(runs) for workers, runs in first.items()},
        {workers: _best(runs) for workers, runs in second.items()},
        count=count,
    )


def _print_table(first: dict[int, Run], second: dict[int, Run], *, count: int) -> None:
    one = first[WORKERS[0]]
    _say(
        f"{'':12}{'first s':>9}{'CPU s':>8}{'ms a spread':>13}{'as fast':>9}"
        f"{'again s':>9}{'as fast as first':>18}{'peak of a worker':>18}{'reports':>9}"
    )
    for workers, run in first.items():
        again = second[workers]
        name = f"{workers} worker{'s' if workers > 1 else ''}"
        mib = "" if run.worker_mib is None else f"{run.worker_mib:.0f} MiB"
        _say(
            f"{name:12}{run.seconds:9.1f}{run.cpu_s:8.1f}{1000 * run.seconds / count:13.0f}"
            f"{one.seconds / run.seconds:9.2f}{again.seconds:9.2f}"
            f"{run.seconds / again.seconds:18.1f}{mib:>18}{run.reports:>9}"
        )


def print_index(folder: Path, *, count: int) -> None:
    """Size of the index page of many spreads, and how long a browser takes for it."""
    book = _book(folder / f"small-{count}", count=count, size_px=SMALL_PX, kind=KINDS[0])
    to = fresh(folder / "small-reports")
    run = run_batch(book, to, workers=WORKERS[-1])
    page = to / "index.html"
    _say(
        f"\nindex of {count} spreads ({run.seconds:.0f} s to check): "
        f"{page.stat().st_size / _MB:.1f} MB"
    )
    if browser() is None:
        _say(NOT_INSTALLED)
        return
    times = [open_page(page) for _ in range(OPENED)]
    loaded_s, shown_s = (
        min(ms) / 1000 for ms in zip(*((t.loaded_ms, t.shown_ms) for t in times), strict=True)
    )
    _say(f"loaded in {loaded_s:.2f} s, painted after {shown_s:.2f} s (best of {OPENED})")


def _book(
    folder: Path, *, count: int, size_px: tuple[int, int], kind: str, damaged: int = 0
) -> Path:
    """A folder with such a book, drawn if it is not there."""
    if not (folder / _READY).exists():
        width_px, height_px = size_px
        draw_spreads(
            folder,
            count=count,
            width_px=width_px,
            height_px=height_px,
            damaged=damaged,
            grainy=kind == "grainy",
        )
    return folder


def _read(book: Path) -> str:
    """Size of all plates in words; they are read once, so that no disk is measured."""
    size = sum(len(path.read_bytes()) for path in book.rglob("*.tif"))
    return f"{size / _MB:.0f} MB"


def _best(runs: Iterable[Run]) -> Run:
    return min(runs, key=lambda run: run.seconds)


def _folder(keep: Path | None) -> AbstractContextManager[str]:
    if keep is None:
        return tempfile.TemporaryDirectory(prefix="inkmix-bench-")
    return nullcontext(str(keep))


def _say(text: str) -> None:
    print(text, flush=True)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=COUNT, help="spreads of a book; else 200")
    parser.add_argument("--rounds", type=int, default=1, help="runs of each row; else 1")
    parser.add_argument("--kinds", default=",".join(KINDS), help="artwork, separated by commas")
    parser.add_argument(
        "--damaged", action=argparse.BooleanOptionalAction, default=True, help="a book with damage"
    )
    parser.add_argument(
        "--index", type=int, default=INDEX_COUNT, help="spreads of the index; 0 for none"
    )
    parser.add_argument("--keep", type=Path, metavar="FOLDER", help="keep the books here")
    return parser


if __name__ == "__main__":
    main()
