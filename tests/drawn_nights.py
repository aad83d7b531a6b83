"""Nights drawn for tests by seeds, on the inks of the demo: what illustrators put into a sky."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
from scipy.ndimage import gaussian_filter

from inkmix.checks.mending.correction import Correction
from inkmix.checks.night.check import NightCheck, NightResult
from inkmix.checks.night.remedies import night_remedies
from inkmix.checks.trials.ground import TrialGround
from inkmix.checks.trials.trials import Guard, PixelSource, Trials
from inkmix.checks.window import CheckedWindow
from inkmix.press.condition import PressCondition, press_condition
from inkmix.press.processes import find_process
from inkmix.press.swatches.by_name import load_ink, load_overprints, load_paper
from inkmix.press.table.colouring import Colouring
from inkmix.press.table.lookup import build_lookup
from inkmix.sheet.geometry import Sheet

SHEET = Sheet(width_px=280, height_px=200, ppi=60)
ROWS, COLS = slice(0, SHEET.height_px), slice(0, SHEET.width_px)
INKS = ("Soot", "Fjord", "Rowan", "Brass", "Fog")
ALLOWED_L = 34.0
"""Some 9 above the darkest mix of these inks; 1.2 of it is expected error."""
INK_LIMIT_PCT = 280.0

KINDS = (
    "moon, calm",
    "crescent, stars",
    "stars",
    "milky way",
    "windows",
    "snow",
    "clouds",
    "moon, clouds",
    "moon in a haze",
    "lamps, snow",
    "moon, soft mask",
    "hill cut by the mask",
    "figure cut by the mask",
    "moon cut by the mask, stars",
    "houses, windows",
    "grain",
    "brush strokes, moon",
    "grain, windows",
    "brush strokes, stars, soft mask",
    "aurora, stars",
)


@dataclass(frozen=True, kw_only=True, eq=False)
class Drawing:
    """Plates (5, rows, cols), the mask of their night, and the bodies of moon, stars, windows."""

    planes: np.ndarray
    mask: np.ndarray
    bodies: np.ndarray


def drawn(kind: str, seed: int) -> Drawing:
    """A night of one of KINDS."""
    draw = _Drawing(np.random.default_rng(seed))
    for part, paint in _PAINTS.items():
        if part in kind:
            paint(draw)
    return draw.finished(soft="soft mask" in kind)


class _Drawing:
    """Light from 0 to 1 over an even, darkening sky."""

    def __init__(self, rng: np.random.Generator) -> None:
        self.rng = rng
        self.y, self.x = np.mgrid[0 : SHEET.height_px, 0 : SHEET.width_px].astype(float)
        down = self.y / SHEET.height_px
        self.soot = rng.uniform(0.5, 0.68) - rng.uniform(0, 0.12) * down
        self.fjord = rng.uniform(0.55, 0.8) - rng.uniform(-0.1, 0.2) * down
        self.soot = self.soot + self.noise(rng.choice([1.5, 4, 10]), 0.025)
        self.fjord = self.fjord + self.noise(rng.choice([2, 7]), 0.025)
        self.light = np.zeros(self.x.shape)
        self.bodies = np.zeros(self.x.shape, bool)
        self.mask = np.zeros(self.x.shape, bool)
        self.mask[12:150, 16:262] = True
        self.over: list[tuple[np.ndarray, tuple[float, ...]]] = []

    def noise(self, across_px: float, spread: float) -> np.ndarray:
        grain = gaussian_filter(self.rng.normal(size=self.x.shape), across_px)
        return spread * grain / grain.std()

    def disc(self, y: float, x: float, radius: float) -> np.ndarray:
        return np.clip(radius - np.hypot(self.y - y, self.x - x) + 0.5, 0, 1)

    def shine(self, light: np.ndarray) -> None:
        self.light = np.maximum(self.light, light)

    def body(self, light: np.ndarray) -> None:
        """Something drawn with an edge; its body is what the edge does not touch."""
        self.shine(light)
        self.bodies |= light >= light.max()

    def spots(self, count: int, least: float, most: float, light: float) -> None:
        for _ in range(count):
            y, x = self.rng.uniform(16, 146), self.rng.uniform(20, 258)
            self.body(light * self.disc(y, x, self.rng.uniform(least, most)))

    def finished(self, *, soft: bool) -> Drawing:
        mask = gaussian_filter(self.mask.astype(float), 4) > 0.5 if soft else self.mask
        tones = np.zeros((5, *self.x.shape))
        tones[0] = np.clip(self.soot, 0, 1) * (1 - self.light)
        tones[1] = np.clip(self.fjord, 0, 1) * (1 - 0.85 * self.light)
        tones[3] = 0.15 * self.light
        for where, mix in self.over:
            tones = np.where(where, np.array(mix)[:, None, None], tones)
        planes = np.rint(255 * np.clip(tones, 0, 1)).astype(np.uint8)
        return Drawing(planes=planes, mask=mask, bodies=self.bodies)


def _moon(draw: _Drawing) -> None:
    y, x = draw.rng.uniform(40, 70), draw.rng.uniform(50, 120)
    draw.body(draw.disc(y, x, draw.rng.uniform(9, 14)))


def _crescent(draw: _Drawing) -> None:
    y, x = draw.rng.uniform(40, 70), draw.rng.uniform(150, 220)
    draw.body(draw.disc(y, x, 13) * (1 - draw.disc(y - 4, x + 6, 12)))


def _haze(draw: _Drawing) -> None:
    y, x = draw.rng.uniform(45, 60), draw.rng.uniform(80, 110)
    draw.shine(0.5 * np.exp(-((draw.y - y) ** 2 + (draw.x - x) ** 2) / (2 * 24**2)))
    draw.body(draw.disc(y, x, 11))


def _moon_cut(draw: _Drawing) -> None:
    draw.body(draw.disc(150, draw.rng.uniform(80, 200), 14))


def _windows(draw: _Drawing) -> None:
    left = int(draw.rng.integers(90, 140))
    for k in range(5):
        window = np.zeros(draw.x.shape)
        window[118:130, left + 22 * k : left + 22 * k + 9] = 1
        draw.body(window)


def _lamps(draw: _Drawing) -> None:
    for k in range(4):
        draw.body(draw.disc(110, 50 + 52 * k, 4))


def _milky_way(draw: _Drawing) -> None:
    along = (draw.y - 20) * 0.8 - (draw.x - 90) * 0.35
    draw.shine(np.clip(0.22 * np.exp(-((along / 22) ** 2)) + draw.noise(3, 0.03), 0, 1))
    draw.spots(60, 0.8, 1.4, 0.9)


def _clouds(draw: _Drawing) -> None:
    draw.shine(np.clip(0.14 * (draw.noise(9, 1) - 0.8), 0, 0.35))


def _aurora(draw: _Drawing) -> None:
    bow = draw.y - 60 - 18 * np.sin(draw.x / 40)
    draw.shine(0.3 * np.exp(-((bow / 20) ** 2)))


def _grain(draw: _Drawing) -> None:
    draw.soot = draw.soot + draw.rng.normal(0, 0.06, draw.x.shape)
    draw.fjord = draw.fjord + draw.rng.normal(0, 0.06, draw.x.shape)


def _strokes(draw: _Drawing) -> None:
    strokes = gaussian_filter(draw.rng.normal(size=draw.x.shape), (0.8, 9))
    draw.soot = draw.soot + 0.06 * strokes / strokes.std()


def _hill(draw: _Drawing) -> None:
    ridge = draw.y > 118 + 14 * np.sin(draw.x / 31)
    draw.over.append((ridge, (0.1, 0.2, 0.0, 0.5, 0.1)))


def _houses(draw: _Drawing) -> None:
    line = 150 - 24 * np.abs((draw.x % 70) / 35 - 1)
    houses = draw.y > line
    draw.over.append((houses, (0.0, 0.0, 0.3, 0.1, 0.0)))
    draw.mask = ~houses & (draw.y > 12)


def _figure(draw: _Drawing) -> None:
    draw.over.append((draw.disc(150, 190, 24) > 0.5, (0.05, 0.0, 0.1, 0.4, 0.0)))


_PAINTS: dict[str, Callable[[_Drawing], None]] = {
    "moon in a haze": _haze,
    "moon cut": _moon_cut,
    "moon,": _moon,
    ", moon": _moon,
    "crescent": _crescent,
    "stars": lambda draw: draw.spots(35, 0.9, 1.9, 1.0),
    "milky way": _milky_way,
    "windows": _windows,
    "lamps": _lamps,
    "snow": lambda draw: draw.spots(110, 0.8, 1.3, 0.8),
    "clouds": _clouds,
    "aurora": _aurora,
    "grain": _grain,
    "brush strokes": _strokes,
    "hill": _hill,
    "houses": _houses,
    "figure": _figure,
}


@cache
def demo_press() -> PressCondition:
    """The demo's inks on their uncoated paper, as its book has them."""
    paper = load_paper("night-ferry/uncoated")
    names = [f"night-ferry/{name}" for name in INKS]
    inks = [load_ink(name, paper=paper) for name in names]
    process = find_process("sheet-fed offset")
    return press_condition(paper, inks, process=process, patches=load_overprints(paper, names))


@cache
def demo_colouring() -> Colouring:
    """Their table of colours."""
    return Colouring(build_lookup(demo_press(), inks=len(INKS), depth=8))


@dataclass(frozen=True, kw_only=True, eq=False)
class NightJob:
    """A drawing that was checked."""

    drawing: Drawing
    lightest_L: float = ALLOWED_L
    share_pct: float = 95.0
    ink_limit_pct: float | None = INK_LIMIT_PCT
    names: tuple[str, ...] = INKS

    @property
    def check(self) -> NightCheck:
        return NightCheck(
            sheet=SHEET,
            condition=demo_press(),
            name="Sky",
            mask_words="a picture",
            lightest_L=self.lightest_L,
            share_pct=self.share_pct,
        )

    @property
    def result(self) -> NightResult:
        planes = self.drawing.planes
        window = CheckedWindow(
            rows=ROWS, cols=COLS, planes=planes, lightness=demo_colouring().lightness(planes)
        )
        return self.check.finish(self.check.part(window, self.drawing.mask))

    def read(self, rows: slice, cols: slice) -> tuple[np.ndarray, np.ndarray]:
        part = self.drawing.planes[:, rows, cols]
        return part, part.sum(axis=0, dtype=np.int32)

    def trials(self) -> Trials:
        def look(planes):
            coloured = demo_colouring().coloured(np.ascontiguousarray(planes))
            return coloured.srgb8, coloured.lightness

        source = PixelSource(
            read=self.read,
            lightness=demo_colouring().lightness,
            look=look,
            night_mask=lambda _, rows, cols: self.drawing.mask[rows, cols],
        )
        ground = TrialGround(plates=self.names, sheet=SHEET, ink_limit_pct=self.ink_limit_pct)
        guard = Guard(check=self.check, result=self.result, mask=None)
        return Trials(source=source, ground=ground, guards=[guard])

    def remedies(self):
        return night_remedies(self.check, self.result, self.trials())

    def after(self, correction: Correction) -> "NightJob":
        """The job once a correction is done to its plates."""
        planes = correction.applied(self.drawing.planes, rows=ROWS, cols=COLS)
        return replace(self, drawing=replace(self.drawing, planes=planes))
