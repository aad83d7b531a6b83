"""A printed form under a camera: a picture with errors of known size, of a press with known truth.

The press is that of simulated_press.py, spectra and all. The camera is none of the model's: it
sees by sensitivities of its own, turns what it saw into sRGB by a matrix that fits smooth colours
only on average, and adds its look, as cameras do. Sizes of its errors are those of `Shot`; they are
chosen, as a careful person with a telephone might have them.

    shot = random_shot(7)
    jpeg = photographed(form, press.printed(form.drawing.mixes, seed=7), shot)
"""

from dataclasses import dataclass, replace
from io import BytesIO

import colour
import numpy as np
from PIL import Image
from printed_form import write_book
from scipy.ndimage import gaussian_filter, map_coordinates
from simulated_press import _colour_science, random_press

from inkmix.colour.observer import WAVELENGTHS_NM
from inkmix.export.forms.drawing import FormPixels
from inkmix.jobs.testform.make import form_of_book
from inkmix.pages.testform.document import JSON_NAME, form_json

DESK = (0.13, 0.10, 0.08)
"""What the sheet lies on: dark wood, linear."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shot:
    """A photograph and what is wrong with it.

    Parameters
    ----------
    width_px, height_px : int
    turned : int
        Quarter turns of the form in the picture.
    is_mirrored : bool
    lean : (4, 2) tuple
        By how much each corner of the form is off a rectangle, as a share of its width.
    fills : float
        Share of the picture's width that the form takes.
    bend : float
        Distortion of the lens: by so much of half the diagonal a corner is moved; barrel below 0.
    vignette : float
        Light lost in the picture's corner, 0-1.
    slope : float
        Light lost from one side to the other, 0-1, in the direction `slope_deg`.
    tint : float
        The same of the ratio of red to blue: two lamps.
    flare : float
        Stray light everywhere, as a share of what paper reflects.
    white : (3,) tuple
        What the camera makes of white paper, before exposure.
    exposure : float
        Linear value of the paper where it is lightest.
    gamma, contrast : float
        Of its tone curve: an exponent on encoded values, and how much steeper the middle is.
    saturation : float
        By how much colours are made more colourful.
    peaks_nm, widths_nm : (3,) tuple
        Of the sensor's sensitivities.
    blur_px, noise, quality : float, float, int
        Standard deviations of sharpness and of grain at white, linear; JPEG's quality.
    seed : int
        Of the grain.
    """

    width_px: int = 2400
    height_px: int = 1760
    turned: int = 0
    is_mirrored: bool = False
    lean: tuple[tuple[float, float], ...] = ((0.0, 0.0),) * 4
    fills: float = 0.88
    bend: float = 0.0
    vignette: float = 0.0
    slope: float = 0.0
    slope_deg: float = 0.0
    tint: float = 0.0
    flare: float = 0.0
    white: tuple[float, float, float] = (1.0, 1.0, 1.0)
    exposure: float = 0.8
    gamma: float = 1.0
    contrast: float = 0.0
    saturation: float = 0.0
    peaks_nm: tuple[float, float, float] = (600.0, 540.0, 455.0)
    widths_nm: tuple[float, float, float] = (36.0, 38.0, 27.0)
    blur_px: float = 0.0
    noise: float = 0.0
    quality: int = 95
    seed: int = 0


def random_shot(seed, **fields) -> Shot:
    """A photograph as a careful person takes it by a window, each error by chance."""
    rng = np.random.default_rng([seed, 3])
    shot = Shot(
        turned=int(rng.integers(4)),
        lean=tuple(map(tuple, rng.uniform(-0.05, 0.05, (4, 2)))),
        fills=rng.uniform(0.8, 0.9),
        bend=rng.uniform(-0.012, 0.012),
        vignette=rng.uniform(0.0, 0.3),
        slope=rng.uniform(0.0, 0.25),
        slope_deg=rng.uniform(0.0, 360.0),
        tint=rng.uniform(-0.04, 0.04),
        flare=rng.uniform(0.0, 0.012),
        white=tuple(np.exp(rng.normal(0, 0.06, 3))),
        exposure=rng.uniform(0.6, 0.85),
        gamma=float(np.exp(rng.normal(0, 0.05))),
        contrast=rng.uniform(0.0, 0.5),
        saturation=rng.uniform(-0.05, 0.15),
        peaks_nm=tuple(np.array([600.0, 540.0, 455.0]) + rng.normal(0, 5, 3)),
        widths_nm=tuple(np.array([36.0, 38.0, 27.0]) * np.exp(rng.normal(0, 0.08, 3))),
        blur_px=rng.uniform(0.4, 1.4),
        noise=rng.uniform(0.005, 0.02),
        quality=int(rng.integers(80, 96)),
        seed=seed,
    )
    return replace(shot, **fields)


def write_form(folder):
    """The book of the ferry and its form: what testform.json says, without plates."""
    form = form_of_book(write_book(folder))
    (folder / "form").mkdir()
    (folder / "form" / JSON_NAME).write_bytes(form_json(form))
    return form


def write_photograph(folder, *, seed=1, **fields):
    """The same, and the form as one press prints it and one camera sees it; path of the picture."""
    form = write_form(folder)
    path = folder / "sheet.jpg"
    path.write_bytes(of_press(form, seed, random_shot(seed, **fields)))
    return path


def of_press(form, seed, shot) -> bytes:
    """The form as a press of that seed prints it, photographed."""
    printed = random_press(seed).printed(form.drawing.mixes, seed=seed)
    return photographed(form, printed, shot)


def photographed(form, reflectance, shot: Shot) -> bytes:
    """A JPEG of the form, whose mixes have these reflectances (K, 36)."""
    return as_jpeg(photographed8(form, reflectance, shot), shot.quality)


def as_jpeg(pixels8, quality=95) -> bytes:
    """Pixels (rows, cols, 3) as a JPEG."""
    file = BytesIO()
    Image.fromarray(pixels8).save(file, "JPEG", quality=quality)
    return file.getvalue()


def photographed8(form, reflectance, shot: Shot) -> np.ndarray:
    """The pixels (rows, cols, 3) before they are packed."""
    rng = np.random.default_rng([shot.seed, 4])
    linear = seen_by_sensor(reflectance, shot)
    scene = _in_picture(form, linear, shot)
    scene = gaussian_filter(scene, (shot.blur_px, shot.blur_px, 0))
    scene *= _light(shot)
    scene = scene * (1 - shot.flare) + shot.flare
    scene *= np.array(shot.white) / max(shot.white) * shot.exposure
    scene += shot.noise * np.sqrt(np.maximum(scene, 1e-3)) * rng.standard_normal(scene.shape)
    return np.rint(255 * _encoded(scene, shot)).astype(np.uint8)


def seen_by_sensor(reflectance, shot: Shot) -> np.ndarray:
    """Linear sRGB (K, 3) as the camera believes it, paper at (1, 1, 1)."""
    sees = np.exp(
        -0.5 * ((WAVELENGTHS_NM[:, None] - shot.peaks_nm) / np.array(shot.widths_nm)) ** 2
    )
    sees /= sees.sum(axis=0)
    smooth, wanted = _smooth_colours()
    matrix = np.linalg.lstsq(smooth @ sees, wanted, rcond=None)[0]
    matrix /= matrix.sum(axis=0)  # white stays white
    linear = reflectance @ sees / (reflectance[0] @ sees) @ matrix
    grey = linear @ np.array([0.2126, 0.7152, 0.0722])
    return grey[:, None] + (1 + shot.saturation) * (linear - grey[:, None])


def _smooth_colours():
    """Reflectances (200, 36) that change slowly, and their linear sRGB (200, 3) under D50."""
    rng = np.random.default_rng(5)
    waves = np.linspace(0, 1, len(WAVELENGTHS_NM))
    phases, counts = rng.uniform(0, 2 * np.pi, (200, 3)), np.array([0.5, 1.0, 1.5])
    heights = rng.uniform(0, 1.2, (200, 3))
    bends = heights[..., None] * np.sin(2 * np.pi * counts[:, None] * waves + phases[..., None])
    smooth = 1 / (1 + np.exp(-(bends.sum(axis=1) + rng.normal(-0.5, 0.8, (200, 1)))))
    _, weights = _colour_science()
    white = weights.sum(axis=0)
    xyz = smooth @ weights / white[1]
    wanted = colour.XYZ_to_RGB(
        xyz, "sRGB", colour.XYZ_to_xy(white / white[1]), apply_cctf_encoding=False
    )
    return smooth, wanted


def _in_picture(form, linear, shot: Shot) -> np.ndarray:
    """The scene (rows, cols, 3) in linear light of 0 to 1."""
    sharp = shot.fills * max(shot.width_px, shot.height_px) / form.width_mm * 25.4
    pixels = FormPixels(form.drawing, ppi=sharp)
    printed = linear[pixels.rows(0, pixels.height_px)].astype(np.float32)
    across, down = _places_on_form(form, shot)
    rows, cols = down * sharp / 25.4 - 0.5, across * sharp / 25.4 - 0.5
    margin = 6.0  # mm of the sheet beyond the plates
    on_sheet = (np.abs(across - form.width_mm / 2) < form.width_mm / 2 + margin) & (
        np.abs(down - form.height_mm / 2) < form.height_mm / 2 + margin
    )
    return np.stack(
        [
            np.where(
                on_sheet,
                map_coordinates(
                    printed[..., k],
                    (rows, cols),
                    order=1,
                    mode="constant",
                    cval=float(linear[0, k]),
                ),
                DESK[k],
            )
            for k in range(3)
        ],
        axis=-1,
    )


def _places_on_form(form, shot: Shot):
    """For each pixel the place on the form, mm across and down."""
    rows, cols = np.mgrid[: shot.height_px, : shot.width_px].astype(np.float32)
    half = np.hypot(shot.width_px, shot.height_px) / 2
    x, y = (cols + 0.5 - shot.width_px / 2) / half, (rows + 0.5 - shot.height_px / 2) / half
    stretch = 1 - shot.bend * (x**2 + y**2)
    x, y = x * stretch, y * stretch
    to_form = np.linalg.inv(_to_picture(form, shot, half)).astype(np.float32)
    across, down, w = (row[0] * x + row[1] * y + row[2] for row in to_form)
    return across / w, down / w


def _to_picture(form, shot: Shot, half) -> np.ndarray:
    """Homography from mm on the form to the picture, in halves of its diagonal from the middle."""
    width, height = form.width_mm, form.height_mm
    room = np.array([shot.width_px, shot.height_px]) * shot.fills
    size = np.array([width, height] if shot.turned % 2 == 0 else [height, width])
    scale = (room / size).min() / half
    corners = np.array([[-width, -height], [width, -height], [-width, height], [width, height]]) / 2
    angle = np.pi / 2 * shot.turned
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    flip = np.array([-1 if shot.is_mirrored else 1, 1])
    there = (corners * flip @ turn.T + np.array(shot.lean) * width) * scale
    rows = []
    for (x, y), (u, v) in zip(corners + np.array([width, height]) / 2, there, strict=True):
        rows.append([x, y, 1, 0, 0, 0, -u * x, -u * y, -u])
        rows.append([0, 0, 0, x, y, 1, -v * x, -v * y, -v])
    return np.linalg.svd(np.array(rows))[2][-1].reshape(3, 3)


def _light(shot: Shot) -> np.ndarray:
    """How much light falls on each pixel (rows, cols, 3), 1 at most."""
    y, x = np.mgrid[-1 : 1 : shot.height_px * 1j, -1 : 1 : shot.width_px * 1j].astype(np.float32)
    along = np.cos(np.radians(shot.slope_deg)) * x + np.sin(np.radians(shot.slope_deg)) * y
    lost = (1 - shot.vignette * (x**2 + y**2) / 2) * (1 - shot.slope * (1 + along / 1.42) / 2)
    colours = 1 + shot.tint * along[..., None] * np.array([0.5, 0.0, -0.5], np.float32)
    return lost[..., None] * colours


def _encoded(linear, shot: Shot) -> np.ndarray:
    """As the camera writes it, 0 to 1: sRGB with its look."""
    linear = np.clip(linear, 0, 1)
    value = np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055)
    value = value**shot.gamma
    return np.clip(value + shot.contrast * value * (1 - value) * (value - 0.5), 0, 1)
