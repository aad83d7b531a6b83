"""A picture of each place that a finding speaks of, as it should print, with the place outlined."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from inkmix.base.ordered_threads import each_in_order
from inkmix.checks.finding import FAIL, UNSURE, Finding
from inkmix.jobs.printing.coloured_windows import coloured_window, windows_of
from inkmix.jobs.printing.pictures import marked_jpeg_bytes, resized
from inkmix.jobs.spread import Spread
from inkmix.plates.overview import BlockPart, ColourOverview, Reduced, factor_for
from inkmix.plates.windows import Window
from inkmix.press.table.colouring import Colouring

CROP_PX = 420  # longest side of a crop
MARGIN_MM = 6.0  # of the surroundings, so that a person finds the place again
MOST_CROPS = 16


def crop_pictures(
    spread: Spread,
    colouring: Colouring,
    findings: Sequence[Finding],
    *,
    overview: Reduced,
) -> tuple[tuple[Finding, ...], dict[str, bytes]]:
    """The findings, each to act on that has a place with the key of its picture; the pictures.

    `overview` is the picture of the whole sheet, from which large places are cut.
    """
    pictures: dict[str, bytes] = {}
    done = []
    for number, finding in enumerate(findings, start=1):
        has_place = finding.rows_px is not None and finding.cols_px is not None
        if has_place and finding.verdict in (FAIL, UNSURE) and len(pictures) < MOST_CROPS:
            key = f"finding {number}"
            pictures[key] = _crop(spread, colouring, finding, overview)
            finding = replace(finding, picture=key)
        done.append(finding)
    return tuple(done), pictures


def _crop(spread: Spread, colouring: Colouring, finding: Finding, overview: Reduced) -> bytes:
    assert finding.rows_px is not None
    assert finding.cols_px is not None
    margin = round(MARGIN_MM * spread.sheet.px_per_mm)
    region = Window(
        rows=_widened(finding.rows_px, margin, spread.plates.height_px),
        cols=_widened(finding.cols_px, margin, spread.plates.width_px),
    )
    if factor_for(*region.shape, longest_px=CROP_PX) >= overview.factor:
        crop = _cut(overview, region)
    else:
        crop = _computed(spread, colouring, region)
    return marked_jpeg_bytes(
        crop.srgb8,
        rows=_scaled(finding.rows_px, crop.row, crop.scale),
        cols=_scaled(finding.cols_px, crop.col, crop.scale),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Crop:
    """A picture; `row` and `col` of the sheet are its corner, `scale` its pixels by the sheet's."""

    srgb8: NDArray[np.uint8]
    row: int
    col: int
    scale: float


def _computed(spread: Spread, colouring: Colouring, region: Window) -> _Crop:
    """A region from its plates."""
    height, width = region.shape
    factor = factor_for(width, height, longest_px=CROP_PX)
    overview = ColourOverview(width_px=width, height_px=height, factor=factor)

    def part(window: Window) -> BlockPart:
        coloured = coloured_window(spread.plates, colouring, window)
        return overview.part(window.rows.start - region.rows.start, coloured.srgb8)

    each_in_order(part, windows_of(region), overview.take)
    enlarge = max(1, CROP_PX // 2 // max(height, width))
    srgb8 = np.repeat(np.repeat(overview.srgb8(), enlarge, axis=0), enlarge, axis=1)
    row, col = region.rows.start, region.cols.start
    return _Crop(srgb8=srgb8, row=row, col=col, scale=enlarge / factor)


def _cut(overview: Reduced, region: Window) -> _Crop:
    """A region that is large enough to be taken from the picture of the whole sheet."""
    reduced = overview.factor
    rows, cols = (
        slice(span.start // reduced, -(-span.stop // reduced))
        for span in (region.rows, region.cols)
    )
    part = overview.srgb8[rows, cols]
    height, width = part.shape[:2]
    factor = factor_for(width, height, longest_px=CROP_PX)
    size = {"width_px": -(-width // factor), "height_px": -(-height // factor)}
    srgb8 = resized(part, **size) if factor > 1 else part
    scale = size["width_px"] / (width * reduced)
    return _Crop(srgb8=srgb8, row=rows.start * reduced, col=cols.start * reduced, scale=scale)


def _widened(span: tuple[int, int], margin: int, limit: int) -> slice:
    return slice(max(0, span[0] - margin), min(limit, span[1] + margin))


def _scaled(span: tuple[int, int], start: int, scale: float) -> tuple[float, float]:
    return (span[0] - start) * scale, (span[1] - start) * scale
