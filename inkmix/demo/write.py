"""Writes the demo book to a folder: plates, masks, book file. The only files the demo opens."""

import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path

import numpy as np
import tifffile
from numpy.typing import NDArray
from PIL import Image

from inkmix.base.atomic_files import look_whether_writable, part_of
from inkmix.base.errors import Fault, OutputError
from inkmix.base.shutdown import held_together, undone_when_left
from inkmix.book.values import BOOK_NAME
from inkmix.demo.book_text import book_text
from inkmix.demo.faults import Planted, plant, planted, tone_mixes
from inkmix.demo.plates import PPI, draw_strip
from inkmix.demo.tones import INKS, NIGHTS

SPREAD = "night-ferry"
STRIP_ROWS = 64


def write_demo(
    folder: Path, *, ppi: float = PPI, seed: int = 0, fault: str = "none"
) -> tuple[Planted, ...]:
    """Write the book of The Night Ferry and return what was planted into it.

    Parameters
    ----------
    folder : Path
        Made if missing; must not hold a book yet, nor a file of a name that is written.
    ppi : float
        Resolution of the plates, pixels per inch.
    seed : int
        Where planted faults lie.
    fault : str
        Name of a fault, "all" or "none".

    Raises
    ------
    OutputError
        If the folder holds such a file, or cannot be written; then nothing new is left in it.
    UsageError
        For an unknown fault.

    Examples
    --------
    ::

        planted = inkmix.write_demo(Path("demo"), ppi=20, fault="heavy-ink")
        assert [fault.name for fault in planted] == ["heavy-ink"]
    """
    what = planted(fault, seed)
    _refuse(folder)
    plates, masks = draw_strip(ppi=ppi)
    plant(plates, ppi=ppi, seed=seed, fault=fault)
    text = book_text(tone_mixes(fault=fault, seed=seed))
    try:
        with _all_or_nothing() as made:
            for ink, plate in plates.items():
                _write(folder / _plate(ink), partial(_put_plate, plate=plate, ppi=ppi), made)
            for night in NIGHTS:
                mask = masks[night.name]
                _write(folder / night.mask, partial(_put_mask, mask=mask, ppi=ppi), made)
            _write(folder / BOOK_NAME, lambda path: path.write_bytes(text.encode()), made)
    except OSError as error:
        raise OutputError(_unwritable(folder, error)) from error
    return what


def _plate(ink: str) -> str:
    return f"plates/{SPREAD}/{ink}.tif"


def _refuse(folder: Path) -> None:
    """What can be said against a folder before time goes into drawing; nothing is made.

    Raises
    ------
    OutputError
        If it holds a book or anything that has the name of a file of the demo, or is no folder
        that can be written.
    """
    names = [BOOK_NAME, *(_plate(ink) for ink in INKS), *(night.mask for night in NIGHTS)]
    there = [name for name in names if os.path.lexists(folder / name)]
    if BOOK_NAME in there:
        found, do = "a book lies here already", "name a new folder, or remove the book first"
        raise OutputError(Fault(where=str(folder / BOOK_NAME), found=found, do=do))
    if there:
        found, do = "is there already", "name a new folder; nothing is overwritten"
        raise OutputError(Fault(where=str(folder / name), found=found, do=do) for name in there)
    try:
        look_whether_writable(folder)
    except OSError as error:
        raise OutputError(_unwritable(folder, error)) from error


def _unwritable(folder: Path, error: OSError) -> Fault:
    reason = error.strerror or str(error)
    return Fault(where=str(folder), found=f"cannot be written ({reason})", do="name another folder")


def _put_plate(path: Path, *, plate: NDArray[np.uint8], ppi: float) -> None:
    tifffile.imwrite(
        path,
        255 - plate,  # black is ink
        photometric="minisblack",
        compression="lzw",
        rowsperstrip=STRIP_ROWS,
        resolution=(ppi, ppi),
        resolutionunit="INCH",
        metadata=None,
        software=False,
    )


def _put_mask(path: Path, *, mask: NDArray[np.uint8], ppi: float) -> None:
    Image.fromarray(mask).save(path, format="PNG", dpi=(ppi, ppi))


@dataclass(frozen=True, slots=True)
class _Made:
    """Files and folders that were not there before, in the order they were made."""

    paths: list[Path] = field(default_factory=list)

    def folder(self, path: Path) -> None:
        """Make a folder, and those above it that are missing."""
        missing = [one for one in (path, *path.parents) if not one.exists()]
        for one in reversed(missing):
            self.paths.append(one)
            one.mkdir(exist_ok=True)

    def remove(self) -> None:
        """Take all of it away; what others use by now stays."""
        for path in reversed(self.paths):
            with suppress(OSError):
                path.rmdir() if path.is_dir() else path.unlink()
        self.paths.clear()


@contextmanager
def _all_or_nothing() -> Iterator[_Made]:
    """What is made inside goes again where that ends by an error or a signal."""
    made = _Made()
    with undone_when_left(made.remove):
        try:
            yield made
        except BaseException:
            made.remove()
            raise


def _write(path: Path, put: Callable[[Path], object], made: _Made) -> None:
    """Write a file that is not there yet."""
    made.folder(path.parent)
    with part_of(path) as part:
        put(part.aside)  # libraries open it once more
        part.flush()
        with held_together():
            made.paths.append(path)
            part.take_place()
