"""Whose colours count where a book names a press-condition file, in sentences."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from inkmix.base.words import difference, listing
from inkmix.book.meant.condition import press_of, resolve_condition
from inkmix.book.values import Book
from inkmix.checks.orders.check import Movable
from inkmix.checks.tones.facts import SAME_DE00
from inkmix.colour.colorimetry import delta_e00, xyz100_to_lab
from inkmix.jobs.checking.changes import what_changes
from inkmix.press.calibration.press_file import PressFile
from inkmix.press.condition import PressCondition


def press_notes(
    book: Book, condition: PressCondition, movable: Sequence[Movable] = ()
) -> tuple[str, ...]:
    """That measured colours count, how far they are from the book's, what nobody measured, and
    what nights and tones gain by the file.

    Empty where the book names no press-condition file.
    """
    press = press_of(book)
    return () if press is None else tuple(_notes(book, condition, press, movable))


def _notes(
    book: Book, condition: PressCondition, press: PressFile, movable: Sequence[Movable]
) -> Iterator[str]:
    told = resolve_condition(replace(book, press=replace(book.press, condition=None)))
    pairs = [("the paper", told.paper.xyz100, condition.paper.xyz100)]
    measured = [ink.name for ink in condition.inks if ink.source == press.source]
    for k, ink in enumerate(condition.inks):
        if ink.name in measured:
            solid = np.eye(len(condition.inks))[k] * 100
            pairs.append((ink.name, told.xyz100(solid), condition.xyz100(solid)))
    apart = {
        name: float(delta_e00(xyz100_to_lab(was), xyz100_to_lab(now))) for name, was, now in pairs
    }
    far = [f"{name} {difference(de00)}" for name, de00 in apart.items() if de00 >= SAME_DE00]
    how = "photographed" if press.is_photograph else "measured"
    said = f"colours are those {how} on this press ({book.press.condition})"
    yield f"{said}, not the book's own; they differ by: {listing(far)}" if far else said
    yield from what_changes(condition, told, movable, by="with the press file")
    others = [ink.name for ink in condition.inks if ink.name not in measured]
    if others:
        yield f"not {how} on this press: {listing(others)}; what the book says of them counts"
    if press.paper.paper_class != condition.paper.paper_class:
        yield (
            f"the press was measured as one on {press.paper.paper_class} paper; the book says "
            f"{condition.paper.paper_class}, and that is used: calibrate again"
        )
