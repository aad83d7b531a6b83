"""The sheet as it is after a correction, as ground for further trials: nothing is written.

So what comes later is found on what earlier corrections leave.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import reduce
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from inkmix.base.ordered_threads import in_order
from inkmix.checks.mending.correction import Correction
from inkmix.checks.night.check import NightPart, NightResult
from inkmix.checks.night.counts import NightCounts
from inkmix.checks.total_ink.counts import ink_sum
from inkmix.checks.trials.change import Change
from inkmix.checks.trials.trials import Guard, PixelSource, Trials
from inkmix.checks.window import Box, CheckedWindow, Planes, bands_of, overlap


def after(
    trials: Trials,
    correction: Correction,
    boxes: Sequence[Box],
    *,
    counts: Mapping[str, NightCounts] = MappingProxyType({}),
) -> Trials:
    """Trials on what a correction leaves, which changes nothing outside of rectangles.

    Night areas that it touches are counted anew, but those of which `counts` after it are known.
    """
    before = trials.source
    change = Change(
        correction=correction,
        boxes=tuple(boxes),
        held=trials.held,
        kept=None if trials.keeping is None else trials.keeping.made(before, correction, boxes),
    )
    source = replace(before, read=_Corrected(before=before, change=change).read)
    guards = tuple(
        replace(one, result=_result(one, counts, source)) if _touches(one, boxes) else one
        for one in trials.guards
    )
    return replace(trials, source=source, guards=guards, changes=(*trials.changes, change))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Corrected:
    """The pixels after a correction."""

    before: PixelSource
    change: Change

    def read(self, rows: slice, cols: slice) -> tuple[Planes, NDArray[np.int32]]:
        kept = self.change.kept
        if kept is not None and (known := kept.whole(rows=rows, cols=cols)) is not None:
            return known, ink_sum(known)
        planes, total = self.before.read(rows, cols)
        done = self.change.on(planes, rows=rows, cols=cols)
        if kept is not None:
            kept.put(done, rows=rows, cols=cols)
        return done, total if done is planes else total - ink_sum(planes) + ink_sum(done)


def _touches(guard: Guard, boxes: Sequence[Box]) -> bool:
    area = guard.result.box
    return area is not None and any(overlap(area, box) for box in boxes)


def _result(guard: Guard, counts: Mapping[str, NightCounts], source: PixelSource) -> NightResult:
    if guard.check.name in counts:
        return guard.check.recounted(guard.result, counts[guard.check.name])
    return recounted(guard, source)


def recounted(guard: Guard, source: PixelSource) -> NightResult:
    """What a night area's check says of other pixels."""
    check, box = guard.check, guard.result.box
    assert box is not None  # an area that is touched has pixels

    def part(band: Box) -> NightPart:
        planes, _ = source.read(*band)
        window = CheckedWindow(
            rows=band[0], cols=band[1], planes=planes, lightness=source.lightness(planes)
        )
        return check.part(window, source.night_mask(check.name, *band))

    return check.finish(reduce(check.merge, in_order(part, bands_of([box])), check.start()))
