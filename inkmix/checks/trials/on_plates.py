"""Trials on the plates of a spread."""

from collections.abc import Sequence
from functools import partial

import numpy as np
from numpy.typing import NDArray

from inkmix.checks.check import Ground
from inkmix.checks.mending.ink_off import printed_from
from inkmix.checks.total_ink.counts import ink_sum
from inkmix.checks.trials.ground import TrialGround
from inkmix.checks.trials.trials import Guard, PixelSource, Trials
from inkmix.checks.window import Planes, as_planes
from inkmix.plates.corrected import fixed, following, held
from inkmix.plates.masks.mask import RuleMask
from inkmix.press.table.colouring import Colouring

_NO_PLANES = np.empty((0, 0, 0), np.uint8)


def trials_on(ground: Ground, printed: Colouring, guards: Sequence[Guard]) -> Trials:
    """The spread as ground for trials; `guards` are areas that no remedy may spoil."""
    limit = ground.limits.ink_limit_pct
    return Trials(
        source=_pixel_source(ground, printed, guards),
        ground=TrialGround(
            plates=ground.plates.inks,
            sheet=ground.sheet,
            ink_limit_pct=None if limit is None else limit.value,
            printed_from=printed_from(ground),
        ),
        guards=guards,
        held=partial(held, ground.plates),
        fixed=fixed(ground.plates),
    )


def _pixel_source(ground: Ground, printed: Colouring, guards: Sequence[Guard]) -> PixelSource:
    masks = {guard.check.name: guard.mask for guard in guards}
    plates = ground.plates

    def read(rows: slice, cols: slice) -> tuple[Planes, NDArray[np.int32]]:
        amounts, tones = plates.read_both(rows, cols)
        return amounts, ink_sum(tones)

    def night_mask(name: str, rows: slice, cols: slice) -> NDArray[np.bool_]:
        mask = masks[name]
        by_plates = isinstance(mask, RuleMask)  # only then are the files read once more
        return mask.read(rows, cols, plates.read_for_total(rows, cols) if by_plates else _NO_PLANES)

    def look(planes: Planes) -> tuple[NDArray[np.uint8], NDArray[np.int16]]:
        coloured = printed.coloured(as_planes(following(plates, as_planes(planes))))
        return coloured.srgb8, coloured.lightness

    return PixelSource(read=read, lightness=printed.lightness, look=look, night_mask=night_mask)
