"""A test form as its folder tells it: where patches and marks lie, and what is printed there."""

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from inkmix.base.arrays import FloatArray
from inkmix.base.errors import Fault, MeasurementError
from inkmix.base.inputs import read_input
from inkmix.base.json_values import MisfitError, value_of
from inkmix.jobs.testform.marks import CORNERS, ODD_CORNER
from inkmix.jobs.testform.values import CornerMark, KnownField, MarkPlace, PlacedPatch
from inkmix.sheet.box import Box

FORM_JSON = "testform.json"
MOST_BYTES = 20_000_000  # 5,000 patches of eight inks take 3 MB
_FORM, _FORMAT = "inkmix test form", 1
_MOST_MM = 5_000.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PlacedForm:
    """What testform.json says that a camera can see.

    Parameters
    ----------
    corners : tuple of CornerMark
        The odd one first.
    """

    source: str
    width_mm: float
    height_mm: float
    inks: tuple[str, ...]
    darkest_ink: str
    patches: tuple[PlacedPatch, ...]
    corners: tuple[CornerMark, ...]
    fields: tuple[KnownField, ...]
    marks: tuple[MarkPlace, ...]

    @property
    def tone_pct(self) -> FloatArray:
        """Tone values (N, I) of the patches."""
        return self._tones([one.tone_pct for one in self.patches])

    @property
    def field_tone_pct(self) -> FloatArray:
        """Tone values (F, I) of the known fields."""
        return self._tones([one.tone_pct for one in self.fields])

    @property
    def patch_boxes(self) -> tuple[Box, ...]:
        """Of the patches."""
        return tuple(map(box_of, self.patches))

    @property
    def field_boxes(self) -> tuple[Box, ...]:
        """Of the known fields."""
        return tuple(map(box_of, self.fields))

    @property
    def inked_boxes(self) -> tuple[Box, ...]:
        """All places where something is printed, but for words; bare patches among them."""
        others = [box_of(one) for one in self.corners] + [box_of(one) for one in self.marks]
        return (*self.patch_boxes, *self.field_boxes, *others)

    def _tones(self, rows: list[Mapping[str, float]]) -> FloatArray:
        return np.array([[row.get(ink, 0.0) for ink in self.inks] for row in rows], np.float64)


def box_of(place: PlacedPatch | KnownField | CornerMark | MarkPlace) -> Box:
    """Where something lies."""
    return Box(x=place.x_mm, y=place.y_mm, width=place.width_mm, height=place.height_mm)


def read_placed_form(path: Path) -> PlacedForm:
    """The form in a folder, or beside the list that is named.

    Raises
    ------
    MeasurementError
        There is none, or none that can be read.
    """
    file = path / FORM_JSON if path.is_dir() else path.with_name(FORM_JSON)
    try:
        said = json.loads(read_input(file, most_bytes=MOST_BYTES))
        form = _form_of(said, file.name)
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise MeasurementError(_fault(file, f"cannot be read ({reason})")) from None
    except MisfitError as error:
        found = f"{error.where.removeprefix('.')} {error.found}".strip()
        raise MeasurementError(_fault(file, found)) from None
    except (ValueError, RecursionError):
        raise MeasurementError(_fault(file, "is no JSON")) from None
    return form


def _fault(file: Path, found: str) -> Fault:
    return Fault(
        where=str(file),
        found=found,
        expected="the document that `inkmix testform` writes beside the plates",
        do="name the folder of the form that was printed, with --form",
    )


def _form_of(said: Any, source: str) -> PlacedForm:
    if not isinstance(said, dict) or said.get("form") != _FORM:
        raise MisfitError("", "is no test form of inkmix")
    if said.get("format") != _FORMAT:
        raise MisfitError("", f"has format {said.get('format')}, not {_FORMAT}")
    kinds: dict[str, Any] = {
        "width_mm": float,
        "height_mm": float,
        "inks": tuple[str, ...],
        "darkest_ink": str,
        "patches": tuple[PlacedPatch, ...],
        "corners": tuple[CornerMark, ...],
        "fields": tuple[KnownField, ...],
        "marks": tuple[MarkPlace, ...],
    }
    if missing := [name for name in kinds if name not in said]:
        raise MisfitError(missing[0], "is missing")
    told = {name: value_of(kind, said[name], name) for name, kind in kinds.items()}
    form = PlacedForm(source=source, **told)
    for where, found in _misfits(form):
        raise MisfitError(where, found)
    return form


def _misfits(form: PlacedForm) -> Iterator[tuple[str, str]]:
    """What no type tells."""
    if not 0 < form.width_mm <= _MOST_MM or not 0 < form.height_mm <= _MOST_MM:
        yield "width_mm, height_mm", "are no size of a sheet"
    if form.darkest_ink not in form.inks:
        yield "darkest_ink", "is none of its inks"
    if tuple(one.corner for one in form.corners) != CORNERS or CORNERS[0] != ODD_CORNER:
        yield "corners", f"are not {', '.join(CORNERS)}"
    if not form.patches:
        yield "patches", "are missing"
    patches = [(f"patches[{at}]", one.tone_pct) for at, one in enumerate(form.patches)]
    fields = [(f"fields[{at}]", one.tone_pct) for at, one in enumerate(form.fields)]
    for where, mix in (*patches, *fields):
        if not _is_mix(mix, form.inks):
            yield f"{where}.tone_pct", "is no mix of its inks"
    for name in ("patches", "fields", "corners", "marks"):
        for at, place in enumerate(getattr(form, name)):
            box = box_of(place)
            if not (
                0 <= box.x < box.right <= form.width_mm + 1
                and 0 <= box.y < box.bottom <= form.height_mm + 1
            ):
                yield f"{name}[{at}]", "lies outside the form"


def _is_mix(mix: Mapping[str, Any], inks: tuple[str, ...]) -> bool:
    return all(
        name in inks and isinstance(tone, int | float) and 0 <= tone <= 100
        for name, tone in mix.items()
    )
