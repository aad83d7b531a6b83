"""Solid overprints: saturation, trapping, brighter inks, opaque inks, double hits."""

import numpy as np
import pytest

from inkmix.press.constants import MODEL
from inkmix.press.halftone import contrasts, mix, others_share
from inkmix.press.solids.overprint import (
    Layer,
    blackness,
    greatest_density,
    inks_in_rows,
    saturate,
    solid_overprints,
    trapping_loss,
    unsaturate,
)

GREATEST = 2.0
LOSS = 1 / 6
DARK, PALE = np.array([0.1, 0.2, 0.5]), np.array([0.6, 0.8, 0.9])


def two(first, second):
    return solid_overprints([first, second], GREATEST, trapping_loss=LOSS)


def test_rows_hold_the_inks_of_their_bits():
    np.testing.assert_array_equal(inks_in_rows(2), [[0, 0], [1, 0], [0, 1], [1, 1]])


def test_paper_and_single_solids_stay_as_told():
    rows = two(Layer(solid=DARK), Layer(solid=PALE))
    np.testing.assert_array_equal(rows[:3], [np.ones(3), DARK, PALE])


def test_an_overprint_worked_by_hand():
    """D = 1 and 0.5 under a greatest of 2: 1.1547 + 5/6 * 0.5164 = 1.5850 shows as 1.2422."""
    rows = solid_overprints(
        [Layer(solid=np.array([0.1])), Layer(solid=np.array([10**-0.5]))],
        2.0,
        trapping_loss=LOSS,
    )
    assert -np.log10(rows[3, 0]) == pytest.approx(1.2422, abs=5e-5)


def test_a_third_ink_is_taken_less_than_a_second():
    """By hand: 5/6 of what is left of the second's 5/6; a third like these adds 25/36 of itself."""
    layer = Layer(solid=np.array([0.5]))
    rows = solid_overprints([layer] * 3, GREATEST, trapping_loss=LOSS)[:, 0]
    added = unsaturate(-np.log10(rows), GREATEST)
    np.testing.assert_allclose(added[3] / added[1], 1 + 5 / 6, rtol=1e-12)
    np.testing.assert_allclose(added[7] / added[1], 1 + 5 / 6 + 25 / 36, rtol=1e-12)


def test_dots_do_not_spread_on_a_black():
    """A black hides what spreads on it; other inks on half of the sheet count for half."""
    coverage = np.full((3, 1, 1), 0.5)  # black, and two others
    shares = others_share(coverage, np.array([0.0, 1.0, 1.0]))[:, 0, 0]
    np.testing.assert_allclose(shares, [0.75, 0.5, 0.5])


def test_what_is_printed_later_is_taken_less():
    """Ink A over B: A is the lesser partner, so the print looks more like B than B over A does."""
    red, blue = np.array([0.9, 0.1, 0.3]), np.array([0.2, 0.4, 0.8])
    red_last, blue_last = (
        two(Layer(solid=blue), Layer(solid=red))[3],
        two(Layer(solid=red), Layer(solid=blue))[3],
    )
    assert red_last[1] > blue_last[1]
    assert red_last[0] < blue_last[0]


def test_an_ink_brighter_than_paper_adds_unsaturated():
    glow = np.array([1.5, 1.2, 0.3])
    row = two(Layer(solid=DARK), Layer(solid=glow))[3]
    taken = 1 - LOSS
    np.testing.assert_allclose(row[:2], DARK[:2] * glow[:2] ** taken, rtol=1e-9)


def test_nothing_passes_the_greatest_density():
    rows = solid_overprints([Layer(solid=np.full(3, 0.02))] * 6, GREATEST, trapping_loss=LOSS)
    assert (rows > 10.0**-2).all()


def test_double_hit_is_darker_than_one_and_lighter_than_the_square():
    row = two(Layer(solid=DARK), Layer(solid=DARK))[3]
    assert (row < DARK).all()
    assert (row > DARK**2).all()


@pytest.mark.parametrize("opacity", [0.0, 0.3, 1.0])
def test_opacity_goes_from_transparent_to_cover(opacity):
    clear, cover = two(Layer(solid=DARK), Layer(solid=PALE))[3], PALE
    row = two(Layer(solid=DARK), Layer(solid=PALE, opacity=opacity))[3]
    # The rest of the layer, (1 - opacity) of it, multiplies; and adds less where it is dark.
    np.testing.assert_allclose(row, clear + opacity * (cover - clear), atol=0.03)


def test_a_layer_that_scatters_worked_by_hand():
    """Opacity .25 of R = .4 on a solid of D = 1: .1 + what .3 lets through of the solid.

    D .5229 and 1 under a greatest of 2, a sixth lost: 1.1547 + 5/6 * .5417 = 1.6061, which shows
    as 1.2523: .1 + .05594 = .15594.
    """
    over = Layer(solid=np.array([0.4]), opacity=0.25)
    rows = solid_overprints([Layer(solid=np.array([0.1])), over], 2.0, trapping_loss=LOSS)
    assert rows[3, 0] == pytest.approx(0.15594, abs=2e-5)


def test_opacity_may_differ_from_set_to_set():
    """Many sets at once, along a leading axis, come out as each by itself."""
    below, over = np.array([[0.1, 0.2], [0.3, 0.1]]), np.array([[0.5, 0.6], [0.4, 0.9]])
    opacity = np.array([0.3, 0.1])
    together = solid_overprints(
        [Layer(solid=below), Layer(solid=over, opacity=opacity)], GREATEST, trapping_loss=LOSS
    )
    for row in range(2):
        alone = two(Layer(solid=below[row]), Layer(solid=over[row], opacity=opacity[row]))
        np.testing.assert_array_equal(together[:, row], alone)


def test_order_decides_where_an_ink_covers():
    cover = Layer(solid=PALE, opacity=1.0)
    # Nothing passes a cover, but a layer counts as no denser than the greatest density allows.
    np.testing.assert_allclose(two(Layer(solid=DARK), cover)[3], PALE, atol=0.02)
    assert (two(cover, Layer(solid=DARK))[3] < 0.7 * PALE).all()


def test_a_layer_on_a_cover_prints_as_on_its_colour():
    """What is under an ink that covers no longer matters."""
    cover, top = Layer(solid=PALE, opacity=1.0), Layer(solid=DARK)
    rows = solid_overprints(
        [Layer(solid=np.full(3, 0.05)), cover, top], GREATEST, trapping_loss=LOSS
    )
    # One ink more lies beneath: a sixth less of the top one is taken, and a little shines through.
    assert (rows[7] >= rows[6]).all()
    np.testing.assert_allclose(rows[7], rows[6], atol=0.06)


def test_saturation_is_gentle_below_and_firm_above():
    shown = saturate(np.array([0.2, 1.0, 2.0, 50.0]), 2.0)
    np.testing.assert_allclose(shown, [0.199, 0.8944, 1.4142, 1.9984], atol=5e-4)
    np.testing.assert_allclose(unsaturate(shown, 2.0), [0.2, 1.0, 2.0, 50.0], rtol=1e-6)


def test_greatest_density_gives_way_to_a_darker_black():
    uncoated, newsprint = MODEL.paper["uncoated"], MODEL.paper["newsprint"]
    assert greatest_density(uncoated, black_density=1.0) == 1.35
    assert greatest_density(uncoated, black_density=1.5) == pytest.approx(1.65)
    assert greatest_density(newsprint, black_density=1.0) == pytest.approx(1.44)


def test_contrast_is_the_slope_of_the_mixture():
    rng = np.random.default_rng(3)
    coverage, primaries = rng.uniform(0.2, 0.8, (3, 5, 2)), rng.uniform(0, 1, (8, 2))
    step = np.zeros((3, 1, 1))
    step[1] = 1e-6
    slope = (mix(coverage + step, primaries) - mix(coverage - step, primaries)) / 2e-6
    np.testing.assert_allclose(contrasts(coverage, primaries)[1], slope, rtol=1e-6)


def test_trapping_is_the_lesser_the_darker_the_paper_prints():
    losses = [trapping_loss(density) for density in (1.08, 1.38, 2.64, 9.0)]
    assert losses == sorted(losses, reverse=True)
    assert losses[-1] == 0


def test_only_a_black_is_black():
    solids = 10.0 ** -np.array([[1.62, 1.62, 1.63], [1.21, 0.47, 0.15], [0.32, 1.16, 0.68]])
    assert blackness(solids, 2.64).tolist() == pytest.approx([1, 0, 0])
