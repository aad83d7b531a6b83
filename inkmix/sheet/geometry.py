"""Geometry of a printed sheet: pixels, millimetres, panels, trim and bleed.

Only geometry belongs here: no files, no colours. Millimetres are counted from the top left corner
of the trimmed sheet; pixels from the top left corner of the plate, which lies `bleed_mm` outside
the trim.
"""

from dataclasses import dataclass

MM_PER_INCH = 25.4

SLIVER_MM = 1.0
"""A rectangle that reaches over a fold by no more than this is not said to lie on both sides."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Panel:
    """One leaf of a folded strip, in mm from the trim's top left corner."""

    name: str
    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A rectangle on the sheet as a person finds it with a ruler.

    Parameters
    ----------
    panel : str or None
        Panel that holds the rectangle's centre; None where the sheet has no panels.
    panels : tuple of str
        All panels that it covers, by more than a sliver, from the left; empty without panels.
    x_mm, y_mm : float
        From the left and top edge of the first of them (else of the trim); negative in the bleed,
        and by a sliver at most before a fold.
    width_mm, height_mm : float
        Size.
    sheet_x_mm, sheet_y_mm : float
        The same corner from the trim's top left corner.
    """

    panel: str | None
    panels: tuple[str, ...]
    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float
    sheet_x_mm: float
    sheet_y_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """Size and panels of one side of a sheet at one resolution."""

    width_px: int
    height_px: int
    ppi: float
    bleed_mm: float = 0.0
    panels: tuple[Panel, ...] = ()

    @property
    def px_per_mm(self) -> float:
        """Pixels in one millimetre."""
        return self.ppi / MM_PER_INCH

    @property
    def trim_width_mm(self) -> float:
        """Width of the trimmed sheet."""
        return self.width_px / self.px_per_mm - 2 * self.bleed_mm

    @property
    def trim_height_mm(self) -> float:
        """Height of the trimmed sheet."""
        return self.height_px / self.px_per_mm - 2 * self.bleed_mm

    def area_mm2(self, pixels: int) -> float:
        """Area of a count of pixels."""
        return pixels / self.px_per_mm**2

    def place_of(self, rows: slice, cols: slice) -> Place:
        """Place of a rectangle of pixels."""
        x = cols.start / self.px_per_mm - self.bleed_mm
        y = rows.start / self.px_per_mm - self.bleed_mm
        width = (cols.stop - cols.start) / self.px_per_mm
        height = (rows.stop - rows.start) / self.px_per_mm
        centre = self.panel_at(x + width / 2, y + height / 2)
        covered = [
            panel
            for panel in self.panels
            if panel is centre or _is_covered(panel, x, y, width_mm=width, height_mm=height)
        ]
        first = covered[0] if covered else None
        return Place(
            panel=centre.name if centre else None,
            panels=tuple(panel.name for panel in covered),
            x_mm=x - (first.x_mm if first else 0.0),
            y_mm=y - (first.y_mm if first else 0.0),
            width_mm=width,
            height_mm=height,
            sheet_x_mm=x,
            sheet_y_mm=y,
        )

    def panel_at(self, x_mm: float, y_mm: float) -> Panel | None:
        """Panel under a point of the trimmed sheet; in the bleed, the nearest one."""
        if not self.panels:
            return None
        return min(self.panels, key=lambda panel: _distance_mm(panel, x_mm, y_mm))

    def pixels_of(
        self, *, x_mm: float, y_mm: float, width_mm: float, height_mm: float
    ) -> tuple[slice, slice]:
        """Rows and columns of a rectangle in mm from the trim, cut to the plate."""
        left, top = (x_mm + self.bleed_mm, y_mm + self.bleed_mm)
        cols = self._span(left, left + width_mm, self.width_px)
        rows = self._span(top, top + height_mm, self.height_px)
        return rows, cols

    def _span(self, start_mm: float, stop_mm: float, limit_px: int) -> slice:
        start = min(max(round(start_mm * self.px_per_mm), 0), limit_px)
        stop = min(max(round(stop_mm * self.px_per_mm), start), limit_px)
        return slice(start, stop)


def _is_covered(
    panel: Panel, x_mm: float, y_mm: float, *, width_mm: float, height_mm: float
) -> bool:
    """Whether a rectangle reaches into a panel by more than a sliver."""
    right, bottom = panel.x_mm + panel.width_mm, panel.y_mm + panel.height_mm
    across = min(x_mm + width_mm, right) - max(x_mm, panel.x_mm)
    down = min(y_mm + height_mm, bottom) - max(y_mm, panel.y_mm)
    return min(across, down) > SLIVER_MM


def _distance_mm(panel: Panel, x_mm: float, y_mm: float) -> float:
    dx = max(panel.x_mm - x_mm, 0.0, x_mm - panel.x_mm - panel.width_mm)
    dy = max(panel.y_mm - y_mm, 0.0, y_mm - panel.y_mm - panel.height_mm)
    return dx + dy


def panels_in_a_row(count: int, *, width_mm: float, height_mm: float) -> tuple[Panel, ...]:
    """Equal panels side by side, named from 1 at the left."""
    return tuple(
        Panel(
            name=f"panel {index + 1}",
            x_mm=index * width_mm,
            y_mm=0.0,
            width_mm=width_mm,
            height_mm=height_mm,
        )
        for index in range(count)
    )
