"""How fast inkmix is beside others, as ratios; run: python tests/bench/speed.py

Nothing here fails for being slow: figures are for people, and machines differ.
"""

import argparse

import in_memory


def main(arguments: list[str] | None = None) -> None:
    """Measure what is asked for and print it."""
    asked = _parser().parse_args(arguments)
    in_memory.print_tables(mpx=asked.mpx or in_memory.MPX, rounds=asked.rounds, say=_say)


def _say(text: str) -> None:
    print(text, flush=True)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--memory", action="store_true", help="only what lies in memory")
    parser.add_argument("--mpx", type=float, help="megapixels; else 8 in memory, 173 from files")
    parser.add_argument("--rounds", type=int, default=5, help="times each row is measured")
    return parser


if __name__ == "__main__":
    main()
