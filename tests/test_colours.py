"""The compiled look-up against the plain one: the same bits for every number of inks and depth."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import numpy as np
import pytest

from inkmix.press.table.colouring import Colouring
from inkmix.press.table.lookup import FRACTION_ONE, Lookup, outside_srgb, srgb_to_srgb8

NODES = {1: 9, 2: 9, 3: 7, 4: 6, 5: 5, 6: 4, 7: 3, 8: 3}


def table(inks: int, depth: int, seed: int = 0) -> Lookup:
    """Nodes without any order, some outside sRGB on both sides: harder than any press."""
    rng = np.random.default_rng(seed)
    grid, values = NODES[inks], 1 << depth
    nodes = rng.integers(-3000, 19000, (grid**inks, 4)).astype(np.int16)
    nodes[:, 3] = rng.integers(0, 25600, grid**inks)
    strides = np.array([grid ** (inks - 1 - ink) for ink in range(inks)], np.int32)
    position = np.sort(rng.uniform(0, grid - 1, (inks, values)), axis=1)
    position[:, 0], position[:, -1] = 0, grid - 1
    base = np.minimum(np.floor(position), grid - 2).astype(np.int32)
    fractions = np.rint((position - base) * FRACTION_ONE).astype(np.int32)
    return Lookup(
        nodes=nodes, offsets=base * strides[:, None], fractions=fractions, strides=strides
    )


def drawn(inks: int, depth: int, seed: int) -> np.ndarray:
    """Runs, noise and few colours side by side, of an odd number of pixels."""
    rng = np.random.default_rng(seed)
    top, kind = (1 << depth) - 1, np.uint8 if depth == 8 else np.uint16
    noise = rng.integers(0, top + 1, (inks, 3001))
    runs = np.repeat(rng.integers(0, top + 1, (inks, 60)), 51, axis=1)
    few = rng.integers(0, top + 1, (inks, 7))[:, rng.integers(0, 7, 2000)]
    ends = rng.integers(0, 2, (inks, 1999)) * top
    return np.concatenate([runs, noise, few, ends, runs[:, :5]], axis=1).astype(kind)


def assert_same(lookup: Lookup, planes: np.ndarray, colouring: Colouring | None = None) -> None:
    srgb, lightness = lookup.evaluate(planes)
    coloured = (colouring or Colouring(lookup)).coloured(planes)
    np.testing.assert_array_equal(coloured.srgb8, srgb_to_srgb8(srgb))
    np.testing.assert_array_equal(coloured.lightness, lightness)
    assert coloured.outside_px == np.count_nonzero(outside_srgb(srgb))


@pytest.mark.parametrize(("inks", "depth"), [(1, 8), (2, 8), (4, 8), (5, 8), (8, 8), (3, 16)])
def test_compiled_and_plain_give_the_same_bits(inks, depth):
    lookup = table(inks, depth)
    for seed in range(3):
        assert_same(lookup, drawn(inks, depth, seed))


def test_16_bits_of_five_inks_do_without_the_cache_of_colours():
    assert_same(table(5, 16), drawn(5, 16, 1))


def test_16_bits_of_five_inks_are_never_taken_for_one_another():
    """Mixes that differ in their first plate alone: a word holds but four plates of 16 bits.

    So many, because after a chunk of new colours the cache rests for a while.
    """
    planes = np.full((5, 40_000), 30_000, np.uint16)
    planes[0] = np.arange(40_000)
    assert_same(table(5, 16), planes)


@pytest.mark.parametrize("count", [0, 1, 2, 7, 8, 9, 511, 512, 513, 1025])
def test_any_number_of_pixels(count):
    planes = drawn(5, 8, 2)[:, 3000 : 3000 + count]
    assert_same(table(5, 8), planes)


def test_rows_and_columns_keep_their_places():
    lookup = table(5, 8)
    planes = drawn(5, 8, 3)[:, :6000].reshape(5, 60, 100)
    assert_same(lookup, planes)
    assert_same(lookup, planes[:, 3:50, 7:90])  # a part that lies apart in memory


def test_colours_without_lightness_are_the_same():
    lookup = table(5, 8)
    planes = drawn(5, 8, 4)
    srgb8, outside_px = Colouring(lookup).srgb8(planes)
    coloured = Colouring(lookup).coloured(planes)
    np.testing.assert_array_equal(srgb8, coloured.srgb8)
    assert outside_px == coloured.outside_px


def test_what_was_seen_before_changes_nothing():
    lookup = table(5, 8)
    colouring = Colouring(lookup)
    for seed in range(4):
        assert_same(lookup, drawn(5, 8, seed), colouring)
    full, bare = np.full((5, 600), 255, np.uint8), np.zeros((5, 600), np.uint8)
    assert_same(lookup, full, colouring)
    assert_same(lookup, bare, colouring)


def test_threads_may_share_a_table():
    lookup = table(5, 8)
    colouring = Colouring(lookup)
    pieces = [drawn(5, 8, seed) for seed in range(8)]
    with ThreadPoolExecutor(4) as pool:
        list(pool.map(lambda planes: assert_same(lookup, planes, colouring), pieces))


def test_tables_from_disk_are_looked_up_by_the_same_code():
    """Their arrays lie the other way round, for which numba would compile every loop once more."""
    lookup = table(3, 8)
    turned = replace(
        lookup,
        offsets=np.asfortranarray(lookup.offsets),
        fractions=np.asfortranarray(lookup.fractions),
    )
    colouring = Colouring(turned)
    assert all(array.flags.c_contiguous for array in colouring._packed)
    assert_same(lookup, drawn(3, 8, 1), colouring)
