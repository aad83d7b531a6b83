"""One plate: a file, or a channel of one, as ink amount. Here and only here polarity is settled.

Below, files hold numbers; above, 0 is no ink and the top value is full ink. Sets are in set.py.
"""

from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

import numpy as np

from inkmix.base.errors import Fault, PlateError
from inkmix.base.quoting import quoted
from inkmix.plates.channels import choose_channel
from inkmix.plates.files.png.reader import open_png
from inkmix.plates.files.raster import Raster, RasterFacts, Samples, label
from inkmix.plates.files.scratch.room import TEMPORARY, ScratchRoom
from inkmix.plates.files.sniff import sniff
from inkmix.plates.files.tiff.reader import open_tiff

DARK_IS_INK = "dark is ink"
LIGHT_IS_INK = "light is ink"


@dataclass(frozen=True, slots=True, kw_only=True)
class PlateSource:
    """Where the plate of an ink lies.

    Parameters
    ----------
    path : Path
        File.
    channel : int or None
        Channel, from 0, where the person lists them; None to go by ink names or a single channel.
    page : int
        Page of a TIFF, from 1.
    polarity : str or None
        "dark is ink", "light is ink", or None for the file's own rule.
    hit_of : str or None
        An earlier ink of the set that is the same ink, so that both may have the same plate.
    """

    path: Path
    channel: int | None = None
    page: int = 1
    polarity: str | None = None
    hit_of: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PlateHeader:
    """What is known of a plate before its pixels are read.

    Parameters
    ----------
    path : Path or None
        File; None for a plate that the spread lacks.
    ink : str
        Ink.
    width_px, height_px, bits : int
        Size and bits of the file (1, 8 or 16).
    ppi : float or None
        Resolution that the file says.
    rows_per_segment : int
        Rows of its strips or tiles.
    cols_per_segment : int or None
        Columns of its tiles; None for strips.
    profile : str or None
        Name and digest of an embedded profile; it is not applied.
    notes : tuple of str
        What was accepted and has to be said.
    screened : bool
        1-bit or already screened: it gains at its edges instead of by a tone curve.
    polarity : str or None
        As told by the person.
    channel : int
        Channel of the file.
    page : int
        Page of the file, from 1.
    hit_of : str or None
        An earlier ink of the set that is the same ink.
    """

    path: Path | None
    ink: str
    width_px: int
    height_px: int
    bits: int
    ppi: float | None = None
    rows_per_segment: int = 1
    cols_per_segment: int | None = None
    profile: str | None = None
    notes: tuple[str, ...] = ()
    screened: bool = False
    polarity: str | None = None
    channel: int = 0
    page: int = 1
    hit_of: str | None = None

    @property
    def first_hit(self) -> str:
        """The ink itself, or the earlier one that is the same: equal for all hits of one ink."""
        return self.hit_of or self.ink

    @property
    def where(self) -> str:
        """The name that messages use."""
        return label(self.path) if self.path else self.ink

    @property
    def full(self) -> int:
        """Ink amount of 100 %: 255, or 65535 at 16 bits."""
        return 65535 if self.bits == 16 else 255


class Plate(Protocol):
    """Ink amount of one ink."""

    @property
    def header(self) -> PlateHeader:
        """What is known before pixels are read."""

    def read(self, rows: slice, cols: slice) -> Samples:
        """Ink amount, (rows, cols): 0 = none; 255, or 65535 at 16 bits, = full."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FilePlate:
    """A plate in a file."""

    header: PlateHeader
    raster: Raster
    invert: bool
    dot_range: tuple[int, int] | None = None

    def read(self, rows: slice, cols: slice) -> Samples:
        """Ink amount, (rows, cols): 0 = none; 255, or 65535 at 16 bits, = full."""
        numbers = self.raster.read(rows, cols, self.header.channel)
        if self.header.bits == 1:
            numbers = numbers * np.uint8(255)
        if self.dot_range is not None:
            numbers = _stretched(numbers, *self.dot_range, full=self.header.full)
        return ~numbers if self.invert else numbers


@dataclass(frozen=True, slots=True, kw_only=True)
class EmptyPlate:
    """A plate that the spread lacks: no ink anywhere."""

    header: PlateHeader

    def read(self, rows: slice, cols: slice) -> Samples:
        """Zeros, (rows, cols)."""
        return np.zeros((rows.stop - rows.start, cols.stop - cols.start), np.uint8)


def open_raster(path: Path, *, page: int = 1, room: ScratchRoom = TEMPORARY) -> Raster:
    """A file as numbers, by what it is and not by what it is called."""
    if sniff(path) == "TIFF":
        return open_tiff(path, page=page, room=room)
    return open_png(path, room=room)


def plate_of(raster: Raster, source: PlateSource, *, ink: str) -> FilePlate:
    """A plate out of an opened file."""
    facts = raster.facts
    _check_polarity(source)
    choice = choose_channel(raster, ink=ink, channel=source.channel)
    dot_range, notes = _dot_range(facts)
    header = PlateHeader(
        path=source.path,
        ink=ink,
        width_px=facts.width_px,
        height_px=facts.height_px,
        bits=facts.bits,
        ppi=facts.ppi,
        rows_per_segment=facts.rows_per_segment,
        cols_per_segment=facts.cols_per_segment,
        profile=facts.profile,
        notes=(*_name_note(facts), *facts.notes, *choice.notes, *notes),
        screened=facts.bits == 1,
        polarity=source.polarity,
        channel=choice.sample,
        page=source.page,
        hit_of=source.hit_of,
    )
    invert = (facts.zero_is == "black") != (source.polarity == LIGHT_IS_INK)
    return FilePlate(header=header, raster=raster, invert=invert, dot_range=dot_range)


def _check_polarity(source: PlateSource) -> None:
    if source.polarity not in (None, DARK_IS_INK, LIGHT_IS_INK):
        expected = f'it is "{DARK_IS_INK}" or "{LIGHT_IS_INK}"'
        found = f"polarity {quoted(source.polarity)} is not known"
        raise PlateError(Fault(where=label(source.path), found=found, expected=expected))


def _name_note(facts: RasterFacts) -> tuple[str, ...]:
    endings = {"TIFF": (".tif", ".tiff"), "PNG": (".png",)}[facts.format]
    if facts.path.suffix.lower() in endings:
        return ()
    return (f"it is a {facts.format} file, whatever its name says",)


def _dot_range(facts: RasterFacts) -> tuple[tuple[int, int] | None, tuple[str, ...]]:
    """Unusual numbers for 0 % and 100 % (TIFF 6.0, section 16, DotRange)."""
    if facts.dot_range is None or facts.dot_range[0] == facts.dot_range[1]:
        return None, ()
    low, high = facts.dot_range
    return facts.dot_range, (f"its numbers {low} and {high} stand for 0 % and 100 %",)


def _stretched(numbers: Samples, low: int, high: int, *, full: int) -> Samples:
    """Ink amount from numbers whose 0 % and 100 % are `low` and `high`, rounded."""
    scaled = np.rint((numbers.astype(np.int64) - low) * full / (high - low))
    ink = np.clip(scaled, 0, full)
    return ink.astype(np.uint16) if full > 255 else ink.astype(np.uint8)
