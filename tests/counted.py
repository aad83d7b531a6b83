"""Plates whose pixels were counted by themselves; the program counts them beside the colours."""

from inkmix.book.values import Book
from inkmix.jobs.spread import Spread, open_uncounted
from inkmix.plates.set import PlateSet
from inkmix.plates.survey.counting import PlateSurvey, Survey


def survey(plate_set: PlateSet) -> tuple[PlateSurvey, ...]:
    """Every plate of a set, counted window by window; in lay-down order."""
    count = Survey(plate_set=plate_set)
    part = count.start()
    for window in plate_set.windows():
        part = count.merge(part, count.part(window))
    return count.finish(part)


def open_spread(book: Book, name: str) -> Spread:
    """A spread that knows its pixels."""
    spread = open_uncounted(book, name)
    return spread.counted(survey(spread.plates))
