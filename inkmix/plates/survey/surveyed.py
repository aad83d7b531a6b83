"""A plate after its pixels were counted, and what has to be said about it; no counting here."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkmix.base.errors import Fault
from inkmix.base.words import percent
from inkmix.plates.plate import PlateHeader
from inkmix.plates.survey.joint_counts import FULL_FROM


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PlateSurvey:
    """One plate, counted.

    Parameters
    ----------
    header : PlateHeader
        The plate.
    mean_tone_pct, max_tone_pct, min_tone_pct : float
        Tone values of the file, 0-100.
    inked_area_pct : float
        Share of the pixels with any ink, 0-100.
    histogram : (256,) int64
        Pixels by tone value, in 256 equal steps.
    digest : str or None
        SHA-256 of the file; None for a plate that the spread lacks.
    blank : bool
        No ink anywhere.
    screened : bool
        1-bit, or nothing but 0 and 100 % in fine structure.
    ends_at_32768 : bool
        16-bit numbers on a scale of 15 bits.
    looks_inverted : bool
        Surely turned: full ink where the other plates are bare.
    may_be_inverted : bool
        Full ink nearly everywhere, unlike the others, or without lights; it may be meant so.
    hides_lights : bool
        The sheet has no lights, and would have some if this plate were turned over.
    same_pixels_as : str or None
        A different ink with the very same pixels.
    repeats : str or None
        An earlier hit of the same ink with the very same pixels.
    """

    header: PlateHeader
    mean_tone_pct: float
    max_tone_pct: float
    min_tone_pct: float
    inked_area_pct: float
    histogram: NDArray[np.int64]
    digest: str | None
    blank: bool
    screened: bool
    ends_at_32768: bool = False
    looks_inverted: bool = False
    may_be_inverted: bool = False
    hides_lights: bool = False
    same_pixels_as: str | None = None
    repeats: str | None = None


def survey_faults(surveys: Sequence[PlateSurvey]) -> tuple[Fault, ...]:
    """Faults that only pixels show: polarity, scale, the same pixels for two inks."""
    return tuple(fault for survey in surveys for fault in _faults(survey))


def survey_notes(surveys: Sequence[PlateSurvey]) -> tuple[str, ...]:
    """What has to be said about pixels and keeps nobody from going on."""
    alone = (note for survey in surveys for note in _notes(survey))
    return (*_lights_notes([survey for survey in surveys if survey.hides_lights]), *alone)


def _faults(survey: PlateSurvey) -> Iterator[Fault]:
    where, ink = survey.header.where, survey.header.ink
    if survey.looks_inverted:
        yield Fault(
            where=where,
            found=f"looks inverted: {ink} is full on {percent(_full_pct(survey))} of the sheet",
            expected="the other plates leave paper bare there",
            do='set polarity = "light is ink" for this ink, or "dark is ink" if it is right',
        )
    if survey.ends_at_32768:
        yield Fault(
            where=where,
            found="its 16-bit numbers end at 32768",
            expected="they should reach from 0 to 65535",
            do="export it in 8 bits, or from a program that writes the full 16 bits",
        )
    if survey.same_pixels_as:
        yield Fault(
            where=where,
            found=f"has the same pixels as the plate of {survey.same_pixels_as}",
            expected="each ink has its own plate",
            do="check which plate was exported twice",
        )


def _notes(survey: PlateSurvey) -> Iterator[str]:
    where = survey.header.where
    if survey.may_be_inverted and not survey.hides_lights:
        full = f"full on {percent(_full_pct(survey))} of the sheet and bare almost nowhere"
        yield f"{where}: {full}, unlike the other plates; make sure that it is not inverted"
    if survey.repeats:
        yield f"{survey.header.ink}: prints the plate of {survey.repeats} once more, a double hit"
    if survey.blank and survey.header.path:
        yield f"{where}: holds no ink at all"
    if survey.screened and not survey.header.screened:
        yield f"{where}: only 0 and 100 % in a fine pattern, taken as already screened"


def _lights_notes(hiding: Sequence[PlateSurvey]) -> Iterator[str]:
    """One note on all plates that may be the turned one."""
    if not hiding:
        return
    which = " or ".join(survey.header.where for survey in hiding)
    alone = len(hiding) == 1
    question, turned = ("is it", "it") if alone else ("is one of them", "one of them")
    yield (
        f"{which}: {question} inverted? nothing on the sheet is light, and with {turned} turned "
        "over there would be lights; it may be meant so: an ink whose plate is right may say "
        'polarity = "dark is ink"'
    )


def _full_pct(survey: PlateSurvey) -> float:
    return 100 * int(survey.histogram[FULL_FROM:].sum()) / int(survey.histogram.sum())
