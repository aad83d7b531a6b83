"""How long `inkmix --help` takes, in bare starts of Python; run: python tests/bench/startup.py

Pairs are measured alternately, the median of their ratios is printed. Aim: at most 6.
"""

import statistics
import subprocess
import sys
import sysconfig
import time
from pathlib import Path

PAIRS = 41


def seconds(command: list[str]) -> float:
    """Wall time of one run."""
    start = time.perf_counter()
    subprocess.run(command, stdout=subprocess.DEVNULL, check=True)
    return time.perf_counter() - start


def main() -> None:
    """Print the ratio."""
    script = Path(sysconfig.get_path("scripts")) / "inkmix"
    pairs = [
        (seconds([sys.executable, "-c", "pass"]), seconds([str(script), "--help"]))
        for _ in range(PAIRS)
    ]
    bare_ms, help_ms = (1000 * statistics.median(times) for times in zip(*pairs, strict=True))
    ratio = statistics.median(help_s / bare_s for bare_s, help_s in pairs)
    print(f"inkmix --help {help_ms:.0f} ms, bare start {bare_ms:.0f} ms, ratio {ratio:.1f} (aim 6)")


if __name__ == "__main__":
    main()
