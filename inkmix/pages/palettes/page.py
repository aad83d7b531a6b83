"""The page on palettes: one HTML file that needs nothing beside it, and no script.

All strings are escaped by the templates; the policy in the head of the page lets it load nothing.
"""

from functools import cache
from importlib.resources import files
from pathlib import Path

import numpy as np
from jinja2 import Environment
from markupsafe import Markup

from inkmix import __version__
from inkmix.base.errors import Fault, OutputError
from inkmix.base.output_files import Output, refuse_outputs, write_together
from inkmix.base.words import count, fixed, lab, listing, mix, number, percent
from inkmix.colour.colorimetry import xyz100_to_triple8
from inkmix.jobs.palettes.facts import PaletteFacts
from inkmix.jobs.printing.pictures import jpeg_bytes
from inkmix.mixes.palettes.measures import MEASURES
from inkmix.pages.glossary import WORDS, FirstSaid, glossary
from inkmix.pages.overprints.small import small_sheet
from inkmix.pages.palettes import words
from inkmix.pages.palettes.reasons import mixed
from inkmix.pages.palettes.view import Shown, hues_of, opened, shown, srgb8_of, tone_rows
from inkmix.pages.report.page import STRIP_FROM
from inkmix.pages.report.pictures import data_uri, fit_pictures, picture_size
from inkmix.pages.report.templating import environment, style
from inkmix.pages.svg import fields, hexed

PAGE_MARK = b'content="inkmix palettes'
"""By which a page written here is known; it stands in its first bytes."""

STACK_FROM = 1.6
"""Width to height of plates from which their pictures stand one above the other."""

BUDGET_BYTES = 6_000_000
_NOW = "now"


def render_page(facts: PaletteFacts) -> bytes:
    """The page as UTF-8; same choice, same bytes."""
    palettes = shown(facts)
    pictures = _pictures(facts, palettes)
    page = _environment().get_template("palettes.html.jinja").render(
        f=facts,
        version=__version__,
        css=style("house.css", "glossary.css") + _own_style(),
        explained=FirstSaid(WORDS),
        glossary=glossary(),
        headline=words.headline(facts),
        lede=words.lede(facts, palettes),
        ties=words.near_ties(facts, palettes),
        palettes=palettes,
        sheets={one.inks: _sheet(facts, one) for one in palettes},
        rows=tone_rows(facts, palettes) if facts.wish.tones else (),
        paper=xyz100_to_triple8(facts.wish.paper.xyz100),
        measures=MEASURES,
        weights=_weights(facts),
        method=words.method(facts),
        has_commands=any(one.plates and one.plates.command for one in palettes),
        opened=opened(palettes),
        folded=palettes[len(opened(palettes)) :],
        hues=hues_of(facts, palettes),
        invented=words.cautions(facts, palettes),
        cautions=words.CAUTIONS,
        uri={key: data_uri(data) for key, data in pictures.items()},
        size={key: picture_size(data) for key, data in pictures.items()},
        layout=_layout(facts),
        fields=fields,
        short=words.SHORT,
        solids={one.inks: _solids(facts, one) for one in palettes},
        said_moves=words.moves,
        all_tried=all(p.assigned.all_tried for p in facts.plates.of.values())
        if facts.plates
        else True,
    )  # fmt: skip
    return page.encode("utf-8", "backslashreplace")


def refuse_page(path: Path) -> None:
    """What can be said against writing the page here, before anything is computed.

    Raises
    ------
    OutputError
        A name that is no page's, or a file that inkmix did not write.
    """
    if path.suffix.lower() not in (".html", ".htm"):
        found, expected = f"ends in {path.suffix or 'nothing'}", "a page ends in .html"
        raise OutputError(Fault(where=str(path), found=found, expected=expected))
    refuse_outputs([_output(path)])


def write_page(path: Path, facts: PaletteFacts) -> None:
    """Write the page, whole or not at all.

    Raises
    ------
    OutputError
        Where it cannot be written, or a file is there that inkmix did not write.
    """
    write_together({_output(path): render_page(facts)})


def _output(path: Path) -> Output:
    return Output(path=path, mark=PAGE_MARK)


@cache
def _environment() -> Environment:
    return environment(
        "inkmix.pages.palettes",
        {
            "figure": lambda value, name: words.figure(name, value),
            "points": words.points,
            "number": number,
            "fixed": fixed,
            "percent": percent,
            "mix": mix,
            "mixed": mixed,
            "listing": listing,
            "count": count,
            "lab": lab,
        },
    )


def _own_style() -> Markup:
    own = files("inkmix.pages.palettes").joinpath("templates/palettes.css")
    return Markup(own.read_text("utf-8"))


def _sheet(facts: PaletteFacts, one: Shown) -> Markup:
    """The small overprint sheet; its own text is escaped where it is drawn."""
    return small_sheet(
        facts.conditions[one.inks],
        ink_limit_pct=facts.wish.ink_limit_pct,
        prefix=f"sheet-{one.mark}",
        darkest=(one.measured.darkest,),
    )


def _solids(facts: PaletteFacts, one: Shown) -> list[str]:
    """Colours of the solids, for the screen."""
    solids = facts.conditions[one.inks].lab(100 * np.eye(len(one.inks)))
    return [hexed(srgb8_of((L, a, b))) for L, a, b in solids.tolist()]


def _weights(facts: PaletteFacts) -> dict[str, float]:
    """Weights of the measures that have figures."""
    given = facts.wish.weights
    names = facts.choice.ranked[0].figures
    return {name: given.get(name, measure.weight) for name, measure in MEASURES.items()
            if name in names}  # fmt: skip


def _pictures(facts: PaletteFacts, palettes: tuple[Shown, ...]) -> dict[str, bytes]:
    """The plates in the present inks and in every palette shown, by its mark."""
    if facts.plates is None:
        return {}
    pictures = {_NOW: jpeg_bytes(facts.plates.now)}
    pictures |= {
        one.mark: jpeg_bytes(one.plates.srgb8)
        for one in palettes
        if one.plates is not None and one.mark != _NOW
    }
    return fit_pictures(pictures, budget_bytes=BUDGET_BYTES, page="palette.html")


def _layout(facts: PaletteFacts) -> str:
    if facts.plates is None:
        return ""
    rows, cols, _ = facts.plates.now.shape
    if cols >= STRIP_FROM * rows:
        return "stacked strip"
    return "stacked" if cols >= STACK_FROM * rows else "beside"
