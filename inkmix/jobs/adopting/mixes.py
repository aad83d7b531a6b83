"""The measured mixes that one book takes over from another, by a file or told one by one.

They hold for one paper, one order of the inks and the very same inks; any other is left out.
"""

from collections.abc import Mapping
from dataclasses import replace

from inkmix.base.words import listing
from inkmix.base.words import mix as mix_words
from inkmix.book.meant.condition import column_in, read_table
from inkmix.book.values import MAX_MEASURED, InkSpec, MeasuredMix
from inkmix.colour.measured.table import MeasurementTable
from inkmix.jobs.adopting.files import CopiedFiles
from inkmix.jobs.adopting.pair import OTHER_ORDER, Pair, root_of
from inkmix.jobs.adopting.taking import Taking, read_from
from inkmix.press.swatches.charts import patches_from_table

Held = Mapping[str, str]
"""For inks of the other book that are the same here, their names in this one."""


def take_mixes(taking: Taking, pair: Pair, files: CopiedFiles) -> None:
    """Add the mixes whose inks came over, or were told alike before.

    Raises
    ------
    InkmixError
        Where the file of overprints cannot be read.
    """
    held = {theirs: name for name, theirs in pair.theirs.items() if name in taking.held}
    _take_overprints(taking, pair, held, files)
    _take_measured(taking, pair, held)


def _take_overprints(taking: Taking, pair: Pair, held: Held, files: CopiedFiles) -> None:
    file = pair.other.book.press.overprints
    if file is None:
        return
    if why := _against_overprints(taking, pair, held, file):
        taking.leave(f"the measured overprints ({file})", why)
    else:
        taking.overprints = files.path_of(file)


def _against_overprints(taking: Taking, pair: Pair, held: Held, file: str) -> str:
    """Why a file of mixes cannot be used here; empty where it can."""
    if pair.ours.book.press.overprints is not None or pair.ours.press is not None:
        return "this book has a file of its own"
    if not pair.is_same_paper:
        return pair.paper_words
    table = read_table(pair.other.book, file)
    specs = [taking.specs.get(one.name, one) for one in pair.ours.book.inks]
    columns = [_column(table, one) for one in specs]
    there = {name: _column(table, pair.other.spec(theirs)) for theirs, name in held.items()}
    for spec, column in zip(specs, columns, strict=True):
        if column is not None and column != there.get(root_of(spec)):
            return f"nobody says that its column {column} is the {spec.name} of this book"
    if pair.is_other_order({own: name for own, name in held.items() if there[name] is not None}):
        return OTHER_ORDER
    if patches_from_table(table, columns) is None:
        return "it holds no mixes of these inks in their order"
    return ""


def _column(table: MeasurementTable, spec: InkSpec) -> str | None:
    return column_in(table, spec.column or spec.name)


def _take_measured(taking: Taking, pair: Pair, held: Held) -> None:
    room = MAX_MEASURED - len(pair.ours.book.measured)
    reasons: dict[str, list[str]] = {}
    for one in pair.other.book.measured:
        why = _against_mix(pair, held, one)
        if not why and len(taking.measured) >= room:
            why = f"a book holds {MAX_MEASURED} at most"
        if why:
            reasons.setdefault(why, []).append(mix_words(dict(one.mix_pct)))
        else:
            taking.measured.append(_told_here(pair, held, one))
    for why, mixes in reasons.items():
        word = "mix" if len(mixes) == 1 else "mixes"
        taking.leave(f"the measured {word} {listing(mixes)}", why)


def _told_here(pair: Pair, held: Held, one: MeasuredMix) -> MeasuredMix:
    return replace(one, mix_pct=_in_our_names(held, one), read_from=read_from(pair, one.read_from))


def _in_our_names(held: Held, one: MeasuredMix) -> dict[str, float]:
    return {held[name]: pct for name, pct in one.mix_pct.items() if pct > 0}


def _against_mix(pair: Pair, held: Held, one: MeasuredMix) -> str:
    """Why a mix cannot be taken over; empty where it can."""
    if not pair.is_same_paper:
        return pair.paper_words
    strangers = [name for name, pct in one.mix_pct.items() if pct > 0 and name not in held]
    if strangers:
        return f"{listing(strangers)} did not come over"
    mix = _in_our_names(held, one)
    if pair.is_other_order({own: name for own, name in held.items() if name in mix}):
        return OTHER_ORDER
    if any(_held_by(told) == mix for told in pair.ours.book.measured):
        return "this book has a reading of its own"
    return ""


def _held_by(told: MeasuredMix) -> dict[str, float]:
    return {name: pct for name, pct in told.mix_pct.items() if pct > 0}
