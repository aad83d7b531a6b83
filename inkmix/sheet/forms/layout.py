"""Where everything of a form lies: runs of patches in rows, targets below, marks in the corners.

Runs follow each other like words of a text. What is printed in a patch is not known here.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from inkmix.sheet.box import Box
from inkmix.sheet.forms.marks import CORNER_MM, REGISTER_MM, TARGET_MM

MOST_PATCH_MM, USUAL_PATCH_MM, LEAST_PATCH_MM = 12.0, 6.0, 5.0
"""Side of a patch: as large as there is room; smaller than the last, no instrument reads it."""
PATCH_STEP_MM = 0.5
MARGIN_MM = 4.0
"""From the trim to the marks."""

HEAD_MM, FOOT_MM = 3.0, 2.8
"""Above a row of patches, for the names of its runs; below, for numbers."""
GUTTER_MM = 4.5
"""On the left of a row, for its letter."""
GAP_MM, RUN_GAP_MM, MOST_AIR_MM = 1.0, 4.0, 6.0
BAND_MM = CORNER_MM + 2.5
FIELD_MM = 5.0
_TARGET_GAP_MM = 3.0
_TARGET_ROW_MM = HEAD_MM + TARGET_MM[1] + 2.0
_ABOVE_TARGETS_MM = 2.0
_TITLE_MM = 46.0
"""Of a band, that marks leave to its words at least."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """Patches that belong together, one after the other.

    Parameters
    ----------
    heading : str
    count : int
    heading_mm : float
        Room that the heading needs.
    """

    heading: str
    count: int
    heading_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """The place of a patch: its box, its row from 0 and its number in the row from 1."""

    box: Box
    row: int
    place: int

    @property
    def name(self) -> str:
        """Letter of the row and number in it."""
        return f"{row_name(self.row)}{self.place}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Heading:
    """A run's name, and the left end of its base line."""

    words: str
    x: float
    y: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FormLayout:
    """All places of a form.

    Parameters
    ----------
    patch_mm : float
    cells : tuple of Cell
        In the order of the runs.
    headings : tuple of Heading
    corners : tuple of Box
        Top left, top right, bottom left, bottom right.
    fields : tuple of tuple of Box
        Beside each corner, from it inwards.
    registers : tuple of tuple of Box
        Two sets: above on the right, below on the left; empty where there is no room.
    targets : tuple of Box
    words : tuple of Box
        What the bands above and below leave free for words.
    """

    width_mm: float
    height_mm: float
    patch_mm: float
    cells: tuple[Cell, ...]
    headings: tuple[Heading, ...]
    corners: tuple[Box, Box, Box, Box]
    fields: tuple[tuple[Box, ...], ...]
    registers: tuple[tuple[Box, ...], ...]
    targets: tuple[Box, ...]
    words: tuple[Box, Box]


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What is to find room beside the patches."""

    targets: int
    fields: int
    registers: int


def least_height_mm(
    runs: Sequence[Run], wanted: Wanted, *, width_mm: float, margin_mm: float, patch_mm: float
) -> float | None:
    """Height that a form takes at this width; None where it is too narrow at any height."""
    room = width_mm - 2 * margin_mm - GUTTER_MM
    if room < patch_mm or width_mm - 2 * margin_mm < 2 * _side_mm(wanted.fields):
        return None
    if wanted.targets and room < TARGET_MM[0]:
        return None
    rows = max((row for row, *_ in _flow(runs, room, patch_mm)), default=-1) + 1
    return (
        2 * (margin_mm + BAND_MM)
        + rows * _row_mm(patch_mm)
        + _targets_mm(wanted.targets, width_mm - 2 * margin_mm)
    )


def largest_patch_mm(
    runs: Sequence[Run],
    wanted: Wanted,
    *,
    width_mm: float,
    height_mm: float,
    margin_mm: float,
    least_mm: float,
) -> float | None:
    """The largest side of patches at which all finds room; None where none is large enough."""
    steps = round((MOST_PATCH_MM - least_mm) / PATCH_STEP_MM)
    for step in range(steps + 1):
        patch_mm = MOST_PATCH_MM - step * PATCH_STEP_MM
        needed = least_height_mm(
            runs, wanted, width_mm=width_mm, margin_mm=margin_mm, patch_mm=patch_mm
        )
        if needed is not None and needed <= height_mm:
            return patch_mm
    return None


def laid_out(
    runs: Sequence[Run],
    wanted: Wanted,
    *,
    width_mm: float,
    height_mm: float,
    margin_mm: float,
    patch_mm: float,
) -> FormLayout:
    """The form, on a sheet that is large enough for it."""
    inner = Box(
        x=margin_mm, y=margin_mm, width=width_mm - 2 * margin_mm, height=height_mm - 2 * margin_mm
    )
    left, top = inner.x + GUTTER_MM, inner.y + BAND_MM
    cells, headings = [], []
    flow = list(_flow(runs, inner.width - GUTTER_MM, patch_mm))
    rows = flow[-1][0] + 1
    free = inner.height - 2 * BAND_MM - rows * _row_mm(patch_mm)
    air = min((free - _targets_mm(wanted.targets, inner.width)) / rows, MOST_AIR_MM)
    for row, place, x, heading in flow:
        y = top + row * (_row_mm(patch_mm) + air) + HEAD_MM + 0.5 * air
        box = Box(x=left + x, y=y, width=patch_mm, height=patch_mm)
        cells.append(Cell(box=box, row=row, place=place))
        if heading:
            headings.append(Heading(words=heading, x=left + x, y=y - 0.9))
    corners = _corners(inner)
    fields = tuple(_beside(corner, wanted.fields, inner) for corner in corners)
    registers = _registers(wanted, inner)
    return FormLayout(
        width_mm=width_mm,
        height_mm=height_mm,
        patch_mm=patch_mm,
        cells=tuple(cells),
        headings=tuple(headings),
        corners=corners,
        fields=fields,
        registers=registers,
        targets=tuple(_targets(wanted.targets, inner)),
        words=_words(inner, wanted, has_registers=bool(registers)),
    )


def row_name(row: int) -> str:
    """A, B ... Z, AA, AB ...

    >>> row_name(0), row_name(25), row_name(26)
    ('A', 'Z', 'AA')
    """
    letter = chr(ord("A") + row % 26)
    return letter if row < 26 else row_name(row // 26 - 1) + letter


def _row_mm(patch_mm: float) -> float:
    return HEAD_MM + patch_mm + FOOT_MM


def _flow(
    runs: Sequence[Run], room_mm: float, patch_mm: float
) -> Iterator[tuple[int, int, float, str]]:
    """Row, number in the row and left edge of each patch; of the first of a run its heading."""
    step, x, row, place = patch_mm + GAP_MM, 0.0, 0, 0
    for run in runs:
        width = max(run.count * step - GAP_MM, run.heading_mm)
        if x > 0 and x + min(width, room_mm) > room_mm:
            x, row, place = 0.0, row + 1, 0
        start = x
        for index in range(run.count):
            if x + patch_mm > room_mm + 1e-9:
                x, row, place, start = 0.0, row + 1, 0, 0.0
            place += 1
            yield row, place, x, run.heading if index == 0 else ""
            x += step
        x = max(x - GAP_MM, start + run.heading_mm) + RUN_GAP_MM


def _corners(inner: Box) -> tuple[Box, Box, Box, Box]:
    xs, ys = (inner.x, inner.right - CORNER_MM), (inner.y, inner.bottom - CORNER_MM)
    a, b, c, d = (Box(x=x, y=y, width=CORNER_MM, height=CORNER_MM) for y in ys for x in xs)
    return a, b, c, d


def _side_mm(fields: int) -> float:
    """Of a band, what a corner mark and its fields take."""
    return CORNER_MM + 2.0 + fields * FIELD_MM + 2.0


def _beside(corner: Box, count: int, inner: Box) -> tuple[Box, ...]:
    """Fields from a corner inwards, without gaps."""
    y = corner.y + (CORNER_MM - FIELD_MM) / 2
    is_left = corner.x == inner.x
    first = corner.right + 2.0 if is_left else corner.x - 2.0 - FIELD_MM
    step = FIELD_MM if is_left else -FIELD_MM
    return tuple(
        Box(x=first + k * step, y=y, width=FIELD_MM, height=FIELD_MM) for k in range(count)
    )


def _registers(wanted: Wanted, inner: Box) -> tuple[tuple[Box, ...], ...]:
    """Two sets of register marks, in the upper right and the lower left of the bands."""
    step, side = REGISTER_MM + 1.0, _side_mm(wanted.fields)
    if not wanted.registers or 2 * side + wanted.registers * step + _TITLE_MM > inner.width:
        return ()
    xs = [k * step for k in range(wanted.registers)]
    size = {"width": REGISTER_MM, "height": REGISTER_MM}
    right = inner.right - side - wanted.registers * step
    above = tuple(Box(x=right + x, y=inner.y, **size) for x in xs)
    below = tuple(Box(x=inner.x + side + x, y=inner.bottom - CORNER_MM, **size) for x in xs)
    return above, below


def _words(inner: Box, wanted: Wanted, *, has_registers: bool) -> tuple[Box, Box]:
    """What is free between the marks of the upper and of the lower band."""
    side = _side_mm(wanted.fields)
    marks = wanted.registers * (REGISTER_MM + 1.0) + 1.0 if has_registers else 0.0
    width = max(inner.width - 2 * side - marks, 0.0)
    above = Box(x=inner.x + side, y=inner.y, width=width, height=CORNER_MM)
    y = inner.bottom - CORNER_MM
    return above, Box(x=inner.x + side + marks, y=y, width=width, height=CORNER_MM)


def _columns(width_mm: float) -> int:
    return max(int((width_mm + _TARGET_GAP_MM) // (TARGET_MM[0] + _TARGET_GAP_MM)), 1)


def _targets_mm(count: int, width_mm: float) -> float:
    rows = -(-count // _columns(width_mm - GUTTER_MM))
    return rows * _TARGET_ROW_MM + (_ABOVE_TARGETS_MM if rows else 0.0)


def _targets(count: int, inner: Box) -> Iterator[Box]:
    """Targets in rows above the lower band."""
    width, height = TARGET_MM
    columns = _columns(inner.width - GUTTER_MM)
    top = inner.bottom - BAND_MM - _targets_mm(count, inner.width) + _ABOVE_TARGETS_MM
    for k in range(count):
        x = inner.x + GUTTER_MM + k % columns * (width + _TARGET_GAP_MM)
        y = top + k // columns * _TARGET_ROW_MM + HEAD_MM
        yield Box(x=x, y=y, width=width, height=height)
