"""Fit the press model again to published sets, and say how good it is on those left out.

    python tests/tools/fit_press.py FOLDER

One family of sets is left out at a time; all that was fitted (greatest densities, trapping, tone
curves, what presses have in common, factors of the expected error) is fitted to the others, and
figures are printed side by side: those of sets that were fitted to, and those left out. A change of
the model is judged by the latter only. Nothing is written: the constants fitted to all sets are
printed, to be copied to inkmix/press/constants.toml by hand.
"""

import argparse
import sys
from collections.abc import Iterable
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))

from press_fit import common, errors, overprints, tones
from press_fit.constants_in_use import in_use, snapshot
from press_fit.sets import LEVELS, NO_OFFSET, PrintSet, read_sets


def fitted(sets: Iterable[PrintSet], start, *, with_common: bool = True):
    """The constants fitted to sets; the factors of the expected error stay."""
    usable = [one for one in sets if one.is_process and one.family not in NO_OFFSET]
    constants = tones.fit(usable, overprints.fit(usable, start))
    return common.fit(usable, constants) if with_common else common.without_common(constants)


def outcomes(sets: Iterable[PrintSet], constants) -> dict[tuple[str, str], errors.Outcome]:
    """What comes of sets at every level."""
    with in_use(constants):
        return {
            (one.name, level): errors.outcome(one, level, constants)
            for one in sets
            for level in LEVELS
        }


def main() -> None:
    """Print all figures."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("folder", type=Path, help="folder of CGATS files")
    parser.add_argument("--shipped", action="store_true", help="also the constants as they are")
    parser.add_argument(
        "--no-common", action="store_true", help="without what presses have in common"
    )
    told = parser.parse_args()
    sets, start = read_sets(told.folder), snapshot()
    with_common = not told.no_common
    everything = fitted(sets, start, with_common=with_common)
    within = outcomes(sets, everything)
    left_out = {}
    for family in sorted({one.family for one in sets}):
        others = [one for one in sets if one.family != family]
        constants = fitted(others, start, with_common=with_common)
        left_out |= outcomes([one for one in sets if one.family == family], constants)
    columns = {"fitted to": within, "left out": left_out}
    if told.shipped:
        columns["shipped"] = outcomes(sets, start)
    print_figures(sets, columns)
    print_shares(sets, left_out)
    print_constants(everything)


def print_figures(sets: list[PrintSet], columns: dict) -> None:
    """Mean dE00 / 95th percentile / mean |dL*| in the darkest fifth."""
    for level in LEVELS:
        print(f"\ntold {level:42}" + "".join(f"{name:>22}" for name in columns))
        for one in sets:
            rows = [table[one.name, level].figures() for table in columns.values()]
            print(f"  {one.name[:38]:38} {one.family[:10]:10}" + _cells(rows))
        four = [one.name for one in sets if one.is_process and one.family not in NO_OFFSET]
        means = [
            tuple(np.mean([table[name, level].figures() for name in four], axis=0))
            for table in columns.values()
        ]
        print(f"  {'mean of process inks in offset':49}" + _cells(means))


def _cells(rows: Iterable[tuple[float, ...]]) -> str:
    return "".join(f"{mean:10.2f} {p95:5.2f} {dark:5.2f}" for mean, p95, dark in rows)


def print_shares(sets: list[PrintSet], left_out: dict) -> None:
    """Factors of the expected error, and the shares inside with those of the other families."""
    counted = [one for one in sets if one.is_process and one.family not in NO_OFFSET]
    for level in LEVELS:
        print(f"\ninside the expected error, told {level}: factors from other families")
        shares = []
        for one in sets:
            others = [left_out[o.name, level] for o in counted
                      if o.family != one.family and o.is_smooth == one.is_smooth]  # fmt: skip
            if not others:
                continue
            pair = errors.factors(others)
            found = left_out[one.name, level].inside(*pair)
            if one in counted:
                shares.append(found)
            print(f"  {one.name[:38]:38} " + " ".join(f"{share:5.2f}" for share in found)
                  + f"   factors {pair[0]:.2f} {pair[1]:.2f}")  # fmt: skip
        print(f"  {'mean':38} " + " ".join(f"{share:5.2f}" for share in np.mean(shares, axis=0)))
        print(f"  {'worst':38} " + " ".join(f"{share:5.2f}" for share in np.min(shares, axis=0)))
        for smooth in (True, False):
            some = [left_out[one.name, level] for one in counted if one.is_smooth == smooth]
            pair = errors.factors(some)
            words = "smooth" if smooth else "uncoated and newsprint"
            print(f"  factors from all, {words}: {pair[0]:.2f} {pair[1]:.2f}")


def print_constants(constants) -> None:
    """The constants fitted to all sets, as they stand in constants.toml."""
    print("\nfitted to all sets:")
    for name, paper in constants.paper.items():
        print(f"  {name}: greatest_density {paper.greatest_density:.2f}, "
              f"over_black {paper.over_black:.2f}, tone_offset {paper.tone_offset:.3f}, "
              f"tone_by_density {paper.tone_by_density:.3f}")  # fmt: skip
    print(f"  overprint: trapping_loss {constants.overprint.trapping_loss:.3f}, "
          f"trapping_by_density {constants.overprint.trapping_by_density:.3f}")  # fmt: skip
    print(f"  tone: skew {constants.tone.skew:.3f}, "
          f"gain_by_density {constants.tone.gain_by_density:.3f}")  # fmt: skip
    for group, shared in constants.process_inks.common.items():
        for name, gains in shared.overprint.items():
            print(f"  {group} overprint {name} = {np.round(gains, 3).tolist()}")
        for i, j in np.argwhere(shared.spreading.any(axis=2)):
            print(f"  {group} spreading {'KCMY'[i]}<{'KCMY'[j]} = "
                  f"{np.round(shared.spreading[i, j], 3).tolist()}")  # fmt: skip
        for ink, letter in enumerate("KCMY"):
            print(f"  {group} tone {letter} = {np.round(shared.tone[ink], 3).tolist()}")


if __name__ == "__main__":
    main()
