"""A press calibrated by the readings of a printed form: what they tell, and what they change."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import combinations
from pathlib import Path

import numpy as np

from inkmix.base.arguments import path_of
from inkmix.base.arrays import FloatArray
from inkmix.base.errors import InkmixError
from inkmix.book.meant.condition import (
    condition_on_press,
    press_of,
    resolve_condition,
    resolve_limits,
)
from inkmix.book.values import Book
from inkmix.colour.colorimetry import delta_e00, xyz100_to_lab
from inkmix.jobs.calibrating.given import Given, by_itself, given_by
from inkmix.jobs.calibrating.read_off import inks_read, pairs_read
from inkmix.jobs.calibrating.to_print import NextMixes, mixes_to_print
from inkmix.jobs.calibrating.values import (
    Calibration,
    MixKnown,
    Residual,
    Scatter,
    SolidFound,
)
from inkmix.jobs.refusals import refuse_no_book
from inkmix.mixes.darkest import darkest_mix
from inkmix.press.calibration.crossed import Predicted, crossed, predicted_by
from inkmix.press.calibration.drift import Drift, drift_between
from inkmix.press.calibration.gathered import press_file_of
from inkmix.press.calibration.misread import (
    paper_in_doubt,
    refuse_another_paper,
    refuse_contradicting_basics,
    refuse_misplaced,
    refuse_scattered,
    refuse_swapped_inks,
    refuse_unfit,
)
from inkmix.press.calibration.order import likely_order
from inkmix.press.calibration.press_file import LeftOut, Origin, PressFile
from inkmix.press.calibration.readings import Readings
from inkmix.press.calibration.suspects import Suspect, suspects_in
from inkmix.press.condition import PressCondition

DARKEST = "the darkest mix"
_THIN = 6
_MIDDLE_PCT = 60.0


def calibrate_book(
    book: Book,
    measurements: str | Path | Sequence[str | Path] = (),
    *,
    form: str | Path | None = None,
    photo: str | Path | None = None,
) -> Calibration:
    """What readings of a printed form tell of the press that prints a book.

    Parameters
    ----------
    measurements : path, or sequence of paths
        Files of readings: CGATS, CxF or CSV, with the tone values of each patch and XYZ or Lab at
        D50, or spectra. Several are taken together.
    form : path or None
        The form that was read, its folder or the list in it: where instruments give no more than
        the numbers of patches beside their readings. A photograph needs the folder.
    photo : path or None
        A photograph or scan of the form, PNG, TIFF or JPEG, in place of measurements. It moves
        predictions and makes none surer: no verdict that rests on it passes.

    Returns
    -------
    Calibration
        What the press file is to hold, and what it changes; `write_calibration` writes it.

    Raises
    ------
    MeasurementError
        Readings that cannot be used: no colours, other inks, no bare paper, no solid, a form that
        was read upside down, ink that was wet.
    PictureError
        A photograph that cannot be used: no marks, another form, uneven light, values that clip.
    UsageError
        A book that prints an ink twice; measurements and a photograph, or neither.

    Examples
    --------
    ::

        found = inkmix.calibrate_book(inkmix.read_book("night-ferry"), "readings.txt")
        assert found.press.names[0] == "Soot"  # printed first
    """
    refuse_no_book(book)
    several = [measurements] if isinstance(measurements, str | Path) else measurements
    given = given_by(
        book,
        [path_of(one, what="measurements") for one in several],
        None if photo is None else path_of(photo, what="photo"),
        form=None if form is None else path_of(form, what="form"),
    )
    return _Calibrating(book, given).calibration()


def _earlier(book: Book, origin: Origin) -> tuple[PressFile | None, tuple[str, ...]]:
    """What the book goes by now, where that can be compared with, and what to say where not."""
    try:
        press = press_of(book)
        if press is None or press.origin.sha256 == origin.sha256:
            return None, ()
        condition_on_press(book, press, is_kept=False)
    except InkmixError as error:
        condition_on_press(book, None, is_kept=False)  # another reason is none of the file's
        said = f"nothing is compared with {book.press.condition}, which the book names: {error}"
        return None, (said.rstrip("."),)
    return press, ()


class _Calibrating:
    """One book and readings of its form."""

    def __init__(self, book: Book, given: Given) -> None:
        self._book, self._read, self._origin = book, given.readings, given.origin
        self._photograph = given.photograph
        names = self._read.chart.plates
        self._own = by_itself(book, names)
        self._places = [book.ink_names.index(name) for name in names]
        self._earlier, self._notes = _earlier(book, self._origin)
        self._was = condition_on_press(book, self._earlier)  # what was read is not known yet

    def calibration(self) -> Calibration:
        """What they tell."""
        told = resolve_condition(self._own)
        refuse_misplaced(self._read, told)
        refuse_another_paper(self._read, told)
        doubt = paper_in_doubt(self._read, told)
        refuse_swapped_inks(self._read, told)
        refuse_scattered(self._read)
        refuse_contradicting_basics(self._read)
        suspects = suspects_in(self._read, self._file_of, self._on_own)
        sound = np.ones(len(self._read), np.bool_)
        sound[[one.at for one in suspects]] = False
        readings = self._read.only(sound)
        press = replace(self._file_of(readings), left_out=tuple(map(_left_out, suspects)))
        condition = condition_on_press(self._book, press)
        tones, xyz100 = self._mixes(press)
        after = crossed(press, self._on_book, tones, xyz100)
        refuse_unfit(self._read, len(suspects), after)
        asked = self._asked(condition)
        own = condition if self._is_of_forms_inks else self._on_own(press)
        inks = inks_read(condition, press.names)
        return Calibration(
            book=self._book,
            press=press,
            readings=readings,
            was=self._was,
            condition=condition,
            before=predicted_by(self._was, tones, xyz100) if len(tones) else None,
            after=after,
            residuals=() if after is None else tuple(self._residuals(after, readings)),
            suspects=suspects,
            scatter=_scatter(readings),
            solids=tuple(self._solids(condition)),
            inks=inks,
            pairs=pairs_read(readings.chart, inks),
            mixes=tuple(self._known(name, mix, condition) for name, mix in asked),
            thin=tuple(self._thin(condition)),
            to_print=self._to_print(own, asked),
            order=likely_order(own),
            drift=self._drift(press, condition, asked),
            earlier="" if self._earlier is None else self._earlier.origin.measurements,
            notes=(*readings.notes, *self._notes, *([doubt] if doubt else [])),
            photograph=self._photograph,
        )

    def _file_of(self, readings: Readings) -> PressFile:
        return press_file_of(readings, paper_class=self._was.paper.paper_class, origin=self._origin)

    def _on_own(self, press: PressFile) -> PressCondition:
        """The condition of the inks that were read, and of nothing else that the book tells."""
        return condition_on_press(self._own, press, is_kept=False)

    def _on_book(self, press: PressFile) -> PressCondition:
        """The same of all inks of the book."""
        return condition_on_press(replace(self._book, measured=()), press, is_kept=False)

    @property
    def _is_of_forms_inks(self) -> bool:
        return len(self._own.inks) == len(self._book.inks) and not self._book.measured

    def _mixes(self, press: PressFile) -> tuple[FloatArray, FloatArray]:
        """Tone values (N, I), a column for each ink of the book, and XYZ (N, 3) of its mixes."""
        rows = np.array(press.mixes.rows, np.float64).reshape(-1, len(self._places) + 4)
        tones = np.zeros((len(rows), len(self._book.inks)))
        tones[:, self._places] = rows[:, :-4]
        return tones, rows[:, -4:-1]

    def _asked(self, condition: PressCondition) -> list[tuple[str, FloatArray]]:
        """What the book asks for: its named tones, and the dark of its nights."""
        names = [ink.name for ink in condition.inks]
        asked = [
            (tone.name, np.array([tone.mix_pct.get(name, 0.0) for name in names]))
            for tone in self._book.tones
        ]
        limit = resolve_limits(self._book, condition.paper).ink_limit_pct
        dark = darkest_mix(condition, ink_limit_pct=None if limit is None else limit.value)
        return [*asked, (DARKEST, np.array([dark.tone_pct.get(name, 0.0) for name in names]))]

    def _known(self, name: str, mix: FloatArray, condition: PressCondition) -> MixKnown:
        was, now = self._was.expected_error(mix), condition.expected_error(mix)
        was_lab, lab = self._was.lab(mix), condition.lab(mix)
        return MixKnown(
            name=name,
            mix_pct=condition.mix_of(mix),
            was_lab=was_lab,
            lab=lab,
            moved_de00=float(delta_e00(was_lab, lab)),
            was_de00=float(was.de00),
            de00=float(now.de00),
            was_L=float(was.L),
            L=float(now.L),
        )

    def _thin(self, condition: PressCondition) -> Iterator[MixKnown]:
        """Of solids and tints of two inks those that are known worst."""
        limit = resolve_limits(self._book, condition.paper).ink_limit_pct
        most = 800.0 if limit is None else limit.value
        rows = []
        for pair in combinations(range(len(condition.inks)), 2):
            for tone in (_MIDDLE_PCT, 100.0):
                row = np.zeros(len(condition.inks))
                row[list(pair)] = tone
                rows += [row] if row.sum() <= most else []
        if not rows:
            return
        worst = np.argsort(-condition.expected_error(np.array(rows)).de00, kind="stable")
        for at in worst[:_THIN]:
            yield self._known("", rows[int(at)], condition)

    def _to_print(
        self, own: PressCondition, asked: list[tuple[str, FloatArray]]
    ) -> NextMixes | None:
        """Of the inks that were read alone: of another its ramp is what to print.

        None after a photograph: no further patch in one makes anything surer.
        """
        if self._photograph is not None:
            return None
        some = self._places
        others = np.delete(np.arange(len(self._book.inks)), some)
        limit = resolve_limits(self._book, own.paper).ink_limit_pct
        return mixes_to_print(
            own,
            [(name, mix[some]) for name, mix in asked if not mix[others].any()],
            ink_limit_pct=None if limit is None else limit.value,
        )

    def _residuals(self, after: Predicted, readings: Readings) -> Iterator[Residual]:
        for at in np.argsort(-after.de00, kind="stable"):
            tones = after.tone_pct[at]
            yield Residual(
                patch=self._patch(readings, tones),
                mix_pct=self._was.mix_of(tones),
                read_lab=after.read_lab[at],
                foretold_lab=after.lab[at],
                de00=float(after.de00[at]),
                expected_de00=float(after.expected_de00[at]),
            )

    def _patch(self, readings: Readings, tones: FloatArray) -> str:
        """The first patch of a mix."""
        here = (readings.chart.tone_pct == tones[self._places]).all(axis=1)
        return readings.patches[int(here.argmax())]

    def _solids(self, condition: PressCondition) -> Iterator[SolidFound]:
        was = self._was.paper
        yield _found("paper", was.source or was.name, was.xyz100, condition.paper.xyz100)
        for k, name in enumerate(self._book.ink_names):
            if name in self._read.chart.plates:
                row = np.zeros(len(self._book.inks))
                row[k] = 100.0
                told = self._was.inks[k]
                solids = (self._was.xyz100(row), condition.xyz100(row))
                yield _found(name, told.source or told.known, *solids)

    def _drift(
        self, press: PressFile, condition: PressCondition, asked: list[tuple[str, FloatArray]]
    ) -> Drift | None:
        """Since the earlier readings; cameras are too unlike to tell."""
        if self._earlier is None or self._earlier.is_photograph or press.is_photograph:
            return None
        bare = replace(self._book, measured=())
        was, now = condition_on_press(bare, self._earlier), condition_on_press(bare, press)
        return drift_between(was, now, asked, since=self._earlier.origin.measurements)


def _found(name: str, told: str, was_xyz100: FloatArray, xyz100: FloatArray) -> SolidFound:
    told_lab, lab = xyz100_to_lab(was_xyz100), xyz100_to_lab(xyz100)
    return SolidFound(
        name=name, told=told, told_lab=told_lab, lab=lab, de00=float(delta_e00(told_lab, lab))
    )


def _left_out(suspect: Suspect) -> LeftOut:
    why = f"dE00 {suspect.de00:.1f} from what the other readings lead to expect"
    if suspect.swapped_with:
        why += f"; it looks swapped with {suspect.swapped_with}"
    return LeftOut(patch=suspect.patch, why=why)


def _scatter(readings: Readings) -> Scatter | None:
    apart = readings.apart_from_repeats()
    if not len(apart):
        return None
    _, recipe = readings.chart.recipes()
    return Scatter(
        repeated=int((np.bincount(recipe) > 1).sum()),
        mean_de00=float(apart.mean()),
        most_de00=float(apart.max()),
    )
