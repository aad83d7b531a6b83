"""The paints of The Night Ferry: inks, named mixes, and what the artist wants of them.

Only tables. Drawing uses the mixes, the book file repeats them: a named tone of the book is a
colour that is really in the picture.
"""

from collections.abc import Mapping
from dataclasses import dataclass

INKS = ("Soot", "Fjord", "Rowan", "Brass", "Fog")  # in lay-down order
INK_LIMIT_PCT = 260.0
CLEAN_LIMIT_PCT = 244.0  # rounding of five plates to 8 bits may add 1 %

Mix = Mapping[str, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Tone:
    """A named mix, in % tone value, and the colour the artist has in mind (relative to paper)."""

    name: str
    mix: Mix
    intended: str
    tolerance_de00: float = 6.0


@dataclass(frozen=True, slots=True, kw_only=True)
class NightArea:
    """A dark part of the picture and how dark it has to be."""

    name: str
    mask: str
    lightest_L: float
    share_pct: float


TONES = (
    Tone(name="deep night", mix={"Soot": 90, "Fjord": 68, "Rowan": 10}, intended="#3f414e"),
    Tone(name="moonlit water", mix={"Soot": 6, "Fjord": 48, "Fog": 45}, intended="#7a8fc4"),
    Tone(name="lamp glow", mix={"Rowan": 26, "Brass": 86}, intended="#ff9d45"),
    Tone(name="quay brick", mix={"Soot": 40, "Rowan": 74, "Brass": 22}, intended="#b35a4a"),
    Tone(name="rain", mix={"Soot": 34, "Fjord": 52, "Fog": 50}, intended="#5f6f96"),
    Tone(name="dawn", mix={"Rowan": 27, "Brass": 24, "Fog": 12}, intended="#fab89c"),
    Tone(name="hull", mix={"Soot": 62, "Fjord": 84, "Rowan": 16}, intended="#444362"),
)
NIGHTS = (
    NightArea(name="sky over the harbour", mask="masks/sky.png", lightest_L=29.0, share_pct=95.0),
    NightArea(name="open sea", mask="masks/sea.png", lightest_L=29.0, share_pct=95.0),
)
PAINTS: Mapping[str, Mix] = {tone.name: tone.mix for tone in TONES} | {
    "open sea": {"Soot": 90, "Fjord": 70, "Rowan": 7},
    "silhouette": {"Soot": 98, "Fjord": 70, "Rowan": 24},
    "paper": {},
    "moon": {"Brass": 7, "Fog": 14},
    "window": {"Rowan": 10, "Brass": 74},
    "far light": {"Rowan": 34, "Brass": 80, "Soot": 6},
    "funnel": {"Rowan": 92, "Brass": 18, "Soot": 4},
    "white paintwork": {"Soot": 10, "Fjord": 18, "Brass": 8, "Fog": 46},
    "foam": {"Fog": 34},
    "smoke": {"Soot": 40, "Fjord": 44, "Rowan": 12, "Fog": 40},
}


def mix_pct(mix: Mix) -> tuple[float, ...]:
    """Tone values of a mix in lay-down order, 0-100."""
    return tuple(float(mix.get(ink, 0.0)) for ink in INKS)
