"""A choice of inks as a few lines for a terminal."""

from collections.abc import Iterator

from inkmix.jobs.palettes.facts import PaletteFacts
from inkmix.pages.palettes import words
from inkmix.pages.palettes.view import shown
from inkmix.pages.tables import line

_COLUMNS = {
    "tones_de00": "tones",
    "tones_worst_de00": "worst",
    "darkest_L": "dark",
    "solids_chroma": "bright",
    "grey_steps": "grey",
    "different_mixes": "mixes",
    "error_de00": "error",
}


def as_text(facts: PaletteFacts) -> str:
    """The palettes of the page in a table, and one reason for each."""
    return "\n".join(_lines(facts))


def _lines(facts: PaletteFacts) -> Iterator[str]:
    palettes = shown(facts)
    yield f"{words.headline(facts)}."
    yield words.searched(facts)
    yield ""
    names = [name for name in _COLUMNS if name in facts.choice.ranked[0].figures]
    wide = max(len(", ".join(one.inks)) for one in palettes)
    widths = (4, 1, -wide, *(9 for _ in names), 9)
    yield line(widths, "", "", "inks", *(_COLUMNS[name] for name in names), "points")
    for one in palettes:
        figures = [words.figure(name, one.measured.figures[name]).split()[-1] for name in names]
        yield line(widths, one.mark, "", ", ".join(one.inks), *figures, words.points(one.behind))
    yield ""
    yield "tones, worst, error: dE00; dark: L*; bright: C*. Less is better except in bright, grey"
    yield "and mixes. Points: behind the first; differences under 0.1 do not count."
    if hidden := words.near_ties(facts, palettes):
        yield hidden
