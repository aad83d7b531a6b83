"""What colours that people wrote look like on a paper, as CIELAB; pixels are looked up here."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from inkmix.base.arrays import FloatArray
from inkmix.base.errors import Fault, InkmixError, UsageError
from inkmix.base.words import size_of
from inkmix.book.meant.tones import screen_colour_over
from inkmix.colour.colorimetry import WHITE_XYZ100, xyz100_to_lab
from inkmix.colour.whites import ABSOLUTE, PAPER
from inkmix.colour.written import Pixel, ToldColour
from inkmix.press.inks import Paper

_WHITE_WORDS = {PAPER: "the bare paper", ABSOLUTE: "that of the screen: --white absolute"}

if TYPE_CHECKING:
    from inkmix.plates.reference.picture import Reference


def absolute_labs(
    told: Sequence[ToldColour],
    paper: Paper,
    *,
    white: str | None = None,
    else_white: str | None = None,
) -> FloatArray:
    """Lab (N, 3), absolute, D50, of colours; screen colours have the paper as white.

    Pixels have it, or are absolute, as their picture says.

    Parameters
    ----------
    white, else_white : "paper", "absolute" or None
        What the white of pictures is, as somebody told; and what it is taken for where neither that
        nor the picture says it. None: nobody told; such pictures are refused.

    Raises
    ------
    UsageError
        Pictures that cannot be read, that do not say what their white is, pixels outside of them;
        all at once.
    """
    pictures = _Pictures(white, else_white)
    labs: list[FloatArray] = []
    faults: list[Fault] = []
    for one in told:
        try:
            labs.append(_lab(one, paper, pictures))
        except UsageError as error:
            faults += error.faults
    if faults:
        raise UsageError(dict.fromkeys(faults))  # of a picture once, not of each of its pixels
    return np.array(labs, dtype=np.float64).reshape(-1, 3)


def _lab(told: ToldColour, paper: Paper, pictures: "_Pictures") -> FloatArray:
    if told.lab is not None:
        return np.array(told.lab)
    screen, white_xyz100 = told.screen, paper.xyz100
    if told.pixel is not None:
        screen, white = pictures.colour(told.pixel, told.where)
        white_xyz100 = paper.xyz100 if white == PAPER else WHITE_XYZ100
    return xyz100_to_lab(screen_colour_over(white_xyz100, screen or "#000000"))


class _Pictures:
    """Pictures by path, each opened once."""

    def __init__(self, white: str | None, else_white: str | None) -> None:
        self._opened: dict[str, Reference] = {}
        self._white, self._else_white = white, else_white

    def colour(self, pixel: Pixel, where: str) -> tuple[str, str]:
        """The screen colour "#rrggbb" of a pixel, and what white is in its picture."""
        from inkmix.plates.reference.picture import open_reference  # few need what reads pictures

        try:
            if pixel.path not in self._opened:
                self._opened[pixel.path] = open_reference(Path(pixel.path), None)
            picture = self._opened[pixel.path]
            if pixel.x_px >= picture.width_px or pixel.y_px >= picture.height_px:
                raise UsageError(_outside(pixel, picture, where))
            white = _white_of(picture, self._white, path=pixel.path) or self._else_white
            if white is None:
                raise UsageError(_unknown_white(pixel.path))
            rows, cols = slice(pixel.y_px, pixel.y_px + 1), slice(pixel.x_px, pixel.x_px + 1)
            srgb8 = picture.read(rows, cols)[0, 0]
            return "#" + "".join(f"{value:02x}" for value in srgb8), white
        except UsageError:
            raise
        except InkmixError as error:
            raise UsageError(
                Fault(where=f"{where}: {f.where}", found=f.found, expected=f.expected, do=f.do)
                for f in error.faults
            ) from None


def _white_of(picture: "Reference", told: str | None, *, path: str) -> str | None:
    """What the white of a picture is, as it says or as somebody told; both must agree."""
    if None not in (picture.white, told) and picture.white != told:
        found = f"says itself that its white is {_WHITE_WORDS[picture.white or PAPER]}"
        raise UsageError(Fault(where=path, found=found, do="leave --white out"))
    return picture.white or told


def _unknown_white(path: str) -> Fault:
    return Fault(
        where=path,
        found="does not say what its white is",
        expected="only pictures that inkmix wrote do",
        do="add --white paper for a drawing, whose white is the bare paper, or --white absolute "
        "for a scan or photograph of a print, which shows the paper's own colour",
    )


def _outside(pixel: Pixel, picture: "Reference", where: str) -> Fault:
    size = size_of(picture.width_px, picture.height_px, "px")
    return Fault(
        where=where,
        found=f"pixel {pixel.x_px},{pixel.y_px}",
        expected=f"{pixel.path} has {size}, counted from 0",
    )
