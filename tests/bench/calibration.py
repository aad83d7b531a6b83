"""How long learning a press takes: `python tests/bench/calibration.py` prints a table.

1,617 patches of seven invented inks, printed on a press of another kind. A step's time is told in
seconds of CPU and as a multiple of three Cholesky factors of 1,500 rows by NumPy, the work that
nobody can save, measured before and after; then the peak of memory, and the table of colours apart.
"""

import argparse
import resource
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from itertools import product
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))
sys.path.insert(0, str(Path(__file__).parents[1] / "tools"))

from night_ferry_inks import INKS
from printed_form import readings_file, write_book
from simulated_press import PressInk, night_ferry

from inkmix.colour.observer import WAVELENGTHS_NM
from inkmix.jobs.calibrating.calibrate import calibrate_book
from inkmix.press.table.lookup import build_lookup

SEVEN = ("Soot", "Mussel", "Tide", "Anemone", "Bottle", "Oilskin", "Lantern")
PATCHES, ROWS, SEED = 1617, 1500, 3


def press_of_seven():
    """Seven inks on the paper of the ferry."""
    press = night_ferry()
    inks = tuple(
        PressInk(
            name=name,
            absorption=INKS[name][0],
            scatter=0.02 * 550 / WAVELENGTHS_NM,
            thickness=1.0,
            edge_um=8.0,
        )
        for name in SEVEN
    )
    return replace(press, inks=inks)


def form_of_seven(count: int) -> np.ndarray:
    """Paper, ramps, pairs of solids, and mixes by lot."""
    eye = np.eye(len(SEVEN))
    ramps = [tone * row for row in eye for tone in range(10, 101, 10)]
    pairs = [100 * (eye[i] + eye[j]) for i, j in product(range(7), repeat=2) if i < j]
    random = np.random.default_rng(SEED)
    mixes = []
    while len(mixes) < count - len(ramps) - len(pairs) - 1:
        row = np.zeros(7)
        held = random.choice(7, random.integers(2, 5), replace=False)
        row[held] = random.choice([20, 40, 70, 100], len(held))
        if row.sum() <= 300:
            mixes.append(row)
    return np.array([np.zeros(7), *ramps, *pairs, *mixes])


def unsavable_s() -> float:
    """CPU time of three Cholesky factors."""
    random = np.random.default_rng(SEED)
    half = random.standard_normal((ROWS, ROWS))
    whole = half @ half.T + ROWS * np.eye(ROWS)
    start = time.process_time()
    for _ in range(3):
        np.linalg.cholesky(whole)
    return time.process_time() - start


def timed(make: Callable[[], object]) -> tuple[object, float]:
    """What a step makes, and its CPU time."""
    start = time.process_time()
    made = make()
    return made, time.process_time() - start


def main(arguments: list[str] | None = None) -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--patches", type=int, default=PATCHES)
    asked = parser.parse_args(arguments)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        book = write_book(folder, inks=SEVEN, tones=False)
        tones = form_of_seven(asked.patches)
        path = readings_file(folder / "sheet.txt", tones, press=press_of_seven(), names=SEVEN)
        before = unsavable_s()
        found, learnt = timed(lambda: calibrate_book(book, path))
        unit = (before + unsavable_s()) / 2
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        _, table = timed(lambda: build_lookup(found.condition, inks=len(SEVEN), depth=8))
    print(f"{len(tones):,} patches of {len(SEVEN)} inks{'s of CPU':>16}{'ratio':>8}")
    print(f"{'read, doubt, learn, cross-validate':36}{learnt:8.1f}{learnt / unit:8.1f}")
    print(f"{'the table of colours, apart':36}{table:8.1f}{table / unit:8.1f}")
    print(f"peak memory before the table: {peak:.0f} MiB")


if __name__ == "__main__":
    main()
