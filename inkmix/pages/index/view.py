"""What the index page shows, in its order: cards, what many spreads share, what has changed.

Choosing and ordering only; wording is in words, layout in the templates.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from inkmix.checks import table
from inkmix.checks.finding import NOT_CHECKED, VERDICTS
from inkmix.jobs.book_answer import (
    STATES,
    BatchResult,
    Checked,
    ColourDrift,
    InkUse,
    KeptFinding,
    KeptUse,
    ShownFinding,
    SpreadRow,
)
from inkmix.pages.index.over_all import sheet, usual_sheet
from inkmix.pages.index.waive import WAIVABLE, may_be_waived, waive_block

MANY = 4
"""From as many spreads on a finding is said once for all of them."""

SEVERAL = 2
"""The same for findings that follow from the book and no plate."""

MOST_LISTED = 6000
"""Findings on the whole page, some 700 bytes each; the tables hold all."""

MOST_USES = 300
"""Uses of named colours on the whole page, each with a picture; a table holds all."""

MOST_FAULTS = 8

Same = tuple[str, str, str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """A finding as a card shows it, with the block that accepts it, where there is one."""

    shown: ShownFinding
    block: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Common:
    """A finding that several spreads share: nobody waived it, and it rests on the same everywhere.

    `block` accepts it, where there is something to accept.
    """

    mark: str
    finding: KeptFinding
    spreads: tuple[str, ...]
    block: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Use:
    """A named colour on one spread; `folder` is that of its report."""

    spread: str
    folder: str
    kept: KeptUse


@dataclass(frozen=True, slots=True, kw_only=True)
class NamedColour:
    """A colour that the book names, and its uses, those that are listed in natural order."""

    drift: ColourDrift
    within_de00: float
    uses: tuple[Use, ...]

    @property
    def unlisted(self) -> int:
        """Uses that only the table holds."""
        return len(self.drift.spreads) - len(self.uses)


@dataclass(frozen=True, slots=True, kw_only=True)
class Card:
    """One spread.

    Parameters
    ----------
    number : int
        Place in natural order, from 1.
    first : Item or None
        The worst that is its own and not waived.
    further, waived : tuple of Item
        What else is listed.
    unlisted : int
        Findings that only its report and the tables hold.
    uses : tuple of InkUse or None
        In the order of the book's inks.
    """

    number: int
    row: SpreadRow
    first: Item | None
    further: tuple[Item, ...]
    waived: tuple[Item, ...]
    unlisted: int
    common: tuple[Common, ...]
    uses: tuple[InkUse | None, ...]
    differs: str

    @property
    def picture(self) -> bytes:
        """Its thumbnail, or while it is waiting a quick look; empty where there is neither."""
        return self.row.preview if self.row.checked is None else self.row.checked.thumbnail

    @property
    def new(self) -> int:
        """How many of its findings are new."""
        return sum(shown.is_new for shown in self.row.findings)

    @property
    def expired(self) -> int:
        """How many of its findings were waived until something changed."""
        return sum(shown.expired is not None for shown in self.row.findings)

    @property
    def open_checks(self) -> tuple[str, ...]:
        """Checks that found something which is not waived."""
        found = [shown.finding.check for shown in self.row.findings if is_open(shown)]
        return tuple(dict.fromkeys(found))

    @property
    def blocks(self) -> tuple[Item, ...]:
        """What can be accepted here."""
        own = (self.first, *self.further)
        return tuple(item for item in own if item is not None and item.block)


def is_open(shown: ShownFinding) -> bool:
    """Whether a finding was judged and is not waived."""
    return shown.waiver is None and shown.finding.verdict != NOT_CHECKED


def common_findings(rows: Iterable[SpreadRow]) -> tuple[Common, ...]:
    """What several spreads share, worst first, then what most share."""
    spreads: dict[Same, list[str]] = {}
    found: dict[Same, KeptFinding] = {}
    for row in rows:
        for shown in filter(_may_be_shared, row.findings):
            key = _same(shown.finding)
            spreads.setdefault(key, []).append(row.name)
            found.setdefault(key, shown.finding)
    many = [key for key, named in spreads.items() if len(named) >= _enough(found[key])]
    many.sort(key=lambda key: (VERDICTS.index(key[3]), -len(spreads[key])))
    return tuple(
        Common(
            mark=_letters(k),
            finding=found[key],
            spreads=tuple(spreads[key]),
            block=waive_block(found[key], spread=None) if key[3] in WAIVABLE else "",
        )
        for k, key in enumerate(many)
    )


def _may_be_shared(shown: ShownFinding) -> bool:
    """What follows from the book alone need not be judged to be said once."""
    is_of_book = shown.waiver is None and table.is_of_book(shown.finding.check)
    return is_of_book or may_be_waived(shown)


def _enough(finding: KeptFinding) -> int:
    return SEVERAL if table.is_of_book(finding.check) else MANY


def _same(finding: KeptFinding) -> Same:
    return finding.check, finding.name, finding.rests_on, finding.verdict


def _letters(k: int) -> str:
    """A, B, ... Z, AA, AB, ..."""
    return (_letters(k // 26 - 1) if k >= 26 else "") + chr(ord("A") + k % 26)


def cards(result: BatchResult, common: Sequence[Common]) -> tuple[Card, ...]:
    """All spreads, those first that have to be looked at first, else in natural order."""
    shared = {_same(one.finding): one for one in common}
    most = most_a_card([len(row.findings) for row in result.rows])
    usual = usual_sheet(row.checked for row in result.rows)
    inks = [total.ink for total in result.inks]
    made = [
        _card(row, number=k, shared=shared, most=most, inks=inks, usual=usual)
        for k, row in enumerate(result.rows, start=1)
    ]
    return tuple(sorted(made, key=lambda card: STATES.index(card.row.state)))


def most_a_card(amounts: Sequence[int], *, room: int = MOST_LISTED) -> int:
    """The most findings that each card may list, so that all together keep to `room`.

    >>> most_a_card([1, 50, 3], room=20)
    16
    """
    most = max(amounts, default=0)
    while most > 1 and sum(min(most, amount) for amount in amounts) > room:
        most -= 1
    return most


def _card(
    row: SpreadRow,
    *,
    number: int,
    shared: Mapping[Same, Common],
    most: int,
    inks: Sequence[str],
    usual: str,
) -> Card:
    marked = [(shown, _shared(shown, shared)) for shown in row.findings]
    own = [_item(shown, row.name) for shown, one in marked if one is None]
    open_ones = [item for item in own if item.shown.waiver is None]
    waived = [item for item in own if item.shown.waiver is not None]
    listed = open_ones[:most]
    own_sheet = "" if row.checked is None else sheet(row.checked)
    return Card(
        number=number,
        row=row,
        first=next(iter(listed), None),
        further=tuple(listed[1:]),
        waived=tuple(waived[: most - len(listed)]),
        unlisted=max(0, len(own) - most),
        common=tuple(one for _, one in marked if one is not None),
        uses=_uses(row.checked, inks),
        differs="" if own_sheet == usual else own_sheet,
    )


def _shared(shown: ShownFinding, shared: Mapping[Same, Common]) -> Common | None:
    return shared.get(_same(shown.finding)) if _may_be_shared(shown) else None


def _item(shown: ShownFinding, spread: str) -> Item:
    block = waive_block(shown.finding, spread=spread) if may_be_waived(shown) else ""
    return Item(shown=shown, block=block)


def _uses(checked: Checked | None, inks: Sequence[str]) -> tuple[InkUse | None, ...]:
    by_ink = {} if checked is None else {use.ink: use for use in checked.inks}
    return tuple(by_ink.get(ink) for ink in inks)


def named_colours(result: BatchResult) -> tuple[NamedColour, ...]:
    """Every colour that the book names, with as many uses as the page has room for."""
    most = max(2, MOST_USES // max(1, len(result.colours)))
    uses: dict[str, list[Use]] = {drift.name: [] for drift in result.colours}
    within: dict[str, float] = {}
    for row in result.rows:
        if row.checked is None:
            continue
        for kept in row.checked.uses:
            within[kept.use.name] = kept.use.within_de00
            if kept.use.is_used:
                use = Use(spread=row.name, folder=row.checked.folder, kept=kept)
                uses[kept.use.name].append(use)
    return tuple(
        NamedColour(
            drift=drift,
            within_de00=within[drift.name],
            uses=_listed(uses[drift.name], drift, most),
        )
        for drift in result.colours
    )


def _listed(uses: Sequence[Use], drift: ColourDrift, most: int) -> tuple[Use, ...]:
    """The two that differ most and the largest others."""
    by_weight = sorted(
        uses, key=lambda use: (use.spread not in drift.farthest, -use.kept.use.area_mm2)
    )
    kept = {use.spread for use in by_weight[:most]}
    return tuple(use for use in uses if use.spread in kept)


def changed(made: Iterable[Card]) -> tuple[Card, ...]:
    """Spreads that differ since the last run, in natural order."""
    found = [
        card for card in made if card.new or card.row.gone or card.row.is_new or card.row.turned
    ]
    return tuple(sorted(found, key=lambda card: card.number))
