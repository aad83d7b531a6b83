"""Keyword text cut into lines and words: encoding, quotes, blanks, comments.

Here belongs what any keyword text shares; what the words mean is settled in cgats.py.
"""

import re
from collections.abc import Callable
from typing import NamedTuple

from inkmix.base.errors import Fault, MeasurementError, capped

MAX_BYTES = 16 * 2**20
"""A chart of 4,500 patches with spectra of 1 nm is 14 MB; more is another file."""

MAX_LINES = 200_000
"""Four times the rows of the largest table that is read; a text of line ends alone has millions."""

MAX_LINE = 100_000
"""Characters of one line: 1,000 columns of 100 each; every line is held as words once."""

# Each sign is looked at once: a text that is not closed ends the search where it begins.
_WORD = re.compile(
    r'"(?P<quoted>[^"]*+(?:""[^"]*+)*+)"|(?P<comment>#.*)|(?P<bare>[^\s"]++)|(?P<open>")'
)


class Word(NamedTuple):
    """One word of a line; `column` counts characters from 1."""

    text: str
    column: int
    quoted: bool


class UnclosedQuoteError(ValueError):
    """A line opens a quotation mark at `column` and never closes it."""

    def __init__(self, column: int) -> None:
        super().__init__(column)
        self.column = column

    def fault(self, where: str, line: int) -> Fault:
        """The words for it."""
        return Fault(
            where=f"{where}, line {line}, column {self.column}",
            found="a quotation mark opens here and is never closed",
            do="close it on the same line",
        )


def split_words(line: str) -> list[Word]:
    """Words of one line. Quoted words keep blanks, a doubled quote is a quote, # ends the line.

    >>> [word.text for word in split_words('INK_Soot\\t"Night Ferry" 4.0  # first hit')]
    ['INK_Soot', 'Night Ferry', '4.0']
    """
    words: list[Word] = []
    for match in _WORD.finditer(line):
        if match["comment"] is not None:
            break
        if match["open"] is not None:
            raise UnclosedQuoteError(match.start() + 1)
        quoted = match["quoted"]
        text = match["bare"] if quoted is None else quoted.replace('""', '"')
        words.append(Word(text, match.start() + 1, quoted is not None))
    return words


def split_texts(line: str) -> list[str]:
    """The texts of `split_words`, at a tenth of the time for lines without doubled quotes or #."""
    pieces = line.split('"')
    if "#" in line or '""' in line or len(pieces) % 2 == 0:
        return [word.text for word in split_words(line)]
    texts = pieces[0].split()
    for quoted, bare in zip(pieces[1::2], pieces[2::2], strict=True):
        texts += [quoted, *bare.split()]
    return texts


class Cut(NamedTuple):
    """How a line is cut into cells: with the place of each, or, sooner, as texts alone."""

    words: Callable[[str], list[Word]]
    texts: Callable[[str], list[str]]
    too_many: str = ""  # what to do about a row of more cells than columns


AT_BLANKS = Cut(split_words, split_texts)
"""Keyword text: cells end at blanks and tabs."""


def decode_lines(data: bytes, *, where: str) -> list[str]:
    """Lines of a text in UTF-8 (with or without byte-order mark), else latin-1; any line ends.

    Raises
    ------
    MeasurementError
        Empty, too large, no text of eight-bit characters, or of too many or too long lines.
    """
    found = _why_no_text(data)
    if found:
        do = "export the measurements as text: CGATS, CxF3 or CSV, in UTF-8"
        raise MeasurementError(Fault(where=where, found=found, do=do))
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = _eight_bit(data)  # older files: degree signs and umlauts in the header
    return _lines(text, where)


def _eight_bit(data: bytes) -> str:
    """Latin-1 as Windows writes it, with dashes where the standard has control characters."""
    try:
        return data.decode("cp1252")
    except UnicodeDecodeError:
        return data.decode("latin-1")


def _lines(text: str, where: str) -> list[str]:
    """The lines, where they are not too many or too long."""
    if max(text.count("\n"), text.count("\r")) > MAX_LINES:
        found = f"more than {MAX_LINES:,} lines"
        raise MeasurementError(Fault(where=where, found=found, do="split the chart"))
    lines = re.split(r"\r\n|\r|\n", text)
    faults = [
        Fault(
            where=f"{where}, line {number}",
            found=f"a line of {len(line):,} characters",
            expected=f"{MAX_LINE:,} are the most",
            do="export the chart again with a line for each patch",
        )
        for number, line in enumerate(lines, start=1)
        if len(line) > MAX_LINE
    ]
    if faults:
        raise MeasurementError(capped(faults, where=where))
    return lines


def _why_no_text(data: bytes) -> str:
    """What is wrong with the bytes as a whole; empty if nothing."""
    if not data.strip():
        return "the file is empty"
    if len(data) > MAX_BYTES:
        return f"{len(data):,} bytes are more than the {MAX_BYTES:,} that a chart can need"
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return "the text is UTF-16"
    if b"\0" in data:
        return "this is not text (it holds zero bytes)"
    return ""
