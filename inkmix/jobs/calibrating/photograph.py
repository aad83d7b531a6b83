"""A photograph or scan of a printed form as readings: found, laid flat, its light evened.

What a camera cannot tell is taken from the book: the colour of bare paper, and the tones of the
darkest ink. Each step refuses what the next could not work on.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from inkmix.base.arrays import BoolArray, FloatArray
from inkmix.base.errors import Fault, PictureError
from inkmix.base.quoting import clipped, listed
from inkmix.base.words import count, number, percent, size_of
from inkmix.colour.colorimetry import decode_srgb1, delta_e00, xyz100_to_lab
from inkmix.colour.measured.table import MeasurementTable
from inkmix.jobs.calibrating.placed_form import PlacedForm, box_of
from inkmix.plates.reference.picture import open_reference
from inkmix.press.condition import PressCondition
from inkmix.press.photograph.camera import (
    LEAST_SLOPE,
    MOST_SLOPE,
    ToneCurve,
    colours_beside,
    linear_beside,
    tone_curve,
)
from inkmix.press.photograph.light import MOST_LEFT, MOST_RATIO, Light, light_on
from inkmix.sheet.box import Box
from inkmix.sheet.forms.finding import Placing, SeenMark, carried, marks_in, placings
from inkmix.sheet.forms.flattened import MOST_PER_MM, Lie, flattened, lie_of, off_mm, straightened

LOOKED_PX = 2400
"""Longer side of the picture in which marks are looked for."""
LEAST_PATCH_PX = 10.0
"""Of a patch in the picture: less is all edge."""
MOST_SAMPLES = 4_000_000
"""Of a form laid flat; 60 MB."""

_LIKE_FORM = 0.85  # correlation of lightness with that of the form
_BARE_MM = 1.0  # from anything printed
_INNER = 0.2  # of a patch's side, left aside at each of its edges
_MOST_OFF = 0.25  # of a patch's side, by which patches may lie beside their places
_TOP8, _BOTTOM8 = 254, 1  # numbers that may stand for more, or less
_MOST_BURNT = 0.01  # of the paper


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Photographed:
    """A picture of a form, how it was, and what it says.

    Parameters
    ----------
    table : MeasurementTable
        Its patches, XYZ under D50.
    size_px : (width, height)
    patch_px : float
        Side of the smallest patch in the picture.
    marks_off_mm : float
        How far patches lay from where the corner marks alone put them, root mean square.
    light_ratio : float
        Light at the lightest place of the form over that at the darkest.
    light_left : float
        Share of the light that stays uneven once it was evened: 95 of 100 places have less.
    fields_apart_de00 : float
        How far copies of one known field in the four corners are from their mean, at most.
    curve : ToneCurve
        How the camera's tones were put right.
    darkest_ink : str
        By whose tints that was done.
    clipped : tuple of str
        Patches more colourful than the picture can hold.
    notes : tuple of str
        What was taken for granted; sentences without a full stop.
    """

    table: MeasurementTable
    size_px: tuple[int, int]
    patch_px: float
    marks_off_mm: float
    light_ratio: float
    light_left: float
    fields_apart_de00: float
    curve: ToneCurve
    darkest_ink: str
    clipped: tuple[str, ...]
    notes: tuple[str, ...]


def read_photograph(path: Path, form: PlacedForm, told: PressCondition) -> Photographed:
    """What a photograph says of the patches of a form.

    Parameters
    ----------
    path : Path
        PNG, TIFF or JPEG; upright, turned or slanting.
    told : PressCondition
        Of the form's inks, in its order, as the book alone has them: it tells the paper and the
        tones of the darkest ink.

    Raises
    ------
    PictureError
        It is no picture, or none of this form; too small, too unevenly lit, or its values clip.
    """
    pixels8, notes = _pixels(path)
    return _Reading(path, pixels8, form, told).photographed(notes)


def _pixels(path: Path) -> tuple[NDArray[np.uint8], tuple[str, ...]]:
    picture = open_reference(path, None, called="the photograph")
    whole = (slice(0, picture.height_px), slice(0, picture.width_px))
    return picture.read(*whole), picture.notes


class _Reading:
    """One picture of one form."""

    def __init__(
        self, path: Path, pixels8: NDArray[np.uint8], form: PlacedForm, told: PressCondition
    ) -> None:
        self._where = clipped(path.name, 255)
        self._pixels8, self._form, self._told = pixels8, form, told
        self._boxes = form.patch_boxes
        self._middles = np.array([box.middle for box in self._boxes])
        self._side_mm = min(min(box.width, box.height) for box in self._boxes)

    def photographed(self, notes: tuple[str, ...]) -> Photographed:
        """All of it."""
        self._refuse_small(
            max(self._pixels8.shape) / max(self._form.width_mm, self._form.height_mm)
        )
        lie = self._lie()
        per_mm = self._samples_per_mm(lie)
        lie, off = self._straight(lie, per_mm)
        flat, there = self._flat(lie, per_mm)
        is_bare = there & self._bare(there.shape, per_mm)
        self._refuse_burnt(flat[is_bare])
        linear = _LINEAR[flat]
        light = self._light(linear, is_bare)
        clipped_at = np.array([self._is_clipped(flat, box, per_mm) for box in self._boxes])
        self._refuse_black(flat, per_mm)
        share = self._shares(linear, light, self._boxes, per_mm)
        fields = self._shares(linear, light, self._form.field_boxes, per_mm)
        curve = self._curve(np.concatenate([share, fields]))
        paper = self._told.paper.xyz100
        patches = tuple(str(one.number) for one in self._form.patches)
        return Photographed(
            table=MeasurementTable(
                sample_names=patches,
                plates=self._form.inks,
                tone_pct=self._form.tone_pct,
                xyz100=colours_beside(curve.of(share), paper),
                source=self._where,
            ),
            size_px=(self._pixels8.shape[1], self._pixels8.shape[0]),
            patch_px=float(lie.px_per_mm(self._middles).min() * self._side_mm),
            marks_off_mm=off,
            light_ratio=light.ratio,
            light_left=light.left,
            fields_apart_de00=self._fields_apart(colours_beside(curve.of(fields), paper)),
            curve=curve,
            darkest_ink=self._form.darkest_ink,
            clipped=tuple(np.array(patches, dtype=object)[clipped_at]),
            notes=notes,
        )

    # --- where the form lies ------------------------------------------------------------------

    def _lie(self) -> Lie:
        """How the form lies by its four marks."""
        step = -(-max(self._pixels8.shape) // LOOKED_PX)
        grey = _reduced(self._pixels8, step)
        marks = marks_in(grey)
        corners = [box_of(one) for one in self._form.corners]
        places = np.array([box.middle for box in corners])
        ways = [(self._likeness(grey, one), one) for one in
                placings(marks, places, side_mm=corners[0].width)]  # fmt: skip
        if not ways:
            raise self._no_marks(marks)
        likeness, best = max(ways, key=lambda way: way[0])
        if likeness < _LIKE_FORM:
            raise self._refusal(
                "shows four corner marks, but the patches between them are not those of "
                f"{self._form.source}",
                "a photograph of the form whose folder was named",
                "name the folder of the form that was printed, with --form",
            )
        if best.is_mirrored:
            raise self._refusal(
                "shows the form mirrored",
                "the corner mark with a core is the upper left one",
                "mirror the picture, or photograph the printed side itself",
            )
        grown = np.array([[step, 0, (step - 1) / 2], [0, step, (step - 1) / 2], [0, 0, 1]])
        lie = lie_of(grown @ best.to_picture, self._form.width_mm, self._form.height_mm)
        self._refuse_small(float(lie.px_per_mm(self._middles).min()))
        return lie

    def _likeness(self, grey: NDArray[np.uint8], way: Placing) -> float:
        """Correlation of the patches' lightness with the form's, lain this way."""
        at = carried(way.to_picture, self._middles)
        inside = (at >= 0).all(axis=1) & (at <= np.array(grey.shape[::-1]) - 1).all(axis=1)
        if not inside.all():
            return 0.0
        col, row = np.rint(at).astype(np.intp).T
        seen, wanted = grey[row, col], np.array([one.lab[0] for one in self._form.patches])
        if seen.std() == 0 or wanted.std() == 0:
            return 0.0
        return float(np.corrcoef(seen, wanted)[0, 1])

    def _no_marks(self, marks: Sequence[SeenMark]) -> PictureError:
        seen = f"{count(len(marks), 'square')} like a corner mark" if marks else "no corner mark"
        return self._refusal(
            f"shows {seen}, and no four that can be the corners of this form",
            "the whole form, with its four corner marks free and in focus",
            "photograph it from above, flat, so that it fills the picture; if it does, the form "
            "may be another than --form names",
        )

    def _refuse_small(self, px_per_mm: float) -> None:
        if px_per_mm * self._side_mm < LEAST_PATCH_PX:
            height, width = self._pixels8.shape[:2]
            raise self._refusal(
                f"is {size_of(width, height, 'px')}, so that a patch is "
                f"{number(px_per_mm * self._side_mm)} px wide",
                f"{number(LEAST_PATCH_PX)} px at least, better 40",
                "go nearer, or take the picture at full size",
            )

    def _samples_per_mm(self, lie: Lie) -> float:
        form = self._form
        most = np.sqrt(MOST_SAMPLES / (form.width_mm * form.height_mm))
        return float(min(MOST_PER_MM, most, lie.px_per_mm(self._middles).max()))

    def _straight(self, lie: Lie, per_mm: float) -> tuple[Lie, float]:
        """Put right by the patches, and how far they were off by the marks alone."""
        first = 0.0
        for again in (False, True):
            flat, _ = self._flat(lie, per_mm)
            lie, off = straightened(lie, self._middles, off_mm(flat, self._boxes, per_mm=per_mm))
            first = first if again else off
        if np.isnan(off):
            raise self._refusal(
                "shows too few patches that can be told from the paper",
                f"the patches of {self._form.source}",
                "photograph the printed form, in focus and in even light",
            )
        if off > _MOST_OFF * self._side_mm:
            raise self._refusal(
                f"shows patches {number(off)} mm beside their places",
                f"within {number(_MOST_OFF * self._side_mm)} mm of where the corner marks put them",
                "lay the sheet flat and photograph it from above; if it is flat, it may be "
                "another form than --form names",
            )
        return lie, first

    def _flat(self, lie: Lie, per_mm: float) -> tuple[NDArray[np.uint8], BoolArray]:
        form = self._form
        return flattened(self._pixels8, lie, form.width_mm, form.height_mm, per_mm=per_mm)

    # --- light --------------------------------------------------------------------------------

    def _bare(self, shape: tuple[int, ...], per_mm: float) -> BoolArray:
        """Where nothing is printed but words."""
        bare = np.ones(shape, np.bool_)
        for box in self._form.inked_boxes:
            bare[_samples(box, -_BARE_MM, per_mm)] = False
        return bare

    def _light(self, linear: NDArray[np.float32], is_bare: BoolArray) -> Light:
        light = light_on(linear, is_bare)
        if light is None:
            raise self._refusal(
                "shows too little bare paper between the patches to tell how it is lit",
                "the whole sheet of the form",
                "photograph all of it, with nothing lying on it",
            )
        if light.left > MOST_LEFT:
            found = (
                "is lit unevenly, by a shadow or a shine: evened out, the paper still differs by "
                f"{percent(100 * light.left)} from place to place"
            )
            expected = f"{percent(100 * MOST_LEFT)} at most"
        elif light.ratio > MOST_RATIO:
            found = f"is lit {number(light.ratio)} times as brightly at one place as at another"
            expected = f"{number(MOST_RATIO)} times at most"
        else:
            return light
        do = "photograph it by a window without sun, or in the shade, with no lamp or flash near"
        raise self._refusal(found, expected, do)

    def _refuse_burnt(self, paper8: NDArray[np.uint8]) -> None:
        burnt = float((paper8 >= _TOP8).any(axis=1).mean()) if len(paper8) else 0.0
        if burnt > _MOST_BURNT:
            raise self._refusal(
                f"has {percent(100 * burnt)} of the bare paper burnt out to white",
                "paper a little darker than the lightest that the picture can hold",
                "expose less, by one step or so, and photograph it again",
            )

    def _refuse_black(self, flat: NDArray[np.uint8], per_mm: float) -> None:
        black = [
            str(patch.number)
            for patch, box in zip(self._form.patches, self._boxes, strict=True)
            if (np.median(_inside(flat, box, per_mm), axis=0) <= _BOTTOM8).all()
        ]
        if black:
            raise self._refusal(
                f"has {_patches(len(black))} without any detail, black as can be "
                f"({listed(black[:5])})",
                "the darkest patches lighter than black",
                "expose more, or take the picture without added contrast",
            )

    def _is_clipped(self, flat: NDArray[np.uint8], box: Box, per_mm: float) -> bool:
        """Whether most of a patch lies at either end of a channel."""
        middle = np.median(_inside(flat, box, per_mm), axis=0)
        return bool((middle <= _BOTTOM8).any() or (middle >= _TOP8).any())

    # --- colour -------------------------------------------------------------------------------

    def _shares(
        self, linear: NDArray[np.float32], light: Light, boxes: Sequence[Box], per_mm: float
    ) -> FloatArray:
        """Of the paper's light, what patches (N, 3) give back."""
        means = []
        for box in boxes:
            rows, cols = _samples(box, _INNER * min(box.width, box.height), per_mm)
            at = np.meshgrid(
                np.arange(rows.start, rows.stop), np.arange(cols.start, cols.stop), indexing="ij"
            )
            means.append((linear[rows, cols] / light.at(*at)).mean(axis=(0, 1)))
        return np.array(means, np.float64).reshape(-1, 3)

    def _curve(self, share: FloatArray) -> ToneCurve:
        """By tints of the darkest ink, as far as the book knows them."""
        tones = np.concatenate([self._form.tone_pct, self._form.field_tone_pct])
        dark = self._form.inks.index(self._form.darkest_ink)
        alone = (tones[:, dark] > 0) & ((tones > 0).sum(axis=1) == 1)
        known = self._told.xyz100(tones[alone])
        curve = tone_curve(
            share[alone],
            linear_beside(known, self._told.paper.xyz100),
            self._density_sd(tones[alone]),
        )
        steep = curve.steepness(share)
        if not (steep.min() >= LEAST_SLOPE and steep.max() <= MOST_SLOPE):
            raise self._refusal(
                f"shows tints of {self._form.darkest_ink} far from what the book says of them",
                "a photograph whose tones can be put right",
                "take it without filters or added contrast; if it has none, the ink on the press "
                "is another than the book's",
            )
        return curve

    def _density_sd(self, tone_pct: FloatArray) -> FloatArray:
        """How far the book may be off with tints (N, I) of the darkest ink, as a density."""
        lab_L = self._told.lab(tone_pct)[:, 0]
        sd_L = self._told.expected_error(tone_pct).L / 2  # of 95 %
        return np.asarray(3 * sd_L / ((lab_L + 16) * np.log(10)), np.float64)

    def _fields_apart(self, xyz100: FloatArray) -> float:
        tones = self._form.field_tone_pct
        apart = 0.0
        for tone in np.unique(tones, axis=0):
            some = xyz100[(tones == tone).all(axis=1)]
            lab = xyz100_to_lab(some)
            apart = max(apart, float(delta_e00(xyz100_to_lab(some.mean(axis=0)), lab).max()))
        return apart

    def _refusal(self, found: str, expected: str, do: str) -> PictureError:
        return PictureError(Fault(where=self._where, found=found, expected=expected, do=do))


def _patches(amount: int) -> str:
    return "1 patch" if amount == 1 else f"{amount} patches"


_LINEAR = decode_srgb1(np.arange(256) / 255).astype(np.float32)


def _reduced(pixels8: NDArray[np.uint8], step: int) -> NDArray[np.uint8]:
    """Grey means of blocks of so many pixels."""
    rows, cols = (side // step for side in pixels8.shape[:2])
    total = np.zeros((rows, cols), np.uint32)
    for row in range(step):
        for col in range(step):
            part = pixels8[row : rows * step : step, col : cols * step : step]
            total += part.sum(axis=-1, dtype=np.uint32)
    return (total // (3 * step * step)).astype(np.uint8)


def _samples(box: Box, inset_mm: float, per_mm: float) -> tuple[slice, slice]:
    """Rows and columns of a box without its edges; with what lies around where it is below 0."""
    top, bottom = round((box.y + inset_mm) * per_mm), round((box.bottom - inset_mm) * per_mm)
    left, right = round((box.x + inset_mm) * per_mm), round((box.right - inset_mm) * per_mm)
    return slice(max(top, 0), max(bottom, top + 1)), slice(max(left, 0), max(right, left + 1))


def _inside(flat: NDArray[np.uint8], box: Box, per_mm: float) -> NDArray[np.uint8]:
    """Samples (N, 3) of the inner part of a patch."""
    return flat[_samples(box, _INNER * min(box.width, box.height), per_mm)].reshape(-1, 3)
