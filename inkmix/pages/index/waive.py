"""The `[[waive]]` block by which a book accepts a finding, for people to copy and to complete."""

import json

from inkmix.checks.finding import FAIL, UNSURE
from inkmix.jobs.book_answer import KeptFinding, ShownFinding

WAIVABLE = (FAIL, UNSURE)
"""Verdicts that somebody can accept."""

_DELETE = "\N{DELETE}"  # JSON may hold it, TOML may not


def waive_block(finding: KeptFinding, *, spread: str | None) -> str:
    """TOML that accepts a finding as it is; `reason` and `by` are for people to fill in.

    A name that is not proper Unicode cannot stand in TOML. Then the spread is left out: what the
    finding rests on tells it apart.
    """
    said = {
        "spread": spread if spread is not None and _is_unicode(spread) else None,
        "check": finding.check,
        "name": finding.name,
        "rests_on": finding.rests_on,
        "reason": "",
        "by": "",
    }
    lines = [f"{key} = {_quoted(value)}" for key, value in said.items() if value is not None]
    return "\n".join(["[[waive]]", *lines])


def may_be_waived(shown: ShownFinding) -> bool:
    """Whether there is something to accept that nobody accepted yet."""
    return shown.waiver is None and shown.finding.verdict in WAIVABLE


def _is_unicode(text: str) -> bool:
    return not any("\ud800" <= letter <= "\udfff" for letter in text)


def _quoted(text: str) -> str:
    """A TOML string; the escapes of JSON are among those of TOML."""
    return json.dumps(text, ensure_ascii=False).replace(_DELETE, "\\u007f")
