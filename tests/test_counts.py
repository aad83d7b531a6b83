"""Counting loops against their plain twins: the same bits for any window, depth, number of plates.

All values are silver: the plain NumPy twin is the judge, and the twins are held by the tests of the
checks and of the survey.
"""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inkmix.base import loops
from inkmix.checks.areas import edges as area_edges
from inkmix.checks.areas import labels as area_labels
from inkmix.checks.night import pixels as night_pixels
from inkmix.checks.total_ink import counts as ink_counts
from inkmix.checks.trials import tally as trial_tally
from inkmix.plates import overview
from inkmix.plates.overview import BlockSum, ColourOverview
from inkmix.plates.survey import joint_counts as together
from inkmix.plates.survey import tally

pytestmark = pytest.mark.skipif(not loops.are_compiled(), reason="loops are not compiled here")

DEPTHS = st.sampled_from([np.uint8, np.uint16])
SHAPES = st.tuples(st.integers(1, 40), st.integers(1, 300))
SEEDS = st.integers(0, 2**32 - 1)
EXAMPLES = settings(max_examples=40, deadline=None)


def drawn(rng: np.random.Generator, shape: tuple[int, ...], top: int) -> np.ndarray:
    """Whole numbers up to `top`: noise on the left, long runs in the middle, both ends only."""
    noise = rng.integers(0, top + 1, shape)
    runs = np.repeat(rng.integers(0, top + 1, (*shape[:-1], shape[-1] // 90 + 1)), 90, axis=-1)
    ends = (rng.random(shape) < 0.5) * top
    kind = np.searchsorted(np.sort(rng.integers(0, shape[-1] + 1, 2)), np.arange(shape[-1]))
    return np.choose(kind, [noise, runs[..., : shape[-1]], ends])


def planes_of(rng, plates: int, shape, depth) -> np.ndarray:
    return drawn(rng, (plates, *shape), int(np.iinfo(depth).max)).astype(depth)


def assert_same(one, other) -> None:
    """Two frozen values of numbers, tuples and arrays."""
    for name in type(one).__dataclass_fields__:
        np.testing.assert_array_equal(getattr(one, name), getattr(other, name), err_msg=name)


@EXAMPLES
@given(seed=SEEDS, plates=st.integers(1, 8), shape=SHAPES, depth=DEPTHS, limit=st.floats(0, 1))
def test_total_ink(seed, plates, shape, depth, limit):
    planes = planes_of(np.random.default_rng(seed), plates, shape, depth)
    steps = int(limit * plates * np.iinfo(depth).max)
    assert_same(ink_counts._compiled(planes, steps), ink_counts._plain(planes, steps))
    np.testing.assert_array_equal(ink_counts.ink_sum(planes), planes.sum(axis=0, dtype=np.int32))


def test_total_ink_at_its_ends():
    """Full ink of eight plates, and rows longer than one piece with the peak in the last pixel."""
    for depth in (np.uint8, np.uint16):
        planes = np.full((8, 2, 9000), np.iinfo(depth).max, depth)
        planes[:, :, :-1] -= 1
        counted = ink_counts.count_ink(planes, limit=8 * np.iinfo(depth).max - 1)
        assert counted.highest == 8 * np.iinfo(depth).max
        assert (counted.place, counted.over_px) == ((0, 8999), 2)
        assert counted.bands[80] == 2


@EXAMPLES
@given(
    seed=SEEDS,
    plates=st.integers(1, 8),
    shape=SHAPES,
    depth=DEPTHS,
    marked=st.sampled_from([0.0, 0.02, 0.5, 1.0]),
    limit=st.integers(-1, 1 << 15),
)
def test_night(seed, plates, shape, depth, marked, limit):
    rng = np.random.default_rng(seed)
    planes = planes_of(rng, plates, shape, depth)
    lightness = (drawn(rng, shape, 32767 + 300) - 300).astype(np.int16)
    mask = rng.random(shape) < marked
    args = planes, lightness, mask, limit
    assert_same(night_pixels._compiled(*args), night_pixels._plain(*args))


@pytest.mark.parametrize("depth", [np.uint8, np.uint16])
def test_a_dark_night_of_full_ink_does_not_overflow(depth):
    """More pixels of one lightness than 32 bits could add up at 16 bits."""
    planes = np.full((3, 300, 1001), np.iinfo(depth).max, depth)
    lightness, mask = np.full((300, 1001), 2000, np.int16), np.ones((300, 1001), bool)
    counted = night_pixels.count_night_pixels(planes, lightness, mask)
    assert counted.levels[2000] == mask.size
    assert (counted.mixes[2000 // 64] == mask.size * int(np.iinfo(depth).max)).all()


@EXAMPLES
@given(
    seed=SEEDS,
    shape=st.tuples(st.integers(1, 30), st.integers(1, 200)),
    density=st.sampled_from([0.02, 0.3, 0.6, 0.97]),
    grown=st.sampled_from([1, 70]),
    kind=st.sampled_from([np.int32, np.int16]),
)
def test_areas(seed, shape, density, grown, kind):
    """The very tables and edges that labelling with scipy gives, in the same order."""
    rng = np.random.default_rng(seed)
    mask = np.repeat(rng.random(shape) < density, grown, axis=1)[:, : shape[1]]
    mask[rng.integers(shape[0]), rng.integers(shape[1])] = True
    values = drawn(rng, shape, 3000).astype(kind)
    one, one_edges = area_labels._from_runs(mask, values, (5, 7))
    other, other_edges = area_labels._from_labels(mask, values, (5, 7))
    assert_same(one, other)
    for edge, wanted in zip(one_edges, other_edges, strict=True):
        np.testing.assert_array_equal(edge, wanted)


@EXAMPLES
@given(seed=SEEDS, length=st.integers(1, 60), areas=st.integers(2, 12))
def test_groups_across_a_seam(seed, length, areas):
    rng = np.random.default_rng(seed)
    seam = tuple(np.maximum(rng.integers(-areas, areas, (2, length)), -1))
    np.testing.assert_array_equal(
        area_edges.groups_across(seam, areas), area_edges._connected(seam, areas)
    )


def test_groups_on_one_side_only_stay_apart():
    bare, some = np.full(9, -1), np.array([0, -1, 1, -1, 2, -1, -1, 3, 3])
    np.testing.assert_array_equal(area_edges.groups_across((bare, some), 4), range(4))


@EXAMPLES
@given(
    seed=SEEDS,
    shape=st.tuples(st.integers(1, 30), st.integers(1, 99)),
    place=st.tuples(st.integers(0, 50), st.integers(0, 50)),
    factor=st.integers(1, 60),
    depth=DEPTHS,
)
def test_reduced_pictures(seed, shape, place, factor, depth):
    rng = np.random.default_rng(seed)
    planes = planes_of(rng, 3, shape, depth)
    srgb8 = planes_of(rng, 3, shape, np.uint8).transpose(1, 2, 0)
    size = {"width_px": place[1] + shape[1], "height_px": place[0] + shape[0]}
    sums = BlockSum(**size, channels=3, factor=factor)
    colours = ColourOverview(**size, factor=factor)

    def parts():
        first_row, first_col = place
        return (
            sums.part(first_row, planes, first_col=first_col),
            colours.part(first_row, srgb8, first_col=first_col),
        )

    compiled = parts()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(overview, "are_compiled", lambda: False)
        plain = parts()
    for one, other in zip(compiled, plain, strict=True):
        assert_same(one, other)


@EXAMPLES
@given(seed=SEEDS, shape=SHAPES, depth=DEPTHS)
def test_plates(seed, shape, depth):
    rng = np.random.default_rng(seed)
    full = int(np.iinfo(depth).max)
    plane = planes_of(rng, 1, shape, depth)[0]
    two_tone = np.where(plane > full // 2, full, 0).astype(depth)
    other = plane.copy()
    other[rng.integers(shape[0]), rng.integers(shape[1])] ^= rng.integers(0, 2, dtype=depth)
    with pytest.MonkeyPatch.context() as patch:
        found = []
        for compiled in (True, False):
            patch.setattr(tally, "are_compiled", lambda compiled=compiled: compiled)
            tallies = [tally.tally_of(given, full=full) for given in (plane, two_tone)]
            found.append([*tallies, tally.are_equal(plane, other), tally.are_equal(plane, plane)])
    for one, wanted in zip(found[0][:2], found[1][:2], strict=True):
        assert_same(one, wanted)
    assert found[0][2:] == found[1][2:]
    assert found[0][3]


@EXAMPLES
@given(seed=SEEDS, plates=st.integers(1, 8), pixels=st.integers(0, 5000))
def test_plates_together(seed, plates, pixels):
    some = drawn(np.random.default_rng(seed), (plates, pixels + 1), 255).astype(np.uint8)
    some = np.ascontiguousarray(some[:, :pixels])
    for one, wanted in zip(together._compiled(some), together._plain(some), strict=True):
        np.testing.assert_array_equal(one, wanted)


@EXAMPLES
@given(
    seed=SEEDS,
    plates=st.integers(1, 8),
    shape=SHAPES,
    depth=DEPTHS,
    share=st.floats(0, 1),
    limit=st.floats(0, 1),
)
def test_changes_of_a_trial(seed, plates, shape, depth, share, limit):
    """Ink that comes and goes in part of the pixels, and what that changed."""
    rng = np.random.default_rng(seed)
    planes = planes_of(rng, plates, shape, depth)
    changed = np.where(rng.random(shape) < share, planes_of(rng, plates, shape, depth), planes)
    allowed = int(limit * plates * np.iinfo(depth).max)
    ink_sum = (changed.sum(axis=0) + rng.integers(0, 2, shape)).astype(np.int32)

    def done() -> trial_tally.Changes:
        band = trial_tally.Band(before=planes, after=changed, ink_sum=ink_sum, masks={})
        return trial_tally.count_changes(band, limit=allowed)

    compiled = done()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(trial_tally, "are_compiled", lambda: False)
        plain = done()
    assert_same(compiled, plain)
