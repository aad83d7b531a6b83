"""What a mix is, how one may be, and what is said of a colour that was looked for; values only."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from inkmix.base.arrays import FloatArray
from inkmix.colour.colorimetry import delta_e00
from inkmix.press.condition import PressCondition
from inkmix.press.expected import ExpectedError

REACH_DE00 = 0.5
"""A colour is in reach where a mix is predicted at most so far from it: half of what a trained eye
sees edge to edge, and below what one press does from sheet to sheet (common practice)."""

EXACT_STEP_PCT = 0.1
"""Step of an exact mix: finer than the 0.4 % of an 8-bit plate."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mix:
    """A mix and what the model predicts for it.

    Parameters
    ----------
    tone_pct : mapping of ink name to tone value
        Every ink of the condition in lay-down order, 0-100.
    lab : (L, a, b)
        Predicted, D50, 2 degree, absolute.
    de00 : float or None
        To the colour that was looked for; None for the darkest mix.
    total_pct : float
        Total ink.
    error_de00, error_L : float or None
        Expected error (95 %) of the prediction; None where nobody asked.
    """

    tone_pct: Mapping[str, float]
    lab: tuple[float, float, float]
    de00: float | None
    total_pct: float
    error_de00: float | None = None
    error_L: float | None = None

    @property
    def inks(self) -> tuple[str, ...]:
        """The inks that it holds, in lay-down order."""
        return tuple(name for name, pct in self.tone_pct.items() if pct > 0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Aims:
    """How a mix may be.

    Parameters
    ----------
    ink_limit_pct : float or None
        Greatest total ink; None for no limit.
    step_pct : float
        Tone values are multiples of it, or 100; 0.1-100.
    least_pct : float
        Smallest dot of the process: no tone value lies between 0 and it; 0-100.
    inks : tuple of str or None
        Names that may be used; None for all.
    """

    ink_limit_pct: float | None
    step_pct: float = 5.0
    least_pct: float = 0.0
    inks: tuple[str, ...] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """All that was found for one colour: the nearest in any step, and mixes in the steps asked for.

    Parameters
    ----------
    lab : (L, a, b)
        Looked for.
    nearest : Mix
        In any step; of fewer inks where they come equally near.
    mixes : tuple of Mix
        Of differing sets of inks, best first.
    """

    lab: tuple[float, float, float]
    nearest: Mix
    mixes: tuple[Mix, ...]

    @property
    def left_de00(self) -> float:
        """Left between the nearest mix and the colour."""
        return left_of(self.nearest)

    @property
    def in_reach(self) -> bool:
        """Whether that is at most REACH_DE00."""
        return self.left_de00 <= REACH_DE00


def left_of(mix: Mix) -> float:
    """What a mix leaves to the colour that was looked for."""
    assert mix.de00 is not None
    return mix.de00


def mix_of(condition: PressCondition, tone_pct: FloatArray, target: FloatArray | None) -> Mix:
    """A tone vector (I,) as a Mix, with its dE00 to `target` if there is one."""
    lab = condition.lab(tone_pct)
    return Mix(
        tone_pct=by_ink(condition, tone_pct),
        lab=(float(lab[0]), float(lab[1]), float(lab[2])),
        de00=None if target is None else float(delta_e00(lab, target)),
        total_pct=float(tone_pct.sum()),
    )


def mixes_of(
    condition: PressCondition, tone_pct: FloatArray, targets: FloatArray | None
) -> list[Mix]:
    """Tone vectors (N, I) as mixes with their expected errors, and dE00 to `targets` (N, 3)."""
    labs = condition.lab(tone_pct)
    left = [None] * len(labs) if targets is None else delta_e00(labs, targets).tolist()
    return as_mixes(condition, tone_pct, labs, left, condition.expected_error(tone_pct))


def as_mixes(
    condition: PressCondition,
    tone_pct: FloatArray,
    labs: FloatArray,
    left: Sequence[float | None],
    errors: ExpectedError,
) -> list[Mix]:
    """Tone vectors (N, I) as mixes, with all that was predicted for them; `left` is their dE00."""
    return [
        Mix(
            tone_pct=by_ink(condition, tones),
            lab=(float(lab[0]), float(lab[1]), float(lab[2])),
            de00=de00,
            total_pct=round(float(tones.sum()), 6),
            error_de00=float(error),
            error_L=float(error_L),
        )
        for tones, lab, de00, error, error_L in zip(
            tone_pct, labs, left, errors.de00, errors.L, strict=True
        )
    ]


def by_ink(condition: PressCondition, tone_pct: FloatArray) -> Mapping[str, float]:
    """Tone values (I,) by the names of the inks."""
    names = (ink.name for ink in condition.inks)
    return MappingProxyType(dict(zip(names, tone_pct.tolist(), strict=True)))
