"""The text of a book cut into statements, in one pass and before anything is made of it.

Here belong the bounds that a text must keep for a TOML parser to end in good time, and the lines on
which headers and keys stand. What TOML allows and this module cannot tell is left to the parser.
"""

import re
from collections.abc import Iterator
from typing import NamedTuple

from inkmix.base.errors import COUNTED_FAULTS, Fault

KeyPath = tuple[str | int, ...]

MAX_DEPTH = 16
"""Brackets in brackets, or parts of a dotted key; a book needs five: override.night.rule[].plate.

Parsers go down one call for each, and look at a dotted key once for each of its parts.
"""

MAX_DIGITS = 100
"""Of one number; a measured value has ten, and the time to read a number is not linear in them."""

_TOKEN = re.compile(
    r'''(?P<newline>\n)
    | [^\S\n]++ | \#[^\n]*+
    | (?P<long>"""[^"\\]*+(?:(?:\\.|"(?!""))[^"\\]*+)*+"{3,5}
        | \'\'\'[^']*+(?:'(?!'')[^']*+)*+'{3,5})
    | (?P<torn>"""|\'\'\').*+
    | (?P<text>"[^"\\\n]*+(?:\\[^\n][^"\\\n]*+)*+"|'[^'\n]*+')
    | ["'][^\n]*+
    | (?P<bare>[^\s"'\[\]{}=,.\#]++)
    | (?P<sign>[\[\]{}=,.])''',
    re.VERBOSE | re.DOTALL,
)


class Statement(NamedTuple):
    """A header or a key: its line from 1, its kind ("[", "[[" or "="), the parts of its name."""

    line: int
    kind: str
    names: tuple[str, ...]


class Scan:
    """What one pass over a text finds.

    Attributes
    ----------
    statements : list of Statement
        In the order of the text.
    inside : set of int
        Lines that begin inside a text of several lines.
    faults : list of Fault
        Where the bounds are not kept.
    """

    def __init__(self, text: str, *, name: str) -> None:
        self.statements: list[Statement] = []
        self.inside: set[int] = set()
        self.faults: list[Fault] = []
        self._name = name
        self._line = 1
        self._depth = 0
        self._parts = 1
        self._head: list[str] | None = []
        for token in _TOKEN.finditer(text):
            self._take(token)
            if len(self.faults) >= COUNTED_FAULTS:
                break
        self._end_line()

    def _take(self, token: "re.Match[str]") -> None:
        kind, text = token.lastgroup, token[0]
        if kind == "newline":
            self._end_line()
            self._line += 1
        elif kind in ("long", "torn"):
            self.inside.update(range(self._line + 1, self._line + 1 + text.count("\n")))
            self._line += text.count("\n")
            self._head = None
        elif kind == "sign":
            self._take_sign(text)
        elif kind in ("bare", "text"):
            self._take_word(text)

    def _take_word(self, text: str) -> None:
        if self._head is not None:
            self._head.append(text)
        elif len(text) > MAX_DIGITS and text[0] in "+-0123456789":
            expected = f"numbers have at most {MAX_DIGITS} digits here"
            self._fault(f"a number of {len(text):,} signs", expected)

    def _take_sign(self, sign: str) -> None:
        self._count_parts(sign)
        if self._head is not None:
            self._take_sign_of_head(sign)
        elif sign in "[{":
            self._depth += 1
            if self._depth == MAX_DEPTH + 1:
                self._fault(f"more than {MAX_DEPTH} open brackets", "a book nests three at most")
        elif sign in "]}":
            self._depth = max(self._depth - 1, 0)

    def _count_parts(self, sign: str) -> None:
        self._parts = self._parts + 1 if sign == "." else 1
        if self._parts == MAX_DEPTH + 1:
            self._fault(
                f"a key of more than {MAX_DEPTH} parts", "those of a book have five at most"
            )

    def _take_sign_of_head(self, sign: str) -> None:
        """Signs of a header are kept; a key ends at =, and all that follows is its value."""
        assert self._head is not None
        if sign == "=" and not (self._head and self._head[0] == "["):
            self._state("=", self._head)
            self._head = None
        elif sign != ".":
            self._head.append(sign)

    def _end_line(self) -> None:
        """A header ends with its line, as a value does that has no bracket open."""
        head = self._head or [""]
        if head[0] == "[":
            self._state("[[" if head[1:2] == ["["] else "[", [w for w in head if w not in "[]"])
        if self._head is not None or not self._depth:
            self._head, self._parts = [], 1

    def _state(self, kind: str, words: list[str]) -> None:
        names = tuple(word[1:-1] if word[0] in "\"'" else word for word in words)
        self.statements.append(Statement(self._line, kind, names))

    def _fault(self, found: str, expected: str) -> None:
        where = f"{self._name}, line {self._line}"
        self.faults.append(Fault(where=where, found=found, expected=expected))


class _Table:
    """A table of the text: how often it was begun as one of a list, and what lies in it."""

    def __init__(self) -> None:
        self.count = 0
        self.inner: dict[str, _Table] = {}


def lines_of(statements: list[Statement]) -> dict[KeyPath, int]:
    """Line of each table header and key; keys inside inline tables share their line."""
    lines: dict[KeyPath, int] = {}
    root = _Table()
    table: KeyPath = ()
    for line, kind, names in statements:
        if kind == "=":
            lines.setdefault((*table, *names), line)
            continue
        table = tuple(_header_path(root, names, repeated=kind == "[["))
        lines.setdefault(table, line)
        lines.setdefault(table[:1], line)
    return lines


def _header_path(root: _Table, names: tuple[str, ...], *, repeated: bool) -> Iterator[str | int]:
    """Names of a header, with the index of the last table of each list; counts a repeated one."""
    here = root
    for place, name in enumerate(names, start=1):
        here = here.inner.setdefault(name, _Table())
        if repeated and place == len(names):
            here.count += 1
            here.inner = {}  # lists inside begin anew
        yield name
        if here.count:
            yield here.count - 1
