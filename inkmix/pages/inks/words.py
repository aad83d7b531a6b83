"""The list of inks as text for a terminal, and as a document for JSON."""

from collections.abc import Iterator
from typing import Any

from inkmix.base.words import fixed, number
from inkmix.jobs.inks.entries import Field, InkEntry, PaperEntry
from inkmix.pages.tables import colour_field, line
from inkmix.press.solids.opacity import Opacity

FORMAT = 1
STEPS = (20, 40, 60, 80, 100)
_WIDTHS = (2, -11, -9, -16, 6, 7, 7, 3, -8, *(6 for _ in STEPS), 9, -1)
LEAST_SHOWN = 0.005
"""Opacity below which an ink is called transparent."""
WHOLE_CURVES_UP_TO = 3  # inks; a longer list shows five steps of each


def as_text(papers: tuple[PaperEntry, ...], *, colours: bool) -> str:
    """The list; `colours` puts a field of 24-bit colour before each name."""
    lines = [line for paper in papers for line in _paper_lines(paper, colours=colours)]
    inks = [ink for paper in papers for ink in paper.inks]
    if len(inks) <= WHOLE_CURVES_UP_TO:
        lines += [line for ink in inks for line in _curve_lines(ink)]
    return "\n".join([*lines, *_notes(papers)])


def _paper_lines(paper: PaperEntry, *, colours: bool) -> Iterator[str]:
    origin = "invented" if paper.invented else "measured"
    yield (
        f"{_block(paper.colour, colours=colours)}{paper.name}: {paper.paper_class} paper, {origin},"
        f" L*a*b* {_lab(paper.colour)}, {paper.colour.hex}{_mark(paper.colour)}"
    )
    steps = "".join(f"{step:6d}" for step in STEPS)
    head = line(_WIDTHS, "", "ink", "shown", "known by", "L*", "a*", "b*", "", "filter")
    yield f"{' ' * (4 * colours)}{head:<75} D at{steps[4:]} %    TVI"
    for ink in paper.inks:
        yield f"{_block(ink.solid, colours=colours)}{_ink_line(ink)}"
    yield ""


def _ink_line(ink: InkEntry) -> str:
    curve = ink.curve
    return line(
        _WIDTHS,
        "",
        ink.short_name,
        f"{ink.solid.hex}{_mark(ink.solid)}",
        ink.known,
        *map(fixed, ink.solid.lab),
        "",
        f"{'~' if curve.approximate else ''}{curve.channel}",
        *(fixed(curve.at(step), 2) for step in STEPS),
        fixed(curve.increase_50_pct),
        "".join(f"  {word}" for word in _more(ink)),
    )


def _more(ink: InkEntry) -> Iterator[str]:
    if ink.opacity.value >= LEAST_SHOWN:
        yield f"opacity {number(ink.opacity.value, 2)} {opacity_word(ink.opacity)}"
    yield from ink.character


def opacity_word(opacity: Opacity) -> str:
    """Whose word an opacity is; a guess is told as one."""
    return f"({opacity.word}; ask the ink maker)" if opacity.by else f"({opacity.word})"


def _curve_lines(ink: InkEntry) -> Iterator[str]:
    """Every step of one ink's curve."""
    curve, increase = ink.curve, ink.curve.increase_pct
    yield f"{ink.name} on {ink.paper}: {ink.source}"
    yield f"  tone value %  density above paper ({_filter_words(ink)})  tone value increase %"
    for k, (tone, density) in enumerate(zip(curve.tone_pct, curve.above_paper, strict=True)):
        gain = None if increase is None else float(increase[k])
        yield line((14, 12, 10), number(tone), fixed(density, 2), fixed(gain))
    yield ""


def _notes(papers: tuple[PaperEntry, ...]) -> Iterator[str]:
    """What the columns mean, as far as they hold something."""
    inks = [ink for paper in papers for ink in paper.inks]
    status = inks[0].curve.status if inks else "E"
    yield (
        f"D: density above the paper, status {status}, in the ink's principal channel. TVI: tone"
        " value increase at 50 %,"
    )
    yield "after Murray and Davies in that channel. L*a*b*: D50, 2 degree, absolute."
    if any(ink.curve.approximate for ink in inks):
        yield "~ approximate: only XYZ is known, which stands in for the filters (to 0.7 too low)."
    if any(ink.opacity.value >= LEAST_SHOWN for ink in inks):
        yield (
            "Opacity: share of its own colour that a solid adds to whatever lies under it; where"
            " no figure is given,"
        )
        yield "the ink is taken as transparent."
    if any(not ink.solid.in_srgb for ink in inks):
        yield "* outside what a screen of sRGB shows; the nearest colour is given."
    if any(paper.invented for paper in papers):
        yield "Invented inks and papers were never printed or measured."


def _filter_words(ink: InkEntry) -> str:
    kind = "" if ink.curve.channel == "visual" else f", status {ink.curve.status}"
    return f"{ink.curve.channel}{kind}{', approximate' if ink.curve.approximate else ''}"


def _block(field: Field, *, colours: bool) -> str:
    if not colours:
        return ""
    return f"{colour_field([int(field.hex[k : k + 2], 16) for k in (1, 3, 5)])} "


def _lab(field: Field) -> str:
    return line((6, 7, 7), *map(fixed, field.lab)).strip()


def _mark(field: Field) -> str:
    return "" if field.in_srgb else "*"


def as_document(papers: tuple[PaperEntry, ...], *, status: str) -> dict[str, Any]:
    """The list as plain values: `format`, `status`, `papers`, `inks`."""
    return {
        "format": FORMAT,
        "status": status,
        "papers": [_paper_values(paper) for paper in papers],
        "inks": [_ink_values(ink) for paper in papers for ink in paper.inks],
    }


def _colour_values(field: Field) -> dict[str, Any]:
    lab = [round(float(value), 2) + 0.0 for value in field.lab]
    return {"lab": lab, "hex": field.hex, "in_srgb": field.in_srgb}


def _paper_values(paper: PaperEntry) -> dict[str, Any]:
    return {
        "name": paper.name,
        "paper_class": paper.paper_class,
        "known": paper.known,
        "invented": paper.invented,
        **_colour_values(paper.colour),
        "source": paper.source,
    }


def _ink_values(ink: InkEntry) -> dict[str, Any]:
    return {
        "name": ink.name,
        "paper": ink.paper,
        "known": ink.known,
        "invented": ink.invented,
        **_colour_values(ink.solid),
        "opacity": round(ink.opacity.value, 4),
        "opacity_from": ink.opacity.word,
        "character": list(ink.character),
        "density": _density_values(ink),
        "source": ink.source,
    }


def _density_values(ink: InkEntry) -> dict[str, Any]:
    curve, increase = ink.curve, ink.curve.increase_pct
    gains = [None] * len(curve.tone_pct) if increase is None else increase.round(2).tolist()
    at_50 = curve.increase_50_pct
    return {
        "channel": curve.channel,
        "approximate": curve.approximate,
        "paper": round(float(curve.density[0]), 4),
        "solid_above_paper": round(float(curve.above_paper[-1]), 4),
        "tone_value_increase_50_pct": None if at_50 is None else round(at_50, 2),
        "curve": [
            {"tone_pct": tone, "above_paper": round(density, 4), "tone_value_increase_pct": gain}
            for tone, density, gain in zip(
                curve.tone_pct.tolist(), curve.above_paper.tolist(), gains, strict=True
            )
        ],
    }
