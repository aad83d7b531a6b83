"""What is said of a test form: patches of what, and why; what was left out; what to do next."""

from collections import Counter
from collections.abc import Iterator
from pathlib import Path

from inkmix.base.words import (
    difference,
    either,
    in_words,
    listing,
    millimetres,
    number,
    percent,
    size_of,
)
from inkmix.base.words import inks as printed
from inkmix.jobs.testform.values import TestForm
from inkmix.pages.doubts import doubt_lines
from inkmix.pages.testform.document import JSON_NAME
from inkmix.pages.testform.list import LIST_NAME
from inkmix.pages.testform.write import PICTURE_NAME

_FOR = {
    "paper": "bare paper, which all else is measured against",
    "ramp": "ramps, from which the tone curve of each ink is read",
    "over black": "solids of which one is the black: how far the dark goes, and what is opaque",
    "over complement": "solids of opposite hues, where overprints are hardest to foretell",
    "overprint": "other solid overprints within the ink limit",
    "dark": "darks near the ink limit, as night uses them",
    "named tone": "mixes that the book names",
    "tint": "tints that lower the doubt about all other mixes most",
}
_MOST_SETS = 3


def form_lines(form: TestForm, folder: Path, *, book: Path) -> Iterator[str]:
    """Lines for people; `book` is the path by which they named the book."""
    condition = form.condition
    yield from doubt_lines(
        notes=form.notes,
        cautions=condition.cautions,
        unproven=condition.doubts,
        hints=condition.hints,
    )
    yield from _of_patches(form)
    yield from _of_gains(form)
    yield from _left_out(form)
    yield from _written(form, folder)
    yield from _next(form)
    yield f"Then: inkmix calibrate {book} MEASUREMENTS --form {folder}"


def _of_patches(form: TestForm) -> Iterator[str]:
    first = form.patches[0]
    what = "strip for the sheet's edge" if form.is_small else "form"
    size = size_of(form.width_mm, form.height_mm, "mm", digits=1)
    side = millimetres(first.width_mm) if first.width_mm < 10 else number(first.width_mm, 1)
    yield (
        f"A {what} of {size} at {number(form.ppi)} ppi, {len(form.patches)} patches of {side} mm:"
    )
    kinds = Counter(patch.kind for patch in form.patches if patch.copy == 1)
    for kind, what in _FOR.items():
        if kinds[kind]:
            yield f"  {kinds[kind]:4d}  {what}"
    again = sum(patch.copy > 1 for patch in form.patches)
    if form.repeats > 1 and form.repeats_apart_mm is not None:
        apart = millimetres(form.repeats_apart_mm)
        yield f"  {again:4d}  once more, at least {apart} mm away: how even the press prints"


def _of_gains(form: TestForm) -> Iterator[str]:
    if not form.gains:
        return
    whose = f"the book's {in_words(len(form.mixtures), 'mixture')}"
    now = difference(form.expected_de00)
    if not form.is_small:
        after = difference(form.gains[-1].expected_de00)
        yield (
            f"Expected error of {whose} (mean, 95 %): {now} as the book is, {after} once this form "
            "is measured, if the press prints as the model thinks."
        )
        return
    first, *batches = form.gains
    yield (
        f"Expected error of {whose} (mean, 95 %): {now} as the book is, "
        f"{number(first.expected_de00, 2)} once the ramps are measured;"
    )
    for gain in batches:
        yield f"  with {gain.patches} patches beside them {number(gain.expected_de00, 2)}"


def _left_out(form: TestForm) -> Iterator[str]:
    if form.over_limit:
        names, amount = [printed(one) for one in form.over_limit], len(form.over_limit)
        such = f", such as {either(names[:_MOST_SETS])}" if amount > _MOST_SETS else ""
        which = f"of {in_words(amount, 'set')} of inks{such}" if such else f"of {listing(names)}"
        yield f"Left out, over the ink limit of {percent(form.ink_limit_pct)}: solids {which}."
    if form.without_room:
        kinds = [f"{amount} × {kind}" for kind, amount in form.without_room.items()]
        yield (
            f"Left out, since the sheet has no room for them: {listing(kinds)}. "
            "A larger --sheet has room."
        )


def _written(form: TestForm, folder: Path) -> Iterator[str]:
    for plate in form.plates:
        twice = " (printed by each)" if len(plate.inks) > 1 else ""
        yield f"written: {folder / plate.file} for {listing(plate.inks)}{twice}"
    for name in (PICTURE_NAME, LIST_NAME, JSON_NAME):
        yield f"written: {folder / name}"


def _next(form: TestForm) -> Iterator[str]:
    inks = f"in this order: {listing(form.inks)}" if len(form.inks) > 1 else f"({form.inks[0]})"
    yield (
        f"Print it on the final stock, with the book's inks {inks}. "
        "Your printer's own control strip stays on the sheet, and what your printer says of ink "
        "and order counts more than this form."
    )
    yield (
        "Let it dry, a day or as long as your printer says. Measure the patches by their numbers "
        f"({LIST_NAME} lists them), best as spectra, else as XYZ or Lab: densities alone do not "
        "tell a colour, and calibrate does not take them. Note how they were measured: M0 or M1, "
        "what lay under the sheet, and that the ink was dry."
    )
