"""Numbers of a book that have the right type and yet cannot be meant.

Fractions where percentages stand, Lab in the wrong order or scale, a white measured for another
illuminant. Plain arithmetic on single values; what spans several keys is rules' business.
"""

import math
from collections.abc import Callable, Iterator
from typing import Any

from inkmix.base.errors import Fault
from inkmix.base.quoting import listed
from inkmix.book.faults import shown
from inkmix.book.statements import KeyPath
from inkmix.book.values import MAX_PANEL_MM, MIN_PANEL_MM
from inkmix.colour.colorimetry import lab_to_xyz100

Where = Callable[[KeyPath], str]

# XYZ of a neutral sheet under D65 (CIE 15: 95.047, 100, 108.883) taken as D50 (96.422, 100, 82.521)
# gives a* -2.4, b* -19.4 at L* 100; Lab computed with the D65 white from D50 values +2.4, +17.7.
_D65_AS_D50 = (-2.4, -19.4)
_D50_AS_D65 = (2.4, 17.7)
_SHIFT_RADIUS = 3.5  # real whites: b* -10 (brightened, M1) to about +12 (cream)
_WHITE_L = 82.0  # below it a coloured stock is likelier than a wrong white
_MIN_PAPER_L = 40.0
_MAX_AB = 128.0  # CIELAB of real surfaces stays inside
_MAX_XYZ = 130.0  # fluorescent papers exceed 100
_Z_OVER_Y_LIMIT = 0.97  # a neutral under D65 has 1.089; brightened papers reach about 0.93


def plausibility_faults(data: dict[str, Any], *, where: Where) -> list[Fault]:
    """Every number that cannot be meant; keys that are missing are passed over."""
    faults: list[Fault] = []
    for path, table in _coloured(data):
        if "lab" in table:
            faults += _lab_faults(table["lab"], where((*path, "lab")))
        if "xyz" in table:
            faults += _xyz_faults(table["xyz"], where((*path, "xyz")))
    faults += _paper_faults(data.get("paper", {}), where)
    named = {fault.where for fault in faults}
    for path, table in _coloured(data):
        if path[0] != "tones" and "lab" in table:  # what is wished for may be no surface
            place = where((*path, "lab"))
            faults += [] if place in named else _impossible_faults(table["lab"], place)
    faults += _fraction_faults(data, where)
    faults += _mix_faults(data, where)
    faults += _panel_faults(data.get("strip", {}), where)
    return faults


def _coloured(data: dict[str, Any]) -> Iterator[tuple[KeyPath, dict[str, Any]]]:
    yield ("paper",), data.get("paper", {})
    for kind in ("inks", "tones"):
        yield from (((kind, index), table) for index, table in enumerate(data.get(kind, [])))


def _lab_faults(lab: list[float], where: str) -> Iterator[Fault]:
    L, a, b = lab
    found = f"is {shown(lab)}"
    if not 0 <= L <= 100:
        scaled = max(abs(value) for value in lab) > _MAX_AB
        do = (
            "values stored as 0-255 are no Lab: measure or convert"
            if scaled
            else "the order is L, a, b"
        )
        yield Fault(where=where, found=found, expected="L* lies from 0 to 100", do=do)
    elif max(abs(a), abs(b)) > _MAX_AB:
        yield Fault(where=where, found=found, expected="a* and b* lie from -128 to 128")
    elif max(abs(value) for value in lab) <= 1 and L > 0:
        yield Fault(where=where, found=found, expected="L* counts from 0 to 100, not to 1")


def _impossible_faults(lab: list[float], where: str) -> Iterator[Fault]:
    """Lab in range that no surface has, for some X, Y or Z of it is negative."""
    xyz100 = lab_to_xyz100(lab)
    if xyz100.min() < 0:
        expected = f"no surface has it: {'XYZ'[int(xyz100.argmin())]} would be {xyz100.min():.2g}"
        do = "check the signs and the order L, a, b"
        yield Fault(where=where, found=f"is {shown(lab)}", expected=expected, do=do)


def _xyz_faults(xyz: list[float], where: str) -> Iterator[Fault]:
    found = f"is {shown(xyz)}"
    if min(xyz) < 0:
        yield Fault(where=where, found=found, expected="X, Y and Z are not negative")
    elif max(xyz) > _MAX_XYZ:
        yield Fault(where=where, found=found, expected="X, Y and Z count from 0 to 100")
    elif 0 < max(xyz) <= 1.3:
        times = ", ".join(f"{100 * value:g}" for value in xyz)
        yield Fault(
            where=where,
            found=found,
            expected="they count from 0 to 100",
            do=f"write [{times}] if that was meant",
        )


def _paper_faults(paper: dict[str, Any], where: Where) -> Iterator[Fault]:
    lab, xyz = paper.get("lab"), paper.get("xyz")
    if lab is not None and 0 <= lab[0] <= 100:
        yield from _paper_lab_faults(
            lab, where(("paper", "lab")), tinted=paper.get("tinted", False)
        )
    if xyz is not None and not paper.get("tinted", False):
        _, Y, Z = xyz
        if 1.3 < Y <= _MAX_XYZ and Z > _Z_OVER_Y_LIMIT * Y:
            yield _wrong_white(where(("paper", "xyz")), f"Z / Y is {Z / Y:.2f}")


def _paper_lab_faults(lab: list[float], where: str, *, tinted: bool) -> Iterator[Fault]:
    L, a, b = lab
    if L < _MIN_PAPER_L and max(lab) > 1:
        expected = f"paper is lighter than L* {_MIN_PAPER_L:g}"
        yield Fault(
            where=where, found=f"is {shown(lab)}", expected=expected, do="the order is L, a, b"
        )
    elif not tinted and L > _WHITE_L:
        shift = math.sqrt(
            L / 100
        )  # a* and b* of a neutral shrink with lightness, a little less than L
        for a_shift, b_shift in (_D65_AS_D50, _D50_AS_D65):
            if math.hypot(a - a_shift * shift, b - b_shift * shift) < _SHIFT_RADIUS:
                yield _wrong_white(where, f"is {shown(lab)}")


def _wrong_white(where: str, found: str) -> Fault:
    return Fault(
        where=where,
        found=f"{found}, a white as it comes out when D65 and D50 are mixed up",
        expected="colours are measured for D50, 2 degree observer",
        do="export the reading for D50; if the stock itself is coloured, write tinted = true",
    )


def _fraction_faults(data: dict[str, Any], where: Where) -> Iterator[Fault]:
    """Percentages below 1 that lie in range, and so were let through."""
    for path, value in _percentages(data):
        if 0 < abs(value) < 1:
            yield Fault(
                where=where(path),
                found=f"is {value:g} %",
                expected="percentages count from 0 to 100",
                do=f"write {100 * value:g} if that was meant",
            )


def _percentages(data: dict[str, Any]) -> Iterator[tuple[KeyPath, float]]:
    for index, ink in enumerate(data.get("inks", [])):
        if "tone_value_increase_pct" in ink:
            yield ("inks", index, "tone_value_increase_pct"), ink["tone_value_increase_pct"]
    for index, night in enumerate(data.get("night", [])):
        for number, part in enumerate(night.get("rule", [])):
            if "at_least_pct" in part:
                yield ("night", index, "rule", number, "at_least_pct"), part["at_least_pct"]


def _mix_faults(data: dict[str, Any], where: Where) -> Iterator[Fault]:
    for index, tone in enumerate(data.get("tones", [])):
        mix = tone.get("mix", {})
        path: KeyPath = ("tones", index, "mix")
        for name, value in mix.items():
            if not 0 <= value <= 100:
                yield Fault(
                    where=where((*path, name)),
                    found=f"is {value:g}",
                    expected="tone values lie from 0 to 100 %",
                )
        amounts = [value for value in mix.values() if value]
        if amounts and all(0 < value <= 1 for value in amounts):
            meant = listed([f"{name} = {100 * value:g}" for name, value in mix.items()])
            found = f"holds no tone value above {max(amounts):g} %"
            expected = "percentages count from 0 to 100"
            yield Fault(
                where=where(path),
                found=found,
                expected=expected,
                do=f"write {{ {meant} }} if that was meant",
            )
        if not mix and "mix" in tone:
            yield Fault(
                where=where(path),
                found="is empty",
                expected="it names inks",
                do="write { Soot = 0 } for bare paper",
            )


def _panel_faults(strip: dict[str, Any], where: Where) -> Iterator[Fault]:
    size = strip.get("panel_mm")
    if size and not all(MIN_PANEL_MM <= value <= MAX_PANEL_MM for value in size):
        expected = f"panels measure from {MIN_PANEL_MM:g} to {MAX_PANEL_MM:g} mm"
        yield Fault(
            where=where(("strip", "panel_mm")), found=f"is {shown(size)}", expected=expected
        )
