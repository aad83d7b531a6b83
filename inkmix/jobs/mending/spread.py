"""One spread mended: corrections found, copies written, places shown before and after."""

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, replace
from functools import partial

from inkmix.base.allocator import give_back
from inkmix.book.meant.plates import SpreadFiles
from inkmix.book.values import Book
from inkmix.checks.finding import PASS, Finding, Remedy, overall
from inkmix.checks.guesses import guesses_of
from inkmix.checks.headline import headline
from inkmix.checks.total_ink.facts import TOTAL_INK
from inkmix.checks.window import Planes
from inkmix.jobs.answer import BeforeAfter, SpreadResult
from inkmix.jobs.check import answers_of
from inkmix.jobs.check import told as findings_of
from inkmix.jobs.checking.places import Places
from inkmix.jobs.mending.find import Made, SheetMending, find_mending
from inkmix.jobs.mending.folder import MendedFolder
from inkmix.jobs.mending.recipe import SpreadRecipe
from inkmix.jobs.mending.undone import undone_of
from inkmix.jobs.mending.values import CorrectionMade, SpreadMended, WaivedFinding
from inkmix.jobs.mending.write import write_copies
from inkmix.jobs.printing.pictures import jpeg_bytes
from inkmix.jobs.spread import Progress, open_uncounted
from inkmix.plates.files.scratch.room import ScratchRoom
from inkmix.plates.files.snapshots import while_at_rest

MOST_SHOWN = 12
"""Corrections of a spread that are shown."""

BEFORE, AFTER = "before", "after"
"""Keys of the whole sheet."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What is asked of every spread of a book.

    Parameters
    ----------
    book : Book
    checks : collection of str
        Names of the checks whose findings are mended; all checks judge.
    to : MendedFolder
    give_up_lights : bool
        Whether corrections are made that spoil the picture.
    waived : callable
        Tells which findings of a spread somebody accepts: these places are left as they are.
    begin : callable
        Told before anything is written.
    """

    book: Book
    checks: Collection[str]
    to: MendedFolder
    room: ScratchRoom
    give_up_lights: bool
    waived: Callable[[SpreadFiles, Sequence[Finding]], Sequence[WaivedFinding]]
    begin: Callable[[], None]
    progress: Progress


def mend_spread(
    asked: Asked, files: SpreadFiles, recipe: SpreadRecipe | None
) -> tuple[SpreadMended, SpreadRecipe]:
    """Mend the plates of a spread; what was done, not yet checked again, and its recipe.

    Where no plate changes, nothing is written.

    Raises
    ------
    InkmixError
        Where an input cannot be used, or a copy cannot be written.
    """

    sheet_px = 0

    def mended() -> tuple[SpreadMended, SpreadRecipe]:
        nonlocal sheet_px
        spread = open_uncounted(
            asked.book, files.name, room=asked.room, progress=asked.progress, tries=1
        )
        sheet_px = spread.plates.sheet_px
        with spread.seen.held():
            found = find_mending(
                spread,
                asked.checks,
                recipe,
                waived=partial(asked.waived, files),
                give_up_lights=asked.give_up_lights,
                progress=asked.progress,
            )
        told = _told(asked, found)
        if not found.made:
            return told, found.recipe
        asked.begin()
        to = asked.to.copies(files, changed=True)
        plates, notes = write_copies(found, asked.to.folder, to=to, progress=asked.progress)
        return replace(told, plates=plates, notes=(*told.notes, *notes)), found.recipe

    done = while_at_rest(mended)
    give_back(sheet_px)  # before the copies are checked
    return done


def rechecked(
    mended: SpreadMended, result: SpreadResult, *, names: Collection[str], report: str
) -> SpreadMended:
    """The same, with what the checks say of the copies."""
    return replace(
        mended,
        verdict=result.verdict,
        sentence=result.sentence,
        left=tuple(one for one in result.findings if one.verdict != PASS),
        undone=undone_of(result.findings, names=names, known=mended.undone, waived=mended.waived),
        guesses=result.guesses,
        report=report,
        pictures={**mended.pictures, AFTER: result.pictures["print"]},
    )


def _told(asked: Asked, found: SheetMending) -> SpreadMended:
    """What was found, as it is for the plates as they came."""
    looked = found.looked
    answers, guesses = answers_of(looked), guesses_of(looked.spread.book, looked.spread.condition)
    findings = findings_of(looked)
    verdict = overall(answer.verdict for answer in answers)
    sentence = headline({one.check: one.verdict for one in answers}, findings, guesses)
    corrections, pictures = _shown(found)
    return SpreadMended(
        spread=looked.spread.name,
        was=verdict,
        was_sentence=sentence,
        verdict=verdict,
        sentence=sentence,
        corrections=corrections,
        left=tuple(one for one in findings if one.verdict != PASS),
        misfits=found.misfits,
        unneeded=found.unneeded,
        undone=undone_of(findings, names=asked.checks, known=found.undone, waived=found.waived),
        waived=found.waived,
        guesses=guesses,
        notes=(*looked.spread.notes, *(note for one in answers for note in one.notes)),
        pictures=pictures,
    )


def _shown(
    found: SheetMending,
) -> tuple[tuple[CorrectionMade, ...], dict[str, bytes]]:
    """The corrections, each with places before and after; and the whole sheet before."""
    made: list[CorrectionMade] = []
    pictures: dict[str, bytes] = {}
    for number, one in enumerate(found.made):
        crops, of_crops = _crops(found, one, number) if number < MOST_SHOWN else ((), {})
        pictures |= of_crops
        made.append(
            CorrectionMade(
                check=one.check,
                name=one.mended.name,
                remedy=_as_done(one, found.made[number + 1 :]),
                crops=crops,
            )
        )
    if made:
        pictures[BEFORE] = jpeg_bytes(found.looked.gathered.as_printed.srgb8)
    return tuple(made), pictures


def _as_done(made: Made, later: Sequence[Made]) -> Remedy:
    """A remedy without what no longer holds, and without the pixels that it was found on.

    That is advice that was followed, ink off; and what was reached before another correction of
    the same area, which says it anew.
    """
    remedy, place = made.mended.remedy, (made.check, made.mended.name)
    remedy = replace(remedy, correction=None)
    if any(one.check == TOTAL_INK for one in later):
        remedy = replace(remedy, advice="")
    if any((one.check, one.mended.name) == place for one in later):
        remedy = replace(remedy, gains="")
    return remedy


def _crops(
    found: SheetMending, made: Made, number: int
) -> tuple[tuple[BeforeAfter, ...], dict[str, bytes]]:
    """Places of a correction before and after all of them, at true pixels."""
    looked, pictures = found.looked, dict[str, bytes]()
    places = Places(
        spread=looked.spread,
        colouring=looked.printed,
        reduced_tone_pct=looked.gathered.reduced_tone_pct,
    )

    def after(planes: Planes, rows: slice, cols: slice) -> Planes:
        return found.applied(planes, rows=rows, cols=cols)

    crops = list[BeforeAfter]()
    for crop in places.crops(made.mended.remedy, made.mended.correction):
        key = f"{number + 1}" + ("" if crop.lost is None else ", light")
        shown, of_crop = places.before_after(crop, key, after)
        pictures |= of_crop
        crops.append(shown)
    return tuple(crops), pictures
