"""The same picture given for two inks. Looks at paths and bytes; pixels are compared by the survey.

Two hits of one ink may share their plate; two plates without any ink are alike, and that is fine.
"""

import os
from collections.abc import Iterator, Sequence
from itertools import combinations
from pathlib import Path

from inkmix.base.errors import Fault
from inkmix.plates.files.limits import MAX_WINDOW_PX
from inkmix.plates.files.raster import opened_file
from inkmix.plates.files.snapshots import file_digest
from inkmix.plates.plate import FilePlate, PlateHeader
from inkmix.plates.windows import window_grid


def duplicate_faults(plates: Sequence[FilePlate]) -> Iterator[Fault]:
    """A fault for each pair of different inks that is given the same file, or a copy of it.

    Raises
    ------
    PlateError
        Where a copy is damaged.
    """
    digests: dict[Path, str] = {}
    for one, other in combinations(plates, 2):
        first, second = one.header, other.header
        if first.first_hit == second.first_hit:
            continue
        same = _same_file(first, second)
        if same or (_copies(first, second, digests) and not (_is_blank(one) and _is_blank(other))):
            what = "is given for" if same else f"holds the same bytes as {first.where}, for"
            yield Fault(
                where=second.where,
                found=f"{what} both {first.ink} and {second.ink}",
                expected="each ink has its own plate",
                do="check names and export the missing one; of an ink that is printed twice the "
                f'second hit says plate = "{first.ink}" in the book',
            )


def file_digests(headers: Sequence[PlateHeader]) -> dict[Path, str]:
    """SHA-256 of each file of some plates; of a file of several plates once."""
    paths = dict.fromkeys(header.path for header in headers if header.path is not None)
    return {path: file_digest(path) for path in paths}


def _same_file(first: PlateHeader, second: PlateHeader) -> bool:
    if first.path is None or second.path is None or _part(first) != _part(second):
        return False
    return first.path == second.path or os.path.samestat(_status(first.path), _status(second.path))


def _copies(first: PlateHeader, second: PlateHeader, digests: dict[Path, str]) -> bool:
    if first.path is None or second.path is None or _part(first) != _part(second):
        return False
    if _status(first.path).st_size != _status(second.path).st_size:
        return False
    for path in (first.path, second.path):
        if path not in digests:
            digests[path] = file_digest(path)
    return digests[first.path] == digests[second.path]


def _is_blank(plate: FilePlate) -> bool:
    """Whether it holds no ink; looked at as far as the first."""
    header = plate.header
    windows = window_grid(
        header.height_px,
        header.width_px,
        segment_rows=header.rows_per_segment,
        segment_cols=header.cols_per_segment,
        window_px=MAX_WINDOW_PX,
    )
    return not any(plate.read(window.rows, window.cols).any() for window in windows)


def _status(path: Path) -> os.stat_result:
    with opened_file(path) as file:
        return os.fstat(file.fileno())


def _part(header: PlateHeader) -> tuple[int, int]:
    return header.channel, header.page
