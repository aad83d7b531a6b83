"""Corrections for one spread: what its checks can mend, one after the other, tried on all pixels.

The checks of low rank come first, so nights before ink off; each is found on what the earlier ones
leave. Nothing is written here.
"""

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from inkmix.base.allocator import give_back
from inkmix.base.ordered_threads import in_order
from inkmix.base.words import count, listing, number, percent
from inkmix.checks import table
from inkmix.checks.finding import LEAST_TEXTURE_PCT, Finding
from inkmix.checks.mending.lost_lights import lost_lights_words
from inkmix.checks.mending.mender import Again, Mended, Mender, Spoiling
from inkmix.checks.trials.after import after
from inkmix.checks.trials.kept import Keeping
from inkmix.checks.trials.trials import Trials
from inkmix.checks.window import Box, Planes, as_planes, bands_of
from inkmix.jobs.check import LookedAt, at_work, looked_at, told, trials_of
from inkmix.jobs.mending.recipe import KeptCorrection, SpreadRecipe
from inkmix.jobs.mending.values import Undone, WaivedFinding
from inkmix.jobs.spread import Progress, Spread

WaivedOf = Callable[[Sequence[Finding]], Sequence[WaivedFinding]]

_MOST_STEPS = 4  # for one area
_BAND_PX = 1 << 18  # corrected at once: copies between corrections stay small


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Made:
    """A correction with the check that asked for it."""

    check: str
    mended: Mended


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SheetMending:
    """All corrections of a spread, in the order in which they are made.

    Parameters
    ----------
    after : Trials
        The plates as they become.
    misfits : tuple of str
        What of a recipe no longer fits.
    unneeded : tuple of str
        What of a recipe these plates do not need.
    undone : tuple of Undone
        Why more was not done, as menders say.
    waived : tuple of WaivedFinding
        What was left as it is, since somebody accepts it.
    """

    looked: LookedAt
    after: Trials
    made: tuple[Made, ...]
    misfits: tuple[str, ...] = ()
    unneeded: tuple[str, ...] = ()
    undone: tuple[Undone, ...] = ()
    waived: tuple[WaivedFinding, ...] = ()

    @property
    def inks(self) -> frozenset[str]:
        """Whose plates may change."""
        return frozenset(ink for one in self.made for ink in one.mended.inks)

    @property
    def recipe(self) -> SpreadRecipe:
        """By which all this is done again."""
        kept = tuple(
            KeptCorrection(
                check=one.check,
                name=one.mended.name,
                lights=one.mended.remedy.lights_kept,
                lights_lost=one.mended.remedy.lights_lost,
                texture_pct=one.mended.remedy.texture_pct,
                recipe=one.mended.recipe,
            )
            for one in self.made
        )
        return SpreadRecipe(spread=self.looked.spread.name, corrections=kept)

    def applied(self, planes: Planes, *, rows: slice, cols: slice) -> Planes:
        """The planes (I, rows, cols) of a window after all of them; any thread may ask."""
        done = planes
        for band, _ in bands_of([(rows, cols)], most_px=_BAND_PX):
            part = slice(band.start - rows.start, band.stop - rows.start)
            before = as_planes(planes[:, part])
            after = self.after.corrected(before, rows=band, cols=cols)
            if after is not before:
                done = planes.copy() if done is planes else done
                done[:, part] = after
        return done


def find_mending(
    spread: Spread,
    names: Collection[str],
    recipe: SpreadRecipe | None,
    *,
    waived: WaivedOf,
    give_up_lights: bool = False,
    progress: Progress,
) -> SheetMending:
    """Look at a spread and find what mends it: searched for, or by a recipe.

    Parameters
    ----------
    names : collection of str
        Names of the checks whose findings are mended; all checks judge.
    recipe : SpreadRecipe or None
        None: corrections are searched for.
    waived : callable
        Tells which findings somebody accepts: these places are left as they are.
    give_up_lights : bool
        Whether corrections are made that turn lights dark, or take half the texture of a night.

    Raises
    ------
    InkmixError
        Where an input cannot be used.
    """
    spread = replace(spread, plates=spread.plates.keeping(spread.room))
    looked = looked_at(spread, table.asked_for(None), None, None, progress)
    give_back(spread.plates.sheet_px)
    progress("finding corrections", 0.0)
    left = waived(told(looked))
    if recipe is None:
        return _Search(looked, names, left, give_up_lights).mending()
    return _ByRecipe(looked, names, left, give_up_lights, recipe).mending()


def _keeping(spread: Spread, trials: Trials) -> Trials:
    """The same, keeping pixels after corrections; not where total ink is not that of the plates."""
    plates = spread.plates
    if any(plates.screened):
        return trials
    keeping = Keeping(
        spread.room,
        planes=len(plates.inks),
        full=plates.full,
        sheet_px=plates.sheet_px,
    )
    return replace(trials, keeping=keeping)


class _Search:
    """Goes from mender to mender; the sheet changes under its hands."""

    def __init__(
        self,
        looked: LookedAt,
        names: Collection[str],
        waived: Sequence[WaivedFinding],
        give_up_lights: bool,
    ) -> None:
        self._looked, self._spoils = looked, give_up_lights
        self._names, self._waived = names, waived
        self._undone = list[Undone]()
        self._now, self._made = _keeping(looked.spread, trials_of(looked)), list[Made]()
        self._misfits = list[str]()

    def mending(self) -> SheetMending:
        """All corrections."""
        for check, mender in self._menders():
            for mended in self._steps(check, mender):
                self._now = after(self._now, mended.correction, mended.boxes, counts=mended.counts)
                self._made.append(Made(check=check, mended=mended))
                give_back(self._looked.spread.plates.sheet_px)
            self._ask_why(check, mender)
        return SheetMending(
            looked=self._looked,
            after=self._now,
            made=tuple(self._made),
            misfits=tuple(self._misfits),
            undone=tuple(self._undone),
            waived=tuple(self._waived),
        )

    def _ask_why(self, check: str, mender: Mender) -> None:
        """Have a mender say why it leaves anything open."""
        if mender.is_wanted and (why := mender.why_not(self._now)):
            self._undone.append(Undone(check=check, name=mender.name, why=why))

    def _menders(self) -> Iterator[tuple[str, Mender]]:
        working, results = at_work(self._looked), self._looked.results
        for check in table.by_rank():
            if check in working and check.name in self._names:
                waived = [one.finding for one in self._waived if one.finding.check == check.name]
                for mender in working[check].menders(results[check]):
                    asked = mender.leaving(waived) if waived else mender
                    if asked is not None:
                        yield check.name, asked

    def _steps(self, check: str, mender: Mender) -> Iterator[Mended]:
        """Corrections of one mender, each made before the next is looked for.

        One that only just does may be followed by one that does for sure.
        """
        texture_pct = 100.0
        for _ in range(_MOST_STEPS):
            mended = mender.found(self._now, may_spoil=self._spoils)
            if isinstance(mended, Mended) and mended.remedy.texture_pct is not None:
                texture_pct *= mended.remedy.texture_pct / 100
                if texture_pct < LEAST_TEXTURE_PCT and not self._spoils:  # step by step, too
                    remedy = replace(mended.remedy, texture_pct=texture_pct, do="")
                    mended = Spoiling(name=mender.name, remedy=remedy)
            if isinstance(mended, Spoiling):
                self._undone.append(_declined(check, mended))
            if not isinstance(mended, Mended):
                return
            if not _acts(mended, self._now):
                return  # the same would be found again
            yield mended
            if mended.remedy.solves:
                return


class _ByRecipe(_Search):
    def __init__(
        self,
        looked: LookedAt,
        names: Collection[str],
        waived: Sequence[WaivedFinding],
        give_up_lights: bool,
        recipe: SpreadRecipe,
    ) -> None:
        super().__init__(looked, names, waived, give_up_lights)
        self._kept: dict[tuple[str, str], list[KeptCorrection]] = {}
        self._said = set[tuple[str, str]]()  # places of which is said why nothing is done
        for one in recipe.corrections:
            self._kept.setdefault((one.check, one.name), []).append(one)

    def mending(self) -> SheetMending:
        """Those of the recipe that are of use, and what is said of the others."""
        here = {(check, mender.name) for check, mender in self._menders()}
        here |= {(one.finding.check, one.finding.name) for one in self._waived}
        gone = [kept[0] for place, kept in self._kept.items() if place not in here]
        wanted = [one for one in gone if one.check in self._names]
        self._misfits += [f"{_place(one)}: the book asks for nothing there now." for one in wanted]
        done = super().mending()
        made = {(one.check, one.mended.name) for one in done.made}
        idle = [kept[0] for place, kept in self._kept.items() if place in here - made - self._said]
        return replace(done, unneeded=tuple(f"{_place(one)}: not needed now." for one in idle))

    def _ask_why(self, check: str, mender: Mender) -> None:
        """What no longer fits is said instead: nobody looked for more."""

    def _steps(self, check: str, mender: Mender) -> Iterator[Mended]:
        kept = self._kept.get((check, mender.name), [])
        if not kept and mender.is_wanted:
            self._misfits.append(_unknown(check, mender))
        for one in kept:
            again: Again = mender.again(one.recipe, self._now)
            self._misfits += [said for said in again.others if said not in self._misfits]
            if again.misfits and (again.mended is None or one is kept[-1]):
                self._misfits += again.misfits
                self._said.add((one.check, one.name))
            if again.mended is None or not _acts(again.mended, self._now):
                continue
            if not self._spoils and (costs := _new_costs(one, again.mended)):
                self._undone.append(_declined_now(one, costs))
                self._said.add((one.check, one.name))
                return
            if not again.misfits:
                self._misfits += _lights(one, again.mended)
            yield again.mended


def _declined(check: str, mended: Spoiling) -> Undone:
    """What a correction would have cost, and what to do instead."""
    if mended.remedy.do:
        return Undone(check=check, name=mended.name, why=mended.remedy.do.rstrip("."))
    lost, texture_pct = mended.remedy.lights_lost or 0, mended.remedy.texture_pct
    costs = [f"turn {count(lost, 'light')} dark"] if lost else []
    where = lost_lights_words(lost, mended.remedy.lights_lost_at)
    where = where and f"{where} "
    if texture_pct is not None and texture_pct < LEAST_TEXTURE_PCT:
        costs.append(f"take {percent(100 - texture_pct)} of its texture")
    share = mended.remedy.share_for_lights_pct
    by_size = "" if share is None else f"share_pct = {number(share)}, by the lights' size"
    smaller = by_size and f", a smaller share ({by_size})"
    why = (
        f"making it dark enough would at least {listing(costs)}. {where}Allow a lighter night "
        f"(lightest_L){smaller} or a darker ink, or measure the inks, for then the expected error "
        "is smaller; --give-up-lights tries it all the same"
    )
    return Undone(check=check, name=mended.name, why=why)


def _new_costs(kept: KeptCorrection, mended: Mended) -> list[str]:
    """What a correction takes from the picture that it did not take when it was kept."""
    lost, then = mended.remedy.lights_lost or 0, kept.lights_lost or 0
    texture_pct, costs = mended.remedy.texture_pct, []
    if lost > then:
        before = f"{then} when it was made" if then else "none when it was made"
        costs = [f"not spare {count(lost, 'light')} ({before})"]
    was_kept = kept.texture_pct is None or kept.texture_pct >= LEAST_TEXTURE_PCT
    if was_kept and texture_pct is not None and texture_pct < LEAST_TEXTURE_PCT:
        costs.append(f"take {percent(100 - texture_pct)} of its texture")
    return costs


def _declined_now(kept: KeptCorrection, costs: Sequence[str]) -> Undone:
    why = (
        f"by the recipe, its correction would now {listing(costs)}. Mend it anew, without --again; "
        "--give-up-lights makes it all the same"
    )
    return Undone(check=kept.check, name=kept.name, why=why)


def _place(kept: KeptCorrection) -> str:
    return kept.name or kept.check


def _unknown(check: str, mender: Mender) -> str:
    place = mender.name or check
    return f"{place}: the recipe says nothing of it; mend it anew, without --again."


def _lights(kept: KeptCorrection, mended: Mended) -> Iterator[str]:
    """That other lights stay than when the recipe was made."""
    now = mended.remedy.lights_kept
    if kept.lights is not None and now is not None and now != kept.lights:
        yield (
            f"{_place(kept)}: {count(now, 'light')} {'stays' if now == 1 else 'stay'} as drawn; "
            f"when the recipe was made, {kept.lights} did."
        )


def _acts(mended: Mended, trials: Trials) -> bool:
    """Whether a correction changes any pixel."""

    def changes(box: Box) -> bool:
        planes, _ = trials.source.read(*box)
        done = mended.correction.applied(planes, rows=box[0], cols=box[1])
        return done is not planes and not np.array_equal(trials.held(planes, done), planes)

    boxes: Sequence[Box] = mended.boxes
    return any(in_order(changes, bands_of(boxes)))
