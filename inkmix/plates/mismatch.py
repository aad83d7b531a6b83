"""Why the size of a plate may differ: turned, without bleed, cropped. Words for people."""

from dataclasses import dataclass

from inkmix.base.errors import Fault
from inkmix.base.words import size_of
from inkmix.plates.plate import PlateHeader
from inkmix.sheet.geometry import MM_PER_INCH

_CANVAS = "export all plates from the same canvas"
_TOLERANCE_PX = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class ExpectedSize:
    """Size that a sheet should have: trimmed size and bleed on every side, mm."""

    trim_width_mm: float
    trim_height_mm: float
    bleed_mm: float = 0.0

    def fault(self, width_px: int, height_px: int, *, ppi: float) -> Fault | None:
        """What is wrong with a size, within one pixel; None if nothing is."""
        if self._fits(width_px, height_px, ppi=ppi, bleed_mm=self.bleed_mm):
            return None
        reason, do = "", "check the sizes in the book, and ppi"
        if self.bleed_mm and self._fits(width_px, height_px, ppi=ppi, bleed_mm=0.0):
            reason, do = ", the trimmed size without bleed", "export with bleed"
        elif self._fits(height_px, width_px, ppi=ppi, bleed_mm=self.bleed_mm):
            reason, do = ", turned by 90°", "turn them, or swap width and height in the book"
        found_mm = size_of(
            width_px / ppi * MM_PER_INCH, height_px / ppi * MM_PER_INCH, "mm", digits=1
        )
        return Fault(
            where="plates",
            found=f"{size_of(width_px, height_px, 'px')} at {ppi:g} ppi ({found_mm}){reason}",
            expected=self._wanted(ppi),
            do=do,
        )

    def _fits(self, width_px: int, height_px: int, *, ppi: float, bleed_mm: float) -> bool:
        wanted = ((self.trim_width_mm, width_px), (self.trim_height_mm, height_px))
        return all(
            abs((trim + 2 * bleed_mm) * ppi / MM_PER_INCH - size) <= _TOLERANCE_PX
            for trim, size in wanted
        )

    def _wanted(self, ppi: float) -> str:
        width = self.trim_width_mm + 2 * self.bleed_mm
        height = self.trim_height_mm + 2 * self.bleed_mm
        pixels = size_of(width * ppi / MM_PER_INCH, height * ppi / MM_PER_INCH, "px", digits=0)
        bleed = f" with {self.bleed_mm:g} mm bleed" if self.bleed_mm else ""
        return f"the sheet is {size_of(width, height, 'mm')}{bleed}, that is {pixels}"


def size_reason(
    header: PlateHeader, measure: PlateHeader, *, ppi: float | None, expect: ExpectedSize | None
) -> tuple[str, str]:
    """(reason, what to do) for a plate whose size differs from that of the others."""
    size, other = (header.width_px, header.height_px), (measure.width_px, measure.height_px)
    if size == other[::-1]:
        return " (turned by 90°)", "turn it back"
    if _lacks_bleed(size, other, ppi=ppi, expect=expect):
        return " (without bleed)", "export it with bleed, like the others"
    if _is_other_resolution(header, measure):
        return " (no whole factor between them)", "export plates at equal or whole multiples of ppi"
    if size[0] <= other[0] and size[1] <= other[1]:
        return " (cropped)", _CANVAS
    return "", _CANVAS


def _lacks_bleed(
    size: tuple[int, int],
    other: tuple[int, int],
    *,
    ppi: float | None,
    expect: ExpectedSize | None,
) -> bool:
    """Whether both sides are shorter by the bleed; equal cuts on both sides if it is not known."""
    across, down = other[0] - size[0], other[1] - size[1]
    if expect and expect.bleed_mm and ppi:
        bleed_px = 2 * expect.bleed_mm * ppi / MM_PER_INCH
        return abs(across - bleed_px) <= _TOLERANCE_PX and abs(down - bleed_px) <= _TOLERANCE_PX
    return False


def _is_other_resolution(header: PlateHeader, measure: PlateHeader) -> bool:
    """The same size in mm within 0.5 %, at another resolution."""
    if not header.ppi or not measure.ppi or header.ppi == measure.ppi:
        return False
    pairs = ((header.width_px, measure.width_px), (header.height_px, measure.height_px))
    return all(abs(a / header.ppi * measure.ppi / b - 1) < 5e-3 for a, b in pairs)
