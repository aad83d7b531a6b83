"""The plain facts of a spread: condition, sheet, plates, digests, as the report takes them."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from inkmix.base.arrays import FloatArray
from inkmix.colour.colorimetry import xyz100_to_lab, xyz100_to_srgb8, xyz100_to_triple8
from inkmix.jobs.answer import IN_BOOK, ConditionFacts, InkFacts, SheetFacts
from inkmix.jobs.printing.pictures import jpeg_bytes
from inkmix.jobs.spread import Spread
from inkmix.plates.survey.surveyed import PlateSurvey
from inkmix.press.condition import PressCondition
from inkmix.press.table.lookup import Lookup
from inkmix.sheet.geometry import Sheet

_SAMPLED_MIXES = 400
_KEPT = 4  # what is said of a condition, and digests of tables: the next spread asks again

Triple = tuple[float, float, float]
Triple8 = tuple[int, int, int]


def condition(spread: Spread, reduced_tone_pct: FloatArray) -> ConditionFacts:
    """The press condition; its error is the median over mixes that this sheet holds.

    Parameters
    ----------
    reduced_tone_pct : (rows, cols, I) ndarray
        Reduced plates, 0-100.
    """
    known = spread.condition
    error = known.expected_error(_typical_mixes(reduced_tone_pct))
    return ConditionFacts(
        paper=known.paper.name,
        paper_class=known.paper.paper_class,
        paper_lab=_triple(xyz100_to_lab(known.paper.xyz100)),
        paper_srgb8=xyz100_to_triple8(known.paper.xyz100),
        paper_source=known.paper.source,
        process=known.process.name,
        level=known.level,
        error_de00=float(np.median(error.de00)),
        error_L=float(np.median(error.L)),
        process_inks=known.process_inks,
        spots=known.spots,
        cautions=known.cautions,
        hints=known.hints,
        unproven=known.unproven,
    )


def _typical_mixes(reduced_tone_pct: FloatArray) -> FloatArray:
    """Evenly picked mixes (N, I) of two or more inks; of any ink where there are none."""
    mixes = reduced_tone_pct.reshape(-1, reduced_tone_pct.shape[-1])
    held = sum((plane > 1).astype(np.uint8) for plane in mixes.T)
    several = np.flatnonzero(held >= 2)
    chosen = several if len(several) else np.arange(len(mixes))
    step = max(1, len(chosen) // _SAMPLED_MIXES)
    return np.clip(mixes[chosen[::step]], 0, 100)


def sheet(geometry: Sheet) -> SheetFacts:
    """Size and panels."""
    return SheetFacts(
        width_px=geometry.width_px,
        height_px=geometry.height_px,
        ppi=geometry.ppi,
        width_mm=geometry.trim_width_mm,
        height_mm=geometry.trim_height_mm,
        bleed_mm=geometry.bleed_mm,
        panels=geometry.panels,
    )


def inks(
    spread: Spread, reduced_tone_pct: FloatArray, *, whole_pct: FloatArray
) -> tuple[tuple[InkFacts, ...], dict[str, bytes]]:
    """Each ink with its plate, and the plates' pictures, each in its ink, by key.

    `reduced_tone_pct` (rows, cols, I) are the reduced plates, `whole_pct` (I,) the means of the
    whole ones, both after growth.
    """
    pictures: dict[str, bytes] = {}
    made = []
    alone = _each_alone(spread.condition)
    for index, survey in enumerate(spread.surveys):
        key = f"plate {survey.header.ink}"
        step = np.rint(reduced_tone_pct[..., index] * 2.55).astype(np.intp)
        pictures[key] = jpeg_bytes(alone[index].ramp_srgb8.take(step, axis=0))
        covered = _mean_percent(alone[index].coverage, survey)
        if survey.screened:
            covered = float(whole_pct[index])
        made.append(_ink(spread, index, survey, coverage_pct=covered, picture=key))
    return tuple(made), pictures


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Alone:
    """One ink alone on the paper: colours (256, 3) and coverages (256,) of 0-100 %, the solid."""

    ramp_srgb8: NDArray[np.uint8]
    coverage: FloatArray
    solid_lab: Triple
    solid_srgb8: Triple8


@lru_cache(maxsize=_KEPT)
def _each_alone(condition: PressCondition) -> tuple[_Alone, ...]:
    """Each ink of a condition, which the spreads of a book share."""
    return tuple(_alone(condition, index) for index in range(len(condition.inks)))


def _alone(condition: PressCondition, index: int) -> _Alone:
    count = len(condition.inks)
    tones = np.zeros((256, count))
    tones[:, index] = np.linspace(0, 100, 256)
    all_inks = np.repeat(np.linspace(0, 100, 256)[:, None], count, axis=1)
    solid = np.zeros(count)
    solid[index] = 100
    xyz100 = condition.xyz100(solid)
    return _Alone(
        ramp_srgb8=xyz100_to_srgb8(condition.xyz100(tones))[0],
        coverage=condition.coverage(all_inks)[:, index],
        solid_lab=_triple(xyz100_to_lab(xyz100)),
        solid_srgb8=xyz100_to_triple8(xyz100),
    )


def _ink(
    spread: Spread, index: int, survey: PlateSurvey, *, coverage_pct: float, picture: str
) -> InkFacts:
    ink, header = spread.condition.inks[index], survey.header
    alone = _each_alone(spread.condition)[index]
    opacity = spread.condition.model.solids[index].opacity
    is_told_in_book = opacity.why == "told" and spread.book.inks[index].opacity is not None
    return InkFacts(
        name=ink.name,
        known=ink.known,
        source=ink.source,
        opacity=opacity.value,
        opacity_from=IN_BOOK if is_told_in_book else opacity.word,
        character=tuple(sorted(ink.character)),
        solid_lab=alone.solid_lab,
        solid_srgb8=alone.solid_srgb8,
        file=_file(spread, survey),
        digest=survey.digest,
        width_px=header.width_px,
        height_px=header.height_px,
        bits=header.bits,
        ppi=header.ppi or spread.plates.ppi,
        screened=survey.screened,
        mean_tone_pct=survey.mean_tone_pct,
        mean_coverage_pct=coverage_pct,
        max_tone_pct=survey.max_tone_pct,
        inked_area_pct=survey.inked_area_pct,
        profile=header.profile,
        notes=header.notes,
        picture=picture,
    )


def _file(spread: Spread, survey: PlateSurvey) -> str | None:
    path = survey.header.path
    return None if path is None else path.relative_to(spread.book.folder).as_posix()


def _mean_percent(coverage: FloatArray, survey: PlateSurvey) -> float:
    """Mean coverage of a plate, after its tone curve (256,), from its histogram."""
    return float(100 * (coverage * survey.histogram).sum() / survey.histogram.sum())


def _triple(lab: FloatArray) -> Triple:
    L, a, b = lab.tolist()
    return L, a, b


def digests(spread: Spread, lookup: Lookup) -> dict[str, str]:
    """SHA-256 of all that the answer rests on: what the book says for it, plates, table."""
    return dict(_digests(spread, lookup))


def _digests(spread: Spread, lookup: Lookup) -> Iterator[tuple[str, str]]:
    yield spread.book.path.name, spread.book.digest
    for survey in spread.surveys:
        file = _file(spread, survey)
        if file is not None and survey.digest is not None:
            yield file, survey.digest
    yield "table", _digest(lookup)


@lru_cache(maxsize=_KEPT)
def _digest(lookup: Lookup) -> str:
    return lookup.digest()
