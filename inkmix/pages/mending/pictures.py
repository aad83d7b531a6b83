"""Which pictures of a mended book the page shows, so that they fit it whatever the book holds.

Bytes in, bytes out. Places are shown pixel by pixel and never made smaller: the worst come first,
as many as there is room for. Whole sheets share what is left, and are made smaller until they fit.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from inkmix.checks.finding import FAIL, PASS
from inkmix.jobs.mending.spread import AFTER, BEFORE
from inkmix.jobs.mending.values import BookMended, CorrectionMade, SpreadMended
from inkmix.pages.report.pictures import BUDGET_BYTES, fit_pictures

MOST_SHEETS = 8
"""Spreads that are shown whole; that many can always be made small enough."""
PLACES_BYTES = 2_400_000
"""For places; whole sheets keep more than a million bytes."""

_Pair = tuple[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class PagePictures:
    """Pictures (JPEG) by spread and key, and how many places and sheets are not among them."""

    of: Mapping[str, Mapping[str, bytes]]
    places_left_out: int
    sheets_left_out: int


def page_pictures(book: BookMended, *, page: str) -> PagePictures:
    """The pictures of a page; `page` is its file name."""
    worst_first = sorted((one for one in book.spreads if one.is_changed), key=_state)
    sheets = [one for one in worst_first if BEFORE in one.pictures and AFTER in one.pictures]
    places = list(_with_room(_places(worst_first)))
    keys = {(one.spread, key): one for one in sheets[:MOST_SHEETS] for key in (BEFORE, AFTER)}
    keys |= {(one.spread, key): one for one, pair in places for key in pair}
    named = {f"{spread}/{key}": one.pictures[key] for (spread, key), one in keys.items()}
    true_size = {f"{one.spread}/{key}" for one, pair in places for key in pair}
    fitted = fit_pictures(named, budget_bytes=BUDGET_BYTES, true_size=true_size, page=page)
    of: dict[str, dict[str, bytes]] = {}
    for spread, key in keys:
        of.setdefault(spread, {})[key] = fitted[f"{spread}/{key}"]
    made = sum(max(1, len(done.crops)) for one in worst_first for done in one.corrections)
    return PagePictures(
        of=of,
        places_left_out=made - len(places),
        sheets_left_out=max(0, len(sheets) - MOST_SHEETS),
    )


def _state(one: SpreadMended) -> int:
    """What still fails goes first, then what is to be asked."""
    return 0 if one.verdict == FAIL else 1 if one.verdict != PASS else 2


def _places(spreads: list[SpreadMended]) -> list[tuple[SpreadMended, _Pair]]:
    """Places before and after: those of what still fails first, then where colour changes most."""
    places = [
        (one, made, (crop.before, crop.after))
        for one in spreads
        for made in one.corrections
        for crop in made.crops
    ]
    places.sort(key=lambda place: (_state(place[0]), -_change(place[1])))  # a lost light is first
    return [(one, pair) for one, _, pair in places]


def _change(made: CorrectionMade) -> float:
    """Roughly how much it changes: a night in points of its darkest curve, ink off in dE00."""
    if made.remedy.change is not None:
        return made.remedy.change.most_de00
    return max((curve.most_pct for curve in made.remedy.curves), default=0.0)


def _with_room(
    places: list[tuple[SpreadMended, _Pair]],
) -> Iterator[tuple[SpreadMended, _Pair]]:
    """Places as long as there is room for them."""
    used = 0
    for one, pair in places:
        used += sum(len(one.pictures[key]) for key in pair)
        if used > PLACES_BYTES:
            return
        yield one, pair
