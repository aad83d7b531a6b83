"""What is said of mended plates, on the page and on the terminal alike."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence

from inkmix.base.words import count, listing, most_points, opening, percent
from inkmix.checks import table
from inkmix.checks.finding import FAIL, LEAST_TEXTURE_PCT, PASS, Finding
from inkmix.jobs.mending.values import BookMended, PlateMended, SpreadMended, Undone, WaivedFinding

NO_PROOF = (
    "A prediction is no proof: look at the copies before you send them; the printer has the last "
    "word."
)
NOTHING = "Nothing to mend: no plate would change, so nothing was written."
MOST_GONE = 6
MOST_NAMED = 4
BY_HAND = "`inkmix check` on this folder says what else helps."


def headline(book: BookMended) -> str:
    """The result in a sentence."""
    changed = [one for one in book.spreads if one.is_changed]
    if not changed:
        others = f" Not looked at: {listing(book.copied)}." if book.copied else ""
        return f"{NOTHING} {opening(_judged(book))}.{others}"
    plates = count(sum(len(one.plates) for one in changed), "plate")
    done = f"{plates} corrected"
    if len(book.spreads) > 1:
        done += f" on {count(len(changed), 'spread')} of {len(book.spreads)}"
    return f"{done}; {_judged(book)}.{unchecked(book)}"


def _judged(book: BookMended) -> str:
    """What stands against sending, of what was looked at; no all-clear for what was not."""
    failing = [one.spread for one in book.spreads if one.verdict == FAIL]
    open_ones = [one.spread for one in book.spreads if one.verdict not in (PASS, FAIL)]
    if failing:
        return f"{listing(failing)} still {'fails' if len(failing) == 1 else 'fail'}"
    if open_ones:
        return f"ask before sending {listing(open_ones)}"
    looked_at = listing([one.spread for one in book.spreads]) if book.copied else "them"
    return f"nothing was found against sending {looked_at} now"


def unchecked(book: BookMended) -> str:
    """Spreads that nobody looked at, as a sentence after others; empty where there are none."""
    return f" Copied without a check: {listing(book.copied)}." if book.copied else ""


def verdicts(one: SpreadMended) -> str:
    """Before and after: "fail, now pass"."""
    return one.verdict if one.was == one.verdict else f"{one.was}, now {one.verdict}"


def costs(one: SpreadMended) -> str:
    """What the corrections took from the picture, if it is much: "1 light lost"; else empty."""
    lost = sum(made.remedy.lights_lost or 0 for made in one.corrections)
    left: dict[str, float] = {}  # of each area, after all its corrections
    for made in one.corrections:
        if made.remedy.texture_pct is not None:
            left[made.name] = left.get(made.name, 100.0) * made.remedy.texture_pct / 100
    parts = [f"{count(lost, 'light')} lost"] if lost else []
    parts += [
        f"{percent(round(100 - pct))} of the texture of {name} lost"
        for name, pct in left.items()
        if pct < LEAST_TEXTURE_PCT
    ]
    return ", ".join(parts)


def note_lines(book: BookMended) -> Iterator[str]:
    """Every note once, with the spreads that it is said of where not all share it."""
    of: dict[str, list[str]] = {}
    for one in book.spreads:
        for note in dict.fromkeys(one.notes):
            of.setdefault(note, []).append(one.spread)
    for note, spreads in of.items():
        is_named = len(spreads) == len(book.spreads) or note.startswith(f"{spreads[0]}/")
        yield note if is_named else f"{listing(spreads)}: {note}"


def undone_lines(undone: Sequence[Undone]) -> Iterator[str]:
    """Why what is still open was not done: each reason once, with all that it holds for."""
    places: dict[tuple[str, str], list[str]] = {}
    for one in undone:
        places.setdefault((one.check, one.why), []).append(one.name or one.check)
    for (_, why), names in places.items():
        yield f"not done: {_without_middle(names)}: {why}."


def _without_middle(names: Sequence[str]) -> str:
    """Names in a row; of many the first and the last, for "specks" and the like come last."""
    if len(names) <= MOST_NAMED:
        return listing(names)
    first, left_out = names[: MOST_NAMED - 1], len(names) - MOST_NAMED
    return listing([*first, f"{left_out} more", names[-1]])


def waived_words(waived: WaivedFinding) -> str:
    """That a place was left as it is, and who accepts it."""
    found = waived.finding
    return f"waived, left as it is: {found.name}: {found.sentence} {waived.by}: {waived.reason}"


def plate_words(plate: PlateMended) -> str:
    """What changed in a plate, in figures."""
    parts = []
    if plate.added is not None:
        parts.append(f"up to {most_points(plate.most_added_pct)} more")
    if plate.removed is not None:
        parts.append(f"up to {most_points(plate.most_removed_pct)} less")
    return f"{plate.ink}: {listing(parts)}, on {percent(plate.changed_pct)} of the sheet"


def misfits(book: BookMended) -> Iterator[str]:
    """What of a recipe no longer fits, each with its spread."""
    yield from book.misfits
    yield from _of_spreads({one.spread: one.misfits for one in book.spreads})


def unneeded(book: BookMended) -> Iterator[str]:
    """What of a recipe was of no use this time, each with its spread; the recipe keeps it."""
    yield from _of_spreads({one.spread: one.unneeded for one in book.spreads})


def _of_spreads(said: Mapping[str, Sequence[str]]) -> Iterator[str]:
    for spread, sentences in said.items():
        for sentence in sentences:
            yield f"{spread}: {sentence}" if len(said) > 1 else sentence


def open_of_book(book: BookMended) -> tuple[Finding, ...]:
    """What is still open on every spread that was looked at, by checks of the whole book; once."""
    of_all = Counter(
        found.sentence
        for one in book.spreads
        for found in one.left
        if table.is_of_book(found.check)
    )
    first = book.spreads[0].left if len(book.spreads) > 1 else ()
    return tuple(found for found in first if of_all[found.sentence] == len(book.spreads))


def open_of(one: SpreadMended, of_book: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """What is still open on a spread, but for what is said of the book."""
    said = {(found.check, found.sentence) for found in of_book}
    return tuple(found for found in one.left if (found.check, found.sentence) not in said)


def gone(book: BookMended) -> str:
    """What was taken away of an earlier run, the first of it by name."""
    first, rest = book.gone[:MOST_GONE], len(book.gone) - MOST_GONE
    names = listing([*first, f"{rest} more"] if rest > 0 else first)
    files = count(len(book.gone), "file")
    return f"Taken away, {files} of an earlier run that this book does not have: {names}"


def left_out(places: int, sheets: int) -> str:
    """What the page has no room to show; empty where it shows all."""
    parts = [f"{count(places, 'place')} before and after"] if places else []
    parts += [count(sheets, "whole sheet")] if sheets else []
    return f"Not shown, for want of room: {listing(parts)}. The worst are shown." if parts else ""
