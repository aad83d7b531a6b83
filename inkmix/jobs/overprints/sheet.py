"""The overprint sheet of a palette: its fields, and what has to be said beside them."""

from dataclasses import dataclass

from inkmix.base.arguments import one_of
from inkmix.book.meant.condition import Limits, resolve_condition, resolve_limits
from inkmix.book.values import Book, Told
from inkmix.colour.vision import PLAIN, VIEWS
from inkmix.jobs.overprints.deepest import Dark, deepest_darks
from inkmix.jobs.overprints.fields import Block, blocks_of, usual_steps
from inkmix.jobs.refusals import refuse_no_book
from inkmix.press.condition import PressCondition

_LETTERED = 5  # of more inks a mix in letters is too long for its field


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OverprintSheet:
    """What is on the sheet of a palette.

    Parameters
    ----------
    title : str
    condition : PressCondition
        Inks and paper, and how well they are known.
    signs : tuple of str
        A short sign for each ink, for fields without room for names.
    ink_limit : Told or None
        Greatest total ink and whose word it is.
    view : str
        One of inkmix.colour.vision.VIEWS.
    blocks : tuple of Block
        Overprints, ramps, pairs, darkest.
    """

    title: str
    condition: PressCondition
    signs: tuple[str, ...]
    ink_limit: Told | None
    view: str
    blocks: tuple[Block, ...]

    @property
    def inks(self) -> tuple[str, ...]:
        """Names in lay-down order."""
        return tuple(ink.name for ink in self.condition.inks)

    def of_kind(self, kind: str) -> tuple[Block, ...]:
        """The blocks of one kind, in order."""
        return tuple(block for block in self.blocks if block.kind == kind)


def overprint_sheet(
    condition: PressCondition,
    *,
    limits: Limits,
    title: str,
    view: str = PLAIN,
    darkest: tuple[Dark, ...] | None = None,
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
    darkest : tuple of Dark or None
        Darks to show where they are known already; None: they are searched.
    """
    limit = limits.ink_limit_pct
    most = None if limit is None else limit.value
    darks = deepest_darks(condition, ink_limit_pct=most) if darkest is None else darkest
    steps = usual_steps(len(condition.inks))
    return OverprintSheet(
        title=title,
        condition=condition,
        signs=short_signs(tuple(ink.name for ink in condition.inks)),
        ink_limit=limit,
        view=view,
        blocks=blocks_of(condition, steps=steps, darkest=darks, ink_limit_pct=most, view=view),
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
