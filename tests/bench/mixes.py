"""How long mixes take: `python tests/bench/mixes.py [COLOURS]` prints a table.

The five inks of the demo on its uncoated paper, known by spectra and measured mixtures, and four
process inks known by ramps. Colours are random on a screen, most of them out of reach, which is the
dearest kind.
"""

import resource
import sys
import time
from collections.abc import Callable

import numpy as np

from inkmix.base.arrays import FloatArray
from inkmix.colour.colorimetry import WHITE_XYZ100, srgb1_to_xyz100, xyz100_to_lab
from inkmix.mixes.darkest import darkest_mixes
from inkmix.mixes.helping import Helpers
from inkmix.mixes.nearest import found_for_all
from inkmix.mixes.values import Aims
from inkmix.press.condition import PressCondition, press_condition
from inkmix.press.processes import find_process
from inkmix.press.swatches.by_name import load_ink, load_overprints, load_paper

COLOURS, SEED = 10_000, 5
DEMO = ("night-ferry/uncoated", "night-ferry", ("Soot", "Fjord", "Rowan", "Brass", "Fog"))
PROCESS = ("fogra39l", "fogra39l", ("K", "C", "M", "Y"))
AIMS = Aims(ink_limit_pct=260, least_pct=3)


def condition_of(paper_name: str, ink_set: str, inks: tuple[str, ...]) -> PressCondition:
    """Shipped inks on a shipped paper, with what was measured of their mixtures."""
    paper = load_paper(paper_name)
    names = [f"{ink_set}/{ink}" for ink in inks]
    return press_condition(
        paper,
        [load_ink(name, paper=paper) for name in names],
        process=find_process("sheet-fed offset"),
        patches=load_overprints(paper, names) if ink_set == DEMO[1] else None,
    )


def colours(condition: PressCondition, count: int) -> FloatArray:
    """Random screen colours on the paper, as Lab."""
    srgb1 = np.random.default_rng(SEED).random((count, 3))
    return xyz100_to_lab(srgb1_to_xyz100(srgb1) / WHITE_XYZ100 * condition.paper.xyz100)


def row(name: str, work: Callable[[], object]) -> str:
    """One row of the table: on the wall, and computing."""
    wall, cpu = time.perf_counter(), time.process_time()
    work()
    wall, cpu = time.perf_counter() - wall, time.process_time() - cpu
    return f"{name:50}{wall:9.2f} s{cpu:9.2f} s"


def rows(name: str, condition: PressCondition, count: int) -> list[str]:
    """The rows of one condition."""
    labs = colours(condition, count)
    helpers = Helpers(condition, AIMS)
    found = list(found_for_all(condition, labs[:1], AIMS))
    return [
        row(f"{name}: one colour", lambda: next(found_for_all(condition, labs[1:2], AIMS))),
        row(
            f"{name}: {count:,} colours",
            lambda: sum(1 for _ in found_for_all(condition, labs, AIMS)),
        ),
        row(f"{name}: the darkest", lambda: darkest_mixes(condition, AIMS)),
        row(f"{name}: inks that would help", lambda: helpers.help(found)),
    ]


def main() -> None:
    """Print the table."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else COLOURS
    print(f"{'':50}{'wall':>11}{'computing':>11}")
    for name, condition in (("5 inks, spectra", DEMO), ("4 inks, ramps", PROCESS)):
        print("\n".join(rows(name, condition_of(*condition), count)), flush=True)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"peak memory {peak:.0f} MiB")


if __name__ == "__main__":
    main()
