"""A picture of the house: its rooms one above the other, an arrow for each use of another one.

python tests/tools/house.py [PICTURE.svg] counts the imports between rooms, prints them as a table,
and draws them; an arrow upward would be red.
"""

import ast
import sys
from collections import Counter
from pathlib import Path

PACKAGE = Path(__file__).parents[2] / "inkmix"
ROOMS = (
    *("base", "colour", "sheet", "plates", "press", "export", "book"),
    *("mixes", "checks", "jobs", "pages", "batch", "demo", "cli"),
)
"""Lowest first; the demo is a guest house."""
STEP, WIDTH, LEFT = 44, 90, 40


def uses() -> Counter[tuple[str, str]]:
    """How many modules of one room import something of another."""
    found: Counter[tuple[str, str]] = Counter()
    for path in PACKAGE.rglob("*.py"):
        parts = path.relative_to(PACKAGE).parts
        if len(parts) > 1:
            found.update((parts[0], room) for room in _rooms_in(path) if room != parts[0])
    return found


def _rooms_in(path: Path) -> set[str]:
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module:
            names |= {node.module, *(f"{node.module}.{one.name}" for one in node.names)}
        elif isinstance(node, ast.Import):
            names |= {one.name for one in node.names}
    parts = [name.split(".") for name in names]
    return {one[1] for one in parts if one[0] == "inkmix" and len(one) > 1 and one[1] in ROOMS}


def drawn(found: Counter[tuple[str, str]]) -> str:
    """The picture as SVG: arrows to the right go down, whoever uses stands above."""
    top = STEP * len(ROOMS)
    place = {room: top - STEP * k - STEP // 2 for k, room in enumerate(ROOMS)}
    shapes = []
    for user, used in sorted(found):
        high, low = place[user], place[used]
        colour = "#1d1b18" if high < low else "#c00"
        far = LEFT + WIDTH + 26 + 26 * (abs(high - low) // STEP)
        path = f"M{LEFT + WIDTH} {high} C{far} {high} {far} {low} {LEFT + WIDTH + 6} {low + 8}"
        shapes.append(f'<path d="{path}" fill="none" stroke="{colour}" stroke-opacity=".55"/>')
    for room, y in place.items():
        shapes.append(
            f'<rect x="{LEFT}" y="{y - 15}" width="{WIDTH}" height="30" fill="#fff" '
            f'stroke="#1d1b18"/><text x="{LEFT + WIDTH / 2}" y="{y + 5}" text-anchor="middle">'
            f"{room}</text>"
        )
    size = f'width="560" height="{top}" font-family="sans-serif" font-size="15"'
    return f'<svg xmlns="http://www.w3.org/2000/svg" {size}>{"".join(shapes)}</svg>\n'


def main() -> None:
    """Print, and draw where a name is given."""
    found = uses()
    for room in reversed(ROOMS):
        used = [f"{low} {found[room, low]}" for low in ROOMS if found[room, low]]
        print(f"{room:8}{', '.join(used)}")
    upward = [pair for pair in found if ROOMS.index(pair[0]) < ROOMS.index(pair[1])]
    print(f"{len(found)} arrows, {len(upward)} upward")
    if len(sys.argv) > 1:
        Path(sys.argv[1]).write_text(drawn(found), encoding="utf-8")


if __name__ == "__main__":
    main()
