"""A picture of each place that a finding speaks of, as it should print, with the place outlined."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from inkmix.checks.finding import FAIL, UNSURE, Finding
from inkmix.colours import Colouring
from inkmix.overview import ColourOverview, factor_for
from inkmix.passes import coloured_windows
from inkmix.plates.windows import Window
from inkmix.simulate.pictures import marked_jpeg_bytes
from inkmix.simulate.spread import Spread

CROP_PX = 420  # longest side of a crop
MARGIN_MM = 6.0  # of the surroundings, so that a person finds the place again
MOST_CROPS = 16


def crop_pictures(
    spread: Spread, colouring: Colouring, findings: Sequence[Finding]
) -> tuple[tuple[Finding, ...], dict[str, bytes]]:
    """The findings, each to act on that has a place with the key of its picture; the pictures."""
    pictures: dict[str, bytes] = {}
    done = []
    for number, finding in enumerate(findings, start=1):
        has_place = finding.rows_px is not None and finding.cols_px is not None
        if has_place and finding.verdict in (FAIL, UNSURE) and len(pictures) < MOST_CROPS:
            key = f"finding {number}"
            pictures[key] = _crop(spread, colouring, finding)
            finding = replace(finding, picture=key)
        done.append(finding)
    return tuple(done), pictures


def _crop(spread: Spread, colouring: Colouring, finding: Finding) -> bytes:
    assert finding.rows_px is not None
    assert finding.cols_px is not None
    margin = round(MARGIN_MM * spread.sheet.px_per_mm)
    rows = _widened(finding.rows_px, margin, spread.plates.height_px)
    cols = _widened(finding.cols_px, margin, spread.plates.width_px)
    height, width = rows.stop - rows.start, cols.stop - cols.start
    factor = factor_for(width, height, longest_px=CROP_PX)
    overview = ColourOverview(width_px=width, height_px=height, factor=factor)
    region = Window(rows=rows, cols=cols)
    for window in coloured_windows(spread.plates, colouring, region=region):
        overview.add(window.checked.rows.start - rows.start, window.srgb8)
    enlarge = max(1, CROP_PX // 2 // max(height, width))
    picture = np.repeat(np.repeat(overview.srgb8(), enlarge, axis=0), enlarge, axis=1)
    scale = enlarge / factor
    return marked_jpeg_bytes(
        picture,
        rows=_scaled(finding.rows_px, rows.start, scale),
        cols=_scaled(finding.cols_px, cols.start, scale),
    )


def _widened(span: tuple[int, int], margin: int, limit: int) -> slice:
    return slice(max(0, span[0] - margin), min(limit, span[1] + margin))


def _scaled(span: tuple[int, int], start: int, scale: float) -> tuple[float, float]:
    return (span[0] - start) * scale, (span[1] - start) * scale
