"""The report page: one HTML file that needs nothing beside it, and no script.

Values in, text out; writing it is write.py's. All strings are escaped by the templates.
"""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import cache

from jinja2 import Environment

from inkmix import __version__
from inkmix.base import words
from inkmix.base.errors import Fault, OutputError
from inkmix.checks import wording
from inkmix.checks.guesses import CONFIRM, guess_name
from inkmix.jobs.answer import ShownRemedy, SpreadResult
from inkmix.pages.glossary import FirstSaid, Solid, Word, glossary, words_of_book
from inkmix.pages.report import phrases, view
from inkmix.pages.report.pictures import PAGE_LIMIT_BYTES, data_uri, fit_pictures, picture_size
from inkmix.pages.report.plan import plan
from inkmix.pages.report.ramps import ramps_svg
from inkmix.pages.report.templating import environment, style
from inkmix.pages.svg import definitions, fields, histogram

STACK_FROM = 1.5  # width to height from which the pair stands one above the other
PLAN = "plan"
HIDING = 0.1  # opacity from which an ink is said to hide what lies under it
STRIP_FROM = 3.4  # from which the pair may be moved sideways on a narrow screen
FILTERS = {
    "number": words.number,
    "percent": words.percent,
    "measure": words.measure,
    "area": words.area,
    "millimetres": words.millimetres,
    "size": words.size_of,
    "count": words.count,
    "plural": words.plural,
    "opening": words.opening,
    "opacity": phrases.opacity,
    "whose": phrases.whose,
    "place_name": phrases.place_name,
    "place_ruler": phrases.place_ruler,
    "crop_title": phrases.crop_title,
    "crop_scale": phrases.crop_scale,
    "by_how_much": phrases.by_how_much,
    "expected_error": phrases.expected_error,
    "reaches": phrases.reaches,
    "best_remedy": view.best_remedy,
    "places": view.places,
    "about": view.about,
    "guess_name": guess_name,
    "scattered": view.is_scattered,
    "mix": words.mix,
}


def render_page(result: SpreadResult) -> bytes:
    """`report.html` as UTF-8, at most 5 MB; same result, same bytes.

    Raises
    ------
    OutputError
        Where a picture is named but not given, or the page would be too large.
    """
    _refuse_missing(result)
    shown = {key: result.pictures[key] for key in dict.fromkeys(_named(result))}
    true_size = {key for one in result.remedies_shown for key in _crops(one)}
    fitted = fit_pictures(shown | {PLAN: result.pictures[_plan_key(result)]}, true_size=true_size)
    page = _rendered(result, fitted).encode("utf-8", "backslashreplace")
    if len(page) > PAGE_LIMIT_BYTES:
        found = f"{len(page) / 1e6:.1f} MB"
        raise OutputError(Fault(where="report.html", found=found, expected="at most 5 MB fit"))
    return page


def _rendered(result: SpreadResult, pictures: Mapping[str, bytes]) -> str:
    """The text of the page.

    A template's macros hold all that it was given in a circle, which is found late: who writes
    hundreds of pages would hold a hundred megabytes of pictures. So these are taken away at once.
    """
    uri = {key: data_uri(data) for key, data in pictures.items()}
    values = _context(replace(result, pictures={}), pictures, uri=uri)
    try:
        return _environment().get_template("report.html.jinja").render(values)
    finally:
        uri.clear()


@cache
def _environment() -> Environment:
    """Templates, compiled once: a program may write hundreds of pages."""
    return environment("inkmix.pages.report", FILTERS, others=view.template_text)


def _context(
    result: SpreadResult, pictures: Mapping[str, bytes], *, uri: Mapping[str, str]
) -> dict[str, object]:
    items = view.numbered(result.findings)
    words = _words(result)
    width, height = picture_size(pictures["print"])
    return {
        "r": result,
        "version": __version__,
        "css": style("house.css", "glossary.css", "report.css"),
        "items": items,
        "confirm": CONFIRM,
        "same_as": view.same_as(items[: view.MOST_ROWS]),
        "mended": view.mended(items[: view.MOST_ROWS], result.remedies_shown),
        "questions": view.questions(result.ask_printer),
        "explained": FirstSaid(words),
        "glossary": glossary(words),
        "ramps": ramps_svg,
        "most_rows": view.MOST_ROWS,
        "to_do": view.to_do(items),
        "unsure_means": wording.UNSURE_MEANS if view.has_unsure(items) else "",
        "of_check": view.of_check,
        "checked": view.check_lines(result),
        "skipped": view.skipped_checks(result),
        "how_known": phrases.how_known(result.condition),
        "definitions": lambda: definitions(uri[PLAN]),
        "plan": plan(result.sheet, view.marks(items)),
        "sections": view.sections(result),
        "histogram": histogram,
        "check_names": view.check_names(),
        "hatch": view.hatch,
        "fields": fields,
        "hiding": HIDING,
        "pair_class": _pair_class(width / height),
        "uri": uri,
        "size": {key: picture_size(data) for key, data in pictures.items()},
    }


def _words(result: SpreadResult) -> tuple[Word, ...]:
    """The words of the page, with the figures of this spread."""
    solids = [
        Solid(
            name=ink.name,
            lab=ink.solid_lab,
            mean_tone_pct=None if ink.file is None else ink.mean_tone_pct,
        )
        for ink in result.inks
    ]
    mixes = [dict(tone.mix_pct) for tone in result.facts.get("tones", ())]
    return words_of_book(solids, paper_L=result.condition.paper_lab[0], mixes=mixes)


def _pair_class(aspect: float) -> str:
    if aspect >= STRIP_FROM:
        return "stacked strip"
    return "stacked" if aspect >= STACK_FROM else "beside"


def _plan_key(result: SpreadResult) -> str:
    """The picture under the plan: the predicted print where no other is given."""
    return PLAN if PLAN in result.pictures else "print"


def _named(result: SpreadResult) -> Iterator[str]:
    """Keys of all pictures that the page shows."""
    yield from ("screen", "print", _plan_key(result))
    named = [ink.picture for ink in result.inks]
    named += [item.finding.picture for item in view.numbered(result.findings)]
    named += [use.picture for answer in result.answers for use in answer.uses]
    if result.reference:
        named.append(result.reference.picture)
    for one in result.remedies_shown:
        named += [*_crops(one), one.change.picture if one.change else None]
    yield from (key for key in named if key)


def _crops(shown: ShownRemedy) -> Iterator[str]:
    """Keys of pictures that stand pixel by pixel."""
    for crop in shown.crops:
        yield from (crop.before, crop.after)


def _refuse_missing(result: SpreadResult) -> None:
    missing = [key for key in dict.fromkeys(_named(result)) if key not in result.pictures]
    if missing:
        raise OutputError(
            [Fault(where="report.html", found=f"no picture named {key!r}") for key in missing]
        )
