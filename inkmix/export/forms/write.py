"""Pixels of a form as files: a grey plate an ink, and a picture in sRGB."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

import numpy as np
from numpy.typing import NDArray

from inkmix.base.output_files import Output
from inkmix.export import png_stream, tiff_stream
from inkmix.export.forms.drawing import FormDrawing, FormPixels
from inkmix.export.picture import grey_writer
from inkmix.export.shape import PictureShape

_BAND_ROWS = 256
_FULL8 = 255


@dataclass(frozen=True, slots=True, kw_only=True)
class FormPlate:
    """The plate of one ink.

    Parameters
    ----------
    ink : int
        Number of the ink whose tone values it holds.
    file : str
        Its path in the folder, with slashes; a TIFF, or a PNG where it ends so.
    light_is_ink : bool
        Whether full ink is white in the file, as the book has it.
    """

    ink: int
    file: str
    light_is_ink: bool

    @property
    def is_png(self) -> bool:
        """Whether it is a PNG."""
        return self.file.lower().endswith(".png")


def plate_output(folder: Path, plate: FormPlate) -> Output:
    """The file of a plate; one of ours is replaced."""
    mark = png_stream.MARK if plate.is_png else tiff_stream.MARK
    return Output(path=folder / plate.file, mark=mark)


def put_plates(
    files: Sequence[BinaryIO], plates: Sequence[FormPlate], drawing: FormDrawing, *, ppi: float
) -> None:
    """Write plates to open files, some rows at a time."""
    pixels = FormPixels(drawing, ppi=ppi)
    width, height = pixels.width_px, pixels.height_px
    shape = PictureShape(
        width_px=width, height_px=height, block_rows=_BAND_ROWS, block_cols=width, channels=1
    )
    numbers = [_numbers(drawing, plate) for plate in plates]
    writers = [
        grey_writer(file, shape, is_png=plate.is_png, ppi=ppi)
        for file, plate in zip(files, plates, strict=True)
    ]
    for row in range(0, height, _BAND_ROWS):
        band = pixels.rows(row, min(row + _BAND_ROWS, height))
        for writer, number in zip(writers, numbers, strict=True):
            writer.append(writer.pack(number[band][..., None], row=row))
    for writer in writers:
        writer.finish()


def picture_of(
    drawing: FormDrawing, colours8: NDArray[np.uint8], *, ppi: float
) -> NDArray[np.uint8]:
    """The form as it prints, (rows, cols, 3); `colours8` (K, 3) are those of the mixes."""
    pixels = FormPixels(drawing, ppi=ppi)
    return np.concatenate([
        colours8[pixels.rows(row, min(row + _BAND_ROWS, pixels.height_px))]
        for row in range(0, pixels.height_px, _BAND_ROWS)
    ])  # fmt: skip


def _numbers(drawing: FormDrawing, plate: FormPlate) -> NDArray[np.uint8]:
    """What the plate holds for each mix (K,): black is full ink unless the book says otherwise."""
    tone8 = np.rint(drawing.mixes[:, plate.ink] * _FULL8 / 100).astype(np.uint8)
    return tone8 if plate.light_is_ink else _FULL8 - tone8
