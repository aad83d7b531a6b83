"""The table against the exact model: within its stated error, whatever the inks."""

from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inkmix.base.arrays import all_combinations
from inkmix.colour.colorimetry import delta_e00, srgb1_to_xyz100, xyz100_to_lab
from inkmix.press.condition import PressCondition, press_condition
from inkmix.press.processes import find_process
from inkmix.press.swatches.by_name import list_inks, load_ink, load_overprints, load_paper
from inkmix.press.table.lookup import (
    FRACTION_ONE,
    LIGHTNESS_SCALE,
    NODES,
    ROUNDING_ERROR_DE00,
    SRGB_SCALE,
    STATED_ERROR_DE00,
    STATED_ERROR_L,
    Lookup,
    build_lookup,
    outside_srgb,
    srgb_to_srgb8,
)

FIRST = ("Soot", "Fjord", "Rowan", "Brass", "Fog")
FOGRA39 = ("K", "C", "M", "Y")


def night_ferry(count: int) -> PressCondition:
    paper = load_paper("night-ferry/uncoated")
    more = [ink.name for ink in list_inks() if ink.name.startswith("night-ferry/")]
    first = [f"night-ferry/{name}" for name in FIRST]
    swatches = [*first, *(name for name in more if name not in first)][:count]
    inks = [load_ink(name, paper=paper) for name in swatches]
    patches = load_overprints(paper, swatches) if count == 5 else None
    return press_condition(paper, inks, process=find_process("sheet-fed offset"), patches=patches)


def in_narrow_bands(condition: PressCondition) -> PressCondition:
    """The same inks, known by XYZ only."""
    paper = replace(condition.paper, reflectance=None)
    inks = [replace(ink, reflectance=None, measured_on=paper) for ink in condition.inks]
    return press_condition(paper, inks, process=condition.process)


def fogra39(count: int) -> PressCondition:
    paper = load_paper("fogra39l")
    inks = [load_ink(f"fogra39l/{name}", paper=paper) for name in FOGRA39[:count]]
    return press_condition(paper, inks, process=find_process("sheet-fed offset"))


def worst_errors(condition: PressCondition, *, depth: int) -> tuple[float, float, float]:
    """Largest dE00 before and after rounding to 8 bits, and of L*, over random tones in sRGB."""
    inks = len(condition.inks)
    top = (1 << depth) - 1
    rng = np.random.default_rng(inks)
    planes = rng.integers(0, top + 1, (inks, 20_000)).astype(np.uint8 if depth == 8 else np.uint16)
    lookup = build_lookup(condition, inks=inks, depth=depth)
    srgb, lightness = lookup.evaluate(planes)
    exact = condition.lab(planes.T * (100 / top))
    seen = ~outside_srgb(srgb)
    table = xyz100_to_lab(srgb1_to_xyz100(srgb / (255 * SRGB_SCALE)))
    rounded = xyz100_to_lab(srgb1_to_xyz100(srgb_to_srgb8(srgb) / 255))
    return (
        float(delta_e00(table, exact)[seen].max()),
        float(delta_e00(rounded, exact)[seen].max()),
        float(np.abs(lightness / LIGHTNESS_SCALE - exact[:, 0]).max()),
    )


@pytest.mark.parametrize("inks", [1, 2, 3, 4, pytest.param(5, marks=pytest.mark.long)])
def test_invented_inks_stay_within_the_stated_error(inks):
    table, rounded, lightness = worst_errors(night_ferry(inks), depth=8)
    assert table <= STATED_ERROR_DE00[inks]
    assert rounded <= STATED_ERROR_DE00[inks] + ROUNDING_ERROR_DE00
    assert lightness <= STATED_ERROR_L[inks]


@pytest.mark.parametrize("inks", [1, 2, 3, 4])
def test_published_inks_stay_within_the_stated_error(inks):
    """FOGRA39L, solids and ramps as shipped."""
    table, rounded, _ = worst_errors(fogra39(inks), depth=8)
    assert table <= STATED_ERROR_DE00[inks]
    assert rounded <= STATED_ERROR_DE00[inks] + ROUNDING_ERROR_DE00


@pytest.mark.parametrize(
    "inks", [6, *(pytest.param(inks, marks=pytest.mark.long) for inks in (7, 8))]
)
def test_many_inks_stay_within_the_stated_error(inks):
    """In three narrow bands, which builds ten times faster than spectra and errs as much."""
    table, rounded, lightness = worst_errors(in_narrow_bands(night_ferry(inks)), depth=8)
    assert table <= STATED_ERROR_DE00[inks]
    assert rounded <= STATED_ERROR_DE00[inks] + ROUNDING_ERROR_DE00
    assert lightness <= STATED_ERROR_L[inks]


def test_16_bit_plates_meet_the_same_bound():
    table, _, _ = worst_errors(fogra39(3), depth=16)
    assert table <= STATED_ERROR_DE00[3]


class Additive:
    """A model whose sRGB is a plain sum, so that simplex interpolation is exact between nodes."""

    def __init__(self, inks: int) -> None:
        self.inks = inks

    def xyz100(self, tone_pct):
        share = np.asarray(tone_pct).sum(axis=-1, keepdims=True) / (100 * self.inks)
        return srgb1_to_xyz100(np.repeat(1 - share, 3, axis=-1))

    def xyz100_on_grid(self, tone_pct):
        return self.xyz100(all_combinations(tone_pct))

    def coverage(self, tone_pct):
        return np.asarray(tone_pct) / 100


@lru_cache
def plain_lookup(inks: int) -> Lookup:
    return build_lookup(Additive(inks), inks=inks, depth=8)


@settings(deadline=None)  # the first of each count builds a table
@given(inks=st.integers(1, 5), seed=st.integers(0, 50))
def test_a_plain_sum_is_interpolated_exactly(inks, seed):
    lookup = plain_lookup(inks)
    planes = np.random.default_rng(seed).integers(0, 256, (inks, 40)).astype(np.uint8)
    srgb, _ = lookup.evaluate(planes)
    expected = (1 - planes.mean(axis=0) / 255) * 255 * SRGB_SCALE
    np.testing.assert_allclose(srgb[:, 0], expected, atol=1.0)  # nodes are rounded to half a unit


def test_ends_of_every_plate_hit_their_node_exactly():
    lookup = plain_lookup(3)
    corners = np.array(np.meshgrid([0, 255], [0, 255], [0, 255])).reshape(3, -1).astype(np.uint8)
    srgb, _ = lookup.evaluate(corners)
    grid = NODES[3]
    steps = (corners // 255).astype(int) * (grid - 1)
    nodes = lookup.nodes[steps[0] * grid**2 + steps[1] * grid + steps[2]]
    np.testing.assert_array_equal(srgb, nodes[:, :3])


def test_fractions_reach_one_only_at_the_top():
    lookup = build_lookup(Additive(2), inks=2, depth=16)
    assert lookup.fractions.min() == 0
    assert lookup.fractions.max() == FRACTION_ONE
    position = lookup.offsets[1] + lookup.fractions[1] / FRACTION_ONE
    assert (np.diff(position) >= 0).all()


@given(cut=st.integers(1, 999))
def test_windows_do_not_change_a_bit(cut):
    lookup = plain_lookup(4)
    planes = np.random.default_rng(1).integers(0, 256, (4, 1000)).astype(np.uint8)
    whole, light = lookup.evaluate(planes)
    first, second = lookup.evaluate(planes[:, :cut]), lookup.evaluate(planes[:, cut:])
    np.testing.assert_array_equal(whole, np.concatenate([first[0], second[0]]))
    np.testing.assert_array_equal(light, np.concatenate([first[1], second[1]]))


def test_digest_follows_the_condition():
    one, other = (build_lookup(Additive(count), inks=2, depth=8) for count in (2, 3))
    again = build_lookup(Additive(2), inks=2, depth=8)
    assert one.digest() == again.digest() != other.digest()


def test_outside_srgb_is_where_a_channel_leaves_it_after_rounding():
    srgb = np.array(
        [[0, 0, 0], [-33, 0, 0], [255 * 64 + 31, 0, 0], [255 * 64 + 32, 0, 0]], np.int16
    )
    assert outside_srgb(srgb).tolist() == [False, True, False, True]
    assert srgb_to_srgb8(srgb)[:, 0].tolist() == [0, 0, 255, 255]
