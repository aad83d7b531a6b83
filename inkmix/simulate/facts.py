"""The plain facts of a spread: condition, sheet, plates, digests, as the report takes them."""

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from inkmix.arrays import FloatArray
from inkmix.colorimetry import xyz100_to_lab, xyz100_to_srgb8
from inkmix.lookup import Lookup
from inkmix.plates.survey import PlateSurvey
from inkmix.result import ConditionFacts, InkFacts, SheetFacts
from inkmix.sheet import Sheet
from inkmix.simulate.pictures import jpeg_bytes
from inkmix.simulate.spread import Spread

_SAMPLED_MIXES = 400


def condition(spread: Spread, mean_tone_pct: FloatArray) -> ConditionFacts:
    """The press condition; its error is the median over mixes that this sheet holds.

    Parameters
    ----------
    mean_tone_pct : (rows, cols, I) ndarray
        Reduced plates, 0-100.
    """
    known = spread.condition
    error = known.expected_error(_typical_mixes(mean_tone_pct))
    return ConditionFacts(
        paper=known.paper.name,
        paper_class=known.paper.paper_class,
        paper_lab=_triple(xyz100_to_lab(known.paper.xyz100)),
        paper_srgb8=_triple8(known.paper.xyz100),
        paper_source=known.paper.source,
        process=known.process.name,
        level=known.level,
        error_de00=float(np.median(error.de00)),
        error_L=float(np.median(error.L)),
        estimate=known.estimate,
        hints=known.hints,
        unproven=known.unproven,
    )


def _typical_mixes(mean_tone_pct: FloatArray) -> FloatArray:
    """Evenly picked mixes (N, I) of two or more inks; of any ink where there are none."""
    mixes = mean_tone_pct.reshape(-1, mean_tone_pct.shape[-1])
    several = mixes[(mixes > 1).sum(axis=1) >= 2]
    mixes = several if len(several) else mixes
    step = max(1, len(mixes) // _SAMPLED_MIXES)
    return np.clip(mixes[::step], 0, 100)


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
    spread: Spread, mean_tone_pct: FloatArray, *, whole_pct: FloatArray
) -> tuple[tuple[InkFacts, ...], dict[str, bytes]]:
    """Each ink with its plate, and the plates' pictures, each in its ink, by key.

    `mean_tone_pct` (rows, cols, I) and `whole_pct` (I,) are means of the plates after growth.
    """
    pictures: dict[str, bytes] = {}
    made = []
    for index, survey in enumerate(spread.surveys):
        key = f"plate {survey.header.ink}"
        ramp = _ramp_srgb8(spread, index)
        pictures[key] = jpeg_bytes(ramp[np.rint(mean_tone_pct[..., index] * 2.55).astype(int)])
        covered = _mean_coverage_pct(spread, index, survey)
        if survey.screened:
            covered = float(whole_pct[index])
        made.append(_ink(spread, index, survey, coverage_pct=covered, picture=key))
    return tuple(made), pictures


def _ink(
    spread: Spread, index: int, survey: PlateSurvey, *, coverage_pct: float, picture: str
) -> InkFacts:
    ink, header = spread.condition.inks[index], survey.header
    solid = np.zeros(len(spread.condition.inks))
    solid[index] = 100
    xyz100 = spread.condition.xyz100(solid)
    return InkFacts(
        name=ink.name,
        known=ink.known,
        source=ink.source,
        opacity=ink.opacity,
        character=tuple(sorted(ink.character)),
        solid_lab=_triple(xyz100_to_lab(xyz100)),
        solid_srgb8=_triple8(xyz100),
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


def _mean_coverage_pct(spread: Spread, index: int, survey: PlateSurvey) -> float:
    """Mean coverage of a plate, after its tone curve, from its histogram."""
    count = len(spread.condition.inks)
    tones = np.repeat(np.linspace(0, 100, 256)[:, None], count, axis=1)
    coverage = spread.condition.coverage(tones)[:, index]
    return float(100 * (coverage * survey.histogram).sum() / survey.histogram.sum())


def _ramp_srgb8(spread: Spread, index: int) -> NDArray[np.uint8]:
    """Colours (256, 3) of one ink alone on the paper."""
    tones = np.zeros((256, len(spread.condition.inks)))
    tones[:, index] = np.linspace(0, 100, 256)
    return xyz100_to_srgb8(spread.condition.xyz100(tones))[0]


def _triple8(xyz100: FloatArray) -> tuple[int, int, int]:
    red, green, blue = xyz100_to_srgb8(xyz100)[0].tolist()
    return red, green, blue


def _triple(lab: FloatArray) -> tuple[float, float, float]:
    L, a, b = lab.tolist()
    return L, a, b


def digests(spread: Spread, lookup: Lookup) -> dict[str, str]:
    """SHA-256 of everything that the answer rests on: book, plates, table."""
    return dict(_digests(spread, lookup))


def _digests(spread: Spread, lookup: Lookup) -> Iterator[tuple[str, str]]:
    yield spread.book.path.name, spread.book.digest
    for survey in spread.surveys:
        file = _file(spread, survey)
        if file is not None and survey.digest is not None:
            yield file, survey.digest
    yield "table", lookup.digest()
