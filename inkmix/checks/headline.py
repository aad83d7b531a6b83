"""The one sentence at the head of a report, made from verdicts and findings.

Only wording belongs here; what is judged, and how, is decided by the checks, and so are the words
for each of them.
"""

from collections.abc import Mapping, Sequence

from inkmix.base.words import listing
from inkmix.checks import table
from inkmix.checks.finding import (
    FAIL,
    NO_LIMIT,
    NOT_CHECKED,
    NOT_READY,
    PASS,
    UNSURE,
    Finding,
    worst,
)
from inkmix.checks.guesses import Guess, guess_words, not_ready

CLEAR = "Nothing was found against sending these plates, as far as inkmix checked"


def headline(
    verdicts: Mapping[str, str], findings: Sequence[Finding], guesses: Sequence[Guess] = ()
) -> str:
    """A sentence in plain words on whether the plates can go to the printer; guesses come first.

    Parameters
    ----------
    verdicts : mapping of str to str
        Verdict of each check that the book could ask for, by the check's name.
    findings : sequence of Finding
        All findings, worst first; only those whose verdict is that of their check are named.
    guesses : sequence of Guess
        What nobody told. Said first where the verdict rests on it; else at the end.

    Examples
    --------
    >>> headline({"total ink": "pass", "night": "fail"}, [])
    'Do not send yet: night is too light.'
    >>> headline({"total ink": "pass"}, [])
    'Nothing was found against sending these plates, as far as inkmix checked.'
    """
    verdict = worst(tuple(verdicts.values()))
    first = f"{not_ready(guesses)} " if guesses else ""
    if verdict == FAIL:
        return f"{first}Do not send yet: {_clauses(FAIL, verdicts, findings)}."
    if verdict == NOT_READY:
        return f"{first}Tell the book first; until then nothing can be promised."
    if verdict == UNSURE:
        return f"Ask before sending: {_clauses(UNSURE, verdicts, findings)}."
    if verdict == NO_LIMIT:
        without = listing([check for check, said in verdicts.items() if said == NO_LIMIT])
        return f"Ask before sending: no limit was given for {without}."
    return _clear(verdicts, guesses)


def _clear(verdicts: Mapping[str, str], guesses: Sequence[Guess]) -> str:
    left_out = [check for check, verdict in verdicts.items() if verdict == NOT_CHECKED]
    if not any(verdict == PASS for verdict in verdicts.values()):
        return "Nothing was checked, so nothing can be said about these plates."
    open_ones = [f"{listing(left_out)} {table.were(left_out)} not checked"] if left_out else []
    open_ones += [guess_words(guesses)] if guesses else []
    return f"{CLEAR} ({'; '.join(open_ones)})." if open_ones else f"{CLEAR}."


def _clauses(verdict: str, verdicts: Mapping[str, str], findings: Sequence[Finding]) -> str:
    parts = []
    for check in (check for check, said in verdicts.items() if said == verdict):
        mine = [found for found in findings if (found.check, found.verdict) == (check, verdict)]
        parts.append(table.named(check).clause(verdict, mine))
    return listing(parts)
