"""The tables of what goes from files to files: whole jobs, each in a process of its own."""

import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np
import vips_rows
from book_text import REFERENCE
from files import REFERENCE_BOOK, STRIPS, TILES, WIDE_BOOK, SheetFiles
from inkmix_rows import bench_condition, layer_srgb8
from jobs import THREADS
from timing import Measured, Row, measure, table

MPX = 173.0
KINDS = ("flat", "grainy")
BASES = ("libvips multiply", "decode and encode", "inkmix predict")

_WIDTH_PX, _HEIGHT_PX = 20_400, 8_480
_JOBS = Path(__file__).with_name("jobs.py")
_ONE_PASS = "one pass: check with picture"
_NAMES = {
    "decode and encode": "decode-and-encode",
    "five corrected plates": "correct-plates",
    _ONE_PASS: "whole",
    "inkmix check": "check",
    "inkmix mend, checked again": "mend",
    "inkmix predict": "predict",
}
_WITH_REFERENCE = "one pass, with reference"
_NOTHING_FAILS = "one pass, nothing fails"

Say = Callable[[str], None]


@dataclass(slots=True, kw_only=True, eq=False)
class Job:
    """A job on a book, as a process; remembers its peak memory."""

    name: str
    book_file: Path
    target: Path
    peak_mib: float = field(default=0.0, init=False)

    def run(self) -> None:
        """Do it once.

        Raises
        ------
        RuntimeError
            With what it said, if it fails.
        """
        command = [sys.executable, str(_JOBS), self.name, str(self.book_file), str(self.target)]
        environment = {**os.environ, "VIPS_CONCURRENCY": str(THREADS)}
        done = subprocess.run(command, capture_output=True, text=True, env=environment)
        if done.returncode:
            raise RuntimeError(f"{self.name}: {done.stderr}")
        self.peak_mib = max(self.peak_mib, float(done.stdout.split()[-1]))


def sheet_files(
    folder: Path, kind: str, *, mpx: float, times: tuple[int, int] = (1, 1), layout: str = STRIPS
) -> SheetFiles:
    """A sheet of about so many megapixels, `times` (rows, columns) as large, in its own folder."""
    shrunk = (mpx / MPX) ** 0.5
    height = round(_HEIGHT_PX * shrunk) * times[0]
    width = round(_WIDTH_PX * shrunk) * times[1]
    name = f"{kind}-{width}x{height}-{layout.split()[0]}"
    return SheetFiles(
        folder=folder / name, kind=kind, width_px=width, height_px=height, layout=layout
    )


def print_tables(folder: Path, kinds: Sequence[str], *, mpx: float, rounds: int, say: Say) -> None:
    """Time and memory of all jobs on each kind of artwork."""
    for kind in kinds:
        sheet = sheet_files(folder, kind, mpx=mpx)
        say(f"\n{kind} artwork, {sheet.pixels / 1e6:.0f} Mpx from files, {THREADS} threads")
        _make(sheet, say)
        _make_reference(sheet)
        measured = _measured(sheet, rounds=rounds)
        rows = _rows(_jobs(sheet))
        say(table(rows, measured, pixels=sheet.pixels, bases=BASES, memory="peak memory"))
        extra_s = measured[_WITH_REFERENCE].seconds - measured[_ONE_PASS].seconds
        say(f"the reference picture takes {extra_s:.1f} s more")


def _make(sheet: SheetFiles, say: Say) -> None:
    """Write a sheet if it is not there, and read it once."""
    sheet.make()
    sheet.warm()
    mib = sum(path.stat().st_size for path in sheet.plates) / 2**20
    say(f"five plates of {sheet.width_px} x {sheet.height_px} px, {mib:.0f} MiB, {sheet.layout}")


def _make_reference(sheet: SheetFiles) -> None:
    target = sheet.folder / REFERENCE
    if not target.exists():
        Job(name="predict-on-white", book_file=sheet.folder / "book.toml", target=target).run()


def _jobs(sheet: SheetFiles) -> dict[str, Job]:
    """Jobs by the name of their row."""
    book_file, target = sheet.folder / "book.toml", sheet.folder / "out.tif"
    names = dict(_NAMES)
    if vips_rows.library(threads=THREADS) is not None:
        names = {"libvips multiply": "libvips", **names}
        target.with_suffix(".layers.npy").unlink(missing_ok=True)
        np.save(target.with_suffix(".layers.npy"), layer_srgb8(bench_condition()))
    jobs = {row: Job(name=name, book_file=book_file, target=target) for row, name in names.items()}
    for row, book in ((_NOTHING_FAILS, WIDE_BOOK), (_WITH_REFERENCE, REFERENCE_BOOK)):
        jobs[row] = Job(name="whole", book_file=sheet.folder / book, target=target)
    return jobs


def _rows(jobs: dict[str, Job]) -> list[Row]:
    rows = [Row(name=name, run=job.run) for name, job in jobs.items()]
    if "libvips multiply" in jobs:
        return rows
    return [Row(name="libvips multiply", run=None, why_not=vips_rows.NOT_INSTALLED), *rows]


def _measured(sheet: SheetFiles, *, rounds: int) -> dict[str, Measured]:
    jobs = _jobs(sheet)
    times = measure(_rows(jobs), rounds=rounds, prepare=lambda: _clear(sheet))
    return {name: replace(times[name], peak_mib=job.peak_mib) for name, job in jobs.items()}


def _clear(sheet: SheetFiles) -> None:
    """Take away what the last job wrote."""
    (sheet.folder / "out.tif").unlink(missing_ok=True)
    shutil.rmtree(sheet.folder / "out", ignore_errors=True)


def print_sizes(folder: Path, kinds: Sequence[str], *, mpx: float, say: Say) -> None:
    """Peak memory of check and predict, at three sizes and stored in two ways."""
    sizes = {"normal": (1, 1), "twice the height": (2, 1), "twice the width": (1, 2)}
    for kind in kinds:
        say(f"\n{kind} artwork, peak memory in MiB{'check':>22}{'predict':>10}{'whole':>10}")
        for layout in (STRIPS, TILES):
            for size, times in sizes.items():
                sheet = sheet_files(folder, kind, mpx=mpx, times=times, layout=layout)
                sheet.make()
                label = f"{size}, {sheet.pixels / 1e6:.0f} Mpx, {layout}"
                peaks = (_peak_mib(sheet, name) for name in ("check", "predict", "whole"))
                say(f"{label:44}" + "".join(f"{peak:>10.0f}" for peak in peaks))


def _peak_mib(sheet: SheetFiles, name: str) -> float:
    job = Job(name=name, book_file=sheet.folder / "book.toml", target=sheet.folder / "out.tif")
    job.run()
    _clear(sheet)
    return job.peak_mib
