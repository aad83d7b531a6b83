"""The one sentence at the head of a report, made from verdicts and findings.

Only wording belongs here; what is judged, and how, is decided in inkmix.checks.
"""

from collections.abc import Mapping, Sequence

from inkmix.checks.finding import FAIL, NO_LIMIT, NOT_CHECKED, PASS, UNSURE, Finding, worst
from inkmix.checks.night.facts import NIGHT
from inkmix.checks.tones.facts import NAMED_TONES
from inkmix.checks.total_ink.facts import TOTAL_INK

MOST_PANELS_NAMED = 3  # more are counted, so that the sentence stays one line of a ticket

CLEAR = "Nothing stands against sending these plates, as far as inkmix checked"
CLAUSES = {
    (TOTAL_INK, FAIL): "is over the limit",
    (TOTAL_INK, UNSURE): "may be over the limit",
    (NIGHT, FAIL): "is too light",
    (NIGHT, UNSURE): "may be too light",
}


def headline(verdicts: Mapping[str, str], findings: Sequence[Finding]) -> str:
    """One sentence in plain words on whether the plates can go to the printer.

    Parameters
    ----------
    verdicts : mapping of str to str
        Verdict of each check that the book could ask for, by the check's name.
    findings : sequence of Finding
        All findings, worst first; only those whose verdict is that of their check are named.

    Examples
    --------
    >>> headline({"total ink": "pass", "night": "fail"}, [])
    'Do not send yet: night is too light.'
    >>> headline({"total ink": "pass"}, [])
    'Nothing stands against sending these plates, as far as inkmix checked.'
    """
    verdict = worst(tuple(verdicts.values()))
    if verdict == FAIL:
        return f"Do not send yet: {_clauses(FAIL, verdicts, findings)}."
    if verdict == UNSURE:
        return f"Ask before sending: {_clauses(UNSURE, verdicts, findings)}."
    if verdict == NO_LIMIT:
        without = _listed([check for check, said in verdicts.items() if said == NO_LIMIT])
        return f"Ask before sending: no limit was given for {without}."
    return _clear(verdicts)


def _clear(verdicts: Mapping[str, str]) -> str:
    left_out = [check for check, verdict in verdicts.items() if verdict == NOT_CHECKED]
    if not any(verdict == PASS for verdict in verdicts.values()):
        return "Nothing was checked, so nothing can be said about these plates."
    if not left_out:
        return f"{CLEAR}."
    return f"{CLEAR} ({_listed(left_out)} {_were(left_out)} not checked)."


def _were(checks: Sequence[str]) -> str:
    return "was" if len(checks) == 1 and checks[0] != NAMED_TONES else "were"


def _clauses(verdict: str, verdicts: Mapping[str, str], findings: Sequence[Finding]) -> str:
    parts = []
    for check in (check for check, said in verdicts.items() if said == verdict):
        mine = [found for found in findings if (found.check, found.verdict) == (check, verdict)]
        parts.append(_tones(verdict, mine) if check == NAMED_TONES else _area(check, verdict, mine))
    return _listed(parts)


def _area(check: str, verdict: str, findings: Sequence[Finding]) -> str:
    return f"{check}{_panels(findings)} {CLAUSES[check, verdict]}"


def _panels(findings: Sequence[Finding]) -> str:
    places = [found.place.panel for found in findings if found.place and found.place.panel]
    names = list(dict.fromkeys(places))
    if len(names) > MOST_PANELS_NAMED:
        return f" on {len(names)} panels"
    numbers = [name.removeprefix("panel ") for name in names]
    if len(names) > 1 and all(number.isdigit() for number in numbers):
        return f" on panels {_listed(sorted(numbers, key=int))}"
    return f" on {_listed(names)}" if names else ""


def _tones(verdict: str, findings: Sequence[Finding]) -> str:
    may, end = ("may ", "") if verdict == UNSURE else ("", "s")
    names = list(dict.fromkeys(found.name for found in findings))
    if len(names) == 1:
        return f"the tone “{names[0]}” {may}print{end} too far from what was meant"
    count = f"{len(names)} named tones" if names else "named tones"
    return f"{count} {may}print too far from what was meant"


def _listed(parts: Sequence[str]) -> str:
    return " and ".join([", ".join(parts[:-1]), parts[-1]] if len(parts) > 1 else parts)
