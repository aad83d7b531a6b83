"""Read book.toml: bytes to plain frozen values, all faults at once.

Which keys there are is told by form.py, whether what the file gives fits them by models.py, what
spans several of them by rules.py; here these come together.
"""

import errno
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from inkmix.base.errors import BookError, Fault, capped
from inkmix.base.inputs import read_input
from inkmix.base.quoting import clipped
from inkmix.book.double_hits import first_hits
from inkmix.book.faults import Problem, faults_of, in_file_order, without
from inkmix.book.form import EXCEPTIONS, OVERRIDE, Form
from inkmix.book.keys import keys_of
from inkmix.book.models import validated
from inkmix.book.overrides import is_of_override, merged, override_rules, too_much
from inkmix.book.rules import Rules, check_rules
from inkmix.book.text import MAX_BYTES, BookText, parse_book_text
from inkmix.book.values import FORMAT, Book, Override
from inkmix.book.view import View


def read_book(path: str | Path, *, form: Form) -> Book:
    """The book at a path, or in a folder as book.toml.

    Raises
    ------
    BookError
        All faults of the file together, each with its line and key path.
    """
    path = Path(path)
    path = path / "book.toml" if path.is_dir() else path
    return parse_book(_read_bytes(path), path=path.resolve(), form=form)


def parse_book(data: bytes, *, path: Path, form: Form) -> Book:
    """The book in these bytes; `path` names it, and its folder holds what it speaks of."""
    text = parse_book_text(data, name=clipped(path.name, 255))
    _refuse_newer(text)
    if faults := too_much(text.data, text=text):
        raise BookError(faults)
    given, problems = validated(text.data, form)
    faults = faults_of(problems, text)
    whole, each = _rules(text, problems, folder=path.parent, form=form)
    faults += [fault for rules in (whole, *each) for fault in rules.faults]
    if faults or given is None:
        raise BookError(capped(in_file_order(faults), where=text.name))
    overrides = tuple(_overrides(text, given["overrides"], each, path=path, form=form))
    book = _book(text.data, given, path=path, form=form)
    return replace(book, overrides=overrides, notes=(*text.notes, *whole.notes))


def _rules(
    text: BookText, problems: tuple[Problem, ...], *, folder: Path, form: Form
) -> tuple[Rules, tuple[Rules, ...]]:
    """What the rules find in the book, and in what it says for the spreads of each override."""
    view = View(data=without(text.data, problems), text=text, folder=folder.resolve(), form=form)
    whole = check_rules(view)
    in_overrides = [problem.path for problem in problems if problem.path[0] == OVERRIDE]
    others = [problem for problem in problems if problem.path[0] not in EXCEPTIONS]
    each = override_rules(
        view,
        text=text,
        is_sound=not others and all(map(is_of_override, whole.faults)),
        spoilt=[path[1] for path in in_overrides if len(path) > 1 and isinstance(path[1], int)],
    )
    return whole, each


def _overrides(
    text: BookText, given: Iterable[Any], each: Iterable[Rules], *, path: Path, form: Form
) -> Iterator[Override]:
    """The overrides of a book in which nothing is wrong."""
    for told, raw, rules in zip(given, text.data.get(OVERRIDE, []), each, strict=True):
        data = merged(text.data, raw, form)
        whole, _ = validated(data, form)
        assert whole is not None, "what a sound override is merged into is sound"
        book = _book(data, whole, path=path, form=form)
        book = replace(book, notes=(*text.notes, *rules.notes))
        yield Override(spreads=told.spreads, book=book)


def _book(data: Mapping[str, Any], given: Mapping[str, Any], *, path: Path, form: Form) -> Book:
    """The book of what the file gives, overrides and notes left aside."""
    hits = first_hits(data["inks"])
    said = {one.field: given[one.field] for one in keys_of(Book).values()}
    said["inks"] = tuple(replace(ink, hit_of=hits[ink.name]) for ink in said["inks"])
    sections = {
        one.table: given[one.table] for one in form.sections if given[one.table] != one.absent
    }
    return Book(path=path, folder=path.parent, sections=sections, **(said | {"overrides": ()}))


def _read_bytes(path: Path) -> bytes:
    try:
        return read_input(path, most_bytes=MAX_BYTES)
    except OSError as error:
        reason = error.strerror or "cannot be read"
        do = "`inkmix start FOLDER` writes one from the plates in a folder"
        if error.errno == errno.EFBIG:
            do = "a book file has a few kilobytes; is this the right file?"
        raise BookError(Fault(where=str(path), found=reason, do=do)) from None


def _refuse_newer(text: BookText) -> None:
    number = text.data.get("format")
    if isinstance(number, int) and not isinstance(number, bool) and number > FORMAT:
        raise BookError(
            Fault(
                where=text.where(("format",)),
                found=f"is a book of format {number}",
                expected=f"this inkmix reads format {FORMAT}",
                do="install a newer inkmix",
            )
        )
