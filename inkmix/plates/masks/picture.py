"""Reading the picture of a mask: two tones, the shape of the plates, in their size or another.

A mask of another size is scaled: each pixel of the sheet takes the nearest one of the mask.
"""

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
from inkmix.sheet.geometry import MM_PER_INCH, Sheet

POLARITIES = ("white", "black")
_MAX_FACTOR = 8
"""A mask eight times coarser than plates of 200 ppi has steps of 1 mm; beyond, it is refused."""
_NEAR_MM = 0.5
_MID = (0.1, 0.9)
_MAX_MID_SHARE = 0.1
"""Smooth edges of a mask hold a few per cent of its pixels; a photograph most of them."""
_BLOCK_PX = 1 << 17  # looked at together, in the cache


def open_mask(
    path: Path | str,
    sheet: Sheet,
    *,
    polarity: str = "white",
    room: ScratchRoom = TEMPORARY,
    may_be_empty: bool = False,
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
    may_be_empty : bool
        One that marks nothing is accepted.

    Raises
    ------
    PictureError
        If it cannot be read, does not fit the plates, is no mask, or marks nothing where it must.
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
    if not bits.marked and not may_be_empty:
        raise _empty(path, polarity)
    notes = (*raster.facts.notes, *sample.notes, *fit.notes, *light.notes(), *_full_note(share))
    return PictureMask(bits=bits, share=share, where=label(path), notes=notes)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Fit:
    """Which row and which column of a mask each of the sheet takes."""

    rows: NDArray[np.int64]
    cols: NDArray[np.int64]
    coarser: int
    notes: tuple[str, ...] = ()

    def rows_from(self, block: slice) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """Rows of a block of the mask that are taken, from its first, and by how many rows each."""
        first, last = np.searchsorted(self.rows, (block.start, block.stop))
        taken, times = np.unique(self.rows[first:last] - block.start, return_counts=True)
        return taken, times


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
    for rows in bands(facts.height_px, facts.width_px * fit.coarser**2):
        numbers = light.read(rows)
        for block in _blocks(rows, facts.width_px):
            some = numbers[block.start - rows.start : block.stop - rows.start]
            light.count(some)
            bits.append(_at_sheet_size(some, block, light, fit))
    bits.finish()
    if light.mid > _MAX_MID_SHARE * light.pixels:
        raise _refusal(
            facts.path,
            f"is grey on {percent(100 * light.mid / light.pixels)} of its area",
            "a mask has two tones",
            "draw the area in white on black",
        )
    return bits


def _blocks(rows: slice, width_px: int) -> Iterator[slice]:
    """Rows that stay in the cache while they are looked at."""
    step = max(1, _BLOCK_PX // width_px)
    for start in range(rows.start, rows.stop, step):
        yield slice(start, min(start + step, rows.stop))


def _at_sheet_size(numbers: Samples, block: slice, light: _Light, fit: _Fit) -> NDArray[np.uint8]:
    """One bit a pixel of the rows of the sheet that take theirs from a block of the mask."""
    taken, times = fit.rows_from(block)
    near = numbers if len(taken) == len(numbers) else numbers[taken]
    width_px, wanted_px = numbers.shape[1], len(fit.cols)
    if wanted_px < width_px:
        near = near.take(fit.cols, axis=1)
    area = light.marks(near)
    if wanted_px > width_px:
        area = area.take(fit.cols, axis=1)
    packed = np.packbits(area, axis=1)
    return packed if (times == 1).all() else packed.repeat(times, axis=0)


def _fit(raster: Raster, sheet: Sheet) -> _Fit:
    facts = raster.facts
    size, wanted = (facts.width_px, facts.height_px), (sheet.width_px, sheet.height_px)
    finer = max(s / w for s, w in zip(size, wanted, strict=True))
    if not 1 / _MAX_FACTOR <= finer <= _MAX_FACTOR or not _has_shape(size, facts.ppi, sheet):
        raise _refusal(
            facts.path,
            size_of(size[0], size[1], "px"),
            f"the plates are {size_of(wanted[0], wanted[1], 'px')}",
            _hint(size, facts.ppi, sheet),
        )
    return _Fit(
        rows=_nearest(size[1], wanted[1]),
        cols=_nearest(size[0], wanted[0]),
        coarser=max(1, -(-wanted[0] // size[0])),
        notes=_scaled_notes(size, wanted, sheet),
    )


def _nearest(count: int, wanted: int) -> NDArray[np.int64]:
    """Which of `count` pixels lies under the middle of each of the `wanted` ones."""
    return (2 * np.arange(wanted, dtype=np.int64) + 1) * count // (2 * wanted)


def _has_shape(size: tuple[int, int], ppi: float | None, sheet: Sheet) -> bool:
    """Whether a picture of this size is the sheet at another resolution.

    Its sides may be off by a pixel of either, or half a millimetre, which shifts no area visibly;
    what is told to be as large as the trimmed sheet is not the sheet.
    """
    if _is_trimmed(size, ppi, sheet):
        return False
    across, down = size[0] / sheet.width_px, size[1] / sheet.height_px
    off = max(abs(size[0] / down - sheet.width_px), abs(size[1] / across - sheet.height_px))
    return off < max(1.0, 1 / down, _NEAR_MM * sheet.px_per_mm)


def _is_trimmed(size: tuple[int, int], ppi: float | None, sheet: Sheet) -> bool:
    """Whether a picture is the sheet without its bleed, by its pixels or by its millimetres."""
    trim_mm = sheet.trim_width_mm, sheet.trim_height_mm
    return bool(sheet.bleed_mm) and any(
        all(
            abs(side - mm * resolution / MM_PER_INCH) <= 1
            for side, mm in zip(size, trim_mm, strict=True)
        )
        for resolution in (sheet.ppi, ppi)
        if resolution
    )


def _scaled_notes(size: tuple[int, int], wanted: tuple[int, int], sheet: Sheet) -> tuple[str, ...]:
    """What has to be said where pixels of the mask are not those of the sheet."""
    if size == wanted:
        return ()
    covers = " with its bleed" if sheet.bleed_mm else ""
    sizes = f"the mask is {size_of(*size, 'px')}, the plates are {size_of(*wanted, 'px')}"
    return (
        f"{sizes}: it is taken to show the whole sheet{covers}, and scaled to the nearest pixel",
    )


def _hint(size: tuple[int, int], ppi: float | None, sheet: Sheet) -> str:
    if size == (sheet.height_px, sheet.width_px):
        return "it is turned by 90°; turn it back"
    if _is_trimmed(size, ppi, sheet):
        return "it is without bleed; export it with bleed, like the plates"
    return "export the mask from the same canvas as the plates"


def _empty(path: Path, polarity: str) -> PictureError:
    other = POLARITIES[1 - POLARITIES.index(polarity)]
    return _refusal(
        path,
        f"marks nothing: there is no {polarity} in it",
        f"{polarity} marks the area",
        "if only some spreads have this area, name them in the book: spreads = [...]; "
        f'if {other} marks it, write mask_shows = "{other}"',
    )


def _full_note(share: float) -> tuple[str, ...]:
    return ("the mask marks the whole sheet",) if share == 1 else ()


def _refusal(path: Path, found: str, expected: str = "", do: str = "") -> PictureError:
    return PictureError(Fault(where=label(path), found=found, expected=expected, do=do))
