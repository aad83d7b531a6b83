"""Corrections before and after: crops at true pixels, as they print; curves as ramps; maps.

Where crops lie is told in `places.py`.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from inkmix.base.arrays import FloatArray
from inkmix.checks.finding import Finding, Remedy
from inkmix.checks.mending.correction import Correction
from inkmix.checks.mending.curve import PLACES_PCT, ToneCurve
from inkmix.checks.window import Planes, as_planes
from inkmix.jobs.answer import BeforeAfter, ChangePicture, Ramps, ShownRemedy
from inkmix.jobs.checking.places import Places
from inkmix.jobs.printing.pictures import grey_png_bytes
from inkmix.jobs.spread import Spread
from inkmix.press.table.colouring import Colouring

MOST_SHOWN = 6
"""Corrections of a spread that are shown; each is up to four crops."""

_MAP_PX = 320
_FADED = 0.2  # of the most: less is where a correction ends
_EVEN, _EVEN_SHARE = 0.8, 0.75  # of the most, on so much of the rest: no picture tells more
_RAMP_STEPS = 21


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Shown:
    """A remedy with its number among those shown, and the pictures that it brings."""

    number: int
    remedy: Remedy
    correction: Correction
    findings: tuple[tuple[str, str], ...]


def remedies_shown(
    spread: Spread,
    colouring: Colouring,
    findings: Sequence[Finding],
    *,
    reduced_tone_pct: FloatArray,
) -> tuple[tuple[ShownRemedy, ...], dict[str, bytes]]:
    """Every correction among the remedies once, and its pictures by key.

    Parameters
    ----------
    reduced_tone_pct : (rows, cols, I) ndarray
        Reduced plates, by which the place that changes most is found.
    """
    drawing = _Drawing(spread, colouring, reduced_tone_pct)
    shown = tuple(drawing.shown(one) for one in _corrections(findings))
    return shown, drawing.pictures


def _corrections(findings: Sequence[Finding]) -> Iterator[_Shown]:
    """Corrections in the order of findings, with all findings that share each."""
    of_each: dict[int, list[tuple[Finding, Remedy]]] = {}
    for finding in findings:
        for remedy in finding.remedies:
            if remedy.correction is not None:
                of_each.setdefault(id(remedy.correction), []).append((finding, remedy))
    for number, pairs in enumerate(list(of_each.values())[:MOST_SHOWN], start=1):
        remedy = pairs[0][1]
        assert remedy.correction is not None
        names = dict.fromkeys((finding.check, finding.name) for finding, _ in pairs)
        yield _Shown(
            number=number, remedy=remedy, correction=remedy.correction, findings=tuple(names)
        )


class _Drawing:
    def __init__(self, spread: Spread, colouring: Colouring, reduced_tone_pct: FloatArray) -> None:
        self._spread, self._colouring = spread, colouring
        self._places = Places(spread=spread, colouring=colouring, reduced_tone_pct=reduced_tone_pct)
        self.pictures: dict[str, bytes] = {}

    def shown(self, one: _Shown) -> ShownRemedy:
        """What the page shows of a correction."""
        return ShownRemedy(
            findings=one.findings,
            crops=tuple(self._crops(one)),
            ramps=tuple(self._ramps(one.remedy)),
            change=self._map(one),
        )

    def _crops(self, one: _Shown) -> Iterator[BeforeAfter]:
        def after(planes: Planes, rows: slice, cols: slice) -> Planes:
            return self._places.applied(one.correction, planes, rows=rows, cols=cols)

        for crop in self._places.crops(one.remedy, one.correction):
            key = f"remedy {one.number}" + ("" if crop.lost is None else ", light")
            shown, pictures = self._places.before_after(crop, key, after)
            self.pictures |= pictures
            yield shown

    def _ramps(self, remedy: Remedy) -> Iterator[Ramps]:
        """Each plate that gets a curve: its tones, what they become, and both as they print."""
        inks = [ink.name for ink in self._spread.condition.inks]
        tones_pct = np.linspace(0, 100, _RAMP_STEPS)
        for step in remedy.curves:
            curve = ToneCurve(plate=step.plate, heights_pct=step.heights_pct)
            alone = np.eye(len(inks))[inks.index(step.plate)]
            both = (self._ramp(tones * alone[:, None]) for tones in _both(curve, tones_pct))
            before_srgb8, after_srgb8 = both
            yield Ramps(
                plate=step.plate,
                before_pct=PLACES_PCT,
                after_pct=tuple(float(pct) for pct in curve.after_pct(PLACES_PCT)),
                before_srgb8=before_srgb8,
                after_srgb8=after_srgb8,
            )

    def _ramp(self, tone_pct: FloatArray) -> tuple[tuple[int, int, int], ...]:
        full = self._spread.plates.full
        kind = np.uint8 if full == 255 else np.uint16
        planes = as_planes(np.rint(tone_pct * full / 100).astype(kind))
        return tuple((int(r), int(g), int(b)) for r, g, b in self._colouring.srgb8(planes)[0])

    def _map(self, one: _Shown) -> ChangePicture | None:
        """A map of the change, where one was made while the correction was tried."""
        change = one.remedy.change
        if change is None or change.cells is None or not change.most_de00:
            return None
        cells, sheet, key = change.cells, self._spread.sheet, f"remedy {one.number}, map"
        height, width = cells.de00.shape
        darkness = np.clip(cells.de00 / change.most_de00, 0, 1)
        is_even = np.quantile(darkness[darkness > _FADED], 1 - _EVEN_SHARE) >= _EVEN
        if not is_even:
            larger = max(1, _MAP_PX // max(height, width))
            grey = np.rint(255 * (1 - darkness)).astype(np.uint8)
            self.pictures[key] = grey_png_bytes(grey.repeat(larger, 0).repeat(larger, 1))
        rows = slice(cells.row, min(cells.row + height * cells.side, sheet.height_px))
        cols = slice(cells.col, min(cells.col + width * cells.side, sheet.width_px))
        return ChangePicture(
            picture=None if is_even else key,
            most_de00=change.most_de00,
            place=sheet.place_of(rows, cols),
        )


def _both(curve: ToneCurve, tones_pct: FloatArray) -> tuple[FloatArray, FloatArray]:
    return tones_pct, curve.after_pct(tones_pct)
