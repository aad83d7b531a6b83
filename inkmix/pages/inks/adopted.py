"""What was taken over from another book, as text for a terminal and as a document for JSON."""

from collections.abc import Iterator
from dataclasses import asdict
from typing import Any

from inkmix.base.words import count, difference, lightness, listing
from inkmix.base.words import mix as mix_words
from inkmix.jobs.adopting.values import BookAdopted, ErrorChange, InkTaken, NextReading

FORMAT = 1
_SAME = 0.05  # less is the same figure
_KNOWN = {
    "screen colour": "a screen colour, which is only a hint",
    "density": "densities of its solid",
    "photograph": "a photograph",
    "solid": "its solid",
    "ramp": "a ramp of tints",
}


def adopted_lines(adopted: BookAdopted) -> Iterator[str]:
    """What came over, what not and why, what that changes, what to measure next, where it is."""
    papers = "the same paper" if adopted.is_same_paper else "another paper"
    papers += " (this book only guesses its own)" * adopted.paper_is_guess
    yield (
        f"Taken over from {adopted.title}, which was printed on {papers}: "
        f"{listing(_counted(adopted))}."
    )
    yield from (f"  {_ink(one)}" for one in adopted.inks)
    if adopted.as_there:
        yield f"  told alike in both books: {listing(adopted.as_there)}"
    yield from (f"  not taken over: {one.what}: {one.why}" for one in adopted.not_taken)
    yield "Expected error, 95 times in 100, before and after:"
    yield from (f"  {_error(one)}" for one in adopted.errors)
    yield from _next(adopted.next_readings)
    yield "A prediction is no proof; ask your printer whether these are the same inks."
    yield from (f"copied: {adopted.path.parent / name}" for name in adopted.files)
    yield f"written: {adopted.path}"


def _counted(adopted: BookAdopted) -> list[str]:
    """What came over."""
    mixes = f"{adopted.measured} measured mix{'es' * (adopted.measured != 1)}"
    files = {
        "a file of measured overprints": adopted.overprints,
        "the press file": adopted.condition,
    }
    named = [words for words, path in files.items() if path]
    return [count(len(adopted.inks), "ink"), *([mixes] if adopted.measured else []), *named]


def _ink(one: InkTaken) -> str:
    name = listing((one.name, *one.hits))
    name += f" (there {one.theirs})" * (one.name != one.theirs)
    was = " (a guess before)" * one.was_guess
    if one.how == "swatch":
        invented = ", invented: a hue, not an ink that was measured" * one.is_invented
        return f"{name}: a swatch that comes with inkmix{invented}{was}"
    where = "" if one.is_same_paper else f", measured on {one.paper}, not on this one"
    return f"{name}: {_KNOWN[one.known]} ({one.how}){where}{was}"


def _error(one: ErrorChange) -> str:
    costs = ""
    if one.paper_costs_de00 >= _SAME:
        costs = f"; {difference(one.paper_costs_de00)} of that is what the other paper costs"
    return (
        f"{one.name} ({mix_words(one.mix_pct)}): {difference(one.before_de00)} before, "
        f"{difference(one.after_de00)} now; {lightness(one.before_L)} before, "
        f"{lightness(one.after_L)} now{costs}"
    )


def _next(readings: tuple[NextReading, ...]) -> Iterator[str]:
    if not readings:
        return
    yield "To be surer, print and measure tints of these inks on this paper:"
    for one in readings:
        yield f"  {one.ink}: {one.mix} would be surer by {difference(one.saves_de00)}"


def adopted_document(adopted: BookAdopted) -> dict[str, Any]:
    """The same as plain values; errors and what a reading saves in dE00 and L*."""
    return {"format": FORMAT, **asdict(adopted), "path": str(adopted.path)}
