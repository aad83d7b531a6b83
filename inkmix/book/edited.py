"""The text of a book with single tables changed; all else stays as it was, comments too.

Text in, text out. Statements are found as statements.py cuts them; what is changed has to stand in
tables of its own ([[inks]], [press]), as `inkmix start` and the demo write them.
"""

import tomllib
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from inkmix.base.errors import BookError, Fault
from inkmix.book.as_toml import settings
from inkmix.book.statements import Scan, Statement
from inkmix.book.text import MAX_BYTES, parse_book_text


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """What becomes of one table.

    Parameters
    ----------
    gone : collection of str
        Keys that are taken out, with all that they hold.
    lines : tuple of str
        Lines that are put in: comments and keys.
    """

    gone: Collection[str] = ()
    lines: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Edits:
    """Changes of a book.

    Parameters
    ----------
    inks : mapping of int to Change
        By their index.
    press : Change
    more : tuple of str
        Lines at the end of the file.
    """

    inks: Mapping[int, Change]
    press: Change
    more: tuple[str, ...] = ()


def edited(data: bytes, edits: Edits, *, name: str) -> bytes:
    """The bytes of a book with some of its tables changed.

    Raises
    ------
    BookError
        Where a table that changes does not stand in lines of its own.
    """
    parse_book_text(data, name=name)
    text = data.decode("utf-8-sig")
    made = _Lines(text, name=name).changed(edits).encode()
    try:
        said = parse_book_text(made, name=name).data
    except BookError:
        if len(made) > MAX_BYTES:
            raise
        said = None
    if said != _wanted(text, edits):
        raise BookError(
            Fault(
                where=name,
                found="has its inks, its press or its measured colours in one line, or in parts",
                expected="single keys cannot be exchanged there",
                do="write each as a table of its own, [[inks]], [press], [[measured]], key by key",
            )
        )
    return made


class _Lines:
    """The lines of a text, numbered from 1 as statements are, and what becomes of each."""

    def __init__(self, text: str, *, name: str) -> None:
        self._lines = text.split("\n")
        self._end = "\r" if self._lines[0].endswith("\r") else ""
        self._statements = Scan(text, name=name).statements
        self._gone: set[int] = set()
        self._after: dict[int, Sequence[str]] = {}

    def changed(self, edits: Edits) -> str:
        tables = [at for at, one in enumerate(self._statements) if _is_header(one, "[[", "inks")]
        for index, change in edits.inks.items():
            if index < len(tables):
                self._change(tables[index], change)
        for at, one in enumerate(self._statements):
            if _is_header(one, "[", "press"):
                self._change(at, edits.press)
        return "\n".join([*self._kept(), *self._ended(edits.more)])

    def _change(self, header: int, change: Change) -> None:
        """Take keys out of the table that begins at a statement; new lines follow its first key."""
        gone_table, first = False, None
        table = self._statements[header].names
        for at in range(header + 1, len(self._statements)):
            one = self._statements[at]
            if one.kind != "=":
                if one.names[: len(table)] != table or one.names == table:
                    break
                gone_table = one.names[len(table)] in change.gone
            elif first is None:
                first = at
            if gone_table or (one.kind == "=" and one.names[0] in change.gone):
                self._gone.update(self._lines_of(at))
        if change.lines:
            here = header if first is None else first
            self._after[max(self._lines_of(here))] = change.lines

    def _lines_of(self, at: int) -> range:
        """The lines of a statement: as many as TOML needs to end it."""
        one = self._statements[at]
        following = self._statements[at + 1 :]
        last = following[0].line if following else len(self._lines) + 1
        for end in range(one.line, last):
            if _is_whole("\n".join(self._lines[one.line - 1 : end]).replace("\r", "")):
                return range(one.line, end + 1)
        return range(one.line, one.line + 1)

    def _kept(self) -> Iterator[str]:
        for number, line in enumerate(self._lines, 1):
            if number not in self._gone:
                yield line
            yield from self._ended(self._after.get(number, ()))

    def _ended(self, lines: Sequence[str]) -> Iterator[str]:
        yield from (line + self._end for line in lines)


def _is_header(one: Statement, kind: str, *names: str) -> bool:
    return one.kind == kind and one.names == names


def _is_whole(text: str) -> bool:
    try:
        tomllib.loads(text)
    except ValueError:
        return False
    return True


def _wanted(text: str, edits: Edits) -> dict[str, Any]:
    """What the text should say in the end: lines may not be where they were looked for."""
    wanted = tomllib.loads(text)
    for index, change in edits.inks.items():
        wanted["inks"][index] = _table(wanted["inks"][index], change)
    wanted["press"] = _table(wanted["press"], edits.press)
    for table, said in tomllib.loads("\n".join(edits.more)).items():
        wanted[table] = [*wanted.get(table, []), *said]
    return wanted


def _table(table: Mapping[str, Any], change: Change) -> dict[str, Any]:
    kept = {key: value for key, value in table.items() if key not in change.gone}
    return kept | tomllib.loads("\n".join(change.lines))


def put_in(told: Mapping[str, Any], *comments: str) -> tuple[str, ...]:
    """Lines that say keys, under comments."""
    return (*(f"# {one}" for one in comments), *settings(told))
