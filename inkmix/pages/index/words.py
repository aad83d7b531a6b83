"""What the index says in words: where the book stands, states, labels, counts.

Plain text from plain values; nothing here knows of HTML, and nothing is judged.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence

from inkmix.base.quoting import harmless
from inkmix.base.words import count, difference, first_of, listing, mix, opening
from inkmix.book.values import Waiver
from inkmix.checks import table
from inkmix.checks.finding import FAIL, NO_LIMIT, NOT_CHECKED, NOT_READY, PASS, UNSURE
from inkmix.checks.guesses import not_ready
from inkmix.checks.tones.facts import HARD_TO_TELL_DE00, SAME_DE00
from inkmix.jobs.book_answer import (
    BROKEN,
    EXPIRED,
    IN_FORCE,
    MENDED,
    NO_SPREAD,
    NOT_LOOKED_AT,
    NOT_NEEDED,
    UNREADABLE,
    WAITING,
    WAIVED,
    BatchResult,
    ColourDrift,
    DriftedUse,
    KeptFinding,
    SpreadRow,
    WaiverUse,
)

LEAST_TONE_PCT = 1.5

READ_EXIT_CODE = 3
COPIES = 1000

# One spread, several: what is wrong, what is open, what is settled.
_CLAUSES = (
    {UNREADABLE: ("cannot be read", "cannot be read"), FAIL: ("fails", "fail")},
    {
        NOT_READY: ("rests on guesses", "rest on guesses"),
        UNSURE: ("is unsure", "are unsure"),
        NO_LIMIT: ("has no limit given", "have no limit given"),
        WAITING: ("is waiting", "are waiting"),
        NOT_CHECKED: ("was not checked", "were not checked"),
    },
    {WAIVED: ("is waived", "are waived"), PASS: ("passes", "pass")},
)
_NOT_CHECKABLE = "cannot be checked"
_GROUPS = {UNREADABLE: "cannot be read", WAITING: "waiting for this run"}
_WAIVER_MEANS = {
    IN_FORCE: "in force",
    NOT_LOOKED_AT: "not looked at: its check was left out of this run",
    NOT_NEEDED: "not needed: nothing that it covers was found",
}


def headline(result: BatchResult) -> str:
    """Where the book stands: guesses that verdicts rest on, then one sentence."""
    states = [row.state for row in result.rows if row.checked and row.checked.guesses]
    first = not_ready(result.guesses) if {FAIL, NOT_READY}.intersection(states) else ""
    return f"{first} {_standing(result)}".strip()


def _standing(result: BatchResult) -> str:
    total = len(result.rows)
    if not total:
        return "The book has no spreads."
    groups = [_clauses(result, verbs) for verbs in _CLAUSES]
    first, *rest = [clause for group in groups for clause in group]
    end = f"{_but_for(result)}."
    if not rest:
        return f"{_all(first, total)}{end}"
    amount, verb = first
    text = f"{amount} of {count(total, 'spread')} {verb}"
    said = [[text if clause is first else " ".join(clause) for clause in group] for group in groups]
    return "; ".join(listing(group) for group in said if group) + end


def _but_for(result: BatchResult) -> str:
    """Checks that did not run, so that no count of passes is read as more than it is."""
    if not result.left_out:
        return ""
    return f" ({listing(result.left_out)} {table.were(result.left_out)} left out of this run)"


def _all(clause: tuple[str, str], total: int) -> str:
    scope = "The only spread" if total == 1 else f"All {total} spreads"
    return f"{scope} {clause[1]}"


def _clauses(result: BatchResult, verbs: dict[str, tuple[str, str]]) -> list[tuple[str, str]]:
    amounts = {state: result.count(state) for state in verbs}
    said = {state: verbs[state][amount > 1] for state, amount in amounts.items() if amount}
    if UNREADABLE in said:
        said[UNREADABLE] = unreadable(result.rows)
    return [(str(amounts[state]), verb) for state, verb in said.items()]


def unreadable(rows: Iterable[SpreadRow]) -> str:
    """What to say of spreads without an answer; not every fault lies in a file."""
    codes = {row.exit_code for row in rows if row.state == UNREADABLE}
    return "cannot be read" if codes <= {READ_EXIT_CODE} else _NOT_CHECKABLE


def state(row: SpreadRow) -> str:
    """The state of a spread in the words of its report."""
    return unreadable([row]) if row.state == UNREADABLE else row.state


def group(result: BatchResult, of_state: str) -> str:
    """Heading of all spreads in one state."""
    name = unreadable(result.rows) if of_state == UNREADABLE else _GROUPS.get(of_state, of_state)
    return opening(name)


def progress(result: BatchResult) -> str:
    """How far a run has come that is not complete; empty where it is."""
    if result.complete:
        return ""
    done = len(result.rows) - result.count(WAITING)
    return (
        f"This run is under way or was interrupted: {done} of {count(len(result.rows), 'spread')} "
        "are done. Run inkmix batch again to continue; finished reports are kept."
    )


def refusal(result: BatchResult) -> str:
    """That all is as it was before the book could not be used; empty where it can."""
    if not result.refused:
        return ""
    return "The book cannot be used as it is now. This page shows how it stood before."


def watching(result: BatchResult) -> str:
    """That more is to come; empty where nobody looks for changes."""
    if not result.watched:
        return ""
    return (
        "Written while the book is being watched: what changes is checked again and shown here "
        "within seconds, unless you have details open or a filter set."
    )


def news(*, new: int, gone: int, added: int, lost: int) -> str:
    """How many findings came and went since the last run, and how many spreads."""
    found = f"{_so_many(new, 'finding')} new, {_so_many(gone, 'finding')} gone"
    found = opening(found)
    if not (added or lost):
        return f"{found}."
    return f"{found}; {_so_many(added, 'spread')} new, {_so_many(lost, 'spread')} gone."


def not_compared(result: BatchResult) -> str:
    """Which checks only one of the last run and this one looked at; empty for none."""
    if not result.compared:
        return ""
    here = [name for name in result.checks if name not in result.checks_before]
    before = [name for name in result.checks_before if name not in result.checks]
    said = ((here, "in the run before"), (before, "of this run"))
    return " ".join(_without(checks, where) for checks, where in said if checks)


def _without(checks: Sequence[str], where: str) -> str:
    were = table.were(checks)
    whose = "its" if were == "was" else "their"
    said = opening(listing(checks))
    return f"{said} {were} left out {where}: {whose} findings are not compared."


def turned(rows: Iterable[SpreadRow]) -> str:
    """How many spreads only one of the last run and this one could check; empty for none."""
    amounts = Counter(row.turned for row in rows)
    broken, mended = amounts[BROKEN], amounts[MENDED]
    said = [f"{count(broken, 'spread')} {BROKEN}"] if broken else []
    said += [f"{mended if broken else count(mended, 'spread')} {MENDED}"] if mended else []
    return f"{', '.join(said)}." if said else ""


def _so_many(number: int, what: str) -> str:
    """`3 findings are`, `no finding is`."""
    if number == 0:
        return f"no {what} is"
    return f"{count(number, what)} {'is' if number == 1 else 'are'}"


def label(finding: KeptFinding) -> str:
    """What a finding is about: check and name."""
    if finding.check not in table.names():  # of an older run
        return f"{finding.check}: {finding.name}"
    check = table.named(finding.check)
    if check.is_by_place:
        return f"{check.name}: {finding.name}" if finding.name else check.name
    return check.label(finding.name)


def about(findings: Iterable[KeptFinding], *, most: int) -> str:
    """What several findings are about, empty for none; places without names are counted."""
    found = list(findings)
    by_place = [check.name for check in table.CHECKS if check.is_by_place]
    amounts = Counter(finding.check for finding in found if finding.check in by_place)
    said = [f"{check} in {count(amount, 'place')}" for check, amount in amounts.items()]
    said += [label(finding) for finding in found if finding.check not in by_place]
    return first_of(said, most=most)


def drift(colour: ColourDrift, *, within_de00: float, spreads: int) -> str:
    """Whether a named colour is the same wherever it is used, in a sentence or two."""
    if colour.same_mix_as:
        return f"Same mix as {colour.same_mix_as}, for which its places count."
    if not colour.spreads:
        return (
            f"On no spread: nothing larger than a speck is within {difference(within_de00)} of it."
        )
    if colour.apart_de00 is None:
        return f"Only on {colour.spreads[0]}."
    on = f"{len(colour.spreads)} of {spreads} spreads"
    where = f"On {'all ' + on.partition(' of ')[2] if len(colour.spreads) == spreads else on}"
    apart, pair = difference(colour.apart_de00), listing(colour.farthest)
    if colour.apart_de00 < SAME_DE00:
        return f"{where}, the same colour everywhere: at most {apart} apart."
    if colour.apart_de00 < HARD_TO_TELL_DE00:
        return (
            f"{where}, nearly the same colour: at most {apart} apart, on {pair}; seen side by side "
            "at best."
        )
    return f"{where}, not the same colour: {pair} are {apart} apart, which can be seen."


def drifts_on(spread: str, colours: Iterable[ColourDrift]) -> Iterator[str]:
    """The notes on a spread's colours that are not what they are elsewhere in the book."""
    for colour in colours:
        for one in colour.drifted:
            if one.spread == spread:
                yield _drift_on(colour.name, one)


def _drift_on(name: str, one: DriftedUse) -> str:
    apart = difference(one.apart_de00, beside=one.limit_de00)
    drifts = f"{opening(name)} drifts: {apart} from what it is on {one.other}"
    allowed = difference(one.limit_de00)
    if one.apart_de00 <= one.limit_de00:
        return f"{drifts}, noticed side by side, though within its tolerance of {allowed}."
    return f"{drifts}; its tolerance is {allowed}."


def mean_mix(tone_pct: Mapping[str, float]) -> str:
    """A mean of mixes, in whole percents; what is hardly there is left out."""
    said = {ink: float(round(tone)) for ink, tone in tone_pct.items() if tone >= LEAST_TONE_PCT}
    return mix(said)


def waiver_label(waiver: Waiver) -> str:
    """What a waiver is about."""
    scope = f"spread {waiver.spread}" if waiver.spread is not None else "every spread"
    about = f"{waiver.check}: {waiver.name}" if waiver.name else f"{waiver.check}: all of it"
    return f"{scope}, {about}"


def waiver_state(use: WaiverUse) -> str:
    """What a waiver does, or why it does nothing."""
    if use.state == EXPIRED:
        return expiry(use.changed)
    if use.state == NO_SPREAD:
        hint = f"; did you mean {harmless(use.nearest)}?" if use.nearest else ""
        return f"does nothing: the book has no spread of that name{hint}"
    return _WAIVER_MEANS[use.state]


def expiry(changed: Iterable[str]) -> str:
    """That a waiver has expired, and what changed since it was given."""
    return f"expired after a change in {' and '.join(changed) or 'something that it rests on'}"


def significant(value: float, digits: int = 3) -> str:
    """A positive amount to some significant digits, without powers of ten.

    >>> significant(0.01234), significant(1234.4), significant(0)
    ('0.0123', '1234', '0')
    """
    if value <= 0:
        return "0"
    whole = f"{value:.{digits}g}"
    if "e" not in whole:
        return whole
    return f"{value:.0f}" if value >= 1 else f"{value:.6f}".rstrip("0").rstrip(".") or "0"
