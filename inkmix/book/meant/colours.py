"""What colours that people wrote look like on a paper, as CIELAB; pixels are looked up here."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from inkmix.base.arrays import FloatArray
from inkmix.base.errors import Fault, InkmixError, UsageError
from inkmix.base.words import size_of
from inkmix.book.meant.tones import screen_colour_over
from inkmix.colour.colorimetry import xyz100_to_lab
from inkmix.colour.written import Pixel, ToldColour
from inkmix.press.inks import Paper

if TYPE_CHECKING:
    from inkmix.plates.reference.picture import Reference


def absolute_labs(told: Sequence[ToldColour], paper: Paper) -> FloatArray:
    """Lab (N, 3), absolute, D50, of colours; screen colours and pixels have the paper as white.

    Raises
    ------
    UsageError
        Pictures that cannot be read, pixels outside of them; all at once.
    """
    pictures = _Pictures()
    labs: list[FloatArray] = []
    faults: list[Fault] = []
    for one in told:
        try:
            labs.append(_lab(one, paper, pictures))
        except UsageError as error:
            faults += error.faults
    if faults:
        raise UsageError(faults)
    return np.array(labs, dtype=np.float64).reshape(-1, 3)


def _lab(told: ToldColour, paper: Paper, pictures: "_Pictures") -> FloatArray:
    if told.lab is not None:
        return np.array(told.lab)
    screen = told.screen
    if told.pixel is not None:
        screen = pictures.colour(told.pixel, told.where)
    return xyz100_to_lab(screen_colour_over(paper.xyz100, screen or "#000000"))


class _Pictures:
    """Pictures by path, each opened once."""

    def __init__(self) -> None:
        self._opened: dict[str, Reference] = {}

    def colour(self, pixel: Pixel, where: str) -> str:
        """The screen colour "#rrggbb" of a pixel."""
        from inkmix.plates.reference.picture import open_reference  # few need what reads pictures

        try:
            if pixel.path not in self._opened:
                self._opened[pixel.path] = open_reference(Path(pixel.path), None)
            picture = self._opened[pixel.path]
            if pixel.x_px >= picture.width_px or pixel.y_px >= picture.height_px:
                raise UsageError(_outside(pixel, picture, where))
            rows, cols = slice(pixel.y_px, pixel.y_px + 1), slice(pixel.x_px, pixel.x_px + 1)
            return "#" + "".join(f"{value:02x}" for value in picture.read(rows, cols)[0, 0])
        except UsageError:
            raise
        except InkmixError as error:
            raise UsageError(
                Fault(where=f"{where}: {f.where}", found=f.found, expected=f.expected, do=f.do)
                for f in error.faults
            ) from None


def _outside(pixel: Pixel, picture: "Reference", where: str) -> Fault:
    size = size_of(picture.width_px, picture.height_px, "px")
    return Fault(
        where=where,
        found=f"pixel {pixel.x_px},{pixel.y_px}",
        expected=f"{pixel.path} has {size}, counted from 0",
    )
