"""Marks of a form on its sheet: corners, known fields, register marks, lines and gaps.

Each as a place that testform.json tells, and as areas and words that are drawn.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from inkmix.export.forms.drawing import Area, Words
from inkmix.jobs.testform.draw import Mixes, layered, target_heading
from inkmix.jobs.testform.values import CornerMark, KnownField, MarkPlace
from inkmix.press.forms.values import Mix
from inkmix.sheet.box import Box
from inkmix.sheet.forms.layout import FormLayout
from inkmix.sheet.forms.marks import (
    FINE_LINE_MM,
    GAPS_MM,
    LINES_MM,
    Layered,
    corner_mark,
    gap_target,
    line_target,
    paper_mark,
    register_mark,
    snapped,
    snapped_edges,
    widths_at,
)

CORNERS = ("top left", "top right", "bottom left", "bottom right")
ODD_CORNER = "top left"


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """Places of marks of one kind, and the areas and words that show them."""

    corners: tuple[CornerMark, ...]
    fields: tuple[KnownField, ...]
    marks: tuple[MarkPlace, ...]
    areas: tuple[Area, ...]
    words: tuple[Words, ...]


def sides_of(box: Box) -> dict[str, Any]:
    """Place and size as every value tells them."""
    return {"x_mm": box.x, "y_mm": box.y, "width_mm": box.width, "height_mm": box.height}


class Marks:
    """Draws the marks of one form.

    Parameters
    ----------
    layout : FormLayout
    mixes : Mixes
        Gets the mixes of the marks.
    steps : sequence of tuple
        Paper and the ramp of the darkest ink, of which known fields are some.
    ppi : float
        Of the plates, on whose pixels all marks lie.
    """

    def __init__(
        self, layout: FormLayout, mixes: Mixes, steps: Sequence[Mix], *, ppi: float
    ) -> None:
        self._layout, self._mixes, self._steps, self._ppi = layout, mixes, steps, ppi
        self._inks, self._darkest = mixes.inks, mixes.darkest
        held_mm = max(FINE_LINE_MM, self._inks.condition.process.min_line_mm)
        (self._line_mm,) = widths_at([held_mm], ppi=ppi)

    def drawn(self) -> Drawn:
        """All of them."""
        areas: list[Area] = []
        corners, fields, marks, words = [], [], [], []
        for name, box in zip(CORNERS, map(self._snapped, self._layout.corners), strict=True):
            is_odd = name == ODD_CORNER
            corners.append(CornerMark(corner=name, has_core=is_odd, **sides_of(box)))
            areas += self._layered(corner_mark(box, self._darkest, is_odd=is_odd))
        for field, area in self._fields():
            fields.append(field)
            areas.append(area)
        for place, box, layers in self._targets():
            marks.append(place)
            areas += self._layered(layers)
            if place.sizes_mm:
                words.append(target_heading(box, place.inks, place.sizes_mm))
        return Drawn(
            corners=tuple(corners),
            fields=tuple(fields),
            marks=tuple(marks),
            areas=tuple(areas),
            words=tuple(words),
        )

    def around_paper(self, box: Box) -> Iterator[Area]:
        """What shows where a patch without ink lies."""
        return self._layered(paper_mark(box, self._darkest, line_mm=self._line_mm))

    def _snapped(self, box: Box) -> Box:
        return snapped(box, ppi=self._ppi)

    def _layered(self, layers: Iterator[Layered]) -> Iterator[Area]:
        return layered(list(layers), self._mixes, ppi=self._ppi)

    def _fields(self) -> Iterator[tuple[KnownField, Area]]:
        """Fields beside each corner, from paper to the solid; they touch."""
        for name, boxes in zip(CORNERS, self._layout.fields, strict=True):
            for box, mix in zip(boxes, self._field_mixes(len(boxes)), strict=True):
                at = snapped_edges(box, ppi=self._ppi)
                tones = self._mixes.by_name(mix)
                field = KnownField(corner=name, tone_pct=tones, **sides_of(at))
                yield field, Area(box=at, mix=self._mixes.of(mix))

    def _field_mixes(self, count: int) -> list[Mix]:
        """Of the steps those nearest to even ones."""
        tones = np.array([step[self._darkest] for step in self._steps])
        nearest: set[int] = set()
        for tone in np.linspace(0, 100, count):
            away = np.abs(tones - tone)
            away[list(nearest)] = np.inf  # each step once
            nearest.add(int(away.argmin()))
        return sorted((self._steps[at] for at in nearest), key=sum)

    def _targets(self) -> Iterator[tuple[MarkPlace, Box, Iterator[Layered]]]:
        """Register marks, lines of each ink, gaps between each and the darkest."""
        dark, ppi = self._darkest, self._ppi
        others = [ink for ink in self._inks.plates if ink != dark]
        for marks in self._layout.registers:
            for box, ink in zip(map(self._snapped, marks), others, strict=True):
                layers = register_mark(box, dark, ink, line_mm=self._line_mm)
                yield self._place("register", (dark, ink), box), box, layers
        if not self._layout.targets:
            return
        lines, gaps = (widths_at(sizes, ppi=ppi) for sizes in (LINES_MM, GAPS_MM))
        boxes = list(map(self._snapped, self._layout.targets))
        for ink, box in zip((dark, *others), boxes, strict=False):
            yield self._place("lines", (ink,), box, lines), box, line_target(box, ink, lines)
        for ink, box in zip(others, boxes[len(others) + 1 :], strict=True):
            layers = gap_target(box, dark, ink, gaps)
            yield self._place("gaps", (dark, ink), box, gaps), box, layers

    def _place(
        self, kind: str, inks: tuple[int, ...], box: Box, sizes_mm: tuple[float, ...] = ()
    ) -> MarkPlace:
        names = tuple(map(self._inks.name, inks))
        return MarkPlace(kind=kind, inks=names, sizes_mm=sizes_mm, **sides_of(box))
