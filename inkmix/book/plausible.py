"""Numbers of a book that have the right type and yet cannot be meant.

Fractions where percentages stand, Lab in the wrong order or scale, a white measured for another
illuminant. Plain arithmetic on single values; what spans several keys is rules' business.
"""

import math
from collections.abc import Iterator
from typing import Any

from inkmix.base.errors import Fault
from inkmix.base.quoting import listed
from inkmix.book.faults import shown
from inkmix.book.statements import KeyPath
from inkmix.book.values import MAX_PANEL_MM, MIN_PANEL_MM, Triple
from inkmix.book.view import View
from inkmix.colour.colorimetry import lab_to_xyz100

# XYZ of a neutral sheet under D65 (CIE 15: 95.047, 100, 108.883) taken as D50 (96.422, 100, 82.521)
# gives a* -2.4, b* -19.4 at L* 100; Lab computed with the D65 white from D50 values +2.4, +17.7.
_D65_AS_D50 = (-2.4, -19.4)
_D50_AS_D65 = (2.4, 17.7)
_SHIFT_RADIUS = 3.5  # real whites: b* -10 (brightened, M1) to about +12 (cream)
_WHITE_L = 82.0  # below it a coloured stock is likelier than a wrong white
_MIN_PAPER_L = 40.0
_MAX_AB = 128.0  # CIELAB of real surfaces stays inside
_MAX_XYZ = 130.0  # fluorescent papers exceed 100
_SURFACES = ("paper", "inks")  # what is measured; what is wished for may be no surface
_Z_OVER_Y_LIMIT = 0.97  # a neutral under D65 has 1.089; brightened papers reach about 0.93

_TO_100 = "percentages count from 0 to 100"
_ORDER = "the order is L, a, b"
_MIXED_UP = ", a white as it comes out when D65 and D50 are mixed up"
_FOR_D50 = (
    "colours are measured for D50, 2 degree observer",
    "export the reading for D50; if the stock itself is coloured, write tinted = true",
)


def implausible(view: View) -> Iterator[Fault]:
    """Every number that cannot be meant; keys that are missing are passed over."""
    faults: list[Fault] = []
    for path, colour in _colours(view):
        faults += (_lab_faults if path[-1] == "lab" else _xyz_faults)(view, path, colour)
    for path, paper in _papers(view):
        faults += _paper_faults(view, path, paper)
    yield from faults
    named = {fault.where for fault in faults}
    for path, colour in _colours(view):
        if path[-1] == "lab" and path[0] in _SURFACES:
            found = _impossible_faults(view, path, colour)
            yield from (fault for fault in found if fault.where not in named)
    yield from _fraction_faults(view)
    for path, mix in view.mixes():
        yield from _mix_faults(view, path, mix)
    yield from _panel_faults(view)


def _colours(view: View) -> Iterator[tuple[KeyPath, list[float]]]:
    """Every colour of a key `lab` or `xyz`."""
    for path, keys, table in view.tables_within():
        for name in ("lab", "xyz"):
            if name in table and keys[name].kind in (Triple, Triple | None):
                yield (*path, name), table[name]


def _lab_faults(view: View, path: KeyPath, lab: list[float]) -> Iterator[Fault]:
    L, a, b = lab
    found = f"is {shown(lab)}"
    if not 0 <= L <= 100:
        is_scaled = max(abs(value) for value in lab) > _MAX_AB
        scaled = "values stored as 0-255 are not Lab: measure or convert"
        yield view.fault(path, found, "L* lies from 0 to 100", scaled if is_scaled else _ORDER)
    elif max(abs(a), abs(b)) > _MAX_AB:
        yield view.fault(path, found, "a* and b* lie from -128 to 128")
    elif max(abs(value) for value in lab) <= 1 and L > 0:
        yield view.fault(path, found, "L* counts from 0 to 100, not to 1")


def _impossible_faults(view: View, path: KeyPath, lab: list[float]) -> Iterator[Fault]:
    """Lab in range that no surface has, for some X, Y or Z of it is negative."""
    xyz100 = lab_to_xyz100(lab)
    if xyz100.min() < 0:
        expected = f"no surface has it: {'XYZ'[int(xyz100.argmin())]} would be {xyz100.min():.2g}"
        do = "check the signs and the order L, a, b"
        yield view.fault(path, f"is {shown(lab)}", expected, do)


def _xyz_faults(view: View, path: KeyPath, xyz: list[float]) -> Iterator[Fault]:
    found = f"is {shown(xyz)}"
    if min(xyz) < 0:
        yield view.fault(path, found, "X, Y and Z are not negative")
    elif max(xyz) > _MAX_XYZ:
        yield view.fault(path, found, "X, Y and Z count from 0 to 100")
    elif 0 < max(xyz) <= 1.3:
        times = ", ".join(f"{100 * value:g}" for value in xyz)
        yield view.fault(path, found, "they count from 0 to 100", _write(f"[{times}]"))


def _papers(view: View) -> Iterator[tuple[KeyPath, dict[str, Any]]]:
    """The paper of the book, and those that inks were measured on."""
    yield ("paper",), view.table("paper")
    for path, ink in view.tables("inks"):
        yield (*path, "measured_on"), ink.get("measured_on", {})


def _paper_faults(view: View, path: KeyPath, paper: dict[str, Any]) -> Iterator[Fault]:
    lab, xyz = paper.get("lab"), paper.get("xyz")
    is_tinted = paper.get("tinted", False)
    if lab is not None and 0 <= lab[0] <= 100:
        yield from _paper_lab_faults(view, (*path, "lab"), lab, is_tinted=is_tinted)
    if xyz is not None and not is_tinted:
        _, Y, Z = xyz
        if 1.3 < Y <= _MAX_XYZ and Z > _Z_OVER_Y_LIMIT * Y:
            yield view.fault((*path, "xyz"), f"Z / Y is {Z / Y:.2f}{_MIXED_UP}", *_FOR_D50)


def _paper_lab_faults(
    view: View, path: KeyPath, lab: list[float], *, is_tinted: bool
) -> Iterator[Fault]:
    L, a, b = lab
    found = f"is {shown(lab)}"
    if L < _MIN_PAPER_L and max(lab) > 1:
        yield view.fault(path, found, f"paper is lighter than L* {_MIN_PAPER_L:g}", _ORDER)
    elif not is_tinted and L > _WHITE_L:
        # a* and b* of a neutral shrink with lightness, a little less than L
        shift = math.sqrt(L / 100)
        for a_shift, b_shift in (_D65_AS_D50, _D50_AS_D65):
            if math.hypot(a - a_shift * shift, b - b_shift * shift) < _SHIFT_RADIUS:
                yield view.fault(path, f"{found}{_MIXED_UP}", *_FOR_D50)


def _fraction_faults(view: View) -> Iterator[Fault]:
    """Percentages below 1 that lie in range, and so were let through."""
    for path, key, value in view.values():
        if key.unit == "%" and isinstance(value, int | float) and 0 < abs(value) < 1:
            yield view.fault(path, f"is {value:g} %", _TO_100, _write(f"{100 * value:g}"))


def _mix_faults(view: View, path: KeyPath, mix: dict[str, float]) -> Iterator[Fault]:
    for name, value in mix.items():
        if not 0 <= value <= 100:
            yield view.fault((*path, name), f"is {value:g}", "tone values lie from 0 to 100 %")
    amounts = [value for value in mix.values() if value]
    if amounts and all(0 < value <= 1 for value in amounts):
        meant = listed([f"{name} = {100 * value:g}" for name, value in mix.items()])
        found = f"holds no tone value above {max(amounts):g} %"
        yield view.fault(path, found, _TO_100, _write(f"{{ {meant} }}"))
    if not mix:
        yield view.fault(path, "is empty", "it names inks", "write { Soot = 0 } for bare paper")


def _write(meant: str) -> str:
    return f"write {meant} if that was meant"


def _panel_faults(view: View) -> Iterator[Fault]:
    size = view.table("strip").get("panel_mm")
    if size and not all(MIN_PANEL_MM <= value <= MAX_PANEL_MM for value in size):
        expected = f"panels measure from {MIN_PANEL_MM:g} to {MAX_PANEL_MM:g} mm"
        yield view.fault(("strip", "panel_mm"), f"is {shown(size)}", expected)
