"""How fast inkmix is beside others, as ratios; run: python tests/bench/speed.py

Without an option it measures in memory (8 Mpx, a minute) and from files (173 Mpx, about half an
hour and 3 GB of disk). Nothing fails for being slow: figures are for people, and machines differ.
"""

import argparse
import tempfile
from contextlib import AbstractContextManager, nullcontext
from pathlib import Path

import from_files
import in_memory


def main(arguments: list[str] | None = None) -> None:
    """Measure what is asked for and print it."""
    asked = _parser().parse_args(arguments)
    everything = not (asked.memory or asked.files or asked.sizes)
    if asked.memory or everything:
        in_memory.print_tables(mpx=asked.mpx or in_memory.MPX, rounds=asked.rounds or 5, say=_say)
    if asked.files or asked.sizes or everything:
        with _folder(asked.keep) as name:
            _from_files(Path(name), asked, jobs=asked.files or everything)


def _from_files(folder: Path, asked: argparse.Namespace, *, jobs: bool) -> None:
    mpx, kinds = asked.mpx or from_files.MPX, asked.kinds.split(",")
    if jobs:
        from_files.print_tables(folder, kinds, mpx=mpx, rounds=asked.rounds or 2, say=_say)
    if asked.sizes:
        from_files.print_sizes(folder, kinds, mpx=mpx, say=_say)


def _folder(keep: Path | None) -> AbstractContextManager[str]:
    if keep is None:
        return tempfile.TemporaryDirectory(prefix="inkmix-bench-")
    return nullcontext(str(keep))


def _say(text: str) -> None:
    print(text, flush=True)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--memory", action="store_true", help="planes in memory")
    parser.add_argument("--files", action="store_true", help="whole jobs from files")
    parser.add_argument("--sizes", action="store_true", help="memory by size and by storage")
    parser.add_argument("--mpx", type=float, help="megapixels; else 8 in memory, 173 from files")
    parser.add_argument("--rounds", type=int, help="runs of each row; else 5, from files 2")
    parser.add_argument(
        "--kinds", default="flat,grainy", help="artwork for files, separated by commas"
    )
    parser.add_argument("--keep", type=Path, metavar="FOLDER", help="keep the plate files here")
    return parser


if __name__ == "__main__":
    main()
