"""The inks of a form, and the mixtures of the book by which a form is worth something."""

from collections.abc import Sequence

import numpy as np

from inkmix.base.errors import Fault, UsageError
from inkmix.base.words import percent
from inkmix.book.meant.condition import resolve_condition, resolve_limits
from inkmix.book.values import Book
from inkmix.jobs.overprints.deepest import deepest_darks
from inkmix.jobs.testform.plates import owners
from inkmix.jobs.testform.values import Gain
from inkmix.press.forms.choose import Choice, expected_by_batch, expected_de00
from inkmix.press.forms.values import PAPER, RAMP, FormInks, Mix


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


def named_mixes(book: Book) -> list[tuple[str, Mix]]:
    """Named tones as mixes of all inks."""
    names = book.ink_names
    return [
        (tone.name, tuple(tone.mix_pct.get(name, 0.0) for name in names)) for tone in book.tones
    ]


def mixtures_of(book: Book, inks: FormInks) -> list[tuple[str, Mix]]:
    """The mixtures whose error counts: named tones of two inks or more, and the deepest darks."""
    names = book.ink_names
    tones = [(name, mix) for name, mix in named_mixes(book) if sum(tone > 0 for tone in mix) >= 2]
    darks = deepest_darks(inks.condition, ink_limit_pct=inks.ink_limit_pct)
    deep = [
        (f"darkest: {dark.name}", tuple(dark.mix.tone_pct[name] for name in names))
        for dark in darks
    ]
    return [*tones, *((name, mix) for name, mix in deep if sum(tone > 0 for tone in mix) >= 2)]


def expected_now(inks: FormInks, mixtures: Sequence[Mix]) -> float | None:
    """Mean of the expected errors (95 %, dE00) as the book is; None without mixtures."""
    if not mixtures:
        return None
    return float(inks.condition.expected_error(np.array(mixtures)).de00.mean())


def gains_of(
    inks: FormInks, choice: Choice, mixtures: Sequence[Mix], *, by_batch: bool
) -> tuple[Gain, ...]:
    """What is gained by ramps, then batch by batch on a strip, at once by a whole form."""
    if not mixtures:
        return ()
    if by_batch:
        found = expected_by_batch(inks, choice, mixtures)
    else:
        ramps = choice.of_kind(PAPER, RAMP)
        parts = (ramps, choice.patches)
        found = tuple(
            (len(part) - len(ramps), expected_de00(inks, part, mixtures)) for part in parts
        )
    return tuple(Gain(patches=count, expected_de00=de00) for count, de00 in found)
