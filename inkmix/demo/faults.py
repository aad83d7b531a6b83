"""Faults planted into the clean strip, each at a place drawn from a seed, and where they are.

What is wrong, where and by how much; drawing the picture and judging it happen elsewhere.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from inkmix.base.errors import Fault, UsageError
from inkmix.checks.night.facts import NIGHT
from inkmix.checks.tones.facts import NAMED_TONES
from inkmix.checks.total_ink.facts import TOTAL_INK
from inkmix.demo.canvas import strip_sheet
from inkmix.demo.tones import NIGHTS, TONES, Mix

Plates = dict[str, NDArray[np.uint8]]
Rect = tuple[float, float, float, float]  # x, y, width, height in mm from the trim's top left


@dataclass(frozen=True, slots=True, kw_only=True)
class Planted:
    """A fault that was planted: what it is called, which check must find it, where it lies.

    Parameters
    ----------
    name : str
        Name of the fault.
    check : str
        TOTAL_INK, NIGHT or NAMED_TONES.
    area : str or None
        The night area or named tone concerned.
    rect_mm : (x, y, width, height) or None
        mm from the trim's top left corner; None where the fault lies in the book file.
    """

    name: str
    check: str
    area: str | None
    rect_mm: Rect | None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Blot:
    """An irregular oval: tone values it pulls the plates to, and where its centre may lie."""

    check: str
    area: str | None
    size_mm: tuple[float, float]
    centres_mm: tuple[Rect, ...]
    tones_pct: Mix
    keep: np.ufunc  # np.minimum only takes ink away, np.maximum only adds it


BLOTS: Mapping[str, _Blot] = {
    "pale-night": _Blot(
        check=NIGHT,
        area=NIGHTS[0].name,
        size_mm=(76.0, 34.0),
        centres_mm=((178.0, 15.0, 90.0, 6.0),),
        tones_pct={"Soot": 55},
        keep=np.minimum,
    ),
    "thin-sea": _Blot(
        check=NIGHT,
        area=NIGHTS[1].name,
        size_mm=(62.0, 30.0),
        centres_mm=((490.0, 121.0, 42.0, 12.0),),
        tones_pct={"Soot": 62, "Fjord": 38},
        keep=np.minimum,
    ),
    "heavy-ink": _Blot(
        check=TOTAL_INK,
        area=None,
        size_mm=(20.0, 12.0),
        centres_mm=((16.0, 136.0, 78.0, 6.0), (250.0, 132.0, 60.0, 8.0), (640.0, 139.0, 70.0, 4.0)),
        tones_pct={"Soot": 96, "Fjord": 88, "Rowan": 74, "Brass": 50},
        keep=np.maximum,
    ),
}
WRONG_BY: Mapping[str, Mix] = {  # what a slip of the pen makes of a named tone's mix
    "lamp glow": {"Rowan": 86, "Brass": 26},
    "quay brick": {"Soot": 4, "Rowan": 74, "Brass": 22},
    "moonlit water": {"Soot": 60, "Fjord": 48, "Fog": 45},
    "dawn": {"Fjord": 27, "Brass": 24, "Fog": 12},
}
WRONG_TONE = "wrong-tone"
NAMES = (*BLOTS, WRONG_TONE)


def chosen(fault: str) -> tuple[str, ...]:
    """Names of the faults meant by a name, "all" or "none"; UsageError for any other word."""
    if fault in ("none", "all"):
        return NAMES if fault == "all" else ()
    if fault not in NAMES:
        expected = f"known are {', '.join(NAMES)}, all, none"
        raise UsageError(
            Fault(where="fault", found=f"no fault is called {fault}", expected=expected)
        )
    return (fault,)


def planted(fault: str, seed: int) -> tuple[Planted, ...]:
    """What is planted for a fault name and a seed, and where it lies."""
    return tuple(_planted(name, seed) for name in chosen(fault))


def _planted(name: str, seed: int) -> Planted:
    if name == WRONG_TONE:
        return Planted(name=name, check=NAMED_TONES, area=_slipped(seed), rect_mm=None)
    blot = BLOTS[name]
    return Planted(name=name, check=blot.check, area=blot.area, rect_mm=_rect_mm(name, seed))


def tone_mixes(*, fault: str, seed: int) -> dict[str, Mix]:
    """Mixes of the named tones as the book states them, one of them wrong if so asked."""
    mixes = {tone.name: tone.mix for tone in TONES}
    if WRONG_TONE in chosen(fault):
        name = _slipped(seed)
        mixes[name] = WRONG_BY[name]
    return mixes


def plant(plates: Plates, *, ppi: float, seed: int, fault: str) -> None:
    """Plant the faults of a name and a seed into the plates, in place."""
    for name in chosen(fault):
        if name in BLOTS:
            _blot(plates, ppi=ppi, seed=seed, name=name)


def _slipped(seed: int) -> str:
    return str(_random(WRONG_TONE, seed).choice(list(WRONG_BY)))


def _random(name: str, seed: int) -> np.random.Generator:
    return np.random.default_rng([seed, NAMES.index(name)])


def _rect_mm(name: str, seed: int) -> Rect:
    blot, random = BLOTS[name], _random(name, seed)
    x, y, width, height = blot.centres_mm[random.integers(len(blot.centres_mm))]
    centre_x, centre_y = x + width * random.random(), y + height * random.random()
    wide, high = blot.size_mm
    return centre_x - wide / 2, centre_y - high / 2, wide, high


def _blot(plates: Plates, *, ppi: float, seed: int, name: str) -> None:
    x, y, width, height = _rect_mm(name, seed)
    sheet = strip_sheet(ppi)
    window = sheet.pixels_of(x_mm=x, y_mm=y, width_mm=width, height_mm=height)
    alpha = _oval(tuple(s.stop - s.start for s in window), _random(name, seed))
    blot = BLOTS[name]
    for ink, tone_pct in blot.tones_pct.items():
        part = plates[ink][window]
        aim = blot.keep(part, tone_pct * 2.55)
        part[:] = np.rint(part + (aim - part) * alpha)


def _oval(shape: tuple[int, ...], random: np.random.Generator) -> NDArray[np.float64]:
    """(rows, cols) 0-1: a flat oval whose edge wanders, nothing outside the window."""
    v, u = np.ogrid[-1 : 1 : shape[0] * 1j, -1 : 1 : shape[1] * 1j]
    wander = random.random((7, 9))
    scale = (shape[0] / 7, shape[1] / 9)
    noise = ndimage.zoom(wander, scale, order=1, grid_mode=True, mode="nearest")
    reach = np.hypot(u, v) + 0.22 * noise
    return np.asarray(np.clip((1.0 - reach) / 0.12, 0, 1), dtype=np.float64)
