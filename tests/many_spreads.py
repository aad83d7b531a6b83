"""A book of many spreads, cut from the art of The Night Ferry; some fail, a few cannot be read.

Run: python tests/many_spreads.py FOLDER --count 200

The strip is drawn once. Each spread is a window of it at a place of its own, some of them mirrored,
all of them a little paler or fuller, so that no two plates are the same file. Nothing is checked.
"""

import argparse
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache, partial
from math import ceil
from pathlib import Path

import numpy as np
import tifffile
from numpy.typing import NDArray
from PIL import Image

from inkmix.base.ordered_threads import in_order
from inkmix.demo.book_text import book_text
from inkmix.demo.canvas import BLEED_MM, PANEL_MM
from inkmix.demo.faults import plant, planted, tone_mixes
from inkmix.demo.plates import draw_strip
from inkmix.demo.tones import INKS, NIGHTS
from inkmix.sheet.geometry import MM_PER_INCH

HEAVY_INK, PALE_NIGHT, CLEAN = "heavy-ink", "pale-night", "none"
TRUNCATED, OVERWRITTEN, OTHER_SIZE = "truncated", "overwritten in the middle", "another size"
WAYS = (TRUNCATED, OVERWRITTEN, OTHER_SIZE)

_TENTH = (CLEAN, CLEAN, HEAVY_INK, CLEAN, CLEAN, PALE_NIGHT, CLEAN, CLEAN, CLEAN, CLEAN)
"""What is planted in ten spreads, and again in the next ten."""
_ROOM = 1.15  # height of the strip over that of a spread, so that windows differ in rows too
_FULLER = {"Soot": (1.0, 1.02), "Fjord": (1.0, 1.02)}  # night must stay night
_PALER = (0.93, 1.0)  # the others
_LEAST_NIGHT = 0.03  # of a spread; less is no night area
_GRAIN_STEPS = 4.0  # standard deviation of a scan's grain, of 255
_STRIP_ROWS = 64
_MOST_SPOILED = 4000  # bytes

Plane = NDArray[np.uint8]


@dataclass(frozen=True, slots=True, kw_only=True)
class Damage:
    """One plate that cannot be read: which, and one of WAYS."""

    spread: str
    ink: str
    way: str
    path: Path


@dataclass(frozen=True, slots=True, kw_only=True)
class _Cut:
    """A spread to be cut out of the strip, and the grain of its scan."""

    name: str
    fault: str
    row: int
    col: int
    mirrored: bool
    gains: tuple[float, ...]
    grainy: bool
    seed: tuple[int, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Art:
    """The strip with and without faults, its night, and where the faults lie, mm from the trim."""

    ppi: int
    plates: Mapping[str, Mapping[str, Plane]]
    night: Plane
    rect_mm: Mapping[str, tuple[float, float, float, float]]

    def window(self, fault: str, *, width: int, height: int, rng: np.random.Generator) -> list[int]:
        """First row and column of a window of so many pixels that holds the fault, if any."""
        low, high = np.zeros(2), np.array(self.night.shape) - (height, width)
        if fault in self.rect_mm:
            x, y, wide, tall = self.rect_mm[fault]
            ends = np.array([[y + tall, x + wide], [y, x]]) + BLEED_MM
            least, most = ends * self.ppi / MM_PER_INCH - ((height, width), (0, 0))
            high = np.clip(most, 0, high)
            low = np.clip(least, 0, high)
        return [int(place) for place in np.rint(rng.uniform(low, high))]


def draw_spreads(
    folder: Path,
    *,
    count: int = 200,
    width_px: int = 1500,
    height_px: int = 1000,
    damaged: int = 3,
    seed: int = 0,
    grainy: bool = False,
) -> tuple[Damage, ...]:
    """Write plates/1/Soot.tif and so on, masks/1.png and so on, and book.toml; what is damaged.

    Of ten spreads the third has too much ink, and the night of the sixth is pale, where they are
    not among the damaged.

    Parameters
    ----------
    folder : Path
        Made if missing.
    damaged : int
        How many spreads have one plate that cannot be read; each of WAYS in turn.
    grainy : bool
        Whether the plates have the grain of a scan, so that hardly any colour comes twice.
    """
    if damaged > count:
        raise ValueError(f"{damaged} of {count} spreads cannot be damaged")
    art = _art(round(_ROOM * height_px))
    rng = np.random.default_rng(seed)
    choose = partial(_cut, art, width=width_px, height=height_px, rng=rng)
    cuts = [choose(index, grainy=grainy, seed=seed) for index in range(count)]
    size = (height_px, width_px)
    for kind in ("plates", "masks"):
        (folder / kind).mkdir(parents=True, exist_ok=True)
    masked = [name for name in in_order(partial(_write, folder, art, size), cuts) if name]
    (folder / "book.toml").write_text(_book(masked), encoding="utf-8")
    return tuple(_damaged(folder, damaged, count=count, rng=rng))


@lru_cache(maxsize=2)
def _art(rows: int) -> _Art:
    """The strip, at least so many pixels high."""
    ppi = ceil(rows * MM_PER_INCH / (PANEL_MM[1] + 2 * BLEED_MM))
    clean, masks = draw_strip(ppi=ppi)
    plates = {CLEAN: clean}
    places = {}
    for fault in (HEAVY_INK, PALE_NIGHT):
        plates[fault] = {ink: plate.copy() for ink, plate in clean.items()}
        plant(plates[fault], ppi=ppi, seed=0, fault=fault)
        places[fault] = planted(fault, 0)[0].rect_mm
    night = np.maximum.reduce(list(masks.values()))
    return _Art(ppi=ppi, plates=plates, night=night, rect_mm=places)


def _cut(
    art: _Art,
    index: int,
    *,
    width: int,
    height: int,
    rng: np.random.Generator,
    grainy: bool,
    seed: int,
) -> _Cut:
    """Where a spread lies on the strip."""
    fault = _TENTH[index % len(_TENTH)]
    row, col = art.window(fault, width=width, height=height, rng=rng)
    return _Cut(
        name=str(index + 1),
        fault=fault,
        row=row,
        col=col,
        mirrored=bool(rng.integers(2)),
        gains=tuple(float(rng.uniform(*_FULLER.get(ink, _PALER))) for ink in INKS),
        grainy=grainy,
        seed=(seed, index),
    )


def _write(folder: Path, art: _Art, size: tuple[int, int], cut: _Cut) -> str | None:
    """Plates of one spread, and its mask; its name where it has a night area."""
    (folder / "plates" / cut.name).mkdir(exist_ok=True)
    rng = np.random.default_rng(cut.seed)
    for ink, gain in zip(INKS, cut.gains, strict=True):
        inked = _in_tone(_window(art.plates[cut.fault][ink], cut, size), gain)
        inked = _scanned(inked, rng) if cut.grainy else inked
        _write_plate(_plate(folder, cut.name, ink), inked, art.ppi)
    night = _window(art.night, cut, size)
    if night.mean() < 255 * _LEAST_NIGHT:
        return None
    path = folder / "masks" / f"{cut.name}.png"
    Image.fromarray(night).save(path, dpi=(art.ppi, art.ppi))
    return cut.name


def _window(plate: Plane, cut: _Cut, size: tuple[int, int]) -> Plane:
    rows, cols = (
        slice(start, start + side) for start, side in zip((cut.row, cut.col), size, strict=True)
    )
    window = plate[rows, cols]
    return np.ascontiguousarray(window[:, ::-1] if cut.mirrored else window)


def _in_tone(plate: Plane, gain: float) -> Plane:
    """All tone values times a gain."""
    steps = np.minimum(np.rint(np.arange(256) * gain), 255)
    return steps.astype(np.uint8)[plate]


def _scanned(plate: Plane, rng: np.random.Generator) -> Plane:
    """Grain on every inked pixel; bare stays bare."""
    grain = rng.standard_normal(plate.shape, dtype=np.float32)
    noisy = np.clip(np.rint(plate + _GRAIN_STEPS * grain), 0, 255)
    noisy[plate == 0] = 0
    return noisy.astype(np.uint8)


def _plate(folder: Path, spread: str, ink: str) -> Path:
    return folder / "plates" / spread / f"{ink}.tif"


def _write_plate(path: Path, inked: Plane, ppi: float) -> None:
    tifffile.imwrite(
        path,
        ~inked,  # black is ink
        photometric="minisblack",
        compression="lzw",
        rowsperstrip=_STRIP_ROWS,
        resolution=(ppi, ppi),
        resolutionunit="INCH",
        metadata=None,
        software=False,
        maxworkers=1,
    )


def _book(masked: list[str]) -> str:
    """The demo's book without its strip, with one night whose masks are those of the spreads."""
    text = book_text(tone_mixes(fault=CLEAN, seed=0))
    head, rest = text.split("[strip]")
    limits, nights = rest[rest.index("[total_ink]") :].split("[[night]]", 1)
    tones = nights[nights.index("# Mixes") :]
    return f"{head}{limits}{_night(masked)}{tones}"


def _night(masked: list[str]) -> str:
    if not masked:
        return ""
    asked = NIGHTS[0]
    spreads = ", ".join(f'"{name}"' for name in masked)
    return (
        f'[[night]]\nname = "night"\nmask = "masks/{{spread}}.png"\nspreads = [{spreads}]\n'
        f"lightest_L = {asked.lightest_L:g}\nshare_pct = {asked.share_pct:g}\n\n"
    )


# --- damage --------------------------------------------------------------------------------------


def _damaged(folder: Path, damaged: int, *, count: int, rng: np.random.Generator) -> list[Damage]:
    """Spoil one plate in each of so many spreads."""
    done = []
    for turn, index in enumerate(sorted(rng.choice(count, damaged, replace=False))):
        spread, ink, way = str(index + 1), str(rng.choice(INKS)), WAYS[turn % len(WAYS)]
        path = _plate(folder, spread, ink)
        _SPOIL[way](path)
        done.append(Damage(spread=spread, ink=ink, way=way, path=path))
    return done


def _truncate(path: Path) -> None:
    data = path.read_bytes()
    path.write_bytes(data[: len(data) // 2])


def _overwrite(path: Path) -> None:
    """Ones in the middle: codes that LZW has not given out yet."""
    data = bytearray(path.read_bytes())
    half = min(_MOST_SPOILED, len(data) // 2) // 2
    middle = slice(len(data) // 2 - half, len(data) // 2 + half)
    data[middle] = b"\xff" * (2 * half)
    path.write_bytes(bytes(data))


def _resize(path: Path) -> None:
    """The same picture without its last sixteenth of rows and columns."""
    with tifffile.TiffFile(path) as file:
        grey, ppi = file.asarray(), file.pages[0].resolution[0]
    rows, cols = (side - side // 16 for side in grey.shape)
    _write_plate(path, ~grey[:rows, :cols], ppi)


_SPOIL: dict[str, Callable[[Path], None]] = {
    TRUNCATED: _truncate,
    OVERWRITTEN: _overwrite,
    OTHER_SIZE: _resize,
}


def main(arguments: list[str] | None = None) -> None:
    """Write such a book and say what is damaged."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--count", type=int, default=200, help="spreads; else 200")
    parser.add_argument("--width-px", type=int, default=1500)
    parser.add_argument("--height-px", type=int, default=1000)
    parser.add_argument("--damaged", type=int, default=3, help="spreads; else 3")
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--grainy", action="store_true", help="as scanned")
    for damage in draw_spreads(**vars(parser.parse_args(arguments))):
        print(f"spread {damage.spread}, {damage.ink}: {damage.way}")


if __name__ == "__main__":
    main()
