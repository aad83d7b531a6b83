"""How long colour tables take, from inks to nodes: `python tests/bench/tables.py` prints the rows.

The five inks of the demo on its uncoated paper, known by spectra, with the twelve mixtures that are
shipped, with 300, and with none; nothing is kept, and what has to be imported is. Rows are measured
in turn, the best round of each; the last column says how often a table is built in the time of the
dearest.
"""

import time
from collections.abc import Callable

import numpy as np

from inkmix.base import loops
from inkmix.base.arrays import FloatArray
from inkmix.press.condition import Patches, PressCondition, press_condition
from inkmix.press.condition import _put_together as conditions
from inkmix.press.processes import find_process
from inkmix.press.swatches.by_name import load_ink, load_overprints, load_paper
from inkmix.press.table import lookup

ROUNDS, SEED = 3, 5
COARSE_NODES = 5
INKS = ("Soot", "Fjord", "Rowan", "Brass", "Fog")
OFFSET = find_process("sheet-fed offset")
PAPER = load_paper("night-ferry/uncoated")
NAMES = [f"night-ferry/{ink}" for ink in INKS]
SWATCHES = [load_ink(name, paper=PAPER) for name in NAMES]


def condition(patches: Patches | None) -> PressCondition:
    """The press condition, put together anew."""
    conditions.cache_clear()
    return press_condition(PAPER, SWATCHES, process=OFFSET, patches=patches)


def many(count: int) -> Patches:
    """So many mixtures at random, off by 3 % as if measured (silver)."""
    random = np.random.default_rng(SEED)
    tones: FloatArray = random.choice([0.0, 20, 40, 70, 100], (4 * count, len(INKS)))
    tones = np.unique(tones[(tones > 0).sum(axis=1) >= 2], axis=0)
    tones = random.permutation(tones)[:count]
    off = np.exp(random.normal(0, 0.03, (len(tones), 3)))
    return Patches(tone_pct=tones, xyz100=condition(None).xyz100(tones) * off)


def build(patches: Patches | None, nodes: int) -> None:
    """One table, with so many nodes an axis."""
    usual = lookup.NODES
    lookup.NODES = {**usual, len(INKS): nodes}
    try:
        lookup.build_lookup(condition(patches), inks=len(INKS), depth=8)
    finally:
        lookup.NODES = usual


def measured(work: Callable[[], None]) -> float:
    """Seconds on the wall."""
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def main() -> None:
    """Print the table."""
    loops.are_compiled()
    full, shipped = lookup.NODES[len(INKS)], load_overprints(PAPER, NAMES)
    assert shipped is not None
    told = {"no measured mixture": None, "12 measured mixtures": shipped, "300": many(300)}
    works = {
        f"five inks, {name}, {nodes} nodes an axis": (patches, nodes)
        for nodes in (full, COARSE_NODES)
        for name, patches in told.items()
    }
    best = dict.fromkeys(works, np.inf)
    for _ in range(ROUNDS):
        for name, work in works.items():
            best[name] = min(best[name], measured(lambda work=work: build(*work)))
    dearest = max(best.values())
    for name, seconds in best.items():
        print(f"{name:55}{seconds:8.3f} s{dearest / seconds:9.1f}")


if __name__ == "__main__":
    main()
