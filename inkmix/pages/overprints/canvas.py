"""A sheet to draw on in millimetres, given out as PNG, SVG or PDF: one drawing, three forms.

Knows shapes, lines and type, nothing of inks. Everything is set by hand, and nothing that a style,
a date or a machine could change gets into the files.
"""

import io
import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any

import numpy as np
from numpy.typing import NDArray

from inkmix.pages.overprints.letters import PLAIN, drawable, font_file
from inkmix.pages.overprints.pdf_profile import with_profile
from inkmix.sheet.box import Box

MM_PER_INCH = 25.4
MARK = b"inkmix overprint sheet"
"""In the first bytes of every SVG and PDF written here."""

Colour = tuple[float, float, float]
Line = tuple[tuple[float, float], tuple[float, float]]

_STYLE: dict[str, Any] = {
    "svg.hashsalt": "inkmix",
    "svg.fonttype": "path",
    "pdf.fonttype": 42,
    "pdf.compression": 6,
    "path.simplify": False,
    "path.sketch": None,
    "path.effects": [],
    "text.parse_math": False,
    "text.usetex": False,
    "text.antialiased": True,
    "text.hinting": "none",
}


@contextmanager
def own_style() -> Iterator[None]:
    """While a canvas is drawn on: nothing of the person's own settings, nor of a default."""
    import matplotlib

    with matplotlib.rc_context():
        matplotlib.rcdefaults()  # whatever the person's own settings say
        settings: Any = matplotlib.rcParams
        settings.update(_STYLE)
        yield


class Canvas:
    """A page; y runs down from its top edge, as in everything else here.

    It is made and drawn on inside of `own_style`.
    """

    def __init__(self, width_mm: float, height_mm: float, *, ground: Colour) -> None:
        from matplotlib.figure import Figure
        from matplotlib.transforms import Affine2D

        self.width_mm, self.height_mm, self.ground = width_mm, height_mm, ground
        self._figure: Any = Figure(
            figsize=(width_mm / MM_PER_INCH, height_mm / MM_PER_INCH),
            facecolor=ground,
            edgecolor="none",
            linewidth=0,
        )
        down = Affine2D().scale(1 / MM_PER_INCH, -1 / MM_PER_INCH)
        self._mm = down.translate(0, height_mm / MM_PER_INCH) + self._figure.dpi_scale_trans

    def fields(self, boxes: Sequence[Box], colours: Sequence[Colour]) -> None:
        """Filled rectangles without an edge."""
        self.shapes([_corners(box) for box in boxes], colours)

    def shapes(
        self, outlines: Sequence[Sequence[tuple[float, float]]], colours: Sequence[Colour]
    ) -> None:
        """Filled outlines without an edge."""
        from matplotlib.collections import PolyCollection

        if outlines:
            self._add(PolyCollection(list(outlines), facecolors=list(colours), edgecolors="none",
                                     linewidths=0))  # fmt: skip

    def lines(
        self, lines: Sequence[Line], colours: Sequence[Colour] | Colour, *, width_mm: float
    ) -> None:
        """Straight lines with round ends."""
        from matplotlib.collections import LineCollection

        if lines:
            points = width_mm / MM_PER_INCH * 72
            self._add(LineCollection(list(lines), colors=colours, linewidths=points,
                                     capstyle="round"))  # fmt: skip

    def outline(self, box: Box, colour: Colour, *, width_mm: float) -> None:
        """The edge of a rectangle."""
        corners = _corners(box)
        edges = list(zip(corners, corners[1:] + corners[:1], strict=True))
        self.lines(edges, colour, width_mm=width_mm)

    def text(
        self,
        words: str,
        x: float,
        y: float,
        *,
        size_pt: float,
        colour: Colour,
        font: str = PLAIN,
        align: str = "left",
    ) -> None:
        """One line of type whose base line starts, or by `align` ends or has its middle, here."""
        from matplotlib.font_manager import FontProperties

        words, font = drawable(words, font)
        self._figure.text(
            x, y, words, transform=self._mm, color=colour, ha=align, va="baseline",
            parse_math=False,
            fontproperties=FontProperties(fname=str(font_file(font)), size=size_pt),
        )  # fmt: skip

    def srgb8(self, *, ppi: float) -> NDArray[np.uint8]:
        """The drawing as pixels (rows, cols, 3)."""
        from matplotlib.backends.backend_agg import FigureCanvasAgg

        with own_style():
            self._figure.set_dpi(ppi)
            canvas: Any = FigureCanvasAgg(self._figure)
            canvas.draw()
            return np.asarray(canvas.buffer_rgba())[..., :3].copy()

    def svg(self) -> bytes:
        """The drawing as SVG, type as outlines, at true size."""
        from matplotlib.backends.backend_svg import FigureCanvasSVG

        data = self._printed(FigureCanvasSVG, {"Date": None, "Creator": MARK.decode()}, "svg")
        return _sized_in_mm(data, self.width_mm, self.height_mm)

    def pdf(self, *, title: str) -> bytes:
        """The drawing as PDF at true size, fonts embedded."""
        from matplotlib.backends.backend_pdf import FigureCanvasPdf

        told = {"Title": title, "Creator": "inkmix", "Producer": None, "CreationDate": None}
        return with_profile(self._printed(FigureCanvasPdf, told, "pdf"), comment=MARK)

    def _printed(self, kind: Any, metadata: dict[str, Any], form: str) -> bytes:
        file = io.BytesIO()
        with own_style():
            self._figure.set_dpi(72)
            getattr(kind(self._figure), f"print_{form}")(file, metadata=metadata)
        return file.getvalue()

    def _add(self, artist: Any) -> None:
        artist.set_transform(self._mm)
        self._figure.add_artist(artist)


def _corners(box: Box) -> list[tuple[float, float]]:
    return [(box.x, box.y), (box.right, box.y), (box.right, box.bottom), (box.x, box.bottom)]


def hatching(box: Box, *, step_mm: float) -> Iterator[Line]:
    """Slanting lines across a rectangle, from its left or upper edge to its lower or right one."""
    reach = box.width + box.height
    for k in range(1, int(np.ceil(reach / step_mm - 1e-9))):
        along = k * step_mm
        x1 = box.x + min(along, box.width)
        y1 = box.y + max(0.0, along - box.width)
        x2 = box.x + max(0.0, along - box.height)
        y2 = box.y + min(along, box.height)
        yield (x1, y1), (x2, y2)


def _sized_in_mm(svg: bytes, width_mm: float, height_mm: float) -> bytes:
    """Width and height in mm to the digit; the library writes points."""
    size = f'width="{width_mm:g}mm" height="{height_mm:g}mm"'.encode()
    return re.sub(rb'width="[\d.]+pt" height="[\d.]+pt"', size, svg, count=1)
