"""A press condition: inks in lay-down order on a paper by a process, and the colours they print.

It puts the model together and says how well it is known; the steps of the model are in the files
below it. Immutable: what changes it returns another one.
"""

import pickle
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from itertools import count

import numpy as np
import numpy.typing as npt

from inkmix.base.arrays import FloatArray
from inkmix.base.errors import Fault, ModelError
from inkmix.colour.colorimetry import xyz100_to_lab
from inkmix.press.evidence import (
    Origin,
    cautions_of,
    guesses_of,
    names_of_hints,
    origins_of_inks,
    overruled,
    process_inks_of,
    reasons_unproven,
    weakest_level,
)
from inkmix.press.expected import ErrorModel, ExpectedError, error_model
from inkmix.press.forward import ForwardModel, bright_inks_were_tried, build_forward
from inkmix.press.inks import Ink, Paper
from inkmix.press.order import lay_down_order
from inkmix.press.paper_change import put_on_paper
from inkmix.press.patches import SURE, Patches, inks_with_all_overprints
from inkmix.press.processes import Process
from inkmix.press.solids.process_inks import SPOT
from inkmix.press.values import MAX_INKS, ProcessInk

_KEPT = 6  # conditions, a few MB each: a book's, and its inks on the other papers


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PressCondition:
    """Inks, paper and process, ready to predict.

    Parameters
    ----------
    paper : Paper
    inks : tuple of Ink
        As given, in lay-down order.
    process : Process
    patches : Patches or None
    level : str
        Weakest of what is known: one of inkmix.press.evidence.LEVELS.
    hints : tuple of str
        Inks known by a screen colour only; no verdict that rests on them passes.
    unproven : tuple of str
        Reasons why the model was never tried on such a print; empty where it was.
    guesses : tuple of str
        What nobody said and is taken for granted; nothing that rests on it can be judged.
    process_inks : tuple of ProcessInk
        Inks that were taken as process inks by their colour.
    spots : tuple of str
        All others: their overprints are made by spectra, and may be farther off.
    cautions : tuple of str
        Sentences on what the evidence is thin for; a verdict may pass all the same.
    origins : tuple of Origin
    """

    paper: Paper
    inks: tuple[Ink, ...]
    process: Process
    patches: Patches | None
    level: str
    hints: tuple[str, ...]
    unproven: tuple[str, ...]
    guesses: tuple[str, ...]
    process_inks: tuple[ProcessInk, ...]
    spots: tuple[str, ...]
    cautions: tuple[str, ...]
    origins: tuple[Origin, ...]
    model: ForwardModel = field(repr=False)
    errors: ErrorModel = field(repr=False)

    @property
    def photographed(self) -> tuple[str, ...]:
        """Inks that only a camera saw; no verdict that rests on them passes, either."""
        return tuple(ink.name for ink in self.inks if ink.told is not None)

    @property
    def doubts(self) -> tuple[str, ...]:
        """What stands against trusting any colour of it: guesses, then what is unproven."""
        return (*self.guesses, *self.unproven)

    def xyz100(self, tone_pct: npt.ArrayLike) -> FloatArray:
        """XYZ (..., 3) under D50 of tone values (..., I), 0-100 %, in lay-down order."""
        tones = self._checked(tone_pct)
        relative = self.model.relative(tones.reshape(-1, tones.shape[-1]))
        xyz100 = self.model.channels.relative_to_xyz100(relative)
        return xyz100.reshape(*tones.shape[:-1], 3)

    def xyz100_on_grid(self, tone_pct: Sequence[FloatArray]) -> FloatArray:
        """XYZ (N, 3) of all combinations of tone values (V,) of each ink, the last one fastest."""
        relative = self.model.relative_on_grid(tone_pct)
        return self.model.channels.relative_to_xyz100(relative)

    def lab(self, tone_pct: npt.ArrayLike) -> FloatArray:
        """CIELAB (..., 3), D50, of tone values (..., I), 0-100 %, in lay-down order."""
        return xyz100_to_lab(self.xyz100(tone_pct))

    def mix_of(self, tone_pct: FloatArray) -> dict[str, float]:
        """The inks that tone values (I,) hold, by name, in lay-down order."""
        pairs = zip(self.inks, tone_pct.tolist(), strict=True)
        return {ink.name: tone for ink, tone in pairs if tone > 0}

    def coverage(self, tone_pct: npt.ArrayLike) -> FloatArray:
        """Coverage (..., I), 0-1, after the tone curves, as the mean over the channels."""
        tones = self._checked(tone_pct)
        planes = self.model.coverage(tones.reshape(-1, tones.shape[-1]))
        return np.asarray(planes.mean(axis=-1).T.reshape(tones.shape), dtype=np.float64)

    def expected_error(self, tone_pct: npt.ArrayLike) -> ExpectedError:
        """95 % bounds (...) of the colour difference and of L* for tone values (..., I)."""
        tones = self._checked(tone_pct)
        bounds = self.errors.expected_error(tones.reshape(-1, tones.shape[-1]))
        shape = tones.shape[:-1]
        return ExpectedError(de00=bounds.de00.reshape(shape), L=bounds.L.reshape(shape))

    def with_screened(self, names: Iterable[str]) -> "PressCondition":
        """The same, with these plates taken as made of dots: coverage is the tone value."""
        wanted = frozenset(names)
        self._known(wanted)
        inks = [replace(ink, is_screened=True) if ink.name in wanted else ink for ink in self.inks]
        patches = self._patches_of_dots([ink.name in wanted for ink in self.inks])
        return press_condition(self.paper, inks, process=self.process, patches=patches)

    def _patches_of_dots(self, are_dots: list[bool]) -> Patches | None:
        """The measured mixtures, with coverage in place of the tone value where it is asked for."""
        if self.patches is None:
            return None
        covered = 100 * self.coverage(self.patches.tone_pct)
        return replace(self.patches, tone_pct=np.where(are_dots, covered, self.patches.tone_pct))

    def with_inks_added(self, inks: Iterable[Ink]) -> "PressCondition":
        """The same with more inks, printed last."""
        added = tuple(inks)
        return press_condition(
            self.paper,
            (*self.inks, *added),
            process=self.process,
            patches=_with_more_columns(self.patches, len(added)),
        )

    def with_ink_in_its_place(self, ink: Ink) -> "PressCondition":
        """The same with one ink more, where the proposed lay-down order puts it among the others.

        These keep their order, and mixtures measured of them stay: they do not hold the new ink.
        """
        inks = (*self.inks, ink)
        order = list(lay_down_order(inks, self.paper, told=range(len(self.inks))))
        patches = _with_more_columns(self.patches, 1)
        if patches is not None:
            patches = replace(patches, tone_pct=patches.tone_pct[:, order])
        return press_condition(
            self.paper, [inks[at] for at in order], process=self.process, patches=patches
        )

    def double_hit(self, name: str) -> "PressCondition":
        """The same with one ink once more, printed last, as "NAME 2" or the next that is free."""
        self._known(frozenset([name]))
        names = {ink.name for ink in self.inks}
        ink = next(ink for ink in self.inks if ink.name == name)
        free = next(f"{name} {hit}" for hit in count(2) if f"{name} {hit}" not in names)
        return self.with_inks_added([replace(ink, name=free)])

    def _known(self, names: frozenset[str]) -> None:
        unknown = sorted(names - {ink.name for ink in self.inks})
        if unknown:
            choices = ", ".join(ink.name for ink in self.inks)
            raise ModelError(
                Fault(where="inks", found=f"no {name}", expected=f"one of {choices}")
                for name in unknown
            )

    def _checked(self, tone_pct: npt.ArrayLike) -> FloatArray:
        tones = np.asarray(tone_pct, dtype=np.float64)
        if tones.ndim == 0 or tones.shape[-1] != len(self.inks):
            expected = f"{len(self.inks)} tone values, one an ink, on the last axis"
            raise ModelError(Fault(where="tone values", found=f"{tones.shape}", expected=expected))
        if tones.size and not (tones.min() >= 0 and tones.max() <= 100):
            found = f"{tones.min():g} to {tones.max():g}"
            raise ModelError(Fault(where="tone values", found=found, expected="0 to 100 %"))
        return tones


def press_condition(
    paper: Paper,
    inks: Iterable[Ink],
    *,
    process: Process,
    patches: Patches | None = None,
    is_kept: bool = True,
) -> PressCondition:
    """Put inks (in lay-down order), paper and process together.

    Inks measured on another paper are carried over; `origins` says so. Asked again for the same
    values lately, it is the same object.

    Parameters
    ----------
    patches : Patches or None
        Measured mixtures on this paper: solid overprints, or any others.
    is_kept : bool
        False where it will not be asked for again: of many mixtures it takes some 100 MB.

    Raises
    ------
    ModelError
        No ink or more than MAX_INKS, two plates of one name, patches of another number of inks.
    """
    given = tuple(inks)
    _check(given, patches)
    values = pickle.dumps((paper, given, patches))  # alike only where every value is
    told = _Told(values, repr(process), (paper, given, process, patches))
    return _put_together(told) if is_kept else _put_together.__wrapped__(told)


@dataclass(frozen=True, slots=True)
class _Told:
    """What a condition is put together from; one is like another where all values are."""

    values: bytes
    process: str
    parts: tuple[Paper, tuple[Ink, ...], Process, Patches | None] = field(compare=False)


@lru_cache(maxsize=_KEPT)
def _put_together(told: _Told) -> PressCondition:
    """The spreads of a book share one condition, so that what follows from it is found once."""
    paper, given, process, readings = told.parts
    patches = None if readings is None else readings.of_now
    printed = tuple(put_on_paper(ink, paper) for ink in given)
    measured = inks_with_all_overprints(patches, len(given))
    all_told = patches is not None and bool(measured.all())
    model = build_forward(paper, printed, patches)
    certain = None if patches is None else patches.read_by(*SURE)
    sure = model if certain is patches else build_forward(paper, printed, certain)
    before = _errors_before(paper, given, process, readings)
    solids, spreading = model.solids, model.spreading
    spots = tuple(ink.name for ink, spot in zip(given, spreading.spots, strict=True) if spot)
    is_tried = bright_inks_were_tried(paper, patches, spreading.spots)
    bright = [ink.name for ink, solid in zip(given, solids, strict=True) if solid.kind == SPOT]
    return PressCondition(
        paper=paper,
        inks=given,
        process=process,
        patches=readings,
        level=weakest_level(given, overprints_told=all_told),
        hints=names_of_hints(given),
        unproven=reasons_unproven(
            given, process, measured, paper=paper, solids=solids, misfit=sure.field.misfit
        ),
        guesses=guesses_of(given, process, paper),
        process_inks=process_inks_of(given, solids, in_usual_order=spreading.because is not None),
        spots=spots,
        cautions=(*cautions_of(bright, given, paper, is_tried=is_tried), *overruled(given, solids)),
        origins=origins_of_inks(given, solids, paper),
        model=model,
        errors=error_model(model, given, paper, overprints_told=all_told, sure=sure, before=before),
    )


def _errors_before(
    paper: Paper, inks: tuple[Ink, ...], process: Process, readings: Patches | None
) -> ErrorModel | None:
    """What was uncertain before a camera saw the inks; None where none did."""
    if all(ink.told is None for ink in inks):
        return None
    was = readings and readings.of_before
    told = [replace(ink.told or ink, name=ink.name, is_screened=ink.is_screened) for ink in inks]
    return press_condition(paper, told, process=process, patches=was).errors


def _check(inks: tuple[Ink, ...], patches: Patches | None) -> None:
    faults = []
    if not 1 <= len(inks) <= MAX_INKS:
        faults.append(Fault(where="inks", found=f"{len(inks)}", expected=f"1 to {MAX_INKS}"))
    names = [ink.name for ink in inks]
    for name in sorted({name for name in names if names.count(name) > 1}):
        faults.append(
            Fault(where="inks", found=f"{name} twice", do=f"name the second plate {name} 2")
        )
    if patches is not None and patches.tone_pct.shape[1] != len(inks):
        found = f"{patches.tone_pct.shape[1]} tone values a patch"
        faults.append(Fault(where="measured patches", found=found, expected=f"{len(inks)}"))
    if faults:
        raise ModelError(faults)


def _with_more_columns(patches: Patches | None, added: int) -> Patches | None:
    """The same patches among more inks, which they do not hold."""
    if patches is None:
        return None
    return replace(patches, tone_pct=np.pad(patches.tone_pct, ((0, 0), (0, added))))
