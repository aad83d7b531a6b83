"""A small book drawn for tests of mending: a night with a moon, a place with too much ink, grain.

The plates may come in every form that plates come in; what they hold is the same.
"""

from dataclasses import dataclass
from pathlib import Path

import imagecodecs
import numpy as np
import tifffile
from numpy.typing import NDArray
from plate_files import write_png, write_separated, write_tiff

PPI = 100
HEIGHT_PX, WIDTH_PX = 160, 200
INKS = ("Soot", "Fjord", "Rowan", "Fog")
LIMIT_PCT = 260
FORMS = ("grey", "sixteen and eight", "one file", "double hit", "finer")

MOON = slice(30, 42), slice(40, 52)
SKY = slice(10, 110), slice(0, 110)
HEAVY = slice(120, 150), slice(130, 180)

BOOK = """\
format = 1
title = "A small night"

[paper]
swatch = "night-ferry/uncoated"

{inks}
[press]
process = "sheet-fed offset"
ink_limit_pct = 260
confirmed_by_printer = ["ink_limit_pct"]

[plates]
pattern = "{pattern}"
{channels}
[[night]]
name = "the sky"
mask = "masks/{{spread}}.png"
mask_shows = "white"
lightest_L = {lightest_L}
"""


@dataclass(frozen=True, kw_only=True)
class NightBook:
    """A book in one of FORMS."""

    folder: Path
    form: str = "grey"

    @property
    def inks(self) -> tuple[str, ...]:
        """In lay-down order."""
        return (*INKS, "Soot 2") if self.form == "double hit" else INKS

    def path(self, ink: str, spread: str = "01") -> Path:
        """Where a plate lies."""
        if self.form == "one file":
            return self.folder / "plates" / f"{spread}.tif"
        ending = "png" if (self.form, ink) == ("sixteen and eight", "Fjord") else "tif"
        return self.folder / "plates" / spread / f"{ink}.{ending}"

    def raw(self, ink: str, spread: str = "01") -> NDArray:
        """Numbers of a plate in its file; read by others' decoders alone."""
        path = self.path(ink, spread)
        if path.suffix == ".png":
            return imagecodecs.png_decode(path.read_bytes())
        numbers = tifffile.imread(path)
        return numbers[..., INKS.index(ink)] if self.form == "one file" else numbers

    def tone_pct(self, ink: str, spread: str = "01") -> NDArray[np.float64]:
        """Tone values at the resolution of the set."""
        numbers = self.raw(ink, spread).astype(np.float64)
        full = 65535 if self.raw(ink, spread).dtype == np.uint16 else 255
        tone = numbers / full if self.form == "one file" else 1 - numbers / full
        factor = len(tone) // HEIGHT_PX
        blocks = tone.reshape(HEIGHT_PX, factor, WIDTH_PX, factor)
        return 100 * blocks.mean(axis=(1, 3))

    def total_pct(self, spread: str = "01") -> NDArray[np.float64]:
        """Total ink, by arithmetic of this module."""
        total = sum(self.tone_pct(ink, spread) for ink in INKS)
        return total + self.tone_pct("Soot", spread) * (self.form == "double hit")

    def at(self, folder: Path) -> "NightBook":
        """The same form elsewhere."""
        return NightBook(folder=folder, form=self.form)


def draw_book(
    folder: Path,
    form: str = "grey",
    *,
    spreads: tuple[str, ...] = ("01",),
    lightest_L: float = 33,
    seed: int = 0,
    more: str = "",
) -> NightBook:
    """Write book, mask and plates."""
    book = NightBook(folder=folder, form=form)
    (folder / "masks").mkdir(parents=True)
    (folder / "plates").mkdir()
    for k, spread in enumerate(spreads):
        draw_plates(book, spread, seed=seed + k)
        mask = np.zeros((HEIGHT_PX, WIDTH_PX), np.uint8)
        mask[SKY] = 255
        write_png(folder / "masks" / f"{spread}.png", mask, PPI)
    (folder / "book.toml").write_text(_text(form, lightest_L) + more, encoding="utf-8")
    return book


def draw_plates(book: NightBook, spread: str = "01", *, seed: int = 0, moons: int = 1) -> None:
    """Write the plates of a spread; `moons` lie side by side in the sky."""
    tone_pct = tones(seed=seed, moons=moons, double=book.form == "double hit")
    if book.form == "one file":
        stack = np.stack([np.rint(2.55 * tone_pct[ink]) for ink in INKS], axis=-1)
        write_separated(
            book.path("", spread), stack.astype(np.uint8), INKS, ppi=PPI, compression="lzw",
            rowsperstrip=16,
        )  # fmt: skip
        return
    (book.folder / "plates" / spread).mkdir(exist_ok=True)
    for ink in INKS:
        _write(book, ink, spread, tone_pct[ink])


def _write(book: NightBook, ink: str, spread: str, tone_pct: NDArray[np.float64]) -> None:
    path, ppi = book.path(ink, spread), PPI
    is_deep = book.form == "sixteen and eight" and ink in ("Soot", "Fjord")
    full, depth = (65535, np.uint16) if is_deep else (255, np.uint8)
    if book.form == "finer" and ink == "Soot":
        grain = np.random.default_rng(7).normal(0, 3, (2 * HEIGHT_PX, 2 * WIDTH_PX))
        fine = np.repeat(np.repeat(tone_pct, 2, axis=0), 2, axis=1)
        tone_pct, ppi = np.clip(fine + grain * (fine > 0), 0, 100), 2 * PPI
    numbers = np.rint(full * (1 - tone_pct / 100)).astype(depth)
    if path.suffix == ".png":
        write_png(path, numbers, ppi)
    else:
        write_tiff(path, numbers, ppi, compression="lzw", rowsperstrip=16, software="a scanner")


def tones(*, seed: int, moons: int = 1, double: bool = False) -> dict[str, NDArray[np.float64]]:
    """Tone values of each ink: a grainy sky, moons of bare paper in it, land, a heavy place."""
    rng = np.random.default_rng(seed)
    grain = rng.normal(0, 1.5, (HEIGHT_PX, WIDTH_PX))
    made = {ink: np.full((HEIGHT_PX, WIDTH_PX), 10.0) for ink in INKS}
    made["Soot"][SKY], made["Fjord"][SKY], made["Fog"][SKY] = (57 if double else 74), 60, 0
    for ink in ("Soot", "Fjord"):
        made[ink][SKY] += grain[SKY]
    for moon in range(moons):
        place = MOON[0], slice(MOON[1].start + 30 * moon, MOON[1].stop + 30 * moon)
        for ink in INKS:
            made[ink][place] = 0
    for ink, tone in zip(INKS, (55 if double else 80, 75, 80, 70), strict=True):
        made[ink][HEAVY] = tone
    return {ink: np.clip(tone, 0, 100) for ink, tone in made.items()}


def _text(form: str, lightest_L: float) -> str:
    names = (*INKS, "Soot 2") if form == "double hit" else INKS
    inks = "".join(_ink(name) for name in names)
    several = form == "one file"
    channels = f"channels = [{', '.join(repr(ink) for ink in INKS)}]\n" if several else ""
    pattern = "plates/{spread}.tif" if several else "plates/{spread}/{ink}.tif"
    return BOOK.format(inks=inks, pattern=pattern, channels=channels, lightest_L=lightest_L)


def _ink(name: str) -> str:
    own, second = name.split()[0], 'plate = "Soot"\n' if " " in name else ""
    return f'[[inks]]\nname = "{name}"\nswatch = "night-ferry/{own}"\n{second}\n'
