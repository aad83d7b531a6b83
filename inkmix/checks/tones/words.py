"""What is said about where named tones are used, in a report and over a whole book alike."""

from collections.abc import Iterable

from inkmix.base.words import difference, listing
from inkmix.checks.uses import ColourUse


def within_words(uses: Iterable[ColourUse]) -> str:
    """How near to a tone's mix a colour counts as that tone: its own widths where they differ.

    >>> within_words([])
    ''
    """
    by_width: dict[float, list[str]] = {}
    for use in uses:
        if use.same_mix_as:
            continue
        by_width.setdefault(use.within_de00, []).append(use.name)
    if not by_width:
        return ""
    usual = max(by_width, key=lambda width: len(by_width[width]))
    others = [
        f"{difference(width)} of {listing(names)}"
        for width, names in sorted(by_width.items())
        if width != usual
    ]
    return ", ".join([f"within {difference(usual)} of its mix", *others])
