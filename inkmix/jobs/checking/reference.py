"""The reference picture of a spread against its prediction."""

from dataclasses import dataclass

import numpy as np

from inkmix.book.meant.inputs import spread_file
from inkmix.checks.reference.check import ReferenceCheck, ReferenceResult
from inkmix.checks.reference.facts import ReferenceFacts
from inkmix.jobs.printing.pictures import jpeg_bytes
from inkmix.jobs.spread import Spread
from inkmix.plates.reference.picture import Reference, open_reference
from inkmix.sheet.geometry import Sheet

MAP_WHITE_DE00 = 20.0  # differences from here on are shown as bare white
PICTURE = "reference map"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ComparedReference:
    """Figures, the map as a picture, and what has to be said."""

    facts: ReferenceFacts
    picture: bytes
    notes: tuple[str, ...]


def open_spread_reference(spread: Spread) -> Reference | None:
    """The reference picture of a spread; None where the book names none."""
    if spread.book.reference is None:
        return None
    path = spread_file(spread.book, spread.book.reference, spread.name, key="reference: picture")
    return open_reference(path, spread.sheet, room=spread.room)


def reference_check(spread: Spread, reference: Reference) -> ReferenceCheck:
    """The comparison that windows of the prediction are to be given to."""
    rows, cols = _covered(spread.sheet, reference)
    return ReferenceCheck(
        wanted=reference,
        rows=rows,
        cols=cols,
        paper_xyz100=np.asarray(spread.condition.paper.xyz100),
        ppi=spread.sheet.ppi,
        file=str(spread.book.reference).replace("{spread}", spread.name),
        picture=PICTURE,
    )


def compared_reference(reference: Reference, result: ReferenceResult) -> ComparedReference:
    """What the report shows of a comparison."""
    grey = np.rint(255 * np.minimum(result.de00 / MAP_WHITE_DE00, 1)).astype(np.uint8)
    return ComparedReference(
        facts=result.facts,
        picture=jpeg_bytes(np.repeat(grey[..., None], 3, axis=2)),
        notes=("the reference picture is compared with its white as paper white", *reference.notes),
    )


def _covered(sheet: Sheet, reference: Reference) -> tuple[slice, slice]:
    """Rows and columns of the plates that the reference shows, in whole pixels."""
    bleed_px = 0.0 if reference.covers == "sheet" else sheet.bleed_mm * sheet.px_per_mm
    return (
        _span(sheet.height_px, bleed_px, reference.height_px),
        _span(sheet.width_px, bleed_px, reference.width_px),
    )


def _span(length_px: int, bleed_px: float, wanted_px: int) -> slice:
    """The trimmed part; as long as the reference where that is it but for a part of a pixel."""
    trimmed_px = length_px - 2 * bleed_px
    if abs(trimmed_px - wanted_px) < 1:
        start = (length_px - wanted_px) // 2
        return slice(start, start + wanted_px)
    start = round(bleed_px)
    return slice(start, length_px - start)
