"""Writes the demo book to a folder: plates, masks, book file. The only files the demo opens."""

import os
from collections.abc import Callable
from pathlib import Path

import numpy as np
import tifffile
from numpy.typing import NDArray
from PIL import Image

from inkmix.demo.book_text import book_text
from inkmix.demo.faults import Planted, plant, planted, tone_mixes
from inkmix.demo.plates import PPI, draw_strip
from inkmix.demo.tones import NIGHTS
from inkmix.errors import Fault, OutputError

SPREAD = "night-ferry"
STRIP_ROWS = 64


def write_demo(
    folder: Path, *, ppi: float = PPI, seed: int = 0, fault: str = "none"
) -> tuple[Planted, ...]:
    """Write the book of The Night Ferry and return what was planted into it.

    Parameters
    ----------
    folder : Path
        Made if missing; must not hold a book yet.
    ppi : float
        Resolution of the plates, pixels per inch.
    seed : int
        Where planted faults lie.
    fault : str
        Name of a fault, "all" or "none".

    Raises
    ------
    OutputError
        If the folder holds a book, or cannot be written.
    UsageError
        For an unknown fault.
    """
    what = planted(fault, seed)
    _prepare(folder)
    plates, masks = draw_strip(ppi=ppi)
    plant(plates, ppi=ppi, seed=seed, fault=fault)
    try:
        for ink, plate in plates.items():
            _write_plate(folder / "plates" / SPREAD / f"{ink}.tif", plate, ppi)
        for night in NIGHTS:
            _write_mask(folder / night.mask, masks[night.name], ppi)
        text = book_text(tone_mixes(fault=fault, seed=seed))
        _replace(folder / "book.toml", lambda path: path.write_text(text, encoding="utf-8"))
    except OSError as error:
        raise OutputError(_unwritable(folder, error)) from error
    return what


def _prepare(folder: Path) -> None:
    """Refuse a folder that holds a book or cannot be made, before time goes into drawing."""
    if (folder / "book.toml").exists():
        found, do = "a book lies here already", "name a new folder, or remove the book first"
        raise OutputError(Fault(where=str(folder / "book.toml"), found=found, do=do))
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise OutputError(_unwritable(folder, error)) from error


def _unwritable(folder: Path, error: OSError) -> Fault:
    reason = error.strerror or str(error)
    return Fault(where=str(folder), found=f"cannot be written ({reason})", do="name another folder")


def _write_plate(path: Path, plate: NDArray[np.uint8], ppi: float) -> None:
    grey = 255 - plate  # black is ink

    def write(temporary: Path) -> None:
        tifffile.imwrite(
            temporary,
            grey,
            photometric="minisblack",
            compression="lzw",
            rowsperstrip=STRIP_ROWS,
            resolution=(ppi, ppi),
            resolutionunit="INCH",
            metadata=None,
            software=False,
        )

    _replace(path, write)


def _write_mask(path: Path, mask: NDArray[np.uint8], ppi: float) -> None:
    picture = Image.fromarray(mask)
    _replace(path, lambda temporary: picture.save(temporary, format="PNG", dpi=(ppi, ppi)))


def _replace(path: Path, write: Callable[[Path], object]) -> None:
    """Write under a temporary name in the same folder, then rename."""
    path.parent.mkdir(parents=True, exist_ok=True)
    temporary = path.with_name(f".{path.name}.part")
    try:
        write(temporary)
        os.replace(temporary, path)
    finally:
        temporary.unlink(missing_ok=True)
