"""Where everything lies on the sheet, in millimetres from its top left corner.

One design for every number of inks: solids and overprints stand on the left in groups by the number
of inks; on the right each ink's ramp lies on the diagonal of a square, and below the diagonal every
pair in tints; the deepest darks fill what is free above it. Nothing is drawn here.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from inkmix.jobs.overprints.fields import DARKEST, OVERPRINTS, PAIR, RAMP, Block
from inkmix.sheet.box import Box

PAGES_MM = {"A4": (297.0, 210.0), "A3": (420.0, 297.0), "A2": (594.0, 420.0)}
"""Width and height, ISO 216, long side across."""

COLUMNS = {1: 1, 2: 2, 3: 3, 4: 4, 5: 5, 6: 5, 7: 7, 8: 14}
"""Fields in a line of overprints, by the number of inks; all lines are full then."""


_GAP_SHARE = 0.1  # of the height of a ramp's field, at most


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """Measures of a design, mm.

    Parameters
    ----------
    left, right : Box
        For the overprints; for ramps, pairs and darks.
    gap : float
        Between fields that are judged one by one.
    group_gap : float
        Before each group of overprints, with room for its name.
    head : float
        Above the fields of a ramp, a pair or the darks, with room for its name.
    cell_gap : float
        Between ramps and pairs.
    tint_gap : float
        Between the fields of a ramp or a pair.
    """

    left: Box
    right: Box
    gap: float
    group_gap: float
    head: float
    cell_gap: float
    tint_gap: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedBlock:
    """A block with its room, its fields' places and what is written over them."""

    block: Block
    box: Box
    fields: tuple[Box, ...]
    groups: tuple[Box, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Square:
    """Cells of the square of ramps and pairs."""

    rows: int
    columns: int


def arranged(blocks: Sequence[Block], frame: Frame) -> tuple[PlacedBlock, ...]:
    """Every block in its place, in their order; the overprints come first."""
    count = len(blocks[0].inks)
    with_darks = any(block.kind == DARKEST for block in blocks)
    rows = 2 if count == 1 and with_darks else count  # one ink leaves half of it to its dark
    return tuple(_placed(block, frame, Square(rows=rows, columns=count)) for block in blocks)


def _placed(block: Block, frame: Frame, square: Square) -> PlacedBlock:
    if block.kind == OVERPRINTS:
        return _overprints(block, frame)
    if block.kind == RAMP:
        box = _cell(frame, square, row=block.inks[0], col=block.inks[0])
        gap = min(frame.tint_gap, _GAP_SHARE * box.height / len(block.fields))
        return PlacedBlock(block=block, box=box, fields=_bars(_below(box, frame), block, gap=gap))
    if block.kind == PAIR:
        box = _cell(frame, square, row=block.inks[1], col=block.inks[0])
        fields = _grid(_below(box, frame), block, gap=frame.tint_gap)
        return PlacedBlock(block=block, box=box, fields=fields)
    box = _free_room(frame, square)
    return PlacedBlock(block=block, box=box, fields=_bars(_below(box, frame), block, gap=frame.gap))


def _overprints(block: Block, frame: Frame) -> PlacedBlock:
    """Lines of fields, one above the other, as wide as the room."""
    count = len(block.inks)
    lines = list(_lines(block.groups, COLUMNS[count]))
    weights = [_weight(group, count) for group, _ in lines]
    groups = count + 1
    free = frame.left.height - groups * frame.group_gap - (len(lines) - groups) * frame.gap
    y, before, fields, rooms = frame.left.y, -1, [], []
    for (group, size), weight in zip(lines, weights, strict=True):
        y += frame.group_gap if group != before else frame.gap
        height = free * weight / sum(weights)
        line = Box(x=frame.left.x, y=y, width=frame.left.width, height=height)
        if group != before:
            rooms.append(line)
        fields += _across(line, size, gap=frame.gap)
        y, before = line.bottom, group
    return PlacedBlock(block=block, box=frame.left, fields=tuple(fields), groups=tuple(rooms))


def _lines(groups: tuple[int, ...], columns: int) -> Iterator[tuple[int, int]]:
    """Group and number of fields of each line."""
    for group, size in enumerate(groups):
        lines = 1 if size <= columns + 2 else size // columns
        yield from ((group, size // lines) for _ in range(lines))


def _weight(group: int, inks: int) -> float:
    """Height of a line over that of an overprint of two inks: bare paper and all inks lie flat."""
    if group == 0:
        return 0.5
    if group == 1:
        return 1.35
    return 0.75 if group == inks > 3 else 1.0


def _across(line: Box, count: int, *, gap: float) -> list[Box]:
    width = (line.width - (count - 1) * gap) / count
    return [
        Box(x=line.x + k * (width + gap), y=line.y, width=width, height=line.height)
        for k in range(count)
    ]


def _cell(frame: Frame, square: Square, *, row: int, col: int) -> Box:
    """A cell of the square of ramps and pairs."""
    room, gap = frame.right, frame.cell_gap
    rows, columns = square.rows, square.columns
    width = (room.width - (columns - 1) * gap) / columns
    height = (room.height - (rows - 1) * gap) / rows
    x, y = room.x + col * (width + gap), room.y + row * (height + gap)
    return Box(x=x, y=y, width=width, height=height)


def _free_room(frame: Frame, square: Square) -> Box:
    """What the pairs leave free above the diagonal, the widest of the largest rooms."""
    count = square.columns
    if count == 1:
        return _cell(frame, square, row=1, col=0)
    first = _cell(frame, square, row=0, col=count // 2)
    last = _cell(frame, square, row=count // 2 - 1, col=count - 1)
    return Box(x=first.x, y=first.y, width=last.right - first.x, height=last.bottom - first.y)


def _below(box: Box, frame: Frame) -> Box:
    """The room under the name of a block."""
    return Box(x=box.x, y=box.y + frame.head, width=box.width, height=box.height - frame.head)


def _bars(room: Box, block: Block, *, gap: float) -> tuple[Box, ...]:
    """One field under the other."""
    count = len(block.fields)
    height = (room.height - (count - 1) * gap) / count
    return tuple(
        Box(x=room.x, y=room.y + k * (height + gap), width=room.width, height=height)
        for k in range(count)
    )


def _grid(room: Box, block: Block, *, gap: float) -> tuple[Box, ...]:
    """Tints of a pair: the ink printed first across, the second downwards."""
    side = len(block.groups)
    height = (room.height - (side - 1) * gap) / side
    rows = (
        Box(x=room.x, y=room.y + k * (height + gap), width=room.width, height=height)
        for k in range(side)
    )
    return tuple(field for row in rows for field in _across(row, side, gap=gap))
