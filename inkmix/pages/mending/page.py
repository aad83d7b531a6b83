"""The page on a mended book: one HTML file that needs nothing beside it, and no script.

All strings are escaped by the template; the policy in the head of the page lets it load nothing.
"""

import os
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from urllib.parse import quote

from jinja2 import Environment
from markupsafe import Markup

from inkmix import __version__
from inkmix.base.words import count, most_points, opening, percent
from inkmix.checks.guesses import CONFIRM, guess_name
from inkmix.jobs.mending.spread import AFTER, BEFORE
from inkmix.jobs.mending.values import BookMended, SpreadMended
from inkmix.pages.glossary import WORDS, FirstSaid, glossary
from inkmix.pages.mending import words
from inkmix.pages.mending.pictures import page_pictures
from inkmix.pages.report.phrases import crop_scale, crop_title, place_name, place_ruler
from inkmix.pages.report.pictures import data_uri, picture_size
from inkmix.pages.report.templating import environment, style

PAGE_NAME = "mended.html"
PAGE_MARK = b'content="inkmix mended'
"""By which a page written here is known; it stands in its first bytes."""

Shown = tuple[str, int, int]
"""A picture's address, width and height."""


def render_page(book: BookMended) -> bytes:
    """The page as UTF-8; same result, same bytes."""
    pictures = page_pictures(book, page=PAGE_NAME)
    page = _environment().get_template("mended.html.jinja").render(
        book=book,
        version=__version__,
        css=style("house.css", "glossary.css") + _own_style(),
        explained=FirstSaid(WORDS),
        glossary=glossary(),
        headline=words.headline(book),
        misfits=list(words.misfits(book)),
        unneeded=list(words.unneeded(book)),
        no_proof=words.NO_PROOF,
        by_hand=words.BY_HAND,
        of_book=words.open_of_book(book),
        confirm=CONFIRM,
        whole=(BEFORE, AFTER),
        pictures=_addressed(pictures.of),
        left_out=words.left_out(pictures.places_left_out, pictures.sheets_left_out),
    )  # fmt: skip
    return page.encode("utf-8", "backslashreplace")


def _addressed(of: Mapping[str, Mapping[str, bytes]]) -> dict[str, dict[str, Shown]]:
    """Address and size of each picture, by spread and key."""
    return {
        spread: {key: (data_uri(data), *picture_size(data)) for key, data in pictures.items()}
        for spread, pictures in of.items()
    }


def _report_href(one: SpreadMended) -> str:
    """The report as an address: no colon and no quote mark is left in it."""
    return quote(os.fsencode(one.report or ""))


@cache
def _environment() -> Environment:
    return environment(
        "inkmix.pages.mending",
        {
            "count": count,
            "opening": opening,
            "percent": percent,
            "most_points": most_points,
            "costs": words.costs,
            "open_of": words.open_of,
            "undone_lines": words.undone_lines,
            "crop_scale": crop_scale,
            "crop_title": crop_title,
            "place_name": place_name,
            "place_ruler": place_ruler,
            "waived_words": words.waived_words,
            "guess_name": guess_name,
            "report_href": _report_href,
        },
    )


def _own_style() -> Markup:
    own = files("inkmix.pages.mending").joinpath("templates/mended.css")
    return Markup(own.read_text("utf-8"))
