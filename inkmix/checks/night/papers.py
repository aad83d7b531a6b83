"""The book's inks on the other papers at hand: what a remedy beyond the plates may name."""

from inkmix.base.errors import InkmixError
from inkmix.book.meant.condition import resolve_inks, resolve_limits
from inkmix.book.values import Book
from inkmix.checks.night.other_means import OtherPaper
from inkmix.press.condition import PressCondition, press_condition
from inkmix.press.inks import Paper
from inkmix.press.swatches.by_name import is_invented, list_papers


def other_papers(book: Book, condition: PressCondition) -> tuple[OtherPaper, ...]:
    """The same inks by the same process on every other shipped paper.

    A book of invented inks is not offered real papers, nor the other way round.
    """
    papers = (paper for paper in list_papers() if paper.name != condition.paper.name)
    invented = book.paper.swatch is not None and is_invented(book.paper.swatch)
    found = (_on(book, condition, paper) for paper in papers if is_invented(paper.name) == invented)
    return tuple(other for other in found if other is not None)


def _on(book: Book, condition: PressCondition, paper: Paper) -> OtherPaper | None:
    try:
        inks = resolve_inks(book, paper)
        other = press_condition(paper, inks, process=condition.process)
    except InkmixError:  # this ink set was never measured for such a paper
        return None
    limit = resolve_limits(book, paper).ink_limit_pct
    return OtherPaper(
        name=paper.name, condition=other, ink_limit_pct=None if limit is None else limit.value
    )
