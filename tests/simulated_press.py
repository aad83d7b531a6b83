"""A press of another kind than the model's: a judge of what is learnt from prints.

Films of ink absorb and scatter, wavelength by wavelength, on paper under an interface. Nothing is
said as the model says it: dots grow at their edge by a width, whatever the tone; light wanders in
the paper (Clapper and Yule) in place of a factor n; a film comes out thinner on wet ink the more of
it lies there; each ink scatters by itself. Sheets, and places of a sheet, differ by how much ink
they carry, and an instrument has its noise. Nothing of inkmix is used but the wavelengths; colours
come from colour-science.

    press = night_ferry()
    press.measured(tone_pct, seed=1)    # (N, 36): one sheet, as an instrument reads it
    press.truth(tone_pct)               # what the press prints on average
    random_press(7)                     # another press of its kind
"""

import warnings
from dataclasses import dataclass, replace
from functools import cache, reduce
from itertools import product

import numpy as np
from night_ferry_inks import INKS, STOCKS
from print_physics import Stock, film, laid_on, seen

from inkmix.colour.observer import WAVELENGTHS_NM

BANDS = len(WAVELENGTHS_NM)
_TOUCH = np.sqrt(0.5)  # where round dots touch and become round holes, as a square root of area


@dataclass(frozen=True, slots=True, kw_only=True)
class PressInk:
    """An ink on this press.

    `absorption` and `scatter`, both (36,), are for a film of unit thickness, `thickness` is what
    the press lays down on bare paper; dots grow by `edge_um` all around.
    """

    name: str
    absorption: np.ndarray
    scatter: np.ndarray
    thickness: float
    edge_um: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Noise:
    """How prints of one press differ, as standard deviations.

    Of the thickness of each film: from sheet to sheet, across a sheet (a slow wave), and from patch
    to patch; of the width by which dots grow, likewise from sheet to sheet and from patch to patch;
    of the instrument: of all bands together, as a share, and of each band, as reflectance.
    """

    sheet: float = 0.04
    across: float = 0.025
    patch: float = 0.015
    edge_sheet: float = 0.12
    edge_patch: float = 0.05
    gain: float = 0.0045
    band: float = 0.0008


@dataclass(frozen=True, slots=True, kw_only=True)
class SimulatedPress:
    """Inks in lay-down order on a paper; all tone values in percent, columns as `inks`."""

    inks: tuple[PressInk, ...]
    stock: Stock
    ruling_per_cm: float
    trapping_loss: float  # share of a film that does not stick to much wet ink
    noise: Noise = Noise()

    @property
    def names(self):
        """Names of the inks in lay-down order."""
        return tuple(ink.name for ink in self.inks)

    def truth(self, tone_pct):
        """Reflectance (N, 36) of what the press prints on average, of tone values (N, I)."""
        tones = np.asarray(tone_pct, dtype=float) / 100
        even = np.ones_like(tones)
        return self._printed(tones, thickness=even, edge=even)

    def truth_lab(self, tone_pct):
        """The same as Lab (N, 3), D50, 2 degree."""
        return lab_of(self.truth(tone_pct))

    def printed(self, tone_pct, *, seed):
        """Reflectance (N, 36) of the patches of one sheet, in the order in which they lie on it."""
        tones = np.asarray(tone_pct, dtype=float) / 100
        rng, noise = np.random.default_rng(seed), self.noise
        count, inks = tones.shape
        place = np.linspace(0, 1, count)[:, None]
        wave = np.sin(2 * np.pi * (place * rng.uniform(0.5, 1.5, inks) + rng.uniform(0, 1, inks)))
        thickness = (
            noise.sheet * rng.standard_normal(inks)
            + noise.across * np.sqrt(2) * wave
            + noise.patch * rng.standard_normal((count, inks))
        )
        edge = noise.edge_sheet * rng.standard_normal(inks)
        edge = edge + noise.edge_patch * rng.standard_normal((count, inks))
        return self._printed(tones, thickness=np.exp(thickness), edge=np.exp(edge))

    def measured(self, tone_pct, *, seed, noise=True):
        """Reflectance (N, 36) of one sheet as an instrument reads it; the truth without noise."""
        if not noise:
            return self.truth(tone_pct)
        return self.read(self.printed(tone_pct, seed=seed), seed=seed)

    def read(self, reflectance, *, seed):
        """What an instrument says of reflectances (N, 36)."""
        rng = np.random.default_rng([seed, 1])  # another stream than that of the sheet
        level = 1 + self.noise.gain * rng.standard_normal((len(reflectance), 1))
        bands = self.noise.band * rng.standard_normal(reflectance.shape)
        return np.clip(reflectance * level + bands, 0, 1)

    def _printed(self, tones, *, thickness, edge):
        """Reflectance (N, 36); thickness and edge (N, I) are factors of what the inks have."""
        covered = np.stack(
            [
                self.covered(tones[:, i], edge_um=ink.edge_um * edge[:, i])
                for i, ink in enumerate(self.inks)
            ],
            axis=-1,
        )
        spots = []
        for held in product((False, True), repeat=len(self.inks)):
            share = np.where(held, covered, 1 - covered).prod(axis=-1)
            if share.any():
                spots.append((share[:, None], self._stacked(held, thickness)))
        return seen(spots, stock=self.stock)

    def covered(self, tone, *, edge_um):
        """Area (N,) that dots of a tone value (N,), 0-1, cover once they have grown.

        Round dots up to a half, round holes beyond, on a square grid: in terms of the square root
        of the area, which is as a radius, both grow or close by the same amount.
        """
        grown = np.sqrt(np.pi) * edge_um * 1e-4 * self.ruling_per_cm
        radius = np.where(tone < 0.5, np.sqrt(tone), 2 * _TOUCH - np.sqrt(1 - tone))
        radius = np.minimum(np.where(tone > 0, radius + grown, 0), 2 * _TOUCH)
        return np.where(radius < _TOUCH, radius**2, 1 - (2 * _TOUCH - radius) ** 2)

    def _stacked(self, held, thickness):
        """Film of the inks held at a spot, each thinner on the wet ink that lies there already."""
        under = np.zeros((len(thickness), 1))
        films = [film(np.ones(BANDS), 0, thickness=under)]  # none, for every patch
        for i, ink in enumerate(self.inks):
            if held[i]:
                sticks = 1 - self.trapping_loss * (1 - np.exp(-1.5 * under))
                laid = ink.thickness * self.stock.hold * thickness[:, i : i + 1] * sticks
                films.append(film(ink.absorption, ink.scatter, thickness=laid))
                under = under + laid
        return reduce(laid_on, films)


# The demo's inks: scatter of a film, and growth of dots as a share of what is usual on the paper.
_DEMO_INKS = {
    "Soot": (0.02, 1.3),
    "Fjord": (0.025, 1.1),
    "Rowan": (0.045, 1.0),
    "Brass": (0.06, 0.8),
    "Fog": (0.03, 1.2),
}
# Growth of dots in um, lines per cm, and the share of a film that does not stick to wet ink.
_PAPERS = {
    "coated": (2.5, 60, 0.12),
    "uncoated": (5.0, 54, 0.20),
    "newsprint": (9.0, 40, 0.25),
}


def night_ferry(*, paper="uncoated", thickness=1.0):
    """The demo's five inks on a paper of STOCKS: what was swatched, on a press of this kind.

    Films absorb as those of the swatches do. They scatter more, yellow and red above all, so that
    solids come near the swatches but what lies on dark ink does not follow from them.
    """
    edge_um, ruling_per_cm, trapping_loss = _PAPERS[paper]
    inks = tuple(
        PressInk(
            name=name,
            absorption=INKS[name][0],
            scatter=scatter * 550 / WAVELENGTHS_NM,  # small grains scatter blue more
            thickness=thickness,
            edge_um=edge_um * growth,
        )
        for name, (scatter, growth) in _DEMO_INKS.items()
    )
    return SimulatedPress(
        inks=inks,
        stock=STOCKS[paper],
        ruling_per_cm=ruling_per_cm,
        trapping_loss=trapping_loss,
    )


def random_press(seed, *, paper="uncoated"):
    """The demo's inks on a press that differs from `night_ferry` in all it has.

    By about as much as presses, and batches of ink and paper, differ (a guess): films 9 % thicker
    or thinner, absorption moved by 3 nm, scatter half as much again, dots grown a fifth more.
    """
    rng, press = np.random.default_rng([seed, 2]), night_ferry(paper=paper)
    return replace(
        press,
        inks=tuple(_another_batch(ink, rng) for ink in press.inks),
        stock=_another_reel(press.stock, rng),
        ruling_per_cm=press.ruling_per_cm * rng.choice([0.9, 1.0, 1.15]),
        trapping_loss=rng.uniform(0.03, 0.32),
    )


def _another_batch(ink, rng):
    shifted = np.interp(WAVELENGTHS_NM + rng.normal(0, 3), WAVELENGTHS_NM, ink.absorption)
    return replace(
        ink,
        absorption=shifted,
        scatter=ink.scatter * np.exp(rng.normal(0, 0.5)),
        thickness=ink.thickness * np.exp(rng.normal(0, 0.09)),
        edge_um=ink.edge_um * np.exp(rng.normal(0, 0.2)),
    )


def _another_reel(stock, rng):
    slope = rng.normal(0, 0.01) * (WAVELENGTHS_NM - 550) / 170  # yellower or bluer
    return replace(
        stock,
        reflectance=np.clip(stock.reflectance * (1 + rng.normal(0, 0.01) + slope), 0, 0.95),
        gloss=stock.gloss * np.exp(rng.normal(0, 0.1)),
        hold=stock.hold * np.exp(rng.normal(0, 0.04)),
        spread=np.clip(stock.spread + rng.normal(0, 0.08), 0.2, 0.8),
    )


@cache
def _colour_science():
    """The library and its weights (36, 3) of XYZ under D50, 2 degree, what lies outside added."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # it warns at import of what it misses
        import colour

    one_nm = colour.SpectralShape(360, 780, 1)
    full = colour.colorimetry.tristimulus_weighting_factors_ASTME2022(
        colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"].copy().align(one_nm),
        colour.SDS_ILLUMINANTS["D50"].copy().align(one_nm),
        colour.SpectralShape(360, 780, 10),
    )
    weights = full[2 : 2 + BANDS].copy()
    weights[0] += full[:2].sum(axis=0)
    weights[-1] += full[2 + BANDS :].sum(axis=0)
    return colour, weights


def lab_of(reflectance):
    """Lab (..., 3) of reflectances (..., 36) by colour-science, D50, 2 degree."""
    colour, weights = _colour_science()
    white = weights.sum(axis=0)
    return colour.XYZ_to_Lab(
        np.asarray(reflectance) @ weights / white[1], colour.XYZ_to_xy(white / white[1])
    )
