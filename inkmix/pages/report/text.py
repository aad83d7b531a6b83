"""The answer about a spread in a few lines, for a terminal."""

from collections.abc import Iterator
from pathlib import Path

from inkmix.base.words import count as counted
from inkmix.base.words import listing
from inkmix.book.values import Book
from inkmix.checks.check import LEFT_OUT
from inkmix.checks.guesses import guess_lines
from inkmix.checks.wording import UNSURE_MEANS
from inkmix.jobs.answer import SpreadResult
from inkmix.pages.doubts import doubt_lines
from inkmix.pages.report.view import (
    MOST_ROWS,
    Numbered,
    best_remedy,
    has_unsure,
    numbered,
    skipped_checks,
)
from inkmix.sheet.places import place


def result_lines(result: SpreadResult, page: Path) -> Iterator[str]:
    """The answer; findings carry the numbers of the report, which lies at `page`."""
    condition = result.condition
    yield from doubt_lines(
        notes=result.warnings,
        cautions=condition.cautions,
        unproven=condition.unproven,
        hints=condition.hints,
    )
    yield result.sentence
    yield from guess_lines(result.guesses)
    if skipped := skipped_checks(result):
        yield f"not checked: {listing(skipped)}, {LEFT_OUT}"
    items = numbered(result.findings)
    for item in items[:MOST_ROWS]:
        yield from _finding_lines(item)
    if len(items) > MOST_ROWS:
        yield f"  ... {len(items) - MOST_ROWS} more; report.json holds all."
    if has_unsure(items):
        yield UNSURE_MEANS
    yield f"written: {page}"


def _finding_lines(item: Numbered) -> Iterator[str]:
    finding, remedy = item.finding, best_remedy(item.finding)
    yield f"  {item.number}. {finding.verdict}: {finding.sentence}"
    if finding.place is not None:
        yield f"     where: {place(finding.place)}"
    if remedy is not None:
        yield from (f"     {said}" for said in remedy.paragraphs)


def waiver_lines(book: Book, spread: str) -> Iterator[str]:
    """That the book waives findings, which counts elsewhere: here they are told as they are."""
    count = sum(waiver.spread in (None, spread) for waiver in book.waivers)
    if count:
        waivers = counted(count, "waiver")
        yield f"note: the book has {waivers} for this spread, which only `inkmix batch` counts"
