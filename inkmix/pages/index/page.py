"""index.html: one HTML file that needs nothing beside it but the reports it links to.

Values in, bytes out; writing it is write.py's. All strings are escaped by the templates. The page
can be read without its script, which only filters and sorts; the policy in its head lets no other
script run.
"""

from base64 import b64encode
from functools import cache
from hashlib import sha256
from importlib.resources import files

from jinja2 import Environment
from markupsafe import Markup

from inkmix import __version__
from inkmix.base.words import count, difference, first_of, listing, opening, percent, whole
from inkmix.checks import table
from inkmix.checks.check import LEFT_OUT
from inkmix.checks.finding import FAIL, NOT_CHECKED, PASS, UNSURE
from inkmix.checks.guesses import CONFIRM, guess_name
from inkmix.checks.tones.words import within_words
from inkmix.checks.wording import UNSURE_MEANS
from inkmix.jobs.book_answer import (
    BROKEN,
    STATES,
    UNREADABLE,
    WAITING,
    BatchResult,
    Checked,
    ShownFinding,
)
from inkmix.jobs.waivers import what_changed
from inkmix.pages.folders import report_href
from inkmix.pages.glossary import WORDS, FirstSaid, glossary
from inkmix.pages.index import over_all, view, words
from inkmix.pages.index.thumbnails import BUDGET_BYTES, Thumbnail, fit_thumbnails
from inkmix.pages.report.templating import as_set, environment, style
from inkmix.sheet.places import place

PAGE_LIMIT_BYTES = 19_500_000
"""Pictures give way, words do not: a book of many thousand spreads may be larger."""

_PICTURE = '<img src="" '  # no word of a user's can hold a quote mark on this page


def render_index(result: BatchResult) -> bytes:
    """`index.html` as UTF-8; same result, same bytes."""
    common, colours = view.common_findings(result.rows), view.named_colours(result)
    cards = view.cards(result, common)
    values = _context(result, common, cards) | {"colours": colours}
    text = _environment().get_template("index.html.jinja").render(values)
    uses = (use for colour in colours for use in colour.uses)
    shown = (*(card.picture for card in cards), *(use.kept.picture for use in uses))
    pictures = {k: picture for k, picture in enumerate(shown) if picture}
    room = min(BUDGET_BYTES, PAGE_LIMIT_BYTES - len(text.encode("utf-8", "backslashreplace")))
    fitted = fit_thumbnails(pictures, budget_bytes=max(0, room))
    return _with_pictures(text, [fitted.get(k) for k in pictures]).encode(
        "utf-8", "backslashreplace"
    )


def _with_pictures(text: str, thumbnails: list[Thumbnail | None]) -> str:
    """The page with its thumbnails put in, one a place that was left for it."""
    first, *rest = text.split(_PICTURE)
    return first + "".join(
        f"{_image(thumbnail)}{part}" for thumbnail, part in zip(thumbnails, rest, strict=True)
    )


def _image(thumbnail: Thumbnail | None) -> str:
    if thumbnail is None:
        return "<img "
    return f'<img src="{thumbnail.uri}" width="{thumbnail.width}" height="{thumbnail.height}" '


@cache
def _environment() -> Environment:
    """Templates, compiled once: a book that is watched is written again and again."""
    return environment(
        "inkmix.pages.index",
        {
            "count": count,
            "listing": listing,
            "names": first_of,
            "label": words.label,
            "about": words.about,
            "difference": difference,
            "drift": words.drift,
            "drifts_on": words.drifts_on,
            "mean_mix": words.mean_mix,
            "place": place,
            "waiver_label": words.waiver_label,
            "waiver_state": words.waiver_state,
            "expiry": _expiry,
            "state": words.state,
            "guess_name": guess_name,
            "opening": opening,
            "percent": percent,
            "whole": whole,
            "href": report_href,
            "significant": words.significant,
            "places": _coded_uses,
            "figure_lines": _figure_lines,
            "figure_to_sort_by": _figure_to_sort_by,
        },
        finalize=_finalized,
    )


def _finalized(value: object) -> object:
    """Plain text as it is set; escaping follows. Markup is ready already."""
    return value if isinstance(value, Markup | int | float) else as_set(str(value))


def _expiry(shown: ShownFinding) -> str:
    """What made the waiver of a finding expire."""
    return "" if shown.expired is None else words.expiry(what_changed(shown.expired, shown.finding))


def _coded_uses(card: view.Card) -> str:
    """Coverage by ink for the script, in the order of the book's inks; "-" where it has none."""
    return " ".join("-" if use is None else f"{use.mean_coverage_pct:.3f}" for use in card.uses)


def _figure_lines(checked: Checked) -> list[tuple[str, str, str]]:
    """What the checks put on a card: words, what counts, the limit."""
    lines = (check.card(checked.figures) for check in table.CHECKS)
    return [line for line in lines if line is not None]


def _figures_mean() -> str:
    """What counts on a card, in one sentence."""
    of_checks = [check.card_means for check in table.CHECKS if check.card_means]
    cover = "the bar is the average cover of its inks as they print, in lay-down order."
    return opening("; ".join([*of_checks, cover]))


def _figure_to_sort_by(checked: Checked) -> str:
    """The figure by which the script may order spreads."""
    return f"{checked.figures.get(_sorting()[0]) or 0.0:.1f}"


def _sorting() -> tuple[str, str]:
    """The name of that figure, and what it means; the first check that has one gives it."""
    check = next((check for check in table.CHECKS if check.sorts_by), None)
    return ("", "") if check is None else (check.sorts_by, check.figures[check.sorts_by])


def _context(
    result: BatchResult, common: tuple[view.Common, ...], cards: tuple[view.Card, ...]
) -> dict[str, object]:
    script = files("inkmix.pages.index").joinpath("templates/index.js").read_text("utf-8")
    counted = over_all.verdict_counts(result.rows)
    return {
        "r": result,
        "version": __version__,
        "css": style("house.css", "glossary.css") + _own_style(result),
        "script": Markup(script),
        "script_hash": b64encode(sha256(script.encode("utf-8")).digest()).decode("ascii"),
        "explained": FirstSaid(WORDS),
        "glossary": glossary(),
        "headline": words.headline(result),
        "progress": words.progress(result),
        "confirm": CONFIRM,
        "ink_names": [total.ink for total in result.inks],
        "refusal": words.refusal(result),
        "watching": words.watching(result),
        "news_words": words.news,
        "unreadable_state": UNREADABLE,
        "sorting_words": _sorting()[1],
        "figures_mean": _figures_mean(),
        "turned": words.turned(result.rows),
        "not_compared": words.not_compared(result),
        "broken": BROKEN,
        "states": [(k, s, result.count(s)) for k, s in enumerate(STATES) if result.count(s)],
        "group": words.group,
        "bad": (UNREADABLE, FAIL),
        "brief": (WAITING, NOT_CHECKED, PASS),
        "verdicts": over_all.verdicts_shown(counted),
        "left_out": LEFT_OUT,
        "counted": counted,
        "common": common,
        "cards": cards,
        "changed": view.changed(cards) if result.compared else (),
        "within": within_words(over_all.colours_looked_for(result.rows)),
        "checked_spreads": sum(row.checked is not None for row in result.rows),
        "inks_at": {total.ink: k for k, total in enumerate(result.inks)},
        "most_cover": over_all.most_cover(result.rows),
        "usual": over_all.usual_sheet(row.checked for row in result.rows),
        "notes": over_all.shared_notes(result.rows),
        "unsure_means": UNSURE_MEANS if result.count(UNSURE) else "",
        "copies": words.COPIES,
        "most_faults": view.MOST_FAULTS,
    }


def _own_style(result: BatchResult) -> Markup:
    """The index's own rules, the colour of each ink, and the head of printed pages."""
    own = files("inkmix.pages.index").joinpath("templates/index.css").read_text("utf-8")
    colours = [
        f".i{k}::before {{ background: rgb{tuple(int(v) for v in total.solid_srgb8)}; }}\n"
        for k, total in enumerate(result.inks)
    ]
    head = (
        f"@page {{ @top-left {{ content: {_css_string(result.title)}; }} }}\n"
        "@page :first { @top-left { content: none; } }\n"
    )
    return Markup(own + "".join(colours) + head)


def _css_string(text: str) -> str:
    """Text as a string of CSS, all but plain letters as escapes, so that it ends nothing."""
    shown = text.encode("utf-8", "backslashreplace").decode("utf-8")
    return (
        '"' + "".join(c if c.isascii() and c.isalnum() else f"\\{ord(c):x} " for c in shown) + '"'
    )
