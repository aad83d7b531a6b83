"""A wish that can be worked on: checked, inks in lay-down order, all names turned into numbers."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from inkmix.base.arguments import Range
from inkmix.base.arrays import FloatArray, IntArray, read_only
from inkmix.base.errors import Fault, UsageError
from inkmix.base.quoting import nearest, quoted
from inkmix.colour.colorimetry import xyz100_to_lab
from inkmix.mixes.palettes.measures import MEASURES, weights_of
from inkmix.mixes.palettes.press import Inks, inks_on_paper
from inkmix.mixes.palettes.values import Wish
from inkmix.mixes.values import Aims
from inkmix.press.inks import Ink
from inkmix.press.order import lay_down_order
from inkmix.press.paper_change import is_same_paper
from inkmix.press.values import MAX_INKS

MOST_CHOSEN = 6
_TO_CHOOSE = Range(what="inks to choose", low=1, high=MOST_CHOSEN, whole=True)
MOST_CANDIDATES = 200
MOST_TONES = 64
"""More are no wish but a picture, whose main colours serve better."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Task:
    """A wish with its inks in lay-down order.

    Parameters
    ----------
    wish : Wish
    inks : tuple of Ink
        Fixed and free candidates as they were given, in the lay-down order of all palettes.
    press : Inks
        The same as they print.
    fixed, free : (F,), (N,) array of int
        Which of `inks` must be there, and which may.
    solids_lab : (A, 3) array
    goals : (T, 3) array
        Lab of the wished tones.
    aims : Aims
        How a mix may be: in whole percents.
    tone_weights : (T,) array
        They sum to 1.
    weights : mapping of str to float
        Of all measures.
    """

    wish: Wish
    inks: tuple[Ink, ...]
    press: Inks
    fixed: IntArray
    free: IntArray
    solids_lab: FloatArray
    goals: FloatArray
    aims: Aims
    tone_weights: FloatArray
    weights: Mapping[str, float]

    @property
    def paper_L(self) -> float:
        """L* of the bare paper."""
        return float(xyz100_to_lab(self.wish.paper.xyz100)[0])

    def names(self, members: IntArray) -> tuple[str, ...]:
        """Names of inks by number."""
        return tuple(self.inks[member].name for member in members)

    def carried(self) -> tuple[Ink, ...]:
        """Inks that were measured on another paper, or on one that nobody knows."""
        paper = self.wish.paper
        return tuple(i for i in self.inks if not is_same_paper(i.measured_on, paper))


def task_of(wish: Wish) -> Task:
    """The wish, ready to be worked on.

    Raises
    ------
    UsageError
        With everything that is wrong with it.
    """
    faults = [*_faults_of_inks(wish), *_faults_of_aims(wish)]
    if faults:
        raise UsageError(faults)
    usable = _in_lay_down_order(wish)
    press = inks_on_paper(usable, wish.paper)
    is_fixed = np.array([ink.name in wish.fixed for ink in usable])
    tone_weights = np.array([tone.weight for tone in wish.tones])
    return Task(
        wish=wish,
        inks=usable,
        press=press,
        fixed=np.flatnonzero(is_fixed),
        free=np.flatnonzero(~is_fixed),
        solids_lab=xyz100_to_lab(np.stack([ink.xyz100[-1] for ink in press.inks])),
        goals=read_only(np.array([tone.lab for tone in wish.tones], np.float64).reshape(-1, 3)),
        aims=Aims(
            ink_limit_pct=wish.ink_limit_pct, step_pct=1, least_pct=wish.process.min_tone_pct
        ),
        tone_weights=tone_weights / max(float(tone_weights.sum()), 1e-12),
        weights=weights_of(wish.weights, tones=bool(wish.tones)),
    )


def _in_lay_down_order(wish: Wish) -> tuple[Ink, ...]:
    """Candidates that may be used, first printed first, in one order for all palettes.

    Those that are excluded have their say in it, so that it does not hang on who is asked for.
    """
    names = [ink.name for ink in wish.candidates]
    told = [names.index(name) for name in wish.ordered]
    order = lay_down_order(wish.candidates, wish.paper, told=told)
    return tuple(wish.candidates[at] for at in order if names[at] not in wish.excluded)


def _faults_of_inks(wish: Wish) -> Iterator[Fault]:
    """What is wrong with candidates, and with how many are to be chosen."""
    names = [ink.name for ink in wish.candidates]
    for name in sorted({name for name in names if names.count(name) > 1}):
        yield _fault("candidates", f"{name} twice", "each ink must be there once", "rename one")
    if len(names) > MOST_CANDIDATES:
        yield _fault(
            "candidates",
            f"{len(names)}",
            f"there may be at most {MOST_CANDIDATES}",
            "leave some out",
        )
    wanted_names = (("fixed", wish.fixed), ("excluded", wish.excluded), ("ordered", wish.ordered))
    for what, wanted in wanted_names:
        for name in wanted:
            if name not in names:
                yield _fault(
                    what, f"no candidate named {quoted(name)}", "", _did_you_mean(name, names)
                )
    for name in wish.fixed:
        if name in wish.excluded:
            found, do = f"{name} is excluded too (--without)", "leave it out of one of them"
            yield _fault("fixed (--fix)", found, "an ink can be only one of them", do)
    for name in sorted({name for name in wish.ordered if wish.ordered.count(name) > 1}):
        yield _fault("ordered", f"{name} twice", "each ink must be there once", "name it once")
    yield from _faults_of_number(wish, names)


def _faults_of_number(wish: Wish, names: list[str]) -> Iterator[Fault]:
    fixed, free = set(wish.fixed), set(names) - set(wish.fixed) - set(wish.excluded)
    if faults := _TO_CHOOSE.faults(wish.k):
        yield from faults
        return
    if wish.k > len(free):
        beside = f" beside {len(fixed)} fixed" if fixed else ""
        found = f"{len(free)} to choose from{beside}"
        yield _fault("candidates", found, f"{wish.k} are to be chosen", "name more candidates")
    if wish.k + len(fixed) > MAX_INKS:
        found = f"{wish.k} to choose and {len(fixed)} fixed"
        yield _fault("inks", found, f"at most {MAX_INKS} print together", "fix or choose fewer")


def _faults_of_aims(wish: Wish) -> Iterator[Fault]:
    """What is wrong with limit, tones and weights."""
    limit = wish.ink_limit_pct
    if limit is not None and not limit >= 100:
        expected = "one solid is 100 % already"
        yield _fault("ink limit", f"{limit:g} %", expected, "give 100 % or more")
    if len(wish.tones) > MOST_TONES:
        do = "name the main ones, or give a picture"
        yield _fault("tones", f"{len(wish.tones)}", f"there may be at most {MOST_TONES}", do)
    for tone in wish.tones:
        if not (np.isfinite(tone.lab).all() and 0 <= tone.lab[0] <= 100):
            yield _fault(
                f"tone {tone.name}", f"Lab {tone.lab}", "it must be three numbers, L* from 0 to 100"
            )
        if not (np.isfinite(tone.weight) and tone.weight > 0):
            yield _fault(f"tone {tone.name}", f"weight {tone.weight:g}", "it must be above 0")
    for name, weight in wish.weights.items():
        if name not in MEASURES:
            yield _fault(
                "weights", f"no measure named {quoted(name)}", "", _did_you_mean(name, MEASURES)
            )
        elif not (np.isfinite(weight) and weight >= 0):
            yield _fault("weights", f"{name} = {weight:g}", "it must be 0 or more")
    known = {name: weight for name, weight in wish.weights.items() if name in MEASURES}
    if not any(weights_of(known, tones=bool(wish.tones)).values()):
        yield _fault("weights", "nothing counts", "one weight at least must be above 0")


def _fault(where: str, found: str, expected: str = "", do: str = "") -> Fault:
    return Fault(where=where, found=found, expected=expected, do=do)


def _did_you_mean(word: str, known: Mapping[str, object] | list[str]) -> str:
    near = nearest(word, known)
    return f"did you mean {near}?" if near else f"known: {', '.join(known)}"
