"""Reading the picture of a mask: two tones, the size of the plates, or a whole factor off."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from inkmix.base.errors import Fault, PictureError, PlateError
from inkmix.base.quoting import quoted
from inkmix.base.words import percent, size_of
from inkmix.plates.channels import choose_channel
from inkmix.plates.files.raster import Raster, Samples, bands, label
from inkmix.plates.files.scratch.room import TEMPORARY, ScratchRoom
from inkmix.plates.masks.bits import BitRows
from inkmix.plates.masks.mask import PictureMask
from inkmix.plates.plate import open_raster
from inkmix.sheet.geometry import Sheet

POLARITIES = ("white", "black")
_MAX_FACTOR = 8
"""A mask eight times coarser than plates of 200 ppi has steps of 1 mm; beyond, it is refused."""
_MID = (0.1, 0.9)
_MAX_MID_SHARE = 0.1
"""Smooth edges of a mask hold a few per cent of its pixels; a photograph most of them."""
_BLOCK_PX = 1 << 17  # looked at together, in the cache


def open_mask(
    path: Path | str, sheet: Sheet, *, polarity: str = "white", room: ScratchRoom = TEMPORARY
) -> PictureMask:
    """The area that a picture shows.

    Parameters
    ----------
    path : Path or str
        Grey TIFF or PNG of two tones.
    sheet : Sheet
        Whose plates it must fit.
    polarity : str
        "white" or "black": what marks the area.
    room : ScratchRoom
        For a picture that cannot be read by windows.

    Raises
    ------
    PictureError
        If it cannot be read, does not fit the plates, is no mask, or marks nothing.
    """
    path = Path(path)
    if polarity not in POLARITIES:
        found = f"polarity {quoted(polarity)} is not known"
        raise _refusal(path, found, 'it is "white" or "black"')
    try:
        raster = open_raster(path, room=room)
        sample = choose_channel(raster, ink="mask", channel=None)
        fit = _fit(raster, sheet)
        light = _Light(raster=raster, sample=sample.sample, marks_white=polarity == "white")
        bits = _bits(light, fit, sheet)
    except PlateError as error:
        raise PictureError(error.faults) from error
    share = bits.marked / (sheet.width_px * sheet.height_px)
    _refuse_if_empty(path, bits.marked, polarity)
    notes = (*raster.facts.notes, *sample.notes, *fit.notes, *light.notes(), *_full_note(share))
    return PictureMask(bits=bits, share=share, where=label(path), notes=notes)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Fit:
    """How a mask is brought to the size of the plates: one of the factors is 1."""

    finer: int = 1
    coarser: int = 1

    @property
    def notes(self) -> tuple[str, ...]:
        if self.finer > 1:
            return (f"the mask is {self.finer} times finer than the plates, every one is taken",)
        if self.coarser > 1:
            return (f"the mask is {self.coarser} times coarser than the plates, pixels repeat",)
        return ()


@dataclass(slots=True, kw_only=True)
class _Light:
    """Light and dark of a mask, and how many of its pixels are neither."""

    raster: Raster
    sample: int
    marks_white: bool
    mid: int = 0
    grey: int = 0
    pixels: int = 0

    def read(self, rows: slice) -> Samples:
        """Numbers of whole rows."""
        return self.raster.read(rows, slice(0, self.raster.facts.width_px), self.sample)

    def count(self, numbers: Samples) -> None:
        """Count what is neither light nor dark; nothing in a picture of one bit."""
        self.pixels += numbers.size
        if self.raster.facts.bits == 1:
            return
        top = self.raster.facts.top
        low, high = (round(edge * top) for edge in _MID)
        if self._is_inverted:
            low, high = top - high, top - low
        if grey := _between(numbers, 0, top):
            self.grey += grey
            self.mid += _between(numbers, low, high)

    def marks(self, numbers: Samples) -> NDArray[np.bool_]:
        """Where the area is, split at 50 %."""
        top = self.raster.facts.top
        if self._is_inverted:
            dark = top - top // 2
            return numbers < dark if self.marks_white else numbers >= dark
        return numbers > top // 2 if self.marks_white else numbers <= top // 2

    @property
    def _is_inverted(self) -> bool:
        return self.raster.facts.zero_is != "black"

    def notes(self) -> tuple[str, ...]:
        """What has to be said of grey pixels."""
        if not self.grey:
            return ()
        return (f"{percent(100 * self.grey / self.pixels)} of the mask is grey, split at 50 %",)


def _between(numbers: Samples, low: int, high: int) -> int:
    """How many lie between two numbers; those below wrap to above, so that one look tells."""
    first = numbers.dtype.type(low + 1)
    return int(np.count_nonzero(numbers - first < numbers.dtype.type(high - low - 1)))


def _bits(light: _Light, fit: _Fit, sheet: Sheet) -> BitRows:
    """One bit a pixel of the sheet; a mask with too much grey is refused."""
    facts = light.raster.facts
    bits = BitRows(width_px=sheet.width_px)
    # A coarse mask is read in bands that are no larger once its pixels repeat.
    band_width_px = facts.width_px * fit.coarser**2
    for rows in bands(facts.height_px, band_width_px, rows_multiple=fit.finer):
        numbers = light.read(rows)
        for block in _blocks(numbers, fit.finer):
            light.count(block)
            part = _packed_at_sheet_size(light.marks(_near(block, fit.finer)), fit.coarser)
            bits.append(part)
    bits.finish()
    if light.mid > _MAX_MID_SHARE * light.pixels:
        raise _refusal(
            facts.path,
            f"is grey on {percent(100 * light.mid / light.pixels)} of its area",
            "a mask has two tones",
            "draw the area in white on black",
        )
    return bits


def _blocks(numbers: Samples, rows_multiple: int) -> Iterator[Samples]:
    """Rows that stay in the cache while they are looked at."""
    step = max(1, _BLOCK_PX // (numbers.shape[1] * rows_multiple)) * rows_multiple
    for start in range(0, len(numbers), step):
        yield numbers[start : start + step]


def _near(numbers: Samples, finer: int) -> Samples:
    """Nearest neighbour where the mask is finer than the sheet."""
    return numbers[finer // 2 :: finer, finer // 2 :: finer]


def _packed_at_sheet_size(area: NDArray[np.bool_], coarser: int) -> NDArray[np.uint8]:
    """One bit a pixel; each pixel repeated where the mask is coarser than the sheet."""
    if coarser == 1:
        return np.packbits(area, axis=1)
    return np.packbits(area.repeat(coarser, axis=1), axis=1).repeat(coarser, axis=0)


def _fit(raster: Raster, sheet: Sheet) -> _Fit:
    facts = raster.facts
    size, wanted = (facts.width_px, facts.height_px), (sheet.width_px, sheet.height_px)
    finer, coarser = size[0] // wanted[0], wanted[0] // size[0]
    if 1 <= finer <= _MAX_FACTOR and all(s == w * finer for s, w in zip(size, wanted, strict=True)):
        return _Fit(finer=finer)
    exact = all(s * coarser == w for s, w in zip(size, wanted, strict=True))
    if exact and 1 <= coarser <= _MAX_FACTOR:
        return _Fit(coarser=coarser)
    raise _refusal(
        facts.path,
        size_of(size[0], size[1], "px"),
        f"the plates are {size_of(wanted[0], wanted[1], 'px')}",
        _hint(size, sheet),
    )


def _hint(size: tuple[int, int], sheet: Sheet) -> str:
    if size == (sheet.height_px, sheet.width_px):
        return "it is turned by 90°; turn it back"
    bleed_px = 2 * sheet.bleed_mm * sheet.px_per_mm
    lacks = (sheet.width_px - size[0], sheet.height_px - size[1])
    if sheet.bleed_mm and all(abs(lack - bleed_px) <= 1 for lack in lacks):
        return "it is without bleed; export it with bleed, like the plates"
    return "export the mask from the same canvas as the plates"


def _refuse_if_empty(path: Path, marked: int, polarity: str) -> None:
    if not marked:
        other = POLARITIES[1 - POLARITIES.index(polarity)]
        raise _refusal(
            path,
            f"marks nothing: there is no {polarity} in it",
            f"{polarity} marks the area",
            f'check the mask, or write mask_shows = "{other}" in the book',
        )


def _full_note(share: float) -> tuple[str, ...]:
    return ("the mask marks the whole sheet",) if share == 1 else ()


def _refusal(path: Path, found: str, expected: str = "", do: str = "") -> PictureError:
    return PictureError(Fault(where=label(path), found=found, expected=expected, do=do))
