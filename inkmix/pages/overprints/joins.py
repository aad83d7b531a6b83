"""How fields that look alike are joined on the sheet.

Neighbours get a bridge over the gap between them. Overprints that stand apart get a letter: fields
of one letter all look alike, each with each. Pairs that neither shows are in the table.
"""

from collections.abc import Iterator
from string import ascii_lowercase

from inkmix.jobs.overprints.fields import Block
from inkmix.pages.overprints.layout import PlacedBlock
from inkmix.sheet.box import Box

_TOUCHING_MM = 1e-6
_SHARE = 0.3  # of the shorter edge that a bridge takes


def bridges(placed: PlacedBlock, *, gap_mm: float, line_mm: float) -> Iterator[tuple[int, Box]]:
    """A field's place and the bridge to its neighbour beside or below, which looks like it.

    Parameters
    ----------
    gap_mm : float
        Wider gaps are crossed by a line.
    line_mm : float
        Width of that line.
    """
    for pair in placed.block.alike:
        first, second = placed.fields[pair.first], placed.fields[pair.second]
        bridge = _beside(first, second) or _below(first, second, gap_mm=gap_mm, line_mm=line_mm)
        if bridge is not None:
            yield pair.first, bridge


def _beside(first: Box, second: Box) -> Box | None:
    """From a field to the next in its line."""
    gap = second.x - first.right
    if abs(first.y - second.y) > _TOUCHING_MM or not 0 <= gap < min(first.width, second.width):
        return None
    high, over = _SHARE * first.height, _overlap(gap)
    y = first.y + 0.5 * (first.height - high)
    return Box(x=first.right - over, y=y, width=gap + 2 * over, height=high)


def _below(first: Box, second: Box, *, gap_mm: float, line_mm: float) -> Box | None:
    """From a field to one in the next line that lies mostly under it."""
    gap = second.y - first.bottom
    left, right = max(first.x, second.x), min(first.right, second.right)
    least = min(first.width, second.width)
    if right - left < 0.6 * least or not 0 <= gap < min(first.height, second.height):
        return None
    wide = _SHARE * least if gap <= gap_mm + _TOUCHING_MM else min(line_mm, _SHARE * least)
    x, over = (left + right - wide) / 2, _overlap(gap)
    return Box(x=x, y=first.bottom - over, width=wide, height=gap + 2 * over)


def _overlap(gap: float) -> float:
    """How far a bridge reaches into both fields, so that no viewer shows a seam."""
    return min(0.3 * gap, 0.2)


def letters_of(block: Block) -> dict[int, str]:
    """A letter for fields that look like others, all of one letter like each other.

    Fields are taken in order, each into the first group that it is like as a whole.
    """
    near = {(pair.first, pair.second) for pair in block.alike}
    groups: list[list[int]] = []
    for field in sorted({place for pair in near for place in pair}):
        home = next((g for g in groups if all((member, field) in near for member in g)), None)
        if home is None:
            groups.append([field])
        else:
            home.append(field)
    shown = [group for group in groups if len(group) > 1]
    return {field: _letter(number) for number, group in enumerate(shown) for field in group}


def _letter(number: int) -> str:
    """a to z, then aa, ab and so on."""
    rest, last = divmod(number, len(ascii_lowercase))
    return (_letter(rest - 1) if rest else "") + ascii_lowercase[last]
