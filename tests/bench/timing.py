"""Rows measured alternately, and the table they make. What is measured is told elsewhere.

Machines are shared and change their clock, so times of one run only are compared, every round holds
all rows, and the best round of each counts. Computing time tells more where others work beside.
"""

import resource
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

MIB = 1024


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """Something to be measured; `why_not` says why it cannot be, where that is so."""

    name: str
    run: Callable[[], object] | None
    why_not: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """Best times and peak memory of a row.

    Parameters
    ----------
    seconds, cpu_s : float
        On the wall, and computing by all threads and processes.
    peak_mib : float or None
        None where the system does not tell.
    """

    seconds: float
    cpu_s: float
    peak_mib: float | None


def _nothing() -> None:
    """Prepare nothing."""


def measure(
    rows: Sequence[Row], *, rounds: int, prepare: Callable[[], None] = _nothing
) -> dict[str, Measured]:
    """Best times, after one run of each that does not count and whose memory is looked at.

    Parameters
    ----------
    prepare : callable
        Called before every run, out of the time.
    """
    runs = {row.name: row.run for row in rows if row.run is not None}
    peaks: dict[str, float | None] = {}
    for name, run in runs.items():
        prepare()
        peaks[name] = _added_peak_mib(run)
    times: dict[str, list[tuple[float, float]]] = {name: [] for name in runs}
    for _ in range(rounds):
        for name, run in runs.items():
            prepare()
            times[name].append(_seconds(run))
    return {name: _best(times[name], peak_mib=peaks[name]) for name in runs}


def _best(times: Sequence[tuple[float, float]], *, peak_mib: float | None) -> Measured:
    wall, cpu = (min(seconds) for seconds in zip(*times, strict=True))
    return Measured(seconds=wall, cpu_s=cpu, peak_mib=peak_mib)


def _seconds(run: Callable[[], object]) -> tuple[float, float]:
    """On the wall, and computing."""
    start, cpu_start = time.perf_counter(), _cpu_s()
    run()
    return time.perf_counter() - start, _cpu_s() - cpu_start


def _cpu_s() -> float:
    """Computed so far, by this process and those that it waited for."""
    usages = map(resource.getrusage, (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    return sum(usage.ru_utime + usage.ru_stime for usage in usages)


def _added_peak_mib(run: Callable[[], object]) -> float | None:
    """How much the process grew at most during a run."""
    try:
        Path("/proc/self/clear_refs").write_text("5", encoding="ascii")  # the peak starts anew
    except OSError:
        run()
        return None
    before = _status_mib("VmRSS")
    run()
    return max(0.0, _status_mib("VmHWM") - before)


def peak_mib() -> float:
    """Peak resident memory of this process so far."""
    return _status_mib("VmHWM")


def _status_mib(field: str) -> float:
    for line in Path("/proc/self/status").read_text(encoding="ascii").splitlines():
        if line.startswith(f"{field}:"):
            return int(line.split()[1]) / MIB
    raise LookupError(field)


def table(
    rows: Sequence[Row],
    measured: Mapping[str, Measured],
    *,
    pixels: int,
    bases: Sequence[str],
    memory: str,
) -> str:
    """Lines of text: times, speed, time over the time of each base row, and memory."""
    over = "".join(f"{f'/ {base}':>{_width(base)}}" for base in bases)
    lines = [f"{'':34}{'ms':>9}{'CPU ms':>9}{'Mpx/s':>9}{over}{memory:>18}"]
    lines += [_line(row, measured, pixels=pixels, bases=bases) for row in rows]
    return "\n".join(lines)


def _width(base: str) -> int:
    return max(10, len(base) + 5)


def _line(row: Row, measured: Mapping[str, Measured], *, pixels: int, bases: Sequence[str]) -> str:
    if row.name not in measured:
        return f"{row.name:34}  {row.why_not}"
    own = measured[row.name]
    speed = pixels / own.seconds / 1e6
    over = "".join(f"{_ratio(own, measured.get(base)):>{_width(base)}}" for base in bases)
    mib = "" if own.peak_mib is None else f"{own.peak_mib:.0f} MiB"
    return (
        f"{row.name:34}{1000 * own.seconds:9.0f}{1000 * own.cpu_s:9.0f}{speed:9.1f}{over}{mib:>18}"
    )


def _ratio(own: Measured, base: Measured | None) -> str:
    return "-" if base is None else f"{own.seconds / base.seconds:.2f}"
