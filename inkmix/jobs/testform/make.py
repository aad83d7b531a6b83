"""A test form of a book: its patches chosen, ordered, placed and drawn; nothing is written."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from inkmix.base.arrays import FloatArray
from inkmix.base.errors import Fault, UsageError
from inkmix.base.words import either, percent
from inkmix.book.meant.condition import resolve_condition, resolve_limits
from inkmix.book.values import Book
from inkmix.export.forms.drawing import Area, Words
from inkmix.jobs.overprints.deepest import deepest_darks
from inkmix.jobs.ranges import FORM_REPEATS, FORM_SEED
from inkmix.jobs.refusals import refuse_no_book
from inkmix.jobs.testform.arrange import Arranged, Wish, arranged, arranged_strip
from inkmix.jobs.testform.draw import (
    Mixes,
    drawing_of,
    headings,
    in_order,
    layered,
    numbers,
    target_heading,
    titles,
)
from inkmix.jobs.testform.order import apart_mm, shuffled
from inkmix.jobs.testform.plates import (
    FormSheet,
    form_plates,
    form_sheet,
    is_one_file,
    owners,
)
from inkmix.jobs.testform.values import (
    CornerMark,
    Gain,
    KnownField,
    MarkPlace,
    PlacedPatch,
    PlateOfForm,
    TestForm,
)
from inkmix.press.forms.choose import (
    SMALL,
    Choice,
    expected_by_batch,
    expected_de00,
    full_form,
    small_form,
)
from inkmix.press.forms.solids import darkest_ink
from inkmix.press.forms.values import KINDS, PAPER, RAMP, FormInks, Mix, Patch
from inkmix.sheet.box import Box
from inkmix.sheet.forms.layout import FormLayout
from inkmix.sheet.forms.marks import (
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

REPEATS = 2
CORNERS = ("top left", "top right", "bottom left", "bottom right")
ODD_CORNER = "top left"


def form_of_book(
    book: Book,
    *,
    sheet_mm: tuple[float, float] | None = None,
    seed: int | None = None,
    repeats: int = REPEATS,
    small: int | None = None,
) -> TestForm:
    """The test form of a book's inks.

    Parameters
    ----------
    sheet_mm : (width, height) or None
        None: the sheet of the strip, else that of the plates, else A4.
    seed : int or None
        Of a random order of patches; None: kinds stand together.
    repeats : int
        How often paper, solids and some mixes are printed.
    small : {10, 20, 40} or None
        A strip for the sheet's edge: paper, ramps and so many patches.

    Raises
    ------
    UsageError
        A value out of range, or a sheet that is too small.
    InkmixError
        Where the book's inks cannot be resolved, or a solid is over the ink limit.
    """
    refuse_no_book(book)
    FORM_REPEATS.refuse(repeats)
    if seed is not None:
        FORM_SEED.refuse(seed)
    if small is not None:
        _refuse_small(small)
    inks = inks_of_form(book)
    sheet = form_sheet(book, sheet_mm)
    is_small = small is not None
    wish = Wish(repeats=repeats, is_shuffled=seed is not None, plates=len(inks.plates))
    chosen = full_form(inks, named=_named(book)) if small is None else small_form(inks, count=small)
    place = arranged_strip if is_small else arranged
    found = place(chosen, sheet, wish)
    return _Form(book, inks, sheet, found, seed=seed, repeats=repeats).made(
        chosen, is_small=is_small
    )


def _refuse_small(small: object) -> None:
    if small not in SMALL or isinstance(small, bool):
        expected = f"it must be {either([str(count) for count in SMALL])}"
        raise UsageError(Fault(where="small", found=f"is {small!r}", expected=expected))


def inks_of_form(book: Book) -> FormInks:
    """The inks of a book, its double hits and its ink limit.

    Raises
    ------
    InkmixError
        Where inks cannot be resolved, or a solid is over the ink limit.
    """
    condition = resolve_condition(book)
    limit = resolve_limits(book, condition.paper).ink_limit_pct
    most = None if limit is None else limit.value
    inks = FormInks(condition=condition, owners=owners(book), ink_limit_pct=most)
    solids = inks.tones_of([{plate: 100.0} for plate in inks.plates])
    over = [inks.plates[at] for at in np.flatnonzero(~inks.is_allowed(solids))]
    if over and most is not None:
        raise UsageError(
            Fault(
                where=f"{book.path.name}: {inks.name(ink)}",
                found=f"its solid is over the ink limit of {percent(most)}",
                expected="a form prints every ink's solid",
                do="ask your printer how much ink the sheet can carry",
            )
            for ink in over
        )
    return inks


def _named(book: Book) -> list[tuple[str, Mix]]:
    """Named tones as mixes of all inks."""
    names = book.ink_names
    return [
        (tone.name, tuple(tone.mix_pct.get(name, 0.0) for name in names)) for tone in book.tones
    ]


def mixtures_of(book: Book, inks: FormInks) -> list[tuple[str, Mix]]:
    """The mixtures whose error counts: named tones of two inks or more, and the deepest darks."""
    names = book.ink_names
    tones = [(name, mix) for name, mix in _named(book) if sum(tone > 0 for tone in mix) >= 2]
    darks = deepest_darks(inks.condition, ink_limit_pct=inks.ink_limit_pct)
    deep = [
        (f"darkest: {dark.name}", tuple(dark.mix.tone_pct[name] for name in names))
        for dark in darks
    ]
    return [*tones, *((name, mix) for name, mix in deep if sum(tone > 0 for tone in mix) >= 2)]


@dataclass(frozen=True, slots=True)
class _Marks:
    """Known fields and marks, and the areas and words that show them."""

    fields: tuple[KnownField, ...]
    marks: tuple[MarkPlace, ...]
    areas: tuple[Area, ...]
    words: tuple[Words, ...]


class _Form:
    """One form on its way from places to values."""

    def __init__(
        self,
        book: Book,
        inks: FormInks,
        sheet: FormSheet,
        found: Arranged,
        *,
        seed: int | None,
        repeats: int,
    ) -> None:
        self.book, self.inks, self.sheet, self.found = book, inks, sheet, found
        self.seed, self.repeats, self.ppi = seed, repeats, sheet.ppi
        self.layout: FormLayout = found.layout
        self.darkest = darkest_ink(inks)
        self.mixes = Mixes.begun(inks, self.darkest)

    def made(self, chosen: Choice, *, is_small: bool) -> TestForm:
        """All of it; `chosen` are the patches before some found no room."""
        inks, layout, found = self.inks, self.layout, self.found
        patches, boxes = self._ordered(), [self._snapped(cell.box) for cell in layout.cells]
        centres = np.array([box.middle for box in boxes])
        marks = self._marks()
        areas = [
            Area(box=box, mix=self.mixes.of(patch.tone_pct))
            for box, (patch, _) in zip(boxes, patches, strict=True)
        ]
        for box, (patch, _) in zip(boxes, patches, strict=True):
            if patch.kind == PAPER:
                frame = list(paper_mark(box, self.darkest, ppi=self.ppi))
                areas += layered(frame, self.mixes, ppi=self.ppi)
        words = [*numbers(layout), *self._headings(), *self._titles(), *marks.words]
        mixtures = mixtures_of(self.book, inks)
        return TestForm(
            title=self.book.title,
            is_small=is_small,
            width_mm=layout.width_mm,
            height_mm=layout.height_mm,
            ppi=self.ppi,
            inks=self.book.ink_names,
            darkest_ink=inks.name(self.darkest),
            ink_limit_pct=inks.ink_limit_pct,
            shuffled_by=self.seed,
            repeats=self.repeats,
            repeats_apart_mm=apart_mm(patches, centres),
            plates=self._plates(),
            patches=tuple(self._placed(patches, boxes)),
            corners=tuple(self._corner(at) for at in range(len(CORNERS))),
            fields=marks.fields,
            marks=marks.marks,
            over_limit=chosen.over_limit,
            without_room=_left_out(chosen, found.choice),
            mixtures=tuple(name for name, _ in mixtures),
            expected_de00=_expected_now(inks, mixtures),
            gains=self._gains([mix for _, mix in mixtures], by_batch=is_small),
            notes=tuple(self._notes()),
            condition=inks.condition,
            drawing=drawing_of(layout, self.mixes, [*marks.areas, *areas], words),
            files=form_plates(self.book),
        )

    def _snapped(self, box: Box) -> Box:
        return snapped(box, ppi=self.ppi)

    def _joined(self, box: Box) -> Box:
        """On whole pixels, so that boxes that touch still do."""
        return snapped_edges(box, ppi=self.ppi)

    def _ordered(self) -> tuple[tuple[Patch, int], ...]:
        groups = self.found.groups
        if self.seed is None:
            return tuple(one for group in groups for one in group.patches)
        centres = np.array([cell.box.middle for cell in self.layout.cells])
        return shuffled(groups, centres, seed=self.seed)

    def _placed(
        self, patches: Sequence[tuple[Patch, int]], boxes: Sequence[Box]
    ) -> Iterator[PlacedPatch]:
        lab = self.inks.condition.lab(np.array([patch.tone_pct for patch, _ in patches]))
        rows = zip(self.layout.cells, boxes, patches, lab.tolist(), strict=True)
        for at, (cell, box, (patch, copy), colour) in enumerate(rows):
            yield PlacedPatch(
                number=at + 1,
                place=cell.name,
                kind=patch.kind,
                why=patch.why,
                copy=copy,
                tone_pct=self._by_ink(patch.tone_pct),
                lab=(colour[0], colour[1], colour[2]),
                **_sides(box),
            )

    def _by_ink(self, tone_pct: Mix) -> dict[str, float]:
        return dict(zip(self.book.ink_names, tone_pct, strict=True))

    def _headings(self) -> Iterator[Words]:
        if self.seed is None:
            yield from headings(self.layout)

    def _titles(self) -> Iterator[Words]:
        inks = self.book.ink_names
        paper = self.inks.condition.paper
        order = "" if self.seed is None else f"; patches in random order, seed {self.seed}"
        below = (
            "Numbered along the rows: see testform.txt.",
            "Measure dry; the printer's own strip stays, too.",
        )
        told = f"{paper.paper_class} paper, {in_order(inks)}{order}"
        yield from titles(
            self.layout, title=f"Test form of {self.book.title}", told=told, below=below
        )

    def _corner(self, at: int) -> CornerMark:
        box = self._snapped(self.layout.corners[at])
        return CornerMark(corner=CORNERS[at], has_core=CORNERS[at] == ODD_CORNER, **_sides(box))

    def _marks(self) -> _Marks:
        """Corners, known fields, register marks and targets."""
        areas: list[Area] = []
        for at, box in enumerate(self.layout.corners):
            mark = corner_mark(self._snapped(box), self.darkest, is_odd=CORNERS[at] == ODD_CORNER)
            areas += layered(list(mark), self.mixes, ppi=self.ppi)
        fields = []
        for name, boxes in zip(CORNERS, self.layout.fields, strict=True):
            tones = self._field_tones(len(boxes))
            for box, mix in zip(map(self._joined, boxes), tones, strict=True):
                fields.append(KnownField(corner=name, tone_pct=self._by_ink(mix), **_sides(box)))
                areas.append(Area(box=box, mix=self.mixes.of(mix)))
        marks, words = [], []
        for place, drawn in self._targets():
            marks.append(place)
            areas += layered(drawn, self.mixes, ppi=self.ppi)
            if place.sizes_mm:
                box = Box(x=place.x_mm, y=place.y_mm, width=place.width_mm, height=place.height_mm)
                words.append(target_heading(box, place.inks, place.sizes_mm))
        return _Marks(tuple(fields), tuple(marks), tuple(areas), tuple(words))

    def _field_tones(self, count: int) -> list[Mix]:
        """Paper, and steps of the ramp of the darkest ink, nearest to even ones."""
        own = self.inks.name(self.darkest)
        ramp = [one for one in self.found.choice.of_kind(RAMP) if one.why == own]
        paper = self.found.choice.of_kind(PAPER)
        shown = (*paper, *ramp)
        steps = np.array([patch.tone_pct[self.darkest] for patch in shown])
        nearest: set[int] = set()
        for tone in np.linspace(0, 100, count):
            away = np.abs(steps - tone)
            away[list(nearest)] = np.inf  # each step once
            nearest.add(int(away.argmin()))
        return sorted((shown[at].tone_pct for at in nearest), key=sum)

    def _targets(self) -> Iterator[tuple[MarkPlace, list[Layered]]]:
        """Register marks, lines of each ink, gaps between each and the darkest."""
        dark, others = self.darkest, [ink for ink in self.inks.plates if ink != self.darkest]
        for marks in self.layout.registers:
            for box, ink in zip(marks, others, strict=True):
                at = self._snapped(box)
                yield self._mark("register", (dark, ink), at), [*register_mark(at, dark, ink)]
        if not self.layout.targets:
            return
        lines, gaps = (widths_at(sizes, ppi=self.ppi) for sizes in (LINES_MM, GAPS_MM))
        boxes = map(self._snapped, self.layout.targets)
        for ink, box in zip((dark, *others), boxes, strict=False):
            yield self._mark("lines", (ink,), box, lines), [*line_target(box, ink, lines)]
        for ink, box in zip(others, boxes, strict=True):
            drawn = [*gap_target(box, dark, ink, gaps)]
            yield self._mark("gaps", (dark, ink), box, gaps), drawn

    def _mark(
        self, kind: str, inks: tuple[int, ...], box: Box, sizes_mm: tuple[float, ...] = ()
    ) -> MarkPlace:
        names = tuple(map(self.inks.name, inks))
        return MarkPlace(kind=kind, inks=names, sizes_mm=sizes_mm, **_sides(box))

    def _plates(self) -> tuple[PlateOfForm, ...]:
        names = self.book.ink_names
        return tuple(
            PlateOfForm(
                file=plate.file,
                inks=tuple(
                    name
                    for name, owner in zip(names, self.inks.owners, strict=True)
                    if owner == plate.ink
                ),
            )
            for plate in form_plates(self.book)
        )

    def _gains(self, mixtures: list[Mix], *, by_batch: bool) -> tuple[Gain, ...]:
        """What is gained batch by batch on a strip, at once by a whole form."""
        if not mixtures:
            return ()
        choice = self.found.choice
        if by_batch:
            found = expected_by_batch(self.inks, choice, mixtures)
        else:
            ramps = choice.of_kind(PAPER, RAMP)
            parts = (ramps, choice.patches)
            found = tuple(
                (len(part) - len(ramps), expected_de00(self.inks, part, mixtures)) for part in parts
            )
        return tuple(Gain(patches=count, expected_de00=de00) for count, de00 in found)

    def _notes(self) -> Iterator[str]:
        yield from self.sheet.notes
        if is_one_file(self.book):
            yield "The book keeps its inks in one file: the form has a grey file for each"
        if self.inks.ink_limit_pct is None:
            yield (
                "No ink limit is known: overprints of four inks at most are printed; "
                "ask your printer how much the sheet can carry"
            )
        if self.layout.cells and not self.layout.registers and len(self.inks.plates) > 1:
            yield "The sheet is too narrow for register marks"


def _sides(box: Box) -> dict[str, Any]:
    return {"x_mm": box.x, "y_mm": box.y, "width_mm": box.width, "height_mm": box.height}


def _left_out(chosen: Choice, kept: Choice) -> dict[str, int]:
    """How many patches of a kind found no room."""
    counts = {kind: len(chosen.of_kind(kind)) - len(kept.of_kind(kind)) for kind in KINDS}
    return {kind: count for kind, count in counts.items() if count}


def _expected_now(inks: FormInks, mixtures: list[tuple[str, Mix]]) -> float:
    if not mixtures:
        return 0.0
    tones: FloatArray = np.array([mix for _, mix in mixtures])
    return float(inks.condition.expected_error(tones).de00.mean())
