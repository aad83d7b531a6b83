"""The list of inks as one HTML file that needs nothing beside it, and no script."""

from importlib.resources import files
from pathlib import Path

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from inkmix import __version__
from inkmix.base.output_files import Output, write_together
from inkmix.base.words import fixed, lab
from inkmix.jobs.inks.entries import PaperEntry
from inkmix.pages.curves import curve_svg, scale_for
from inkmix.pages.glossary import WORDS, FirstSaid, glossary
from inkmix.pages.inks.drawing import plane_svg
from inkmix.pages.inks.words import LEAST_SHOWN, opacity_word
from inkmix.pages.report.templating import style as shared_style

PAGE_MARK = b"<title>Inks and papers</title>"
"""By which a page written here is known; it stands in its first bytes."""


def render_page(papers: tuple[PaperEntry, ...], *, status: str) -> bytes:
    """The page as UTF-8; same inks, same bytes."""
    environment = Environment(
        loader=PackageLoader("inkmix.pages.inks"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["lab"] = lab
    style = files("inkmix.pages.inks").joinpath("templates/inks.css").read_text(encoding="utf-8")
    page = environment.get_template("inks.html.jinja").render(
        papers=papers,
        status=status,
        style=shared_style("glossary.css", "curves.css") + Markup(style),  # no word of a user's
        explained=FirstSaid(WORDS),
        glossary=glossary(),
        version=__version__,
        scale_for=scale_for,
        curve_svg=curve_svg,
        plane_svg=plane_svg,
        number=fixed,
        opacity_word=opacity_word,
        least_shown=LEAST_SHOWN,
    )
    return page.encode("utf-8")


def write_page(path: Path, papers: tuple[PaperEntry, ...], *, status: str) -> None:
    """Write the page, whole or not at all.

    Raises
    ------
    OutputError
        Where it cannot be written, or a file is there that inkmix did not write.
    """
    write_together({Output(path=path, mark=PAGE_MARK): render_page(papers, status=status)})
