"""Where findings are, in a word or two for a sentence that speaks of several."""

from collections.abc import Sequence

from inkmix.checks import wording
from inkmix.checks.finding import Finding

MOST_PANELS_NAMED = 3  # more are counted, so that the sentence stays one line of a ticket


def on_panels(findings: Sequence[Finding]) -> str:
    """The panels that findings lie on: " on panels 2 and 3"; empty where the sheet has none."""
    places = [found.place.panel for found in findings if found.place and found.place.panel]
    names = list(dict.fromkeys(places))
    if len(names) > MOST_PANELS_NAMED:
        return f" on {len(names)} panels"
    numbers = [name.removeprefix("panel ") for name in names]
    if len(names) > 1 and all(number.isdigit() for number in numbers):
        return f" on panels {wording.listing(sorted(numbers, key=int))}"
    return f" on {wording.listing(names)}" if names else ""
