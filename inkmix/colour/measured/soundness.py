"""Whether the numbers of a table can be what they claim: ranges, scales, colours that agree.

Here belong the checks that any measured table must pass, whatever file it came from. A reading
that is a little outside by noise is mended by the reader; what is plainly wrong is a fault here.
"""

from collections.abc import Iterable, Iterator, Mapping
from itertools import permutations
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from inkmix.base.arrays import FloatArray
from inkmix.base.errors import COUNTED_FAULTS, Fault
from inkmix.colour.colorimetry import lab_to_xyz100, xyz100_to_lab
from inkmix.colour.measured.grid import Grid

REFLECTANCE_NOISE = (
    0.005  # a dark reading may fall this far below zero; instruments repeat to 0.001
)
TONE_NOISE_PCT = 0.01  # rounding of tone values that were computed


LIGHT = 50.0  # X or L* of what is surely lighter than a solid black
NO_SURFACE_Y = 0.3  # of X; the reddest surfaces of light have a Y of half their X
NO_PAPER_CHROMA, COMMON_CHROMA = 30.0, 15.0  # papers in bright colours lie between


class Limits(NamedTuple):
    """What a column may hold, and the words for it."""

    low: float
    high: float
    expected: str


_TONE = Limits(-TONE_NOISE_PCT, 100 + TONE_NOISE_PCT, "tone values are 0 to 100 %")
_XYZ = Limits(-0.5, 250.0, "XYZ is 0 to 100 for what does not fluoresce")  # 250: day-glow solids
_L = Limits(-1.0, 150.0, "L* is 0 to 100 for what does not fluoresce")
_AB = Limits(-200.0, 200.0, "a* and b* of print lie within 200 of zero")
_DENSITY = Limits(
    -0.5, 5.0, "densities of print are 0 to 4"
)  # relative ones may be a little below 0
_REFLECTANCE = Limits(-REFLECTANCE_NOISE, 4.0, "reflectance is 0 to 1, or up to 4 if fluorescent")


def range_faults(grid: Grid, *, reflectance_scale: float) -> list[Fault]:
    """A fault for each cell out of range, by line; `reflectance_scale` is what the file calls 1."""
    wrong = np.zeros(grid.values.shape, dtype=bool)
    for at, what in grid.meanings.items():
        limits = _limits(what.kind, what.key)
        if limits is not None:
            values = grid.values[:, at] / (reflectance_scale if what.kind == "spectral" else 1.0)
            wrong[:, at] = (values < limits.low) | (values > limits.high)
    faults: list[Fault] = []
    for row in np.flatnonzero(wrong.any(axis=1)):
        faults += _out_of_range(grid, int(row), np.flatnonzero(wrong[row]).tolist())
        if len(faults) >= COUNTED_FAULTS:
            break
    return faults


def _out_of_range(grid: Grid, row: int, columns: list[int]) -> Iterator[Fault]:
    for at, place in zip(columns, grid.rows.places(row, columns), strict=True):
        limits = _limits(grid.meanings[at].kind, grid.meanings[at].key)
        expected = limits.expected if limits else ""
        yield Fault(where=place, found=f"{grid.values[row, at]:g}", expected=expected)


def _limits(kind: str, key: str) -> Limits | None:
    if kind == "lab":
        return _L if key == "L" else _AB
    table = {"tone": _TONE, "xyz": _XYZ, "density": _DENSITY, "spectral": _REFLECTANCE}
    return table.get(kind)


def bright_faults(grid: Grid, kind: str, xyz100: FloatArray) -> list[Fault]:
    """A fault for each row whose colour (N, 3), as its Lab or spectrum makes it, is too bright.

    Each cell alone is in range there, the colour is not: the brightest patches that are known
    reflect two and a half times as much as falls on them.
    """
    first = next(iter(grid.columns(kind).values()))
    names = grid.labels("name") or grid.labels("id") or ("",) * len(xyz100)
    rows = np.flatnonzero((xyz100 > _XYZ.high).any(axis=1))[:COUNTED_FAULTS]
    return [
        Fault(
            where=grid.place(int(row), first),
            found=f"{f'patch {names[row]}'.rstrip()} has XYZ {_triple(np.round(xyz100[row], 1))}",
            expected=_XYZ.expected,
            do="check the reading",
        )
        for row in rows
    ]


def impossible_lab_faults(grid: Grid, lab: FloatArray) -> list[Fault]:
    """A fault for each row whose Lab (N, 3) no surface has: more than noise below zero in XYZ."""
    xyz100 = np.asarray(lab_to_xyz100(lab))
    rows = np.flatnonzero((xyz100 < _XYZ.low).any(axis=1))[:COUNTED_FAULTS]
    return [
        Fault(
            where=grid.place(int(row), grid.columns("lab")["L"]),
            found="Lab " + "/".join(f"{value:g}" for value in lab[row]),
            expected=f"no surface has it: {'XYZ'[int(xyz100[row].argmin())]} would be "
            f"{xyz100[row].min():.1f}, less than no light",
            do="check the signs and the order L, a, b",
        )
        for row in rows
    ]


def misplaced_faults(grid: Grid) -> list[Fault]:
    """Colours that stand in each other's columns, where paper or light tell it."""
    bare = np.flatnonzero(grid.bare())
    faults: list[Fault] = []
    if xyz := grid.columns("xyz"):
        faults += _misplaced_xyz(grid, xyz, bare)
    if lab := grid.columns("lab"):
        faults += _misplaced_lab(grid, lab, bare)
    return faults


def _misplaced_xyz(
    grid: Grid, columns: Mapping[str, int], bare: NDArray[np.intp]
) -> Iterator[Fault]:
    """Lab called XYZ; or the paper's X, Y, Z in another order."""
    xyz100 = grid.values[:, [columns[axis] for axis in "XYZ"]]
    lab_like = (xyz100[:, 0] > LIGHT) & (xyz100[:, 1] < NO_SURFACE_Y * xyz100[:, 0])
    if lab_like.any():
        row = int(np.argmax(lab_like))
        yield Fault(
            where=grid.place(row, columns["X"]),
            found=f"XYZ {_triple(xyz100[row])}",
            expected="no surface has it; as L*, a*, b* it is a colour",
            do="name the columns LAB_L, LAB_A, LAB_B",
        )
    elif bare.size and (order := _order_of_paper(xyz100[bare[0]])):
        yield Fault(
            where=grid.place(int(bare[0]), columns["X"]),
            found=f"the paper has XYZ {_triple(xyz100[bare[0]])}",
            expected=f"no printing paper is so coloured; read as {order} it is a common one",
            do="check the names of the columns",
        )


def _order_of_paper(xyz100: FloatArray) -> str:
    """The order in which X, Y, Z of a paper would be near grey; empty if as told, or if none is."""
    if xyz100.min() <= 0:
        return ""
    chroma = {
        order: np.hypot(*xyz100_to_lab(xyz100[["XYZ".index(axis) for axis in order]])[1:])
        for order in map("".join, permutations("XYZ"))
    }
    best = min(chroma, key=lambda order: chroma[order])
    swapped = chroma["XYZ"] > NO_PAPER_CHROMA and chroma[best] < COMMON_CHROMA
    return ", ".join("XYZ"[best.index(axis)] for axis in "XYZ") if swapped else ""


def _misplaced_lab(
    grid: Grid, columns: Mapping[str, int], bare: NDArray[np.intp]
) -> Iterator[Fault]:
    """XYZ called Lab; or the paper's L* in another column."""
    if not bare.size:
        return
    row = int(bare[0])
    L, a, b = grid.values[row, [columns[axis] for axis in "LAB"]]
    if L > 0 and 0.8 < a / L < 1.25 and 0.4 < b / L < 1.25:
        expected = "no paper is so red; as X, Y, Z it is a colour of paper"
        do = "name the columns XYZ_X, XYZ_Y, XYZ_Z"
    elif max(a, b) > max(LIGHT, L) and max(min(abs(a), abs(b)), L) < COMMON_CHROMA:
        expected = "no paper is so dark and so coloured; L* seems to stand in another column"
        do = "check the names of the columns"
    else:
        return
    found = f"the paper has Lab {_triple((L, a, b))}"
    yield Fault(where=grid.place(row, columns["L"]), found=found, expected=expected, do=do)


def _triple(values: Iterable[float]) -> str:
    return "/".join(f"{value:g}" for value in values)


def scale_faults(grid: Grid) -> list[Fault]:
    """Whole columns in 0-1 where 0-100 is meant."""
    faults = []
    tones = grid.values[:, list(grid.columns("tone").values())]
    if tones.size and 0 < tones.max() <= 1:
        faults.append(_scaled(grid, f"no tone value is above {tones.max():g}", "tone values"))
    xyz, bare = grid.columns("xyz"), grid.bare()
    if "Y" in xyz and bare.any():
        paper_y = grid.values[bare, xyz["Y"]].max()
        if 0 < paper_y <= 1.5:
            faults.append(_scaled(grid, f"the paper has Y = {paper_y:g}", "XYZ"))
    return faults


def _scaled(grid: Grid, found: str, what: str) -> Fault:
    do = f"multiply {what} by 100"
    return Fault(where=grid.where, found=found, expected=f"{what} are meant as 0 to 100", do=do)
