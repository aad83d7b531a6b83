"""What is said of a calibration, on the page and in the terminal alike.

Plain text only: nothing here knows of HTML, and nothing is computed but roundings.
"""

import math
from collections.abc import Iterator

from inkmix.base.words import (
    count,
    difference,
    first_of,
    in_words,
    lightness,
    listing,
    mix,
    number,
    whole,
)
from inkmix.jobs.calibrating.read_off import PairRead
from inkmix.jobs.calibrating.to_print import NextMixes
from inkmix.jobs.calibrating.values import Calibration, MixKnown, SolidFound
from inkmix.pages.calibration import photograph_words
from inkmix.press.calibration.crossed import Predicted
from inkmix.press.calibration.drift import Moved
from inkmix.press.calibration.order import LikelyOrder, PairOrder
from inkmix.press.calibration.suspects import Suspect
from inkmix.press.solids.opacity import Opacity

SEEN_DE00 = 1.0
"""Differences from here on can be seen where colours touch."""
NO_PROOF = (
    "A prediction is no proof, and a measured sheet tells of that sheet: what the press carries, "
    "and in which order it prints, is your printer’s to say."
)
NO_SPECTRA = (
    "The readings hold no spectra, by which overprints of spot inks are foretold far better: ask "
    "for them, the instrument mostly has them."
)
_LEAST_OPACITY = 0.005  # below it an ink is called transparent
RUN_DE00 = 2.0
"""So far sheets of one run may differ: ISO 12647-2 lets solids vary by dE*ab 4 (from memory), which
is about half as much in dE00."""
WORTH_DE00 = 0.1  # of an expected error, to print more for
_CLEARLY_DE00 = 0.5  # by which an expected error has to be larger to be said so
MOST_NAMES = 4


def what_was_read(found: Calibration) -> str:
    """Readings of what, on what."""
    press = found.press
    how = "photographed reading" if found.photograph is not None else "reading"
    return (
        f"{press.origin.measurements}: {count(len(found.readings), how)} of "
        f"{listing(press.names)} on {press.paper.paper_class} paper, "
        f"{_mixes(len(press.mixes.rows))} among them."
    )


def _mixes(amount: int) -> str:
    return "1 mix" if amount == 1 else f"{whole(amount)} mixes"


def left_out(found: Calibration) -> str:
    """How many readings are not used."""
    if not found.suspects:
        return "Every reading agrees with what the others lead to expect, so all are used."
    those = "It is" if len(found.suspects) == 1 else "They are"
    return (
        f"{count(len(found.suspects), 'reading')} cannot be of the patch that the list says. "
        f"{those} left out of everything below: read again, and calibrate once more."
    )


def mix_of(found: Calibration, one: Suspect) -> str:
    """The mix that a reading is said to be of."""
    return mix(dict(zip(found.press.names, one.tone_pct.tolist(), strict=True)))


def less_sure(found: Calibration) -> str:
    """Which mixes are less sure than the book's own word had it; empty where none is."""
    names = [one.name for one in found.mixes if one.de00 > one.was_de00 + _CLEARLY_DE00]
    if not names:
        return ""
    if found.photograph is not None:
        return photograph_words.less_sure(names)
    said = f"Less sure than the book had it: {listing(names)}. Print and read such a mix."
    if found.readings.chart.reflectance is None:
        said += f" {NO_SPECTRA}"
    return said


def foretold(found: Calibration) -> Iterator[str]:
    """How far off mixes are from what was foretold of them."""
    was, now = found.before, found.after
    if was is not None:
        yield (
            f"As {what_foretold(found)} foretold them, mixes are "
            f"{difference(was.mean_de00)} off on average; {_inside(was)} lie within the "
            "expected error."
        )
    if now is None:
        yield (
            "Too few mixes were read to foretell each from the others: ten are the fewest, and "
            "forty say it well."
        )
        return
    yield (
        f"Each foretold from the others, they are {difference(now.mean_de00)} off on average, 95 "
        f"of 100 within {difference(now.p95_de00)}; {_inside(now)} lie within the "
        "expected error."
    )
    if found.photograph is not None:
        yield photograph_words.ONE_CAMERA


def what_foretold(found: Calibration) -> str:
    """What the book went by."""
    return f"the readings of {found.earlier}" if found.earlier else "the book"


def _inside(foretold: Predicted) -> str:
    amount = len(foretold.de00)
    return f"{whole(round(foretold.inside * amount))} of {whole(amount)}"


def repeats(found: Calibration) -> str:
    """How far readings of one mix part."""
    one = found.scatter
    if one is None:
        return (
            "No patch was read twice, so nothing is known of how evenly the press prints. "
            "A form holds patches more than once for this."
        )
    there = "1 mix was" if one.repeated == 1 else f"{whole(one.repeated)} mixes or tints were"
    return (
        f"{there} read twice or more. A reading lies {difference(one.mean_de00)} from the mean of "
        f"its kind on average, {difference(one.most_de00)} at most: that is the press across the "
        f"sheet, and the {'camera' if found.photograph is not None else 'instrument'}."
    )


def whose_word(found: Calibration) -> str:
    """Where the book's own colours come from, where that is one source; else empty."""
    told = {one.told for one in found.solids}
    return f"The book’s own colours: {told.pop()}." if len(told) == 1 else ""


def whose_value(found: Calibration, one: SolidFound, source: str = "") -> str:
    """Whether book and press differ in a colour, and whose value is used."""
    whose = f"The book’s{f' ({source})' if source else ''}"
    used = f"The {read_how(found)} one is used."
    if found.photograph is not None and one.name == "paper":
        return "A camera sees all colours beside the paper’s: the book’s own is used."
    if one.de00 < SEEN_DE00:
        return f"{whose} agrees, {difference(one.de00)}. {used}"
    return f"{whose} is {difference(one.de00)} away. {used}"


def read_how(found: Calibration) -> str:
    """How colours came to be known."""
    return "measured" if found.photograph is None else "photographed"


def opacity_words(opacity: Opacity) -> str:
    """What is known of an ink's opacity."""
    value = "transparent" if opacity.value < _LEAST_OPACITY else number(opacity.value, 2)
    whose = {
        "told": "as the book says",
        "learnt": "learnt from these overprints",
        "usual": "as is usual for such inks",
    }
    by = f"a guess by {opacity.by}" if opacity.by else whose.get(opacity.why, opacity.word)
    return f"{value} ± {number(opacity.sd, 2)}, {by}"


def pair_words(pair: PairRead) -> str:
    """What there is to say of a trapping figure, beside the figure."""
    trapping = pair.trapping
    if pair.hides:
        return f"{pair.second} hides what lies under it: no trapping in this sense"
    if trapping.trapping_pct is None:
        return f"{pair.second} is too pale to tell"
    if trapping.trapping_pct < 0:
        return f"{pair.second} lightens {pair.first}: it scatters, and adds no density there"
    if not pair.is_telling:
        return f"{pair.first} is dense there itself: the figure says little"
    return ""


def order_words(order: LikelyOrder | None) -> Iterator[str]:
    """Whether the overprints speak for the book's order."""
    if order is None:
        yield "No two solids were read on each other, so nothing speaks for any order."
        return
    if order.is_told:
        yield f"Nothing speaks clearly against the book’s order: {listing(order.inks)}."
    else:
        yield f"The overprints look as if printed in another order: {listing(order.inks)}."
    yield (
        "That is a hint only, drawn from how solids look on each other: ask your printer, whose "
        "word counts."
    )


def order_pair_words(pair: PairOrder) -> str:
    """How well each way fits."""
    told, turned = difference(pair.as_told_de00), difference(pair.turned_de00)
    return (
        f"{pair.second} on {pair.first}, as the book has it, was read {told} away from what was "
        f"expected; for {pair.first} on {pair.second} it would be {turned}."
    )


def moved_words(moved: Moved) -> str:
    """By how much a colour moved."""
    way = "lighter" if moved.lighter_L > 0 else "darker"
    return f"{difference(moved.de00)}, {lightness(abs(moved.lighter_L))} {way}"


def matters(moved: Moved, mixes: tuple[MixKnown, ...]) -> str:
    """Whether what moved of a mix is more than was expected to be off."""
    if moved.de00 < SEEN_DE00:
        return "hardly to be seen"
    if is_of_run(moved, mixes):
        return "no more than it was known to, and sheets of one run differ"
    return "more than it was known to, and than two sheets of one run differ: look at it again"


def is_of_run(moved: Moved, mixes: tuple[MixKnown, ...]) -> bool:
    """Whether two sheets of one run may differ so far, as well as each is known."""
    known = next((one for one in mixes if one.name == moved.what), None)
    errors = (known.de00, known.was_de00) if known else ()
    return moved.de00 <= math.hypot(RUN_DE00, *errors)


def drift_words(found: Calibration) -> str:
    """What moved most since the earlier readings."""
    if found.drift is None:
        return ""
    far = [one for one in found.drift.basics if one.de00 >= RUN_DE00]
    said = f"Compared with {found.drift.since}, which the book names: "
    if not far:
        return (
            f"{said}neither paper nor any solid or tint moved by {difference(RUN_DE00)} or more; "
            "single sheets of one run may differ so far."
        )
    most = [f"{one.what} ({difference(one.de00)})" for one in far]
    return (
        f"{said}{first_of(most, most=MOST_NAMES)} moved. Single sheets of one run may differ by "
        f"{difference(RUN_DE00)}: read two or three before you call it drift."
    )


def is_worth(to_print: NextMixes) -> bool:
    """Whether more mixes would make others noticeably surer."""
    gains = (
        to_print.all_de00 - to_print.all_then_de00,
        to_print.asked_de00 - to_print.asked_then_de00,
    )
    return max(gains) >= WORTH_DE00


def gains(to_print: NextMixes) -> str:
    """What the next mixes would gain."""
    if not is_worth(to_print):
        return (
            "More mixes would hardly make the others surer: the best ten bring the expected error "
            f"from {_fine(to_print.all_de00)} to {_fine(to_print.all_then_de00)} on average."
        )
    said = (
        f"These {in_words(len(to_print.mixes))} would bring the expected error of mixes within the "
        f"ink limit from {_fine(to_print.all_de00)} to {_fine(to_print.all_then_de00)} on average"
    )
    if to_print.asked_de00:
        said += (
            f", and of what the book asks for from {_fine(to_print.asked_de00)} to "
            f"{_fine(to_print.asked_then_de00)}"
        )
    return f"{said}, if the press prints as is foretold."


def _fine(de00: float) -> str:
    return f"dE00 {number(de00, 2)}"


def unread(to_print: NextMixes) -> str:
    """What the book asks for and nobody read; empty where all was."""
    if not to_print.unread:
        return ""
    return (
        f"Not read so far of what the book asks for: {listing(to_print.unread)}. A mix that was "
        "printed and read itself is known best of all: a form made by inkmix testform holds the "
        "named tones."
    )
