"""A book of any size on disk, written band by band: plates, the mask of its night, book file."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import imagecodecs
import numpy as np
import tifffile
from artwork import Artwork
from book_text import INKS, MASK, SPREAD, book_text, with_reference, with_wide_limits
from numpy.typing import NDArray

from inkmix.base.ordered_threads import in_order

STRIPS, TILES = "strips of 64 rows", "tiles of 512 px"
REFERENCE_BOOK = "with-reference.toml"
WIDE_BOOK = "wide-limits.toml"

_STRIP_ROWS, _TILE_PX = 64, 512
_READY = "ready"  # an empty file, written last
_PPI = 600

Plane = NDArray[np.uint8]
Draw = Callable[[slice], Plane]


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetFiles:
    """A book to be written or used again.

    Parameters
    ----------
    kind : str
        One of artwork.KINDS.
    layout : str
        STRIPS or TILES; LZW both.
    """

    folder: Path
    kind: str
    width_px: int
    height_px: int
    layout: str = STRIPS

    @property
    def pixels(self) -> int:
        """Pixels of one plate."""
        return self.width_px * self.height_px

    @property
    def plates(self) -> list[Path]:
        """One an ink, black is ink."""
        return [self.folder / "plates" / SPREAD / f"{ink}.tif" for ink in INKS]

    def make(self) -> None:
        """Write everything that is not there yet."""
        self._make_pictures()
        text = book_text(width_px=self.width_px, height_px=self.height_px, ppi=_PPI)
        books = {
            "book.toml": text,
            REFERENCE_BOOK: with_reference(text),
            WIDE_BOOK: with_wide_limits(text),
        }
        for name, book in books.items():
            (self.folder / name).write_text(book, encoding="utf-8")

    def _make_pictures(self) -> None:
        if (self.folder / _READY).exists():
            return
        self.plates[0].parent.mkdir(parents=True, exist_ok=True)
        art = Artwork(kind=self.kind, width_px=self.width_px)
        for ink, path in enumerate(self.plates):
            self._write(path, lambda rows, ink=ink: 255 - art.rows(ink, rows))
        self._write(self.folder / MASK, self._mask)
        (self.folder / _READY).touch()

    def warm(self) -> None:
        """Read all files once, so that the disk is not measured."""
        for path in (*self.plates, self.folder / MASK):
            with path.open("rb") as file:
                while file.read(1 << 24):
                    pass

    def _mask(self, rows: slice) -> Plane:
        """The upper left half of the sheet, cut along its diagonal, in white."""
        down = np.arange(rows.start, rows.stop)[:, None] / self.height_px
        is_night = down + np.arange(self.width_px) / self.width_px < 1
        return np.where(is_night, np.uint8(255), np.uint8(0))

    def _write(self, path: Path, draw: Draw) -> None:
        is_tiled = self.layout == TILES
        tifffile.imwrite(
            path,
            self._segments(draw),
            shape=(self.height_px, self.width_px),
            dtype=np.uint8,
            photometric="minisblack",
            compression="lzw",
            tile=(_TILE_PX, _TILE_PX) if is_tiled else None,
            rowsperstrip=None if is_tiled else _STRIP_ROWS,
            resolution=(_PPI, _PPI),
            resolutionunit="INCH",
            metadata=None,
            software=False,
        )

    def _segments(self, draw: Draw) -> Iterator[bytes]:
        """Packed strips or tiles in raster order, few bands of them at once."""
        is_tiled = self.layout == TILES
        step, cut = (_TILE_PX, _tiles) if is_tiled else (_STRIP_ROWS, _strip)
        starts = range(0, self.height_px, step)
        bands = (slice(start, min(start + step, self.height_px)) for start in starts)
        for packed in in_order(lambda rows: [_lzw(part) for part in cut(draw(rows))], bands):
            yield from packed


def _lzw(part: Plane) -> bytes:
    return bytes(imagecodecs.lzw_encode(part.tobytes()))


def _strip(band: Plane) -> Iterator[Plane]:
    yield band


def _tiles(band: Plane) -> Iterator[Plane]:
    """Tiles of a band; what they hold beyond the sheet is white."""
    for col in range(0, band.shape[1], _TILE_PX):
        part = band[:, col : col + _TILE_PX]
        missing = ((0, _TILE_PX - part.shape[0]), (0, _TILE_PX - part.shape[1]))
        yield np.pad(part, missing, constant_values=255)
