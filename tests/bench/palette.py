"""How long choosing inks takes: `python tests/bench/palette.py` prints a table.

24 shipped inks, and 61 of which 37 lie between two of those: 4 chosen beside the black, 12 tones.
`--all` measures every palette of a small set in full as well, and says where in the order of the
search the ten best of them came.
"""

import argparse
import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass, field
from math import comb
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

from palette_cases import many, shipped, tones, wish

from inkmix.base.ordered_threads import thread_count
from inkmix.mixes.palettes.choice import MOST_MEASURED, choose
from inkmix.mixes.palettes.measure import measure
from inkmix.mixes.palettes.shortlist import choices, set_size, shortlist, table_of, with_fixed
from inkmix.mixes.palettes.task import task_of
from inkmix.mixes.palettes.values import Wish

CHOSEN, TONES, SEED = 4, 12, 1


@dataclass(slots=True)
class Steps:
    """When each step of a search began and how many pieces it had."""

    began: dict[str, float] = field(default_factory=dict)
    pieces: dict[str, int] = field(default_factory=dict)
    ended: dict[str, float] = field(default_factory=dict)
    last: float = field(default_factory=time.perf_counter)

    def __call__(self, what: str, done: int, of: int) -> None:
        """Take note of progress."""
        now = time.perf_counter()
        self.began.setdefault(what, self.last)
        self.pieces[what], self.ended[what], self.last = of, now, now


def timed(told: Wish) -> list[str]:
    """Lines about one search."""
    steps, wall, cpu = Steps(), time.perf_counter(), time.process_time()
    choice = choose(told, progress=steps)
    wall, cpu = time.perf_counter() - wall, time.process_time() - cpu
    head = f"{len(told.candidates)} inks, {choice.searched:,} palettes"
    lines = [f"{head:32}{wall:9.1f} s{cpu:9.1f} s"]
    for what, count in steps.pieces.items():
        seconds = steps.ended[what] - steps.began[what]
        each = f"{count / max(seconds, 1e-9):,.0f} a second"
        lines.append(f"  {f'{what}, {count:,}':30}{seconds:9.1f} s{'':11}  {each}")
    full = cpu / choice.searched * 1000
    lines.append(f"  CPU a palette {full:.2f} ms; one measured in full {_in_full_ms(told):.0f} ms")
    return lines


def _in_full_ms(told: Wish) -> float:
    """CPU time of measuring one palette in full: what each would take without the small sets."""
    task = task_of(told)
    numbers = np.arange(10) * 31 % comb(len(task.free), told.k)
    members = with_fixed(task, task.free[choices(numbers, size=told.k, of=len(task.free))])
    start = time.process_time()
    measure(task, members)
    return (time.process_time() - start) / len(members) * 1000


def ranks_of_ten_best(count: int, *, seed: int) -> str:
    """Where the ten best of all palettes of `count` inks and the black stood after the search."""
    random = np.random.default_rng(seed)
    others = sorted(random.choice(np.arange(1, 24), count, replace=False))
    inks = (shipped()[0], *(shipped()[at] for at in others))
    task = task_of(wish(inks, k=CHOSEN, tones=tones(TONES, seed=seed)))
    table = table_of(task, task.free, size=set_size(task), progress=_silent)
    total = comb(count, CHOSEN)
    left = shortlist(task, table, most=total, progress=_silent)
    totals = [one.total_points for one in measure(task, left.members)]
    ranks = np.argsort(totals, kind="stable")[:10].tolist()
    return f"  seed {seed}: the ten best of {total:,} came at {', '.join(map(str, ranks))}"


def _silent(what: str, done: int, of: int) -> None:
    """Tell nobody."""


def main(arguments: Sequence[str] | None = None) -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--all", action="store_true", help="a small set in full (minutes)")
    parser.add_argument("--inks", type=int, nargs="*", default=[24, 61])
    told = parser.parse_args(arguments)
    choose(
        wish(shipped(6), k=2, tones=tones(2, seed=SEED))
    )  # loops are compiled, or taken from disk
    print(f"{CHOSEN} chosen beside the black, {TONES} tones, {thread_count()} threads; the best "
          f"{MOST_MEASURED} measured in full")  # fmt: skip
    print(f"{'':32}{'time':>11}{'CPU':>11}")
    for count in told.inks:
        print("\n".join(timed(wish(many(count), k=CHOSEN, tones=tones(TONES, seed=SEED)))))
    if told.all:
        print("\nSmall sets against all measured in full (ranks from 0):")
        for seed in (1, 2, 3):
            print(ranks_of_ten_best(15, seed=seed), flush=True)


if __name__ == "__main__":
    main()
