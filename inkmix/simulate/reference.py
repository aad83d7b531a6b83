"""The reference picture of a spread against its prediction, at the size of an overview."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkmix.checks.facts import ReferenceFacts
from inkmix.checks.reference import compare_with_reference
from inkmix.colorimetry import WHITE_XYZ100, srgb1_to_xyz100, xyz100_to_lab
from inkmix.overview import factor_for
from inkmix.plates.reference import Reference, open_reference
from inkmix.resolve.plates import spread_file
from inkmix.sheet import Sheet
from inkmix.simulate.pictures import jpeg_bytes, resized
from inkmix.simulate.spread import Spread

MAP_PX = 1200  # longest side of the map
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
    return open_reference(path, spread.sheet, max_width_px=MAP_PX)


def compare_reference(
    spread: Spread, reference: Reference, as_printed: NDArray[np.uint8]
) -> ComparedReference:
    """Colour differences of the prediction from the reference, whose white is paper white."""
    part = _covered(spread.sheet, reference, as_printed)
    height, width = reference.srgb8.shape[:2]
    printed = resized(part, width_px=width, height_px=height)
    paper = spread.condition.paper.xyz100
    relative = srgb1_to_xyz100(reference.srgb8 / 255.0) / WHITE_XYZ100
    result = compare_with_reference(
        xyz100_to_lab(srgb1_to_xyz100(printed / 255.0)),
        xyz100_to_lab(relative * paper),
        file=str(spread.book.reference).replace("{spread}", spread.name),
        map_ppi=spread.sheet.ppi * width / _covered_px(spread.sheet, reference),
        picture=PICTURE,
    )
    grey = np.rint(255 * np.minimum(result.de00 / MAP_WHITE_DE00, 1)).astype(np.uint8)
    return ComparedReference(
        facts=result.facts,
        picture=jpeg_bytes(np.repeat(grey[..., None], 3, axis=2)),
        notes=(
            "the reference picture is compared with its white as paper white",
            *reference.notes,
        ),
    )


def _covered_px(sheet: Sheet, reference: Reference) -> float:
    bleed_px = 0.0 if reference.covers == "sheet" else sheet.bleed_mm * sheet.px_per_mm
    return sheet.width_px - 2 * bleed_px


def _covered(sheet: Sheet, reference: Reference, overview: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """The part of an overview that the reference shows."""
    if reference.covers == "sheet":
        return overview
    factor = factor_for(sheet.width_px, sheet.height_px, longest_px=max(overview.shape[:2]))
    bleed = round(sheet.bleed_mm * sheet.px_per_mm / factor)
    return overview[bleed : overview.shape[0] - bleed, bleed : overview.shape[1] - bleed]
