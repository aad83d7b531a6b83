"""Text of a book file to plain TOML data, with helpful words for what editors do to text.

Bytes in, data out. Nothing here knows what the keys mean; that is checked elsewhere.
"""

import codecs
import re
import tomllib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from inkmix.base.errors import COUNTED_FAULTS, BookError, Fault, capped
from inkmix.base.quoting import clipped
from inkmix.book.statements import MAX_DEPTH, KeyPath, Scan, lines_of

MAX_BYTES = 1_000_000
"""A book of 2,000 spreads, each with a waiver and an override, has half of that."""

MAX_ENTRIES = 50_000
"""Keys, and members of lists: those 2,000 spreads need 22,000; each wrong one takes a kilobyte."""

_INTEGERS = range(-(2**63), 2**63)  # TOML 1.0, Integer: others cannot be held without loss

_WIDE_MARKS = (codecs.BOM_UTF32_LE, codecs.BOM_UTF32_BE, codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)
_CURLY = "\u201c\u201d\u201e\u201f\u2018\u2019\u201a\u00ab\u00bb"
_PIECE = re.compile(
    r'(?P<basic>"[^"\\]*+(?:\\.[^"\\]*+)*+)(?P<end>"?)|(?P<literal>\'[^\']*+\')|(?P<comment>#.*)'
)
_DECIMAL_COMMA = re.compile(r"=\s*([+-]?\d+,\d+)\s*(?=[,}\]]|$)")
_BARE_TEXT = re.compile(r"=\s*(?!true\b|false\b|inf\b|nan\b)[A-Za-z\u00c0-\uffff][^\"'=\[\]{}]*$")
_COLON = re.compile(r"^\s*[\w-]+\s*:")
_ESCAPE = re.compile(r'\\(?:[btnfre"\\]|[uUx](?=[0-9A-Fa-f]{2})|(?P<bad>))')
_POSITION = re.compile(r"\s*\(at (?:line (\d+), column (\d+)|end of document)\)$")


@dataclass(frozen=True, slots=True, kw_only=True)
class BookText:
    """Parsed TOML with where each key stands.

    Parameters
    ----------
    data : dict
        As tomllib gives it.
    lines : mapping of key path to line
        Path as tuple of names and 0-based indices; lines from 1.
    notes : tuple of str
        What was accepted and should be said.
    """

    name: str
    data: dict[str, Any]
    lines: dict[KeyPath, int]
    notes: tuple[str, ...] = ()

    @property
    def subject(self) -> str:
        """What the data speak of, in words."""
        return "this book"

    def where(self, path: KeyPath) -> str:
        """File, line and key path as a person reads it: tables of a kind are counted from 1."""
        line = self.line_of(path)
        place = f"{self.name}, line {line}" if line else self.name
        return f"{place}: {key_path(path)}" if path else place

    def line_of(self, path: KeyPath) -> int | None:
        """Line of the key, else of the nearest table about it; None for what is missing."""
        for length in range(len(path), 0, -1):
            if path[:length] in self.lines:
                return self.lines[path[:length]]
        return None


def key_path(path: KeyPath) -> str:
    """`inks[2].opacity` for ("inks", 1, "opacity")."""
    parts = (f"[{part + 1}]" if isinstance(part, int) else f".{clipped(part)}" for part in path)
    return "".join(parts).removeprefix(".")


def parse_book_text(data: bytes, *, name: str) -> BookText:
    """Parsed TOML of a book file.

    Raises
    ------
    BookError
        All text faults that can be told, each with its line.
    """
    text, notes = _decode(data, name=name)
    scan = Scan(text, name=name)
    if scan.faults:
        raise BookError(capped(scan.faults, where=name))
    try:
        parsed = tomllib.loads(text)
    except ValueError as error:
        raise BookError(_text_faults(text, str(error), scan, name=name)) from None
    book = BookText(name=name, data=parsed, lines=lines_of(scan.statements), notes=notes)
    faults = list(_measure_faults(book))
    if faults:
        raise BookError(capped(faults, where=name))
    return book


def _measure_faults(book: BookText) -> Iterator[Fault]:
    """What is too deep, too large or too much to be worked on, whatever it means."""
    waiting: list[tuple[KeyPath, Any]] = [((), book.data)]
    entries = faults = 0
    while waiting and faults < COUNTED_FAULTS:
        path, value = waiting.pop()
        if isinstance(value, int) and value not in _INTEGERS:
            faults += 1
            expected = "whole numbers of TOML have 64 bits"
            yield Fault(where=book.where(path), found="is far too large", expected=expected)
        elif len(path) > MAX_DEPTH:
            faults += 1
            expected = f"a book nests {MAX_DEPTH} deep at most"
            yield Fault(where=book.where(path), found="is nested too deeply", expected=expected)
        elif isinstance(value, dict | list):
            entries += len(value)
            if entries > MAX_ENTRIES:
                yield _too_many(book.name)
                return
            waiting.extend(((*path, key), inner) for key, inner in _members(value))


def _members(value: dict[str, Any] | list[Any]) -> Iterable[tuple[str | int, Any]]:
    return value.items() if isinstance(value, dict) else enumerate(value)


def entries_of(data: Any) -> int:
    """How many keys and members of lists there are in parsed data, in all that nests."""
    waiting, entries = [data], 0
    while waiting:
        value = waiting.pop()
        if isinstance(value, dict | list):
            entries += len(value)
            waiting.extend(inner for _, inner in _members(value))
    return entries


def _too_many(name: str) -> Fault:
    return Fault(
        where=name,
        found=f"holds more than {MAX_ENTRIES:,} keys and values",
        expected="a book of 2,000 spreads needs half of that",
        do="make a book of each part of the work",
    )


def _decode(data: bytes, *, name: str) -> tuple[str, tuple[str, ...]]:
    _refuse_what_is_no_text(data, name=name)
    notes: tuple[str, ...] = ()
    if data.startswith(codecs.BOM_UTF8):
        data = data[len(codecs.BOM_UTF8) :]
        notes = (f"{name}: starts with a byte-order mark, which was skipped",)
    try:
        return data.decode("utf-8"), notes
    except UnicodeDecodeError as error:
        raise BookError(_not_utf8(data, error.start, name=name)) from None


def _refuse_what_is_no_text(data: bytes, *, name: str) -> None:
    if len(data) > MAX_BYTES:
        raise BookError(
            Fault(
                where=name,
                found=f"holds {len(data)} bytes",
                expected=f"a book is TOML text of at most {MAX_BYTES} bytes",
            )
        )
    if data.startswith(_WIDE_MARKS) or b"\0" in data[:4096]:
        raise BookError(
            Fault(
                where=name,
                found="is saved as UTF-16 or UTF-32, or is not text",
                expected="TOML is UTF-8 text",
                do="save it again with the encoding UTF-8",
            )
        )
    if not data.strip():
        raise BookError(
            Fault(
                where=name,
                found="is empty",
                do="remove it and let `inkmix start FOLDER` write a first one",
            )
        )


def _not_utf8(data: bytes, offset: int, *, name: str) -> Fault:
    line = data.count(b"\n", 0, offset) + 1
    return Fault(
        where=f"{name}, line {line}",
        found=f"byte 0x{data[offset]:02x} is not UTF-8 (text saved as Latin-1 or Windows-1252?)",
        expected="TOML is UTF-8 text",
        do="save it again with the encoding UTF-8",
    )


def _text_faults(text: str, message: str, scan: Scan, *, name: str) -> list[Fault]:
    lines = text.split("\n")
    faults: dict[int, Fault] = {}
    for number, line in enumerate(lines, 1):
        if number not in scan.inside and (fault := _line_fault(line, number, name=name)):
            faults[number] = fault
            if len(faults) >= COUNTED_FAULTS:
                break
    found = _POSITION.search(message)
    number = int(found[1]) if found and found[1] else len(lines)
    if not any(n <= number for n in faults):
        faults[number] = _parser_fault(message, lines, number, name=name)
    return capped([faults[n] for n in sorted(faults)], where=name)


def _line_fault(line: str, number: int, *, name: str) -> Fault | None:
    """A fault that can be named from one line alone; the commonest come first."""
    bare = _PIECE.sub(_blanked, line).rstrip()
    where = f"{name}, line {number}: `{clipped(line.strip())}`"
    if any(mark in bare for mark in _CURLY):
        return Fault(
            where=where,
            found="has curly quotes",
            expected='TOML needs straight ones (")',
            do="type them again in a plain text editor",
        )
    if any(_has_bad_escape(piece["basic"]) for piece in _PIECE.finditer(line) if piece["basic"]):
        return Fault(
            where=where,
            found="has a backslash",
            expected='in TOML a backslash inside "..." starts an escape',
            do="write paths with / instead, also on Windows",
        )
    return _value_fault(bare, where)


def _blanked(piece: "re.Match[str]") -> str:
    """A line's text without what it quotes; a text that is not closed stays to be looked at."""
    if piece["comment"]:
        return ""
    return '""' if piece["end"] or piece["literal"] else piece[0]


def _has_bad_escape(text: str) -> bool:
    return any(escape["bad"] is not None for escape in _ESCAPE.finditer(text))


def _value_fault(bare: str, where: str) -> Fault | None:
    if comma := _DECIMAL_COMMA.search(bare):
        return Fault(
            where=where,
            found="has a decimal comma",
            expected="TOML writes decimals with a point",
            do=f"write {clipped(comma[1].replace(',', '.'))}",
        )
    if _COLON.match(bare):
        return Fault(where=where, found="has a colon", expected="TOML writes key = value")
    if _BARE_TEXT.search(bare):
        return Fault(where=where, found="has text without quotes", do='put it in "..."')
    return None


def _parser_fault(message: str, lines: list[str], number: int, *, name: str) -> Fault:
    reason = _POSITION.sub("", message)
    line = lines[number - 1] if 0 < number <= len(lines) else ""
    if reason.startswith(("Cannot overwrite", "Cannot declare")):
        reason, do = "is given twice", "keep one of the two"
    else:
        reason, do = f"is not TOML ({clipped(reason, 100)})", "correct this line or the one before"
    where = f"{name}, line {number}: `{clipped(line.strip())}`"
    return Fault(where=where, found=reason, do=do)
