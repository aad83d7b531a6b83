"""Law: neither the windows' heights and widths nor the order of merging change a finding."""

from itertools import pairwise

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from inkmix.checks.areas.finder import BY_SIZE, BY_VALUE, AreaFinder, Areas, AreasPart

SHAPE = (23, 31)


@st.composite
def cuts(draw: st.DrawFn, length: int) -> list[slice]:
    """A range cut into slices at random places."""
    inner = draw(st.sets(st.integers(1, length - 1), max_size=6))
    marks = [0, *sorted(inner), length]
    return [slice(a, b) for a, b in pairwise(marks)]


def merged(finder: AreaFinder, parts: list[AreasPart], rng: np.random.Generator) -> AreasPart:
    """Neighbours joined in an order drawn at random."""
    parts = list(parts)
    while len(parts) > 1:
        at = int(rng.integers(len(parts) - 1))
        parts[at : at + 2] = [finder.merge(parts[at], parts[at + 1])]
    return parts[0]


def areas_of(seed: int, density: float, finder: AreaFinder, rows: list[slice], cols: list[slice]):
    rng = np.random.default_rng(seed)
    mask = rng.random(SHAPE) < density
    values = rng.integers(0, 4, SHAPE).astype(np.int32)
    bands = [
        merged(
            finder,
            [finder.part(mask[r, c], values[r, c], rows=r, cols=c) for c in cols],
            rng,
        )
        for r in rows
    ]
    return finder.finish(merged(finder, [finder.start(), *bands, finder.start()], rng))


@settings(max_examples=80, deadline=None)
@given(
    seed=st.integers(0, 2**32 - 1),
    density=st.sampled_from([0.0, 0.1, 0.3, 0.42, 0.6, 1.0]),
    min_px=st.integers(1, 9),
    order=st.sampled_from([BY_VALUE, BY_SIZE]),
    kept=st.sampled_from([2, 200]),
    rows=cuts(SHAPE[0]),
    cols=cuts(SHAPE[1]),
)
def test_windows_change_nothing(seed, density, min_px, order, kept, rows, cols):
    finder = AreaFinder(min_px=min_px, order=order, kept=kept)
    whole = areas_of(seed, density, finder, [slice(0, SHAPE[0])], [slice(0, SHAPE[1])])
    assert isinstance(whole, Areas)
    assert areas_of(seed, density, finder, rows, cols) == whole
