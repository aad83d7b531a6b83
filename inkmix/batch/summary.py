"""From the whole answer about one spread to what is kept of it: findings, ink, a thumbnail."""

import io
from collections.abc import Callable, Mapping
from hashlib import sha256

from PIL import Image

from inkmix.checks import table
from inkmix.checks.finding import Finding
from inkmix.checks.uses import ColourUse
from inkmix.jobs.answer import InkFacts, SpreadResult
from inkmix.jobs.book_answer import Checked, InkUse, KeptFinding, KeptUse
from inkmix.pages.folders import JSON_NAME, PAGE_NAME
from inkmix.pages.report.view import Numbered, best_remedy, numbered
from inkmix.sheet.geometry import MM_PER_INCH
from inkmix.sheet.places import place

THUMBNAIL_PX = 560
USE_PX = 300
THUMBNAIL_QUALITY = 80

RestsOn = Callable[[Finding], str]


def summary(
    result: SpreadResult,
    *,
    folder: str,
    key: str,
    rests_on: RestsOn,
    files: Mapping[str, bytes],
) -> Checked:
    """What is kept of an answer.

    Parameters
    ----------
    files : mapping of name to bytes
        The report, as it will be written.
    """
    sheet_m2 = _sheet_m2(result)
    return Checked(
        name=result.spread,
        folder=folder,
        key=key,
        verdict=result.verdict,
        sentence=result.sentence,
        verdicts={one.check: one.verdict for one in result.answers if not one.unchecked},
        findings=tuple(kept(item, rests_on) for item in numbered(result.findings)),
        paper=result.condition.paper,
        inks=tuple(_use(ink, sheet_m2) for ink in result.inks),
        width_mm=result.sheet.width_mm,
        height_mm=result.sheet.height_mm,
        sheet_m2=sheet_m2,
        figures=_figures(result),
        notes=result.warnings,
        guesses=result.guesses,
        uses=tuple(
            _kept_use(use, result.pictures) for answer in result.answers for use in answer.uses
        ),
        thumbnail=_thumbnail(result.pictures["print"], longest_px=THUMBNAIL_PX),
        report_sha256=sha256(files[PAGE_NAME]).hexdigest(),
        data_sha256=sha256(files[JSON_NAME]).hexdigest(),
    )


def _figures(result: SpreadResult) -> dict[str, float | None]:
    """What the checks give for the tables of a batch."""
    said = {name: value for answer in result.answers for name, value in answer.figures.items()}
    return {name: said.get(name) for name in table.figure_types()}


def kept(item: Numbered, rests_on: RestsOn) -> KeptFinding:
    """What is kept of one finding."""
    finding, remedy = item.finding, best_remedy(item.finding)
    return KeptFinding(
        number=item.number,
        check=finding.check,
        name=finding.name,
        verdict=finding.verdict,
        sentence=finding.sentence,
        unit=finding.unit,
        rests_on=rests_on(finding),
        where="" if finding.place is None else place(finding.place),
        do="" if remedy is None else "\n".join(remedy.paragraphs),
        value=finding.value,
        limit=finding.limit,
        error=finding.error,
        rows_px=finding.rows_px,
        cols_px=finding.cols_px,
    )


def _sheet_m2(result: SpreadResult) -> float:
    sheet = result.sheet
    px_m = MM_PER_INCH / 1000 / sheet.ppi
    return sheet.width_px * sheet.height_px * px_m * px_m


def _use(ink: InkFacts, sheet_m2: float) -> InkUse:
    return InkUse(
        ink=ink.name,
        solid_srgb8=ink.solid_srgb8,
        mean_tone_pct=ink.mean_tone_pct,
        mean_coverage_pct=ink.mean_coverage_pct,
        solid_m2=sheet_m2 * ink.mean_coverage_pct / 100,
    )


def _kept_use(use: ColourUse, pictures: Mapping[str, bytes]) -> KeptUse:
    if use.picture is None:
        return KeptUse(use=use)
    return KeptUse(use=use, picture=_thumbnail(pictures[use.picture], longest_px=USE_PX))


def _thumbnail(picture: bytes, *, longest_px: int) -> bytes:
    image = Image.open(io.BytesIO(picture), formats=("JPEG", "PNG"))
    image.draft("RGB", (2 * longest_px, 2 * longest_px))
    small = image.convert("RGB")
    small.thumbnail((longest_px, longest_px), Image.Resampling.BOX)
    buffer = io.BytesIO()
    small.save(buffer, "JPEG", quality=THUMBNAIL_QUALITY)  # sRGB without a profile: a few bytes
    return buffer.getvalue()
