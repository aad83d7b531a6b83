"""The page on a calibration: one HTML file that needs nothing beside it, and no script.

All strings are escaped by the templates; the policy in the head of the page lets it load nothing.
"""

from functools import cache
from importlib.resources import files
from pathlib import Path

from jinja2 import Environment
from markupsafe import Markup

from inkmix import __version__
from inkmix.base.words import count, difference, fixed, lab, lightness, mix, number, percent
from inkmix.colour.colorimetry import xyz100_to_lab
from inkmix.jobs.calibrating.read_off import STATUS
from inkmix.jobs.calibrating.values import Calibration
from inkmix.pages.calibration import next_steps, photograph_words, words
from inkmix.pages.calibration.drawing import (
    bars_svg,
    foretold_svg,
    overprint_svg,
    pair_svg,
    screen_colour,
)
from inkmix.pages.curves import READ_AT_PCT, curve_svg, scale_for, tone_svg
from inkmix.pages.glossary import WORDS, FirstSaid, glossary
from inkmix.pages.report.templating import environment, style
from inkmix.pages.svg import hexed

ENDING = ".html"
PAGE_MARK = b'content="inkmix calibration'
"""By which a page written here is known; it stands in its first bytes."""

OPEN_PATCHES = 12
MOST_PATCHES = 1000
"""Of the patches that are folded; a browser has to hold them."""
MOST_ORDER_PAIRS = 3
MOST_MOVED = 8


def render_page(found: Calibration, press_file: Path) -> bytes:
    """The page as UTF-8; same calibration, same bytes.

    Parameters
    ----------
    press_file : Path
        Where the press file is written.
    """
    named = next_steps.naming(found, press_file)
    curves = [ink.curve for ink in found.inks]
    page = _environment().get_template("calibration.html.jinja").render(
        found=found,
        headline=next_steps.headline(found, named),
        to_do=tuple(next_steps.to_do(found, named)),
        version=__version__,
        css=style("house.css", "glossary.css", "curves.css") + _own_style(),
        explained=FirstSaid(WORDS),
        glossary=glossary(),
        say=words,
        say_photograph=photograph_words,
        paper=xyz100_to_lab(found.condition.paper.xyz100),
        pair=pair_svg,
        overprint=overprint_svg,
        bars=bars_svg,
        most_de00=max((max(one.was_de00, one.de00) for one in found.mixes), default=1.0),
        density_scale=scale_for(curves),
        curve_svg=curve_svg,
        tone_svg=tone_svg,
        foretold_svg=foretold_svg,
        solids={one.name: one for one in found.solids},
        source=lambda one: "" if words.whose_word(found) else one.told,
        read_at=READ_AT_PCT,
        status=STATUS,
        suspects=tuple(zip(found.suspects, found.press.left_out, strict=True)),
        opened=found.residuals[:OPEN_PATCHES],
        folded=found.residuals[OPEN_PATCHES : OPEN_PATCHES + MOST_PATCHES],
        order_pairs=() if found.order is None else found.order.pairs[:MOST_ORDER_PAIRS],
        most_moved=MOST_MOVED,
    )  # fmt: skip
    return page.encode("utf-8", "backslashreplace")


@cache
def _environment() -> Environment:
    return environment(
        "inkmix.pages.calibration",
        {
            "count": count,
            "difference": difference,
            "fixed": fixed,
            "hex": lambda colour: hexed(screen_colour(colour)),
            "lab": lab,
            "lightness": lightness,
            "mix": mix,
            "number": number,
            "percent": percent,
        },
    )


def _own_style() -> Markup:
    own = files("inkmix.pages.calibration").joinpath("templates/calibration.css")
    return Markup(own.read_text("utf-8"))
