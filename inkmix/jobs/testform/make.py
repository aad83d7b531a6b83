"""A test form of a book: its patches chosen, ordered, placed and drawn; nothing is written."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from inkmix.base.errors import Fault, UsageError
from inkmix.base.words import count, either
from inkmix.book.values import Book
from inkmix.export.forms.drawing import Area, Words
from inkmix.jobs.ranges import FORM_REPEATS, FORM_SEED
from inkmix.jobs.refusals import refuse_no_book
from inkmix.jobs.testform.arrange import Arranged, Wish, arranged, arranged_strip
from inkmix.jobs.testform.draw import (
    Mixes,
    drawing_of,
    headings,
    in_order,
    names_of_plates,
    numbers,
    titles,
)
from inkmix.jobs.testform.inks import (
    expected_now,
    gains_of,
    inks_of_form,
    mixtures_of,
    named_mixes,
)
from inkmix.jobs.testform.marks import Marks, sides_of
from inkmix.jobs.testform.order import apart_mm, shuffled
from inkmix.jobs.testform.plates import FormSheet, form_plates, form_sheet, is_one_file
from inkmix.jobs.testform.values import PlacedPatch, PlateOfForm, TestForm
from inkmix.press.forms.choose import SMALL, Choice, full_form, small_form
from inkmix.press.forms.solids import darkest_ink
from inkmix.press.forms.values import KINDS, PAPER, RAMP, TINT, FormInks, Mix, Patch
from inkmix.sheet.box import Box
from inkmix.sheet.forms.marks import snapped

REPEATS = 2


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
    inks, sheet = inks_of_form(book), form_sheet(book, sheet_mm)
    wish = Wish(repeats=repeats, is_shuffled=seed is not None, plates=len(inks.plates))
    if small is None:
        chosen = full_form(inks, named=named_mixes(book))
        found = arranged(chosen, sheet, wish)
    else:
        chosen = small_form(inks, count=small)
        sheet = replace(sheet, notes=(*sheet.notes, *_too_few(chosen, small)))
        found = arranged_strip(chosen, sheet, wish)
    form = _Form(book, inks, sheet, found, seed=seed, repeats=repeats)
    return form.made(chosen, is_small=small is not None)


def _too_few(chosen: Choice, asked: int) -> Iterator[str]:
    """What is said where the inks give fewer mixtures than were asked for."""
    there = len(chosen.of_kind(TINT))
    if there < asked:
        yield f"These inks give only {count(there, 'tint')} to choose from within the ink limit"


def _refuse_small(small: object) -> None:
    if small not in SMALL or isinstance(small, bool):
        expected = f"it must be {either([str(size) for size in SMALL])}"
        raise UsageError(Fault(where="small", found=f"is {small!r}", expected=expected))


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
        self.seed, self.repeats, self.layout = seed, repeats, found.layout
        self.mixes = Mixes.begun(inks, darkest_ink(inks))
        self.marks = Marks(found.layout, self.mixes, self._steps(), ppi=sheet.ppi)

    def made(self, chosen: Choice, *, is_small: bool) -> TestForm:
        """All of it; `chosen` are the patches before some found no room."""
        inks, layout, found = self.inks, self.layout, self.found
        patches = self._ordered()
        boxes = [snapped(cell.box, ppi=self.sheet.ppi) for cell in layout.cells]
        drawn, areas = self.marks.drawn(), list(self._areas(patches, boxes))
        words = [*numbers(layout), *self._headings(), *self._titles(), *drawn.words]
        mixtures = mixtures_of(self.book, inks)
        mixes = [mix for _, mix in mixtures]
        return TestForm(
            title=self.book.title,
            is_small=is_small,
            width_mm=layout.width_mm,
            height_mm=layout.height_mm,
            ppi=self.sheet.ppi,
            inks=self.book.ink_names,
            darkest_ink=inks.name(self.mixes.darkest),
            ink_limit_pct=inks.ink_limit_pct,
            shuffled_by=self.seed,
            repeats=self.repeats,
            repeats_apart_mm=apart_mm(patches, np.array([box.middle for box in boxes])),
            plates=self._plates(),
            patches=tuple(self._placed(patches, boxes)),
            corners=drawn.corners,
            fields=drawn.fields,
            marks=drawn.marks,
            over_limit=chosen.over_limit,
            without_room=_left_out(chosen, found.choice),
            mixtures=tuple(name for name, _ in mixtures),
            expected_de00=expected_now(inks, mixes),
            gains=gains_of(inks, found.choice, mixes, by_batch=is_small),
            notes=tuple(self._notes()),
            condition=inks.condition,
            drawing=drawing_of(layout, self.mixes, [*drawn.areas, *areas], words),
            files=form_plates(self.book),
        )

    def _steps(self) -> list[Mix]:
        """Paper and the ramp of the darkest ink."""
        choice, darkest = self.found.choice, self.inks.name(self.mixes.darkest)
        ramp = [one for one in choice.of_kind(RAMP) if one.why == darkest]
        return [one.tone_pct for one in (*choice.of_kind(PAPER), *ramp)]

    def _areas(self, patches: Sequence[tuple[Patch, int]], boxes: Sequence[Box]) -> Iterator[Area]:
        """Patches, and angles around those without ink."""
        for box, (patch, _) in zip(boxes, patches, strict=True):
            yield Area(box=box, mix=self.mixes.of(patch.tone_pct))
            if patch.kind == PAPER:
                yield from self.marks.around_paper(box)

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
                tone_pct=self.mixes.by_name(patch.tone_pct),
                lab=(colour[0], colour[1], colour[2]),
                **sides_of(box),
            )

    def _headings(self) -> Iterator[Words]:
        if self.seed is None:
            yield from headings(self.layout)

    def _titles(self) -> Iterator[Words]:
        inks = self.book.ink_names
        paper = self.inks.condition.paper
        order = "" if self.seed is None else f" in random order {self.seed}"
        below = (f"Numbered along the rows{order}: see testform.txt", "Numbers: testform.txt")
        kind = f"{paper.paper_class} paper"
        told = (f"{kind}, {in_order(inks)}", f"{kind}: {', '.join(inks)}", kind)
        title = (f"Test form of {self.book.title}", self.book.title)
        yield from titles(self.layout, title=title, told=told, below=below)
        yield from names_of_plates(self.layout, self.mixes)

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


def _left_out(chosen: Choice, kept: Choice) -> dict[str, int]:
    """How many patches of a kind found no room."""
    counts = {kind: len(chosen.of_kind(kind)) - len(kept.of_kind(kind)) for kind in KINDS}
    return {kind: count for kind, count in counts.items() if count}
