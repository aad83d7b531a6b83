"""What is on an overprint sheet, as values: every field with its mix, its colour and its doubts.

Blocks of fields (solids and overprints, a ramp an ink, tints of every pair, the deepest darks) are
put together here and coloured at once by the exact press model. Where they lie on the sheet, and
how they are drawn, is not known here.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations, product

import numpy as np

from inkmix.base.arrays import FloatArray
from inkmix.checks.tones.facts import HARD_TO_TELL_DE00
from inkmix.colour.colorimetry import delta_e00, xyz100_to_lab, xyz100_to_srgb8
from inkmix.colour.vision import seen_xyz100
from inkmix.jobs.overprints.deepest import Dark
from inkmix.press.condition import PressCondition

OVERPRINTS, RAMP, PAIR, DARKEST = "overprints", "ramp", "pair", "darkest"

Triple = tuple[float, float, float]
Triple8 = tuple[int, int, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """One colour on the sheet.

    Parameters
    ----------
    tone_pct : tuple of float
        Tone value of every ink in lay-down order, 0-100.
    lab : (L, a, b)
        Predicted, D50, 2 degree, absolute; whatever the view.
    error_de00, error_L : float
        95 % expected errors of it.
    total_pct : float
        Total ink.
    is_over : bool
        Whether that is more than the ink limit.
    srgb8 : (R, G, B)
        As it is shown, in the view of the sheet.
    in_srgb : bool
        Whether sRGB can show it; else the nearest is shown.
    name : str
        What a dark is the darkest of; else empty.
    """

    tone_pct: tuple[float, ...]
    lab: Triple
    error_de00: float
    error_L: float
    total_pct: float
    is_over: bool
    srgb8: Triple8
    in_srgb: bool
    name: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Alike:
    """Two fields of a block, by their places in it, that are hard to tell apart in print."""

    first: int
    second: int
    de00: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """Fields that belong together.

    Parameters
    ----------
    kind : str
        OVERPRINTS, RAMP, PAIR or DARKEST.
    inks : tuple of int
        The ink of a ramp, both of a pair (the one printed first comes first), all else.
    fields : tuple of Field
    groups : tuple of int
        How many fields stand together, in their order: overprints by the number of inks, of a pair
        one row a tone value of its second ink.
    alike : tuple of Alike
        All pairs that look alike.
    """

    kind: str
    inks: tuple[int, ...]
    fields: tuple[Field, ...]
    groups: tuple[int, ...]
    alike: tuple[Alike, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Steps:
    """Tone values of ramps and of pairs, %."""

    ramp_pct: tuple[float, ...]
    pair_pct: tuple[float, ...]


_Plan = tuple[str, tuple[int, ...], FloatArray, tuple[int, ...]]


def usual_steps(inks: int) -> Steps:
    """Ramps by ten; pairs as fine as fields stay large enough to be judged on an A3 sheet."""
    step = 10 if inks <= 3 else 20 if inks <= 5 else 25
    return Steps(ramp_pct=_range(10, 10), pair_pct=_range(0, step))


def coarse_steps() -> Steps:
    """For a sheet among twenty on a page."""
    return Steps(ramp_pct=_range(20, 20), pair_pct=(0.0, 33.0, 67.0, 100.0))


def _range(start: int, step: int) -> tuple[float, ...]:
    return tuple(float(tone) for tone in range(start, 101, step))


def blocks_of(
    condition: PressCondition,
    *,
    steps: Steps,
    darkest: Sequence[Dark],
    ink_limit_pct: float | None,
    view: str,
) -> tuple[Block, ...]:
    """All blocks of a sheet: overprints, ramps, pairs, darkest, in this order.

    Parameters
    ----------
    darkest : sequence of Dark
        The deepest darks that are to be shown; none leaves the block out.
    ink_limit_pct : float or None
        Fields of more are over the limit.
    view : str
        One of inkmix.colour.vision.VIEWS, in which fields look alike or not.
    """
    plans = list(_plans(condition, steps, darkest))
    tones = np.concatenate([plan[2] for plan in plans])
    xyz100 = condition.xyz100(tones)
    seen = seen_xyz100(xyz100, view=view)
    fields = _fields(condition, tones, xyz100, seen, limit=ink_limit_pct)
    seen_lab = xyz100_to_lab(seen)
    ends = np.cumsum([len(plan[2]) for plan in plans]).tolist()
    return tuple(
        Block(
            kind=kind,
            inks=inks,
            fields=_named(fields[end - len(own) : end], darkest if kind == DARKEST else ()),
            groups=groups,
            alike=tuple(_alike(seen_lab[end - len(own) : end])),
        )
        for (kind, inks, own, groups), end in zip(plans, ends, strict=True)
    )


def _named(fields: tuple[Field, ...], darks: Sequence[Dark]) -> tuple[Field, ...]:
    if not darks:
        return fields
    pairs = zip(fields, darks, strict=True)
    return tuple(replace(field, name=dark.name) for field, dark in pairs)


def _plans(condition: PressCondition, steps: Steps, darkest: Sequence[Dark]) -> Iterator[_Plan]:
    count = len(condition.inks)
    every = tuple(range(count))
    subsets = [chosen for size in range(count + 1) for chosen in combinations(every, size)]
    sizes = np.bincount([len(chosen) for chosen in subsets]).tolist()
    yield OVERPRINTS, every, _rows(count, (dict.fromkeys(s, 100.0) for s in subsets)), tuple(sizes)
    for k in every:
        ramp = _rows(count, ({k: tone} for tone in steps.ramp_pct))
        yield RAMP, (k,), ramp, (len(steps.ramp_pct),)
    side = steps.pair_pct
    for first, second in combinations(every, 2):
        tints = ({second: down, first: across} for down, across in product(side, side))
        yield PAIR, (first, second), _rows(count, tints), (len(side),) * len(side)
    if darkest:
        names = [ink.name for ink in condition.inks]
        mixes = [[dark.mix.tone_pct[name] for name in names] for dark in darkest]
        yield DARKEST, every, np.array(mixes, dtype=np.float64), (1,) * len(mixes)


def _rows(count: int, mixes: Iterable[dict[int, float]]) -> FloatArray:
    """Tone values (N, I) of mixes given by ink."""
    rows = [[mix.get(k, 0.0) for k in range(count)] for mix in mixes]
    return np.array(rows, dtype=np.float64)


def _fields(
    condition: PressCondition,
    tones: FloatArray,
    xyz100: FloatArray,
    seen: FloatArray,
    *,
    limit: float | None,
) -> tuple[Field, ...]:
    errors = condition.expected_error(tones)
    srgb8, outside = xyz100_to_srgb8(seen)
    totals = tones.sum(axis=1)
    columns = zip(
        tones.tolist(), xyz100_to_lab(xyz100).tolist(), errors.de00.tolist(), errors.L.tolist(),
        totals.tolist(), srgb8.tolist(), outside.tolist(), strict=True,
    )  # fmt: skip
    return tuple(
        Field(
            tone_pct=tuple(tone),
            lab=(lab[0], lab[1], lab[2]),
            error_de00=de00,
            error_L=L,
            total_pct=total,
            is_over=limit is not None and total > limit,
            srgb8=(shown[0], shown[1], shown[2]),
            in_srgb=not cut,
        )
        for tone, lab, de00, L, total, shown, cut in columns
    )


def _alike(seen_lab: FloatArray) -> Iterator[Alike]:
    """All pairs of rows that are hard to tell apart."""
    first, second = np.triu_indices(len(seen_lab), k=1)
    de00 = delta_e00(seen_lab[first], seen_lab[second])
    near = de00 < HARD_TO_TELL_DE00
    for one, other, how in zip(first[near], second[near], de00[near], strict=True):
        yield Alike(first=int(one), second=int(other), de00=float(how))
