"""Words for what a validator found wrong with a book: expected, found, what to do.

Knows kinds of problems, not who found them; no file is opened here.
"""

import re
from collections.abc import Callable, Collection, Iterable
from copy import deepcopy
from dataclasses import dataclass
from functools import reduce
from operator import getitem
from typing import Any

from inkmix.base.errors import COUNTED_FAULTS, Fault
from inkmix.base.quoting import clipped, listed, nearest, quoted
from inkmix.base.words import count
from inkmix.book.keys import HEX_COLOUR, NOT_BLANK, STATE_HEX, Key
from inkmix.book.statements import KeyPath
from inkmix.book.text import BookText

_MEMBERS_SHOWN = 60  # of a list; a message holds as many signs
_SCALED = 2  # times the greatest: what is less too large is no percentage but a slip
_LINE = re.compile(r", line (\d+)")

_PATTERNS = {
    HEX_COLOUR: (
        'a screen colour is written "#rrggbb", six digits 0-9 a-f; a measured one is given by lab'
    ),
    NOT_BLANK: "some text is needed",
    STATE_HEX: "it is copied from the block that the index of `inkmix batch` shows at the finding",
}
_TYPES = {
    "float_type": "a number is expected",
    "int_type": "a whole number is expected",
    "string_type": 'text in "..." is expected',
    "bool_type": "true or false is expected",
    "list_type": "a list [...] is expected",
    "dict_type": "a table { ... } is expected",
    "model_type": "a table is expected",
    "text_or_true": "the guessed value as text, or true or false, is expected",
    "text_or_number": "a name or a number from 1 is expected",
    "format_1": "this inkmix reads format 1",
    "finite_number": "a finite number is expected",
}
_ONE_LINE, _LINES = "names are one line of plain text", "this is plain text"


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """One thing a validator found: its kind, where, the value there and what it was measured by.

    `key` is what the form tells of the key there, blank of one that there is not; `known` are the
    names of all keys of its table.
    """

    kind: str
    path: KeyPath
    value: Any
    context: dict[str, Any]
    key: Key
    known: tuple[str, ...]


def faults_of(problems: Iterable[Problem], text: BookText) -> list[Fault]:
    """One fault for each problem, in the order of the file; of very many the first."""
    return [_fault(problem, text) for problem in first_in_file(problems, text)]


def first_in_file(problems: Iterable[Problem], text: BookText) -> list[Problem]:
    """The problems by line, at most COUNTED_FAULTS of them."""
    return sorted(problems, key=lambda problem: text.line_of(problem.path) or 0)[:COUNTED_FAULTS]


def in_file_order(faults: Iterable[Fault]) -> list[Fault]:
    """The faults sorted by the line they name."""

    def line(fault: Fault) -> int:
        found = _LINE.search(fault.where)
        return int(found[1]) if found else 0

    return sorted(faults, key=line)


def without(data: dict[str, Any], problems: Iterable[Problem]) -> dict[str, Any]:
    """A copy of the data that lacks the faulty keys, so that other rules can still be tried."""
    data = deepcopy(data)
    for problem in problems:
        is_member = isinstance(problem.path[-1], int)
        if problem.key.is_tables and is_member:
            _step(data, problem.path[:-1])[problem.path[-1]] = {}
        elif problem.kind == "too_long" or not (
            problem.key.is_tables and isinstance(problem.value, list)
        ):
            _remove(data, problem.path)
    return data


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """`did you mean "Rowan"?`, or the known words."""
    known = known if isinstance(known, Collection) else list(known)
    near = nearest(word, known)
    return f"known: {listed(known)}" if near is None else f"did you mean {quoted(near)}?"


def shown(value: Any) -> str:
    """A value as it might stand in the file, shortened."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return quoted(value)
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list):
        tables = value and all(isinstance(item, dict) for item in value)
        return count(len(value), "table") if tables else clipped(str(value[:_MEMBERS_SHOWN]))
    return clipped(str(value))


def scale_hint(value: float, *, key: Key) -> str:
    """What was probably meant by a share that misses its range by a factor of 100."""
    is_share = key.unit == "%" or (not key.unit and key.high == 1)
    if not is_share or key.low is None or key.high is None:
        return ""
    for guess in (value * 100, value / 100 if value >= _SCALED * key.high else 0):
        if guess and key.low <= guess <= key.high:
            return f"write {guess:g} if that was meant"
    return ""


def _fault(problem: Problem, text: BookText) -> Fault:
    found, expected, do = _WORDS.get(problem.kind, _other_words)(problem)
    return Fault(where=text.where(problem.path), found=found, expected=expected, do=do)


Words = tuple[str, str, str]


def _missing_words(problem: Problem) -> Words:
    return "is missing", f"it is needed ({problem.key.about})", ""


def _unknown_words(problem: Problem) -> Words:
    return "is not a key of a book", "", did_you_mean(str(problem.path[-1]), problem.known)


def _type_words(problem: Problem) -> Words:
    return f"is {shown(problem.value)}", _TYPES[problem.kind], _type_hint(problem)


def _type_hint(problem: Problem) -> str:
    value, header = problem.value, ".".join(str(p) for p in problem.path if isinstance(p, str))
    if problem.kind in ("float_type", "int_type") and isinstance(value, str):
        return "write it without quotes" if _is_number(value) else ""
    if problem.kind == "list_type" and isinstance(value, dict) and problem.key.is_tables:
        return f"write [[{header}]] in two brackets"
    if problem.kind == "model_type" and problem.key.example:
        return f"write {problem.key.example}"
    if problem.kind == "model_type" and isinstance(value, list):
        return f"write [{header}] in one bracket"
    if problem.kind == "string_type" and isinstance(value, int | float):
        return f'write "{value}"'
    return ""


def _is_number(text: str) -> bool:
    try:
        float(text.replace(",", ".").rstrip("% "))
    except ValueError:
        return False
    return True


def _choice_words(problem: Problem) -> Words:
    choices = problem.key.words
    hint = _meant(problem.value, choices) if isinstance(problem.value, str) else ""
    return f"is {shown(problem.value)}", f"it is one of {', '.join(choices)}", hint


def _range_words(problem: Problem) -> Words:
    hint = scale_hint(problem.value, key=problem.key)
    words = problem.key.range_words
    expected = f"it {'lies' if words.startswith('from') else 'is'} {words}"
    return f"is {shown(problem.value)}", expected, hint


def _word_or_number_words(problem: Problem) -> Words:
    key, value, hint = problem.key, problem.value, ""
    if isinstance(value, int | float) and not isinstance(value, bool):
        hint = scale_hint(value, key=key)
    elif isinstance(value, str):
        hint = "write the number without quotes" if _is_number(value) else _meant(value, key.words)
    words = ", ".join(f'"{word}"' for word in key.words)
    return f"is {shown(value)}", f"it is {words} or a number {key.range_words}".rstrip(), hint


def _meant(word: str, choices: Iterable[str]) -> str:
    """The nearest choice; nothing where none is near, for they are all listed already."""
    hint = did_you_mean(word, choices)
    return "" if hint.startswith("known:") else hint


def _length_words(problem: Problem) -> Words:
    least, most = problem.context.get("min_length"), problem.context.get("max_length")
    actual = problem.context.get("actual_length", len(problem.value))
    if isinstance(problem.value, str):
        return f"is {shown(problem.value)}", _text_length(least, most), ""
    limit = f"at least {least}" if problem.kind == "too_short" else f"at most {most}"
    if exactly := problem.key.exactly:
        limit = f"exactly {exactly}"
    numbers = all(isinstance(item, int | float) for item in problem.value)
    comma = "decimals are written with a point: 95.5, not 95,5" if numbers and most else ""
    return f"has {count(actual, 'value')}", f"{limit} are expected", comma


def _text_length(least: Any, most: Any) -> str:
    return "some text is needed" if least else f"at most {most} characters fit"


def _pattern_words(problem: Problem) -> Words:
    expected = _PATTERNS.get(str(problem.context.get("pattern")), "something else is expected")
    return f"is {shown(problem.value)}", expected, ""


def _sign_words(problem: Problem) -> Words:
    sign, kind = problem.context["sign"], _LINES if problem.context["lines"] else _ONE_LINE
    return f"holds {sign}: {shown(problem.value)}", kind, "write it again without that character"


def _other_words(problem: Problem) -> Words:
    return f"is {shown(problem.value)}", "something else is expected here", ""


_WORDS: dict[str, Callable[[Problem], Words]] = {
    "missing": _missing_words,
    "extra_forbidden": _unknown_words,
    "literal_error": _choice_words,
    "word_or_number": _word_or_number_words,
    "greater_than_equal": _range_words,
    "less_than_equal": _range_words,
    "too_short": _length_words,
    "too_long": _length_words,
    "string_too_short": _length_words,
    "string_too_long": _length_words,
    "string_pattern_mismatch": _pattern_words,
    "acting_sign": _sign_words,
    **dict.fromkeys(_TYPES, _type_words),
}


def _remove(data: dict[str, Any], path: KeyPath) -> None:
    """Take away the key a path ends in; of lists of values the whole list."""
    while isinstance(path[-1], int):
        path = path[:-1]
    holder = _step(data, path[:-1])
    if isinstance(holder, dict):
        holder.pop(str(path[-1]), None)


def _step(data: Any, path: KeyPath) -> Any:
    """What lies at a path, or None."""
    try:
        return reduce(getitem, path, data)
    except (LookupError, TypeError):
        return None
