"""The legend below the picture of a form: what is printed in each patch, what each mark is for.

It is for people who look at the picture; nothing of it is on the plates.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import count, groupby

import numpy as np
from numpy.typing import NDArray

from inkmix.base.words import mix, number
from inkmix.export.forms.drawing import GREYS, Area, FormDrawing, Words
from inkmix.export.forms.lettering import wrapped
from inkmix.jobs.testform.order import AGAIN, HEADINGS
from inkmix.jobs.testform.values import PlacedPatch, TestForm
from inkmix.press.forms.values import NAMED, PAPER, RAMP
from inkmix.sheet.box import Box

CAUTION = "As it is predicted to print. A screen shows no proof."

_TEXT_PT, _LEADING_MM, _COLUMN_MM, _GUTTER_MM = 6.5, 3.2, 62.0, 5.0
_MARGIN_MM, _HEAD_MM, _SWATCH_MM, _INDENT_MM = 8.0, 9.0, 2.2, 3.2
_RULE_MM, _RULE_GREY = 0.2, 90
_BLACK8 = 34


@dataclass(frozen=True, slots=True, kw_only=True)
class _Line:
    """A line of the legend; a swatch of this patch stands before it, where there is one."""

    text: str
    patch: PlacedPatch | None = None
    is_heading: bool = False


def legend_of(form: TestForm) -> FormDrawing:
    """The legend, as wide as the form, as high as it has to be."""
    room = form.width_mm - 2 * _MARGIN_MM
    columns = max(int((room + _GUTTER_MM) // (_COLUMN_MM + _GUTTER_MM)), 1)
    lines = list(_lines(form))
    rows = next(rows for rows in count(-(-len(lines) // columns)) if _fits(lines, rows, columns))
    lines = _parted(lines, rows)
    index = {tuple(row): at for at, row in enumerate(form.drawing.mixes.tolist())}
    areas = [Area(box=Box(x=0, y=0, width=form.width_mm, height=_RULE_MM), mix=_RULE_GREY)]
    words = [Words(text=CAUTION, x=_MARGIN_MM, y=5.0, size_pt=_TEXT_PT + 1)]
    for at, line in enumerate(lines):
        x = _MARGIN_MM + at // rows * (_COLUMN_MM + _GUTTER_MM)
        y = _HEAD_MM + (at % rows + 1) * _LEADING_MM
        indent = 0.0 if line.is_heading else _INDENT_MM
        words.append(Words(text=line.text, x=x + indent, y=y, size_pt=_TEXT_PT))
        if line.patch is not None:
            box = Box(x=x, y=y - 2.1, width=_SWATCH_MM, height=_SWATCH_MM)
            tones = tuple(line.patch.tone_pct.values())
            areas.append(Area(box=box, mix=index[tones]))
    return FormDrawing(
        width_mm=form.width_mm,
        height_mm=_HEAD_MM + rows * _LEADING_MM + _MARGIN_MM,
        mixes=form.drawing.mixes,
        areas=tuple(areas),
        words=tuple(words),
    )


def _parted(lines: Sequence[_Line], rows: int) -> list[_Line]:
    """Lines in columns of so many rows: no heading stands alone at the foot of one."""
    parted: list[_Line] = []
    for line in lines:
        if line.is_heading and len(parted) % rows == rows - 1:
            parted.append(_Line(text=""))
        parted.append(line)
    return parted


def _fits(lines: Sequence[_Line], rows: int, columns: int) -> bool:
    return len(_parted(lines, rows)) <= rows * columns


def with_greys(colours8: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """The same colours of mixes, words in a grey that can be read whatever the darkest ink is."""
    share = np.linspace(0, 1, GREYS)[:, None]
    greys = np.rint(colours8[0] * (1 - share) + _BLACK8 * share).astype(np.uint8)
    return np.concatenate([greys, colours8[GREYS:]])


def _lines(form: TestForm) -> Iterator[_Line]:
    for heading, patches in groupby(form.patches, key=lambda one: _heading(form, one)):
        held = list(patches)
        if held[0].kind == RAMP and form.shuffled_by is None and held[0].copy == 1:
            yield _Line(text=heading, is_heading=True)
            yield from _ramp(held)
        else:
            yield _Line(text=heading, is_heading=True)
            for patch in held:
                yield _Line(text=f"{patch.number}  {_printed(patch)}", patch=patch)
    yield from _of_marks(form)


def _heading(form: TestForm, patch: PlacedPatch) -> str:
    """Under which heading a patch stands."""
    if form.shuffled_by is not None:
        return f"In random order, seed {form.shuffled_by}"
    if patch.kind == PAPER and patch.copy < 3:
        return HEADINGS[PAPER]
    if patch.copy > 1:
        return AGAIN
    return patch.why if patch.kind == RAMP else HEADINGS[patch.kind]


def _ramp(patches: Sequence[PlacedPatch]) -> Iterator[_Line]:
    """A ramp in one line or two."""
    tones = " ".join(number(max(patch.tone_pct.values()), 0) for patch in patches)
    text = f"{patches[0].number}–{patches[-1].number}  {tones} %"
    for at, line in enumerate(_wrapped(text)):
        yield _Line(text=line, patch=None if at else patches[0])


def _printed(patch: PlacedPatch) -> str:
    whole = mix({ink: round(tone) for ink, tone in patch.tone_pct.items()})
    return f"{patch.why}: {whole}" if patch.kind == NAMED else whole


def _of_marks(form: TestForm) -> Iterator[_Line]:
    kinds = {mark.kind for mark in form.marks}
    tones = [max(field.tone_pct.values()) for field in form.fields[: len(form.fields) // 4]]
    greys = " ".join(number(tone, 0) for tone in tones[1:])
    yield _Line(text="Marks", is_heading=True)
    texts = [
        "Squares in the corners: by them a program finds the form in a photograph; the one with "
        "a core is the top left.",
        f"Fields beside them: bare paper, then {form.darkest_ink} {greys} %, known greys for a "
        "camera.",
    ]
    if "register" in kinds:
        texts.append(
            f"Crosses: the left and upper arms are {form.darkest_ink}. In register the other ink "
            "goes on in a straight line."
        )
    if "lines" in kinds:
        texts.append("Lines: the thinnest that prints, and the thinnest that stays open.")
    if "gaps" in kinds:
        texts.append("Gaps: between two solids, wider and wider: how far plates slip.")
    for text in texts:
        yield from (_Line(text=line) for line in _wrapped(text))


def _wrapped(text: str) -> Iterator[str]:
    return wrapped(text, size_pt=_TEXT_PT, room_mm=_COLUMN_MM - _INDENT_MM)
