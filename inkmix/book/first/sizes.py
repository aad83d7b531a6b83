"""What the sizes of plates say: millimetres, and a strip of panels where that is obvious."""

from dataclasses import dataclass

from inkmix.base.words import size_of
from inkmix.sheet.geometry import MM_PER_INCH

# Widths and heights of upright leaves: ISO 216, A7 to A4.
FORMATS_MM = {"A7": (74, 105), "A6": (105, 148), "A5": (148, 210), "A4": (210, 297)}
BLEEDS_MM = (0, 3, 5)  # the usual ones
_TOLERANCE_MM = 0.35  # a pixel at 72 ppi
_MOST_PANELS = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class PlateSize:
    """Pixels and resolution of a plate; ppi is None where the file does not say."""

    width_px: int
    height_px: int
    ppi: float | None

    @property
    def mm(self) -> tuple[float, float] | None:
        """Width and height in mm, if the resolution is known."""
        if self.ppi is None:
            return None
        scale = MM_PER_INCH / self.ppi
        return self.width_px * scale, self.height_px * scale

    def __str__(self) -> str:
        size = size_of(self.width_px, self.height_px, "px")
        if self.mm is None:
            return f"{size}, resolution not said"
        return (
            f"{size} at {self.ppi:g} ppi, that is {size_of(self.mm[0], self.mm[1], 'mm', digits=1)}"
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class StripGuess:
    """Panels of a standard format in a row."""

    format: str
    panels: int
    panel_mm: tuple[float, float]
    bleed_mm: float


def guess_strip(size: PlateSize) -> StripGuess | None:
    """Two or more upright leaves of a standard format side by side, or None."""
    if size.mm is None:
        return None
    for name, panel_mm in FORMATS_MM.items():
        for bleed_mm in BLEEDS_MM:
            panels = _panels(size.mm, panel_mm, bleed_mm)
            if 2 <= panels <= _MOST_PANELS:
                return StripGuess(format=name, panels=panels, panel_mm=panel_mm, bleed_mm=bleed_mm)
    return None


def _panels(size_mm: tuple[float, float], panel_mm: tuple[float, float], bleed_mm: float) -> int:
    """How many such panels fill the size exactly; 0 if they do not."""
    width, height = (value - 2 * bleed_mm for value in size_mm)
    panels = round(width / panel_mm[0])
    fits = abs(height - panel_mm[1]) <= _TOLERANCE_MM
    return panels if fits and abs(width - panels * panel_mm[0]) <= _TOLERANCE_MM else 0
