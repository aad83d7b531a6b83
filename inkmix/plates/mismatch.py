"""Why the size of a plate may differ: turned, without bleed, cropped. Words for people."""

from dataclasses import dataclass, replace

from inkmix.base.errors import Fault
from inkmix.base.words import size_of
from inkmix.plates.plate import PlateHeader
from inkmix.sheet.geometry import MM_PER_INCH

_CANVAS = "export all plates from the same canvas"
_EXACT_PX = 1.0
"""What rounding to whole pixels makes of a size."""
_NEAR_PX, _NEAR_MM = 4.0, 0.5
"""So far off a size is still the sheet's: canvases are rounded to fours, guillotines and folders to
half a millimetre (common practice)."""
_WHOLE_PPI = 0.01
"""So near to a whole number a resolution is one that was rounded."""
_CM_PER_INCH = 2.54


@dataclass(frozen=True, slots=True, kw_only=True)
class ExpectedSize:
    """Size that a sheet should have: trimmed size and bleed on every side, mm."""

    trim_width_mm: float
    trim_height_mm: float
    bleed_mm: float = 0.0

    def fit(self, width_px: int, height_px: int, *, ppi: float) -> "SizeFit":
        """How a size in pixels goes with the sheet: as it is, with a note, or not at all."""
        size = _Pixels(width_px=width_px, height_px=height_px, ppi=ppi)
        if self._fits(size):
            return SizeFit(ppi=ppi)
        if fault := self._other_sheet(size):
            return SizeFit(ppi=ppi, fault=fault)
        if self._fits(size, near=True):
            return SizeFit(ppi=ppi, note=self._off_by(size))
        true_ppi = self._true_ppi(size)
        if true_ppi is not None:
            return SizeFit(ppi=true_ppi, note=self._rounded(size, true_ppi))
        return SizeFit(ppi=ppi, fault=self._fault(size, "", "check the sizes in the book, and ppi"))

    def fault(self, width_px: int, height_px: int, *, ppi: float) -> Fault | None:
        """What is wrong with a size; None where it is the sheet's, or near enough."""
        return self.fit(width_px, height_px, ppi=ppi).fault

    def _other_sheet(self, size: "_Pixels") -> Fault | None:
        """What is wrong with a size that is clearly that of another sheet."""
        if self.bleed_mm and self._fits(size, bleed_mm=0.0):
            return self._fault(size, ", the trimmed size without bleed", "export with bleed")
        if self._fits(size.turned()):
            do = "turn them, or swap width and height in the book"
            return self._fault(size, ", turned by 90°", do)
        return None

    def _fits(self, size: "_Pixels", *, bleed_mm: float | None = None, near: bool = False) -> bool:
        tolerance_px = max(_NEAR_PX, _NEAR_MM * size.px_per_mm) if near else _EXACT_PX
        wanted_mm = self._mm(self.bleed_mm if bleed_mm is None else bleed_mm)
        return all(
            abs(wanted * size.px_per_mm - found) <= tolerance_px
            for wanted, found in zip(wanted_mm, size.sides, strict=True)
        )

    def _true_ppi(self, size: "_Pixels") -> float | None:
        """The resolution at which the size is the sheet's, where the stated one may be it, rounded.

        It is told by the longer side, to which a pixel matters less.
        """
        wanted_mm = self._mm(self.bleed_mm)
        longer = wanted_mm.index(max(wanted_mm))
        ppi = size.sides[longer] / wanted_mm[longer] * MM_PER_INCH
        fits = self._fits(_Pixels(width_px=size.width_px, height_px=size.height_px, ppi=ppi))
        return ppi if fits and is_rounded(size.ppi, ppi) else None

    def _mm(self, bleed_mm: float) -> tuple[float, float]:
        return self.trim_width_mm + 2 * bleed_mm, self.trim_height_mm + 2 * bleed_mm

    def _off_by(self, size: "_Pixels") -> str:
        """What has to be said of a size that is nearly the sheet's."""
        wanted_mm = self._mm(self.bleed_mm)
        pairs = zip(wanted_mm, size.sides, strict=True)
        off_mm = max(abs(side / size.px_per_mm - wanted) for wanted, side in pairs)
        return (
            f"plates: {size.words()}, up to {off_mm:.2f} mm off the sheet's "
            f"{size_of(*wanted_mm, 'mm')} ({self._wanted_px(size.ppi)}); taken as the sheet"
        )

    def _rounded(self, size: "_Pixels", true_ppi: float) -> str:
        """What has to be said of a resolution that was rounded."""
        sheet = size_of(*self._mm(self.bleed_mm), "mm")
        return (
            f"plates: {size.ppi:g} ppi is rounded: {size_of(*size.sides, 'px')} over {sheet} make "
            f"{true_ppi:.2f} ppi, which is used"
        )

    def _fault(self, size: "_Pixels", reason: str, do: str) -> Fault:
        bleed = f" with {self.bleed_mm:g} mm bleed" if self.bleed_mm else ""
        sheet = size_of(*self._mm(self.bleed_mm), "mm")
        return Fault(
            where="plates",
            found=f"{size.words()}{reason}",
            expected=f"the sheet is {sheet}{bleed}, that is {self._wanted_px(size.ppi)}",
            do=do,
        )

    def _wanted_px(self, ppi: float) -> str:
        width, height = (side * ppi / MM_PER_INCH for side in self._mm(self.bleed_mm))
        return size_of(width, height, "px", digits=0)


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeFit:
    """What becomes of a size: the resolution to work with, and a fault or what has to be said."""

    ppi: float
    fault: Fault | None = None
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Pixels:
    """A size in pixels at a stated resolution."""

    width_px: int
    height_px: int
    ppi: float

    @property
    def sides(self) -> tuple[int, int]:
        return self.width_px, self.height_px

    @property
    def px_per_mm(self) -> float:
        return self.ppi / MM_PER_INCH

    def turned(self) -> "_Pixels":
        return replace(self, width_px=self.height_px, height_px=self.width_px)

    def words(self) -> str:
        width_mm, height_mm = (side / self.px_per_mm for side in self.sides)
        mm = size_of(width_mm, height_mm, "mm", digits=1)
        return f"{size_of(*self.sides, 'px')} at {self.ppi:g} ppi ({mm})"


def is_rounded(stated_ppi: float, true_ppi: float) -> bool:
    """Whether a resolution is another one as it is rounded: to whole pixels an inch or a
    centimetre, or to one decimal a centimetre.

    >>> is_rounded(300, 299.72), is_rounded(299.72, 300), is_rounded(300, 299)
    (True, True, False)
    """
    return any(
        abs(stated_ppi / unit - round(stated_ppi / unit)) <= _WHOLE_PPI
        and abs(stated_ppi - true_ppi) <= unit / 2
        for unit in (1.0, _CM_PER_INCH, _CM_PER_INCH / 10)
    )


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
        return abs(across - bleed_px) <= _NEAR_PX and abs(down - bleed_px) <= _NEAR_PX
    return False


def _is_other_resolution(header: PlateHeader, measure: PlateHeader) -> bool:
    """The same size in mm within 0.5 %, at another resolution."""
    if not header.ppi or not measure.ppi or header.ppi == measure.ppi:
        return False
    pairs = ((header.width_px, measure.width_px), (header.height_px, measure.height_px))
    return all(abs(a / header.ppi * measure.ppi / b - 1) < 5e-3 for a, b in pairs)
