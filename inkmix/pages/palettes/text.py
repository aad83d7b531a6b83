"""A choice of inks as a few lines for a terminal."""

from collections.abc import Iterator

from inkmix.jobs.palettes.facts import PaletteFacts
from inkmix.pages.palettes import words
from inkmix.pages.palettes.view import Shown, shown

_COLUMNS = {
    "tones_de00": "tones",
    "tones_worst_de00": "worst",
    "darkest_L": "dark",
    "solids_chroma": "bright",
    "grey_steps": "grey",
    "different_mixes": "mixes",
    "error_de00": "sure to",
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
    heads = "".join(f"{_COLUMNS[name]:>9}" for name in names)
    yield f"{'':4} {'inks':<{wide}}{heads}{'points':>9}"
    for one in palettes:
        yield _row(one, names, wide)
    yield ""
    yield "tones, worst, sure to: dE00; dark: L*; bright: C*. Less is better but for bright, grey,"
    yield "mixes. Points: behind the first; differences under 0.1 are none."
    if hidden := words.near_ties(facts, palettes):
        yield hidden


def _row(one: Shown, names: list[str], wide: int) -> str:
    figures = "".join(f"{_figure(name, one.measured.figures[name]):>9}" for name in names)
    return f"{one.mark:>4} {', '.join(one.inks):<{wide}}{figures}{words.points(one.behind):>9}"


def _figure(name: str, value: float) -> str:
    return words.figure(name, value).rpartition(" ")[2]
