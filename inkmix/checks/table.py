"""The table of checks: whoever shows, keeps or asks for checks walks over it.

A check more is a folder beside these and a line here.
"""

from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from itertools import combinations
from typing import Any, TypeVar

from inkmix.base.arguments import names_of
from inkmix.base.errors import Fault, UsageError
from inkmix.base.quoting import nearest, quoted
from inkmix.book.form import Form
from inkmix.book.keys import Section
from inkmix.book.values import REFERENCE
from inkmix.checks.check import Check
from inkmix.checks.finding import Finding
from inkmix.checks.night.entry import Night
from inkmix.checks.tones.entry import NamedTones
from inkmix.checks.total_ink.entry import TotalInk

_Function = TypeVar("_Function", bound=Callable[..., Any])


def put_together(*checks: Check) -> tuple[Check, ...]:
    """A table of these checks.

    Raises
    ------
    ValueError
        Where two of them bring something of one name, which is a mistake in the program.
    """
    if clashes := [clash for pair in combinations(checks, 2) for clash in _clashes(*pair)]:
        raise ValueError("checks may not share names: " + "; ".join(clashes))
    return checks


def _clashes(one: Check, other: Check) -> Iterator[str]:
    """What both checks bring under one name, in words."""
    for what, names in _brought(one).items():
        for name in sorted(names & _brought(other)[what]):
            yield f"{type(one).__name__} and {type(other).__name__} both have {what} {quoted(name)}"


def _brought(check: Check) -> dict[str, frozenset[str]]:
    """All that has to have a name of its own, by what it is."""
    return {
        "the name": frozenset((check.name,)),
        "the field of report.json": frozenset(check.facts),
        "the figure": frozenset(check.figures),
        "the table of the book": frozenset(section.table for section in check.sections),
    }


CHECKS = put_together(TotalInk(), Night(), NamedTones())


def names() -> tuple[str, ...]:
    """The names of all checks."""
    return tuple(check.name for check in CHECKS)


def in_table_order(some: Collection[str]) -> tuple[str, ...]:
    """Names of checks in the order of the table; none that it does not know."""
    return tuple(name for name in names() if name in some)


def were(checks: Sequence[str]) -> str:
    """The word after the names of these checks: "was" or "were"."""
    return "was" if len(checks) == 1 and not named(checks[0]).is_plural else "were"


def is_of_book(name: str) -> bool:
    """Whether the findings of this check follow from the book and no plate; False if unknown."""
    return any(check.name == name and check.is_of_book for check in CHECKS)


def written() -> str:
    """The names of all checks as people may write them in one word, separated by commas."""
    return ", ".join(name.replace(" ", "-") for name in names())


def names_told(function: _Function) -> _Function:
    """The same function, the names of all checks in its docstring in place of {checks}."""
    function.__doc__ = (function.__doc__ or "").replace("{checks}", written())
    return function


def sections() -> tuple[Section[Any], ...]:
    """Tables of the book that checks bring, and that of the picture which prints are held to."""
    return (*(section for check in CHECKS for section in check.sections), REFERENCE)


def book_form() -> Form:
    """What a book may hold, with all that checks bring."""
    rules = tuple(rule for check in CHECKS for rule in check.rules)
    return Form(sections=sections(), rules=rules, waivable=names())


def fact_types() -> dict[str, Any]:
    """The fields of report.json that checks bring, with their types."""
    return {name: kind for check in CHECKS for name, kind in check.facts.items()}


def figure_types() -> dict[str, Any]:
    """The figures that checks give for the tables of a batch, with their types."""
    return {name: float | None for check in CHECKS for name in check.figures}


def named(name: str) -> Check:
    """The check of a name.

    Raises
    ------
    KeyError
        Where there is none.
    """
    return {check.name: check for check in CHECKS}[name]


def by_rank() -> tuple[Check, ...]:
    """All checks in the order in which a report shows them."""
    return tuple(sorted(CHECKS, key=lambda check: check.rank))


def in_order(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Findings in the order in which a report shows their checks."""
    ranks = {check.name: check.rank for check in CHECKS}
    return tuple(sorted(findings, key=lambda finding: ranks[finding.check]))


def asked_for(checks: str | Collection[str] | None) -> frozenset[str]:
    """Names of the checks to run; None: all. A hyphen may stand for a blank.

    Raises
    ------
    UsageError
        For names that no check has, or where none is named.
    """
    if checks is None:
        return frozenset(names())
    wanted = _known(names_of(checks, what="checks"), where="checks")
    return _kept(frozenset(wanted))


def chosen(only: Sequence[str], skip: Sequence[str]) -> frozenset[str]:
    """Names of the checks to run: those of --only, or all; without those of --skip.

    Raises
    ------
    UsageError
        For names that no check has, or where none is left.
    """
    wanted, unwanted = _known(only, where="--only"), _known(skip, where="--skip")
    return _kept(frozenset(wanted or names()) - frozenset(unwanted))


def _known(told: Sequence[str], *, where: str) -> list[str]:
    """Names of checks, blanks for hyphens."""
    known = names()
    as_named = [name.replace("-", " ") for name in told]
    if unknown := [name for name in as_named if name not in known]:
        raise UsageError(
            Fault(where=where, found=f"no check is called {quoted(name)}", do=_meant(name))
            for name in unknown
        )
    return as_named


def _meant(name: str) -> str:
    near, all_words = nearest(name, names()), f"the checks are {written()}"
    if near is None:
        return all_words
    return f"did you mean {near.replace(' ', '-')}? T{all_words[1:]}"


def _kept(left: frozenset[str]) -> frozenset[str]:
    if not left:
        do = f"keep at least one of {written()}"
        raise UsageError(Fault(where="checks", found="none is left to run", do=do))
    return left
