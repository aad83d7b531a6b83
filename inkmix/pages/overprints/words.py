"""Words beside the fields: title, facts, names of groups, the key. Plain text only."""

from collections.abc import Iterator

from inkmix.base.words import difference, in_words, listing, number, percent
from inkmix.checks.tones.facts import HARD_TO_TELL_DE00
from inkmix.checks.wording import allowed_ink
from inkmix.colour.vision import PLAIN, VIEW_WORDS
from inkmix.jobs.overprints.fields import PAIR, RAMP, Block
from inkmix.jobs.overprints.sheet import OverprintSheet
from inkmix.pages.report.phrases import KNOWN, kinds_of_inks
from inkmix.press.condition import PressCondition
from inkmix.press.inks import Paper

CAUTION = "A prediction on a screen or from an office printer is not a proof."


def subtitle(sheet: OverprintSheet) -> str:
    """What the sheet is, and in which view."""
    inks = in_words(len(sheet.inks), "ink")
    view = VIEW_WORDS[sheet.view]
    return f"Overprint sheet of {inks}" + (f", {view}" if view else "")


def facts(sheet: OverprintSheet) -> tuple[str, ...]:
    """Lines on inks, paper, process, limit and how sure it all is; what may be cut comes last."""
    inks = ", ".join(f"{sign} {name}" if sign != name else name
                     for sign, name in zip(sheet.signs, sheet.inks, strict=True))  # fmt: skip
    limit = sheet.ink_limit
    allowed = allowed_ink(limit.value, limit.whose) if limit else allowed_ink(None, "")
    lines = [
        f"Inks as laid down: {inks}",
        f"Paper: {_paper(sheet.condition.paper)}   ·   {sheet.condition.process.name}",
        f"Ink limit: {allowed}",
        CAUTION,
        *_known(sheet.condition),
    ]
    return tuple(lines)


def _paper(paper: Paper) -> str:
    named = paper.paper_class in paper.name
    return paper.name if named else f"{paper.name}, {paper.paper_class}"


def _known(condition: PressCondition) -> Iterator[str]:
    yield KNOWN[condition.level]
    if condition.hints:
        yield f"A hint only: {', '.join(condition.hints)}"
    if condition.doubts:
        yield f"Unproven: {'; '.join(condition.doubts)}"
    yield from condition.cautions
    yield from kinds_of_inks(condition.process_inks, condition.spots, level=condition.level)


def group_words(group: int, inks: int) -> str:
    """Name of a group of overprints, by how many inks lie over each other."""
    if group == 0:
        return "paper"
    if group == 1:
        return "one ink, solid"
    count = in_words(group)
    return f"all {count}" if group == inks > 2 else f"{count} over each other"


def block_words(sheet: OverprintSheet, block: Block) -> tuple[str, ...]:
    """Names of a ramp, a pair or the darks, the longest first."""
    names, signs = ([of[k] for k in block.inks] for of in (sheet.inks, sheet.signs))
    if block.kind == RAMP:
        return f"{block.inks[0] + 1}  {names[0]}", names[0], signs[0]
    if block.kind == PAIR:
        both = (names, [names[0], signs[1]], signs)
        words = (f"{one} across, {other} down" for one, other in both)
        return *words, f"{signs[0]} \N{MULTIPLICATION SIGN} {signs[1]}"
    limit = sheet.ink_limit
    within = "" if limit is None else f" within {percent(limit.value)} of ink"
    return f"the deepest darks{within}", "the deepest darks", "darkest"


def key_words(sheet: OverprintSheet) -> Iterator[tuple[str, str]]:
    """Kinds of marks that are on the sheet, and what they mean."""
    fields = [field for block in sheet.blocks for field in block.fields]
    if any(block.alike for block in sheet.blocks):
        yield (
            "bridge",
            f"neighbours hard to tell apart in print (under {difference(HARD_TO_TELL_DE00)})",
        )
    if sheet.blocks[0].alike:
        yield "letter", "overprints of one letter are as hard to tell apart"
    if any(field.is_over for field in fields):
        yield "hatch", "more ink than the limit"
    if not all(field.in_srgb for field in fields):
        yield "corner", "outside sRGB: the nearest is shown"


def figures_words(sheet: OverprintSheet) -> str:
    """What the figures in the fields are."""
    view = (
        ""
        if sheet.view == PLAIN
        else "   Joined are fields that are hard to tell apart in this view."
    )
    return (
        "L* of the print, D50.   ±: expected error, 95 times in 100 the print is within it, of L* "
        "and of the whole colour (dE00).   % ink: total ink, the sum of the tone values.   "
        f"{_pair_steps(sheet)}Every figure is in the sheet\u2019s table.{view}"
    )


def _pair_steps(sheet: OverprintSheet) -> str:
    """The tone values of tints of two inks; empty where there is but one ink."""
    pair = next((block for block in sheet.blocks if block.kind == PAIR), None)
    if pair is None:
        return ""
    steps = [number(max(field.tone_pct)) for field in pair.fields[: len(pair.groups)]]
    return f"Two inks: {listing(steps)} % of each.   "
