"""Text of a book file to plain TOML data, with helpful words for what editors do to text.

Bytes in, data out. Nothing here knows what the keys mean; that is checked elsewhere.
"""

import codecs
import re
import tomllib
from dataclasses import dataclass
from typing import Any

from inkmix.errors import BookError, Fault

MAX_BYTES = 1_000_000  # a hand-written file; a picture given by mistake is refused unread
LINE_SHOWN = 60  # characters of a faulty line that are quoted

_WIDE_MARKS = (codecs.BOM_UTF32_LE, codecs.BOM_UTF32_BE, codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)
_CURLY = "\u201c\u201d\u201e\u201f\u2018\u2019\u201a\u00ab\u00bb"
_STRINGS = re.compile(r'"(?:[^"\\]|\\.)*"|\'[^\']*\'')
_COMMENT = re.compile(r"#.*$")
_DECIMAL_COMMA = re.compile(r"=\s*([+-]?\d+,\d+)\s*(?=[,}\]]|$)")
_BARE_TEXT = re.compile(r"=\s*(?!true\b|false\b|inf\b|nan\b)[A-Za-z\u00c0-\uffff][^\"'=\[\]{}]*$")
_COLON = re.compile(r"^\s*[\w-]+\s*:")
_BAD_ESCAPE = re.compile(r'"[^"]*\\[^btnfreuUx"\\][^"]*"|"[^"]*\\[uUx](?![0-9A-Fa-f]{2})[^"]*"')
_POSITION = re.compile(r"\s*\(at (?:line (\d+), column (\d+)|end of document)\)$")
_HEADER = re.compile(r"^\s*(\[\[?)\s*([\w.\-\"' ]+?)\s*\]\]?\s*(?:#.*)?$")
_KEY = re.compile(r"^\s*([\w.\-]+|\"[^\"]*\")\s*=")


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
    lines: dict[tuple[str | int, ...], int]
    notes: tuple[str, ...] = ()

    @property
    def subject(self) -> str:
        """What the data speak of, in words."""
        return "this book"

    def where(self, path: tuple[str | int, ...]) -> str:
        """File, line and key path as a person reads it: tables of a kind are counted from 1."""
        line = self._line_of(path)
        place = f"{self.name}, line {line}" if line else self.name
        return f"{place}: {key_path(path)}" if path else place

    def _line_of(self, path: tuple[str | int, ...]) -> int | None:
        for length in range(len(path), 0, -1):
            if path[:length] in self.lines:
                return self.lines[path[:length]]
        return None


def key_path(path: tuple[str | int, ...]) -> str:
    """`inks[2].opacity` for ("inks", 1, "opacity")."""
    text = ""
    for part in path:
        text += f"[{part + 1}]" if isinstance(part, int) else f".{part}"
    return text.removeprefix(".")


def parse_book_text(data: bytes, *, name: str) -> BookText:
    """Parsed TOML of a book file.

    Raises
    ------
    BookError
        All text faults that can be told, each with its line.
    """
    text, notes = _decode(data, name=name)
    try:
        parsed = tomllib.loads(text)
    except (ValueError, RecursionError) as error:  # also numbers and nests beyond all measure
        raise BookError(_text_faults(text, str(error), name=name)) from None
    return BookText(name=name, data=parsed, lines=_find_lines(text), notes=notes)


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
                found="is saved as UTF-16 or UTF-32, or is no text",
                expected="TOML is UTF-8 text",
                do="save it again with the encoding UTF-8",
            )
        )
    if not data.strip():
        raise BookError(
            Fault(
                where=name,
                found="is empty",
                do="take it away and let `inkmix start FOLDER` write one to begin with",
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


def _text_faults(text: str, message: str, *, name: str) -> list[Fault]:
    lines = text.split("\n")
    faults = {n: f for n, line in enumerate(lines, 1) if (f := _line_fault(line, n, name=name))}
    found = _POSITION.search(message)
    number = int(found[1]) if found and found[1] else len(lines)
    if not any(n <= number for n in faults):
        faults[number] = _parser_fault(message, lines, number, name=name)
    return [faults[n] for n in sorted(faults)]


def _line_fault(line: str, number: int, *, name: str) -> Fault | None:
    """A fault that can be named from one line alone; the commonest come first."""
    bare = _COMMENT.sub("", _STRINGS.sub('""', line)).rstrip()
    where = f"{name}, line {number}: {_shown(line)}"
    if any(mark in bare for mark in _CURLY):
        return Fault(
            where=where,
            found="has curly quotes",
            expected='TOML needs straight ones (")',
            do="type them again in a plain text editor",
        )
    if _BAD_ESCAPE.search(line):
        return Fault(
            where=where,
            found="has a backslash",
            expected='in TOML a backslash inside "..." starts an escape',
            do="write paths with / instead, also on Windows",
        )
    return _value_fault(bare, where)


def _value_fault(bare: str, where: str) -> Fault | None:
    if comma := _DECIMAL_COMMA.search(bare):
        return Fault(
            where=where,
            found="has a decimal comma",
            expected="TOML writes decimals with a point",
            do=f"write {comma[1].replace(',', '.')}",
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
        reason, do = "stands twice", "keep one of the two"
    else:
        reason, do = f"is not TOML ({reason})", "correct this line or the one before"
    return Fault(where=f"{name}, line {number}: {_shown(line)}", found=reason, do=do)


def _shown(line: str) -> str:
    line = "".join(c if c.isprintable() else " " for c in line.strip())
    return f"`{line if len(line) <= LINE_SHOWN else line[: LINE_SHOWN - 3] + '...'}`"


def _find_lines(text: str) -> dict[tuple[str | int, ...], int]:
    """Line of each table header and key; keys inside inline tables share their line."""
    lines: dict[tuple[str | int, ...], int] = {}
    counts: dict[str, int] = {}
    table: tuple[str | int, ...] = ()
    for number, line in enumerate(text.split("\n"), 1):
        if header := _HEADER.match(line):
            table = _table_path(header[1] == "[[", header[2], counts)
            lines.setdefault(table, number)
            lines.setdefault(table[:1], number)
        elif key := _KEY.match(line):
            lines.setdefault(table + tuple(key[1].strip('"').split(".")), number)
    return lines


def _table_path(repeated: bool, header: str, counts: dict[str, int]) -> tuple[str | int, ...]:
    names = [part.strip(" \"'") for part in header.split(".")]
    if repeated:
        whole = ".".join(names)
        counts[whole] = counts.get(whole, -1) + 1
        for inner in [name for name in counts if name.startswith(f"{whole}.")]:
            del counts[inner]  # lists inside begin anew
    path: tuple[str | int, ...] = ()
    prefix = ""
    for name in names:
        prefix = f"{prefix}.{name}".removeprefix(".")
        path += (name, counts[prefix]) if prefix in counts else (name,)
    return path
