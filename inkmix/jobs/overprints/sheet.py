"""The overprint sheet of a palette: its fields, and what has to be said beside them."""

from dataclasses import dataclass

from inkmix.base.arguments import one_of
from inkmix.book.meant.condition import Limits, resolve_condition, resolve_limits
from inkmix.book.values import Book, Told
from inkmix.checks.tones.check import HARD_TO_TELL_DE00
from inkmix.colour.vision import PLAIN, VIEWS
from inkmix.jobs.overprints.deepest import Dark, deepest_darks
from inkmix.jobs.overprints.fields import Block, Steps, blocks_of, usual_steps
from inkmix.jobs.refusals import refuse_no_book
from inkmix.press.condition import PressCondition
from inkmix.press.evidence import ProcessInk

_LETTERED = 5  # of more inks a mix in letters is too long for its field

__all__ = ["OverprintSheet", "overprint_sheet", "sheet_of_book"]


@dataclass(frozen=True, slots=True, kw_only=True)
class OverprintSheet:
    """What is on the sheet of a palette.

    Parameters
    ----------
    title : str
    inks : tuple of str
        Names in lay-down order.
    signs : tuple of str
        A short sign for each ink, for fields without room for names.
    paper, paper_class, process : str
    ink_limit : Told or None
        Greatest total ink and whose word it is.
    level : str
        What is known of the inks, one of inkmix.press.evidence.LEVELS.
    hints : tuple of str
        Inks known by a screen colour only.
    unproven : tuple of str
        Why the model was never tried on such a print.
    process_inks : tuple of ProcessInk
        Inks that were taken as process inks by their colours.
    spots : tuple of str
        All other inks.
    cautions : tuple of str
        Sentences on what the evidence is thin for.
    view : str
        One of inkmix.colour.vision.VIEWS.
    alike_de00 : float
        Fields that differ by less are taken as looking alike.
    blocks : tuple of Block
        Overprints, ramps, pairs, darkest.
    """

    title: str
    inks: tuple[str, ...]
    signs: tuple[str, ...]
    paper: str
    paper_class: str
    process: str
    ink_limit: Told | None
    level: str
    hints: tuple[str, ...]
    unproven: tuple[str, ...]
    process_inks: tuple[ProcessInk, ...]
    spots: tuple[str, ...]
    cautions: tuple[str, ...]
    view: str
    alike_de00: float
    blocks: tuple[Block, ...]

    def of_kind(self, kind: str) -> tuple[Block, ...]:
        """The blocks of one kind, in order."""
        return tuple(block for block in self.blocks if block.kind == kind)


def overprint_sheet(
    condition: PressCondition,
    *,
    limits: Limits,
    title: str,
    view: str = PLAIN,
    steps: Steps | None = None,
    darkest: tuple[Dark, ...] | None = None,
    alike_de00: float = HARD_TO_TELL_DE00,
) -> OverprintSheet:
    """The overprint sheet of a press condition's inks on its paper.

    Every colour is that of the exact press model; the table of colours is not used.

    Parameters
    ----------
    condition : PressCondition
        Up to eight inks.
    limits : Limits
        Whose ink limit counts.
    title : str
    view : str
        One of inkmix.colour.vision.VIEWS: how the fields are shown, and in which they look alike.
    steps : Steps or None
        Tone values of ramps and pairs; None: by the number of inks.
    darkest : tuple of Dark or None
        Darks to show where they are known already; None: they are searched.
    alike_de00 : float
        dE00 under which two fields of a block look alike.
    """
    names = tuple(ink.name for ink in condition.inks)
    limit = limits.ink_limit_pct
    most = None if limit is None else limit.value
    darks = deepest_darks(condition, ink_limit_pct=most) if darkest is None else darkest
    return OverprintSheet(
        title=title,
        inks=names,
        signs=short_signs(names),
        paper=condition.paper.name,
        paper_class=condition.paper.paper_class,
        process=condition.process.name,
        ink_limit=limit,
        level=condition.level,
        hints=condition.hints,
        unproven=condition.unproven,
        process_inks=condition.process_inks,
        spots=condition.spots,
        cautions=condition.cautions,
        view=view,
        alike_de00=alike_de00,
        blocks=blocks_of(
            condition,
            steps=steps or usual_steps(len(names)),
            darkest=darks,
            ink_limit_pct=most,
            view=view,
            alike_de00=alike_de00,
        ),
    )


def sheet_of_book(book: Book, *, view: str = PLAIN) -> OverprintSheet:
    """The overprint sheet of a book's inks: solids, overprints, ramps, pairs, deepest darks.

    No plates are looked at. Every colour is that of the exact press model, with its expected error.

    Parameters
    ----------
    view : {"plain", "grey", "protan", "deutan", "tritan"}
        In grey, or as seen with a colour-vision deficiency.

    Raises
    ------
    InkmixError
        Where paper and inks cannot be put together.

    Examples
    --------
    ::

        sheet = inkmix.sheet_of_book(inkmix.read_book("night-ferry"))
        (darkest,) = sheet.of_kind("darkest")
        field = darkest.fields[0]
        assert field.total_pct <= sheet.ink_limit.value and len(field.lab) == 3
    """
    refuse_no_book(book)
    one_of(view, VIEWS, what="view")
    condition = resolve_condition(book)
    limits = resolve_limits(book, condition.paper)
    return overprint_sheet(condition, limits=limits, title=book.title, view=view)


def short_signs(names: tuple[str, ...]) -> tuple[str, ...]:
    """The first letters of up to five names, three at most, if they tell them apart; else numbers.

    >>> short_signs(("Soot", "Fjord", "Fog"))
    ('So', 'Fj', 'Fo')
    >>> short_signs(("Soot", "Soot 2"))
    ('1', '2')
    """
    for letters in (1, 2, 3) if len(names) <= _LETTERED else ():
        signs = tuple(name[:letters] for name in names)
        if len(set(signs)) == len(names) and all(sign.strip() == sign for sign in signs):
            return signs
    return tuple(str(number) for number in range(1, len(names) + 1))
