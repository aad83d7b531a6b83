"""Corrected copies of plates, written block by block for tests."""

from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from inkmix.base.ordered_threads import each_in_order
from inkmix.export.plates.copies import PlateCopies, PlateCopy, plate_copies
from inkmix.plates.plate import FilePlate
from inkmix.plates.windows import Window, WindowGrid

BLOCK = (16, 32)


def whole(plate: FilePlate) -> NDArray:
    """All ink amounts of a plate."""
    header = plate.header
    return plate.read(slice(0, header.height_px), slice(0, header.width_px))


def correct(
    folder: Path,
    changes: Sequence[tuple[FilePlate, NDArray]],
    *,
    block: tuple[int, int] = BLOCK,
    untouched: Mapping[Path, Path] | None = None,
    threads: int = 1,
    **told,
) -> PlateCopies:
    """Write plates with other ink amounts into a folder, under the names of their files."""
    pages: dict[tuple[Path, int], list[tuple[FilePlate, NDArray]]] = {}
    for plate, amounts in changes:
        pages.setdefault((plate.header.path, plate.header.page), []).append((plate, amounts))
    copies = [_copy(folder, [plate for plate, _ in some], block) for some in pages.values()]
    with plate_copies(folder, copies, untouched=untouched or {}, **told) as written:
        for copy, writer, some in zip(copies, written.writers, pages.values(), strict=True):
            after = np.stack([amounts for _, amounts in some])
            each_in_order(
                _packing(copy, writer, after), _grid(copy), writer.append, threads=threads
            )
    return written


def _copy(folder: Path, plates: list[FilePlate], block: tuple[int, int]) -> PlateCopy:
    header = plates[0].header
    to, cols = folder / header.path.name, min(block[1], header.width_px)
    return PlateCopy(plates=tuple(plates), to=to, block_rows=block[0], block_cols=cols)


def _grid(copy: PlateCopy) -> WindowGrid:
    header = copy.plates[0].header
    size = {"height_px": header.height_px, "width_px": header.width_px}
    return WindowGrid(**size, rows=copy.block_rows, cols=copy.block_cols)


def _packing(copy, writer, after):
    def pack(window: Window):
        rows, cols = window.rows, window.cols
        before = np.stack([plate.read(rows, cols) for plate in copy.plates])
        return writer.pack(before, after[:, rows, cols], row=rows.start, col=cols.start)

    return pack
