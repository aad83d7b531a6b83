"""What light does in a print, to invent swatches: films of ink on a paper that scatters sideways.

It is on purpose another model than inkmix's own: absorption and scattering per wavelength, films
stacked as plates, an interface with air, and light that leaves where it did not enter. So invented
data can judge predictions. All formulas from memory.

References
----------
Kubelka 1948, J. Opt. Soc. Am. 38, 448-457 (a film's reflectance and transmittance); Kubelka 1954,
J. Opt. Soc. Am. 44, 330-335 (stacked films); Clapper & Yule 1953, J. Opt. Soc. Am. 43, 600-603
(halftone on paper under an interface); Demichel 1924, Le Procede 26, 17-21 (overlaps).
"""

from dataclasses import dataclass
from functools import reduce
from itertools import product

import numpy as np

NM = np.arange(380.0, 731.0, 10.0)

OUTSIDE = 0.04  # of light from air, reflected at an interface of index 1.5
INSIDE = 0.6  # of diffuse light from below, reflected back at the same interface
TRAPPING = 0.15  # share by which a film is thinner for each film under it


@dataclass(frozen=True)
class Stock:
    """A paper: its reflectance as measured, and what it does to ink.

    `gloss` is the share of the surface reflection that a 45:0 instrument sees; `hold` the share of
    the ink that stays on the surface; `gain` the growth of a 50 % dot, as coverage; `spread` the
    share of the light that wanders so far that it leaves where it did not enter.
    """

    name: str
    reflectance: np.ndarray
    gloss: float
    hold: float
    gain: float
    spread: float

    @property
    def body(self):
        """Reflectance of the paper's inside, so that the bare sheet measures as given."""
        inner = self.reflectance - self.gloss * OUTSIDE
        return inner / ((1 - OUTSIDE) * (1 - INSIDE) + INSIDE * inner)


@dataclass(frozen=True)
class Film:
    """A layer: reflectance from above and below, transmittance, light that it emits upwards."""

    above: np.ndarray
    below: np.ndarray
    through: np.ndarray
    glow: np.ndarray


CLEAR = Film(np.zeros(36), np.zeros(36), np.ones(36), np.zeros(36))


def film(absorption, scattering, *, thickness, glow=0.0):
    """A film of ink from its absorption and scattering for unit thickness (Kubelka 1948)."""
    scattering = np.maximum(scattering, 1e-4)
    a = 1 + absorption / scattering
    b = np.sqrt(a * a - 1)
    sinh, cosh = np.sinh(b * scattering * thickness), np.cosh(b * scattering * thickness)
    below = sinh / (a * sinh + b * cosh)
    return Film(below, below, b / (a * sinh + b * cosh), glow * np.ones(36))


def laid_on(lower, upper):
    """Two films, one on the other (Kubelka 1954). Emitted light passes the upper one."""
    between = 1 / (1 - upper.below * lower.above)
    return Film(
        above=upper.above + upper.through**2 * lower.above * between,
        below=lower.below + lower.through**2 * upper.below * between,
        through=lower.through * upper.through * between,
        glow=upper.glow + lower.glow * upper.through * upper.through.mean(axis=-1, keepdims=True),
    )


def stacked(recipes, *, stock):
    """The films of some inks in lay-down order; each later one is trapped less."""
    films = [
        film(k, s, thickness=stock.hold * (1 - TRAPPING) ** under, glow=glow)
        for under, (k, s, glow) in enumerate(recipes)
    ]
    return reduce(laid_on, films, CLEAR)


def grown(tone, gain):
    """Coverage of a tone value (both 0-1) on a stock of this gain at 50 %."""
    return tone + 4 * gain * tone * (1 - tone)


def halftone(recipes, tones, *, stock):
    """Reflectance (36,) of tints of some inks in lay-down order; tones 0-1."""
    coverage = [grown(tone, stock.gain) for tone in tones]
    spots = []
    for held in product((False, True), repeat=len(recipes)):
        weight = np.prod([c if on else 1 - c for c, on in zip(coverage, held, strict=True)])
        if weight > 0:
            layer = stacked([r for r, on in zip(recipes, held, strict=True) if on], stock=stock)
            spots.append((weight, layer))
    return seen(spots, stock=stock)


def seen(spots, *, stock):
    """Reflectance (..., 36) of a halftone of spots: (share of the area, film that lies there).

    Clapper & Yule with films that also scatter: of the light that wanders, one spot of the
    halftone is passed going down and an independent one coming up; the rest comes up where it was.
    """
    wandering = staying = 0.0
    for share, layer in spots:
        spot = _under_air(layer)
        wandering = wandering + share * spot
        staying = staying + share * _leaving(spot, stock.body)
    mixed = _leaving(wandering, stock.body)
    return stock.gloss * OUTSIDE + stock.spread * mixed + (1 - stock.spread) * staying


def _leaving(spot, body):
    """Light that leaves upwards: what the layer sends back, and what came through the paper."""
    direct, down, up, back = spot
    return direct + down * up * body / (1 - body * back)


def _under_air(layer):
    """Of one spot: reflected above the paper, let down, let up, reflected back into the paper."""
    bounce = 1 / (1 - layer.above * INSIDE)
    return np.stack([
        (1 - OUTSIDE) * (1 - INSIDE) * layer.above * bounce + layer.glow,
        (1 - OUTSIDE) * layer.through * bounce,
        (1 - INSIDE) * layer.through * bounce,
        layer.below + layer.through**2 * INSIDE * bounce,
    ])  # fmt: skip
