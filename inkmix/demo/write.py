"""Writes the demo book to a folder: plates, masks, book file. The only files the demo opens."""

from pathlib import Path
from typing import BinaryIO

import numpy as np
import tifffile
from numpy.typing import NDArray
from PIL import Image

from inkmix.base.arguments import path_of, text_of
from inkmix.base.output_files import Output, opened_together, refuse_outputs
from inkmix.book.values import BOOK_NAME
from inkmix.demo import ranges
from inkmix.demo.book_text import book_text
from inkmix.demo.faults import Planted, plant, planted, tone_mixes
from inkmix.demo.plates import PPI, draw_strip
from inkmix.demo.tones import INKS, NIGHTS

SPREAD = "night-ferry"
STRIP_ROWS = 64


def write_demo(
    folder: str | Path, *, ppi: float = PPI, seed: int = 0, fault: str = "none"
) -> tuple[Planted, ...]:
    """Write the book of The Night Ferry and return what was planted into it.

    Parameters
    ----------
    folder : str or Path
        Made if missing; must not hold a book yet, nor a file of a name that is written.
    ppi : float
        Resolution of the plates, 20-1200 pixels per inch.
    seed : int
        Where planted faults lie, 0 to 2**32 - 1.
    fault : str
        Name of a fault, "all" or "none".

    Raises
    ------
    OutputError
        If the folder holds such a file, or cannot be written; then nothing new is left in it.
    UsageError
        For an unknown fault, or a number out of range.

    Examples
    --------
    ::

        planted = inkmix.write_demo("demo", ppi=20, fault="heavy-ink")
        assert [fault.name for fault in planted] == ["heavy-ink"]
    """
    ranges.PPI.refuse(ppi)
    ranges.SEED.refuse(seed)
    what = planted(text_of(fault, what="fault"), seed)
    folder = path_of(folder, what="folder")
    refuse_outputs(_outputs(folder))  # before time goes into drawing
    plates, masks = draw_strip(ppi=ppi)
    plant(plates, ppi=ppi, seed=seed, fault=fault)
    text = book_text(tone_mixes(fault=fault, seed=seed))
    with opened_together(_outputs(folder)) as files:
        for file, ink in zip(files, INKS, strict=False):
            _put_plate(file, plate=plates[ink], ppi=ppi)
        for file, night in zip(files[len(INKS) :], NIGHTS, strict=False):
            Image.fromarray(masks[night.name]).save(file, format="PNG", dpi=(ppi, ppi))
        files[-1].write(text.encode())
    return what


def _outputs(folder: Path) -> list[Output]:
    """Plates, masks, then the book: where that lies all else is there."""
    plates = [f"plates/{SPREAD}/{ink}.tif" for ink in INKS]
    names = [*plates, *(night.mask for night in NIGHTS), BOOK_NAME]
    return [Output(path=folder / name) for name in names]


def _put_plate(file: BinaryIO, *, plate: NDArray[np.uint8], ppi: float) -> None:
    tifffile.imwrite(
        file,
        255 - plate,  # black is ink
        photometric="minisblack",
        compression="lzw",
        rowsperstrip=STRIP_ROWS,
        resolution=(ppi, ppi),
        resolutionunit="INCH",
        metadata=None,
        software=False,
    )
