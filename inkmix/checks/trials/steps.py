"""The steps of a remedy, done to the pixels of a window.

Pure and exact: integers in, new integers out, the input untouched. What a step means is said at
`finding.Step`; which steps to try is decided elsewhere.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkmix.base.loops import are_compiled
from inkmix.checks.finding import LOWER, Step
from inkmix.checks.total_ink import counts as ink_counts
from inkmix.checks.window import Mask, Planes, full_scale, steps_at_most
from inkmix.sheet.geometry import Sheet


@dataclass(frozen=True, slots=True, kw_only=True)
class StepGround:
    """What steps refer to: the plates by name in the order of the planes, the sheet, the limit."""

    plates: tuple[str, ...]
    sheet: Sheet
    ink_limit_pct: float | None


def apply_steps(
    planes: Planes,
    steps: Sequence[Step],
    *,
    ground: StepGround,
    rows: slice,
    cols: slice,
    nights: Mapping[str, Mask],
    ink_sum: NDArray[np.int32] | None = None,
) -> tuple[Planes, NDArray[np.int32]]:
    """The planes (I, rows, cols) of a window after the steps, and its total ink then.

    The steps are done one after the other.

    Parameters
    ----------
    rows, cols : slice
        Where the window lies on the plates.
    nights : mapping of name to (rows, cols) mask
        Of every night area that a step is confined to.
    ink_sum : (rows, cols) ndarray of int32, or None
        Total ink before, where it is not simply the sum of the planes (screened plates).

    Raises
    ------
    ValueError
        For a step that is not done plate by plate (a recipe, a correction), or an unknown plate or
        night area.
    """
    after = planes.copy()
    total = ink_counts.ink_sum(planes) if ink_sum is None else ink_sum.copy()
    for step in steps:
        plane = after[_plate(step, ground)]
        inside = _inside(step, ground, rows, cols, nights)
        _do(step, plane, inside, total=total, ground=ground)
    return after, total


def _plate(step: Step, ground: StepGround) -> int:
    if step.plate not in ground.plates:
        raise ValueError(f"no plate named {step.plate}; there are {', '.join(ground.plates)}")
    return ground.plates.index(step.plate)


def _inside(
    step: Step, ground: StepGround, rows: slice, cols: slice, nights: Mapping[str, Mask]
) -> Mask:
    """Pixels of the window that a step is confined to."""
    shape = (rows.stop - rows.start, cols.stop - cols.start)
    if step.area is not None and step.area not in nights:
        raise ValueError(f"no mask for the night area {step.area}")
    inside = np.ones(shape, dtype=bool) if step.area is None else nights[step.area].copy()
    if step.place is not None:
        box_rows, box_cols = ground.sheet.pixels_of(
            x_mm=step.place.sheet_x_mm,
            y_mm=step.place.sheet_y_mm,
            width_mm=step.place.width_mm,
            height_mm=step.place.height_mm,
        )
        inside &= _between(rows, box_rows)[:, None] & _between(cols, box_cols)
    return inside


def _between(window: slice, box: slice) -> Mask:
    numbers = np.arange(window.start, window.stop)
    return np.asarray((numbers >= box.start) & (numbers < box.stop))


def _do(
    step: Step, plane: Planes, inside: Mask, *, total: NDArray[np.int32], ground: StepGround
) -> None:
    """Do one step to a plane; total ink follows."""
    full = full_scale(plane)
    if step.operation != LOWER:
        raise ValueError(f"{step.operation!r} is no step on one plate, but part of a recipe")
    if ground.ink_limit_pct is not None:
        limit = steps_at_most(ground.ink_limit_pct, full)
        _lower(plane, total, inside, limit=limit, most=steps_at_most(step.amount_pct, full))


def _lower(plane: Planes, total: NDArray[np.int32], inside: Mask, *, limit: int, most: int) -> None:
    """Take what is over the limit from a plane, up to `most`."""
    if are_compiled():
        from inkmix.base.kernels import trial

        trial.lower_to(plane, total, inside, limit, most)
        return
    excess = np.maximum(total - limit, 0)
    taken = np.minimum(np.minimum(excess, most), plane) * inside
    total -= taken
    plane -= taken.astype(plane.dtype)
