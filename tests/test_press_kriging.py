"""Kriging of measured mixtures, against a plain dense computation and against its own promises."""

import numpy as np
import pytest
from known_inks import paper_from_lab

from inkmix.base.errors import ModelError
from inkmix.colour.colorimetry import delta_e00
from inkmix.press.condition import Patches, press_condition
from inkmix.press.constants import MODEL
from inkmix.press.halftone import contrasts, mix, others_share, overlap, spreading_room
from inkmix.press.inks import ink_from_lab
from inkmix.press.kriging import (
    Features,
    features,
    fit_residuals,
    overprint_covariance,
)
from inkmix.press.likeness import likeness
from inkmix.press.patches import inks_with_all_overprints, merge_repeats
from inkmix.press.processes import find_process
from inkmix.press.swatches.by_name import load_ink, load_paper
from inkmix.press.unexplained import near_sd, reading_variance

OFFSET = find_process("sheet-fed offset")
PAPER = paper_from_lab("p", (95, 0, -2), paper_class="coated")
INKS = [
    ink_from_lab(name, lab, paper=PAPER)
    for name, lab in {"C": (55, -37, -50), "M": (48, 74, -3), "Y": (89, -5, 93)}.items()
]


def press(patches=None):
    return press_condition(PAPER, INKS, process=OFFSET, patches=patches)


def dense_covariance(one, other, primaries_covariance):
    """The covariance written as loops over the sums of its definition; one channel."""
    result = np.zeros((one.coverage.shape[1], other.coverage.shape[1]))
    for n in range(result.shape[0]):
        for p in range(result.shape[1]):
            by_overprints = one.weights[:, n, 0] @ primaries_covariance @ other.weights[:, p, 0]
            apart = ((one.coverage[:, n, 0] - other.coverage[:, p, 0]) ** 2).sum()
            shared = (one.spreads[:, n, 0] * other.spreads[:, p, 0]).sum()
            unexplained = one.near[n, 0] * other.near[p, 0] * np.exp(-apart / (2 * 0.6**2))
            by_spreading = 0.15**2 * shared * np.exp(-apart / (2 * 0.8**2))
            result[n, p] = by_overprints + by_spreading + unexplained
    return result


def covariance_of(primaries, *, spots=(), times=1.0, shared=()):
    """Prior covariance where the rows in `spots` hold a spot ink."""
    held = np.isin(np.arange(len(primaries)), spots)
    return overprint_covariance(primaries, n=2.0, spots=held, spot_times=times, shared=shared)


def features_of(coverage, primaries):
    room = spreading_room(coverage, others_share(coverage, np.ones(3)))
    y, no_spot = mix(coverage, primaries), np.zeros(coverage.shape[1:])
    near = near_sd(y, coverage, no_spot, n=2.0)
    return features(coverage, spreaded=coverage, room=room, near=near, primaries=primaries)


def first_channel(at):
    return Features(weights=at.weights[..., :1], spreads=at.spreads[..., :1],
                    near=at.near[..., :1], coverage=at.coverage[..., :1])  # fmt: skip


def test_mean_and_variance_agree_with_the_textbook():
    """Rasmussen & Williams 2006, equations 2.25 and 2.26, by plain matrix inversion."""
    rng = np.random.default_rng(4)
    primaries = press().model.primaries[:, :1]
    coverage = rng.uniform(0.1, 0.9, (3, 9, 1))
    told, asked = coverage[:, :5], coverage[:, 5:]
    residual, noise = rng.normal(0, 0.01, (5, 1)), rng.uniform(0.002, 0.004, (5, 1)) ** 2
    covariance = covariance_of(primaries)
    at_told = first_channel(features_of(told, primaries))
    at_asked = first_channel(features_of(asked, primaries))
    field = fit_residuals(at_told, residual, noise=noise, covariance=covariance)

    inverse = np.linalg.inv(
        dense_covariance(at_told, at_told, covariance[0]) + np.diag(noise[:, 0])
    )
    between = dense_covariance(at_asked, at_told, covariance[0])
    mean = between @ inverse @ residual
    spread_shift = (field.spreading_error(asked) * at_asked.spreads).sum(axis=0)
    ours = (at_asked.weights[..., 0].T @ field.primaries_shift) + spread_shift
    ours += field.near_error(asked) * at_asked.near
    np.testing.assert_allclose(ours, mean, rtol=1e-8, atol=1e-14)
    prior = np.diag(dense_covariance(at_asked, at_asked, covariance[0]))
    left = prior - np.einsum("np,pq,nq->n", between, inverse, between)
    np.testing.assert_allclose(field.variance(at_asked)[:, 0], left, rtol=1e-7, atol=1e-14)


def test_paper_and_single_solids_have_no_error():
    primaries = press().model.primaries
    covariance = covariance_of(primaries)
    single = [0, 1, 2, 4]
    assert (covariance[:, single] == 0).all()
    assert (covariance[:, 3, 3] > 0).all()
    doubled = covariance_of(primaries, spots=range(8), times=2.0)
    np.testing.assert_allclose(doubled, 4 * covariance)


def test_a_cause_that_overprints_share_ties_them_together():
    """Its outer product is added: what two overprints gain by it, they gain together."""
    primaries = press().model.primaries
    change = np.zeros_like(primaries)
    change[[3, 5]] = 0.02, -0.01, 0.03
    more = covariance_of(primaries, shared=[change]) - covariance_of(primaries)
    for band in range(3):
        expected = np.zeros((8, 8))
        expected[np.ix_([3, 5], [3, 5])] = change[3, band] ** 2
        np.testing.assert_allclose(more[band], expected, atol=1e-15)


def test_one_dark_overprint_tells_of_all_dark_ones():
    """C + M + Y measured darker than predicted makes C + M darker too, which shares its cause."""
    plain = press()
    darker = plain.xyz100([100, 100, 100]) * 0.7
    told = press(Patches(tone_pct=np.array([[100.0, 100, 100]]), xyz100=darker[None]))
    before, after = plain.lab([100, 100, 0])[0], told.lab([100, 100, 0])[0]
    assert after < before - 0.5


def test_a_measured_solid_overprint_is_exact():
    told = Patches(tone_pct=np.array([[100.0, 100, 0]]), xyz100=np.array([[6.0, 5, 20]]))
    np.testing.assert_allclose(press(told).xyz100([100, 100, 0]), [6, 5, 20], rtol=1e-5)


def test_a_measured_overprint_pulls_its_neighbours():
    """C + M measured lighter than predicted makes C + M + Y lighter too, by less; Y stays."""
    plain = press()
    lighter = plain.xyz100([100, 100, 0]) * 1.3
    corrected = press(Patches(tone_pct=np.array([[100.0, 100, 0]]), xyz100=lighter[None]))
    before, after = (p.lab([[100, 100, 100], [0, 0, 100], [100, 100, 0]])[:, 0]
                     for p in (plain, corrected))  # fmt: skip
    assert 0 < (after - before)[0] < (after - before)[2]
    assert after[1] == pytest.approx(before[1])


def test_mixtures_that_read_as_predicted_change_nothing():
    """Their residual is none, at whatever tone values they were printed."""
    tones = np.array([[60.0, 60, 0], [25, 0, 70], [30, 40, 80]])
    plain = press()
    told = press(Patches(tone_pct=tones, xyz100=plain.xyz100(tones)))
    others = np.vstack([tones, [[50, 50, 50], [10, 90, 30], [0, 60, 20]]])
    np.testing.assert_allclose(told.lab(others), plain.lab(others), atol=1e-6)


def test_a_measured_tint_corrects_tints_around_it():
    tones = np.array([[60.0, 60, 0]])
    plain = press()
    told = press(Patches(tone_pct=tones, xyz100=plain.xyz100(tones) * 0.96))
    aim = plain.lab([60, 60, 0])
    others = [[50, 60, 0], [60, 0, 60]]
    near, far = delta_e00(plain.lab(others), told.lab(others))
    assert near > 2 * far
    assert delta_e00(told.lab([60, 60, 0]), aim) > 0.8 * near


def test_what_is_measured_is_better_known():
    tones = np.array([[70.0, 70, 70]])
    plain = press()
    told = press(Patches(tone_pct=tones, xyz100=plain.xyz100(tones)))
    for mixture in ([70, 70, 70], [60, 70, 80]):
        assert told.expected_error(mixture).de00 < plain.expected_error(mixture).de00


def test_single_sheets_count_less_than_averages():
    tones = np.array([[60.0, 60, 0]])
    read = press().xyz100(tones) * 0.9
    moved = [
        delta_e00(press(Patches(tone_pct=tones, xyz100=read, noise=noise)).lab([60, 60, 0]),
                  press().lab([60, 60, 0]))
        for noise in ("averaged", "single sheet")
    ]  # fmt: skip
    assert moved[1] < moved[0]


def test_repeats_are_averaged_and_single_inks_left_out():
    tones = np.array([[50.0, 50, 0], [0, 50, 0], [50, 50, 0], [0, 100, 100]])
    xyz100 = np.array([[20.0, 20, 20], [9, 9, 9], [22, 22, 22], [30, 20, 4]])
    merged, counts = merge_repeats(Patches(tone_pct=tones, xyz100=xyz100))
    np.testing.assert_array_equal(merged.tone_pct, [[0, 100, 100], [50, 50, 0]])
    np.testing.assert_allclose(merged.xyz100, [[30, 20, 4], [21, 21, 21]])
    np.testing.assert_array_equal(counts, [1, 2])


def test_which_inks_have_all_their_overprints():
    solids = np.array([[100.0, 100, 0], [100, 0, 100], [100, 100, 100]])
    patches = Patches(tone_pct=solids, xyz100=np.full((3, 3), 9.0))
    assert inks_with_all_overprints(patches, 3).tolist() == [True, False, False]
    assert not inks_with_all_overprints(None, 3).any()
    assert press(patches).level == "solids"


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"tone_pct": np.array([[120.0, 0, 0]])}, "0 to 100 %"),
        ({"xyz100": np.array([[-1.0, 2, 3]])}, "X, Y and Z lie from 0 to 250"),
        ({"xyz100": np.array([[1.0, 2]])}, "shape"),
        ({"noise": "hearsay"}, "single sheet"),
    ],
)
def test_refused_patches(change, words):
    good = {"tone_pct": np.array([[50.0, 50, 0]]), "xyz100": np.array([[20.0, 20, 20]])}
    with pytest.raises(ModelError, match=words):
        Patches(**good | change)


def test_noise_of_readings_is_stated_for_both_kinds():
    assert MODEL.kriging.noise_sd["averaged"] < MODEL.kriging.noise_sd["single sheet"]


def test_contrasts_are_differences_of_the_mix():
    """By the definition: y with the ink full less y without it."""
    rng = np.random.default_rng(7)
    coverage, primaries = rng.uniform(0, 1, (4, 6, 3)), rng.uniform(0, 1, (16, 3))
    for i in range(4):
        ends = [coverage.copy(), coverage.copy()]
        ends[0][i], ends[1][i] = 1, 0
        expected = mix(ends[0], primaries) - mix(ends[1], primaries)
        np.testing.assert_allclose(contrasts(coverage, primaries)[i], expected, atol=1e-14)


def test_likeness_is_a_gaussian_of_the_distance():
    """By the definition, one pair and one channel at a time; 1 where two are one."""
    rng = np.random.default_rng(2)
    one, other = rng.uniform(0, 1, (3, 4, 2)), rng.uniform(0, 1, (3, 5, 2))
    other[:, 0] = one[:, 0]
    got = likeness(one, other, length=0.8)
    for c in range(2):
        for n in range(4):
            for p in range(5):
                apart = np.linalg.norm(one[:, n, c] - other[:, p, c])
                assert got[c, n, p] == pytest.approx(np.exp(-((apart / 0.8) ** 2) / 2), rel=1e-13)
    np.testing.assert_allclose(got[:, 0, 0], 1, rtol=1e-14)


@pytest.mark.parametrize("inks", [1, 2, 5])
def test_a_grid_has_the_colours_of_its_points(inks):
    """All combinations at once, where likeness is a product over inks, and each by itself."""
    rng = np.random.default_rng(inks)
    paper = load_paper("night-ferry/uncoated")
    names = ["Soot", "Fjord", "Rowan", "Brass", "Fog"][:inks]
    swatches = [load_ink(f"night-ferry/{name}", paper=paper) for name in names]
    plain = press_condition(paper, swatches, process=OFFSET)
    tones = rng.uniform(5, 95, (12, inks))
    told = Patches(tone_pct=tones, xyz100=plain.xyz100(tones) * rng.uniform(0.9, 1.1, (12, 1)))
    corrected = press_condition(paper, swatches, process=OFFSET, patches=told)
    axes = [np.sort(rng.uniform(0, 100, 3 + ink)) for ink in range(inks)]
    points = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, inks)
    for one in (plain, corrected):
        np.testing.assert_allclose(one.xyz100_on_grid(axes), one.xyz100(points), rtol=1e-9)


def test_a_reading_is_as_uncertain_in_the_dark_whatever_n():
    """The same reflectance, the same noise in it: dR = n y^(n-1) dy, worked for n = 2 and 6.

    A solid, so that nothing but the noise of the reading counts.
    """
    reflectance, none, solid = np.array([[0.04]]), np.zeros((1, 1)), np.ones((2, 1, 1))
    spread = []
    for n in (2.0, 6.0):
        y = reflectance ** (1 / n)
        variance = reading_variance(y, solid, none, noises=["averaged"], n=n)
        spread.append(float(n * y[0, 0] ** (n - 1) * np.sqrt(variance[0, 0])))
    assert spread[0] == pytest.approx(spread[1], rel=1e-12)
    assert spread[0] == pytest.approx(2 * 0.2 * MODEL.kriging.noise_averaged)


def test_halftones_and_spot_inks_are_less_explained():
    """sd with n = 2: solids .0025; halftones with .0017 besides, with a spot ink .006."""
    y, noise = np.array([[1.0]]), {"noises": ["averaged"], "n": 2.0}
    solid, halftone = np.ones((2, 1, 1)), np.full((2, 1, 1), 0.5)
    for coverage, there, expected in (
        (solid, 1.0, 0.0025),
        (halftone, 0.0, np.hypot(0.0025, 0.0017)),
        (halftone, 1.0, np.hypot(0.0025, 0.006)),
    ):
        variance = reading_variance(y, coverage, np.full((1, 1), there), **noise)
        assert np.sqrt(variance[0, 0]) == pytest.approx(expected)


def test_what_no_cause_explains_shows_where_inks_meet():
    """In n = 2 half of two inks is .0075 of y: they meet on a quarter, and sqrt(2 / 4) counts.

    Halves are no solids, so their halftone counts in full; single inks and solids have none.
    """
    halves, none = np.full((2, 1, 1), 0.5), np.zeros((1, 1))
    single, solid = np.array([[[0.5]], [[0.0]]]), np.ones((2, 1, 1))
    y = np.ones((1, 1))
    met = near_sd(y, halves, none, n=2.0)[0, 0]
    assert met == pytest.approx(0.0075 * np.sqrt(0.5), rel=1e-12)
    assert near_sd(y, halves, none + 1, n=2.0)[0, 0] == pytest.approx(0.0097 * np.sqrt(0.5))
    assert near_sd(y, single, none, n=2.0)[0, 0] == near_sd(y, solid, none, n=2.0)[0, 0] == 0
    three = np.full((3, 1, 1), 0.5)  # on half of the sheet two or more of eight parts' inks lie
    assert overlap(three)[0, 0] == pytest.approx(0.5)


def test_what_no_cause_explains_is_told_to_near_tints_only():
    """Of a field without the other causes: a tint read off is met there, and far away forgotten."""
    tones = np.array([[50.0, 50, 0]])
    told = press(Patches(tone_pct=tones, xyz100=press().xyz100(tones) * 0.9))
    model = told.model
    asked = np.array([[50.0, 50, 0], [55, 45, 0], [0, 5, 95]])
    error = model.field.near_error(model.coverage(asked))
    assert (error[0] < -0.3).all()
    assert (error[1] < 0.9 * error[0]).all()
    assert (np.abs(error[2]) < 0.3 * np.abs(error[0])).all()


def test_a_press_unlike_others_is_told_less_surely():
    """Bounds are as much wider as its mixtures are farther off than those of a usual press."""
    rng = np.random.default_rng(8)
    tones = rng.choice([0.0, 40, 70, 100], (40, 3))
    tones = tones[(tones > 0).sum(axis=1) >= 2]
    usual, unlike = (
        press(Patches(tone_pct=tones, xyz100=press().xyz100(tones) * factor))
        for factor in (1.0, rng.uniform(0.9, 1.1, (len(tones), 1)))
    )
    assert usual.model.field.misfit == pytest.approx(0)
    assert usual.model.field.widening == press().model.field.widening == 1
    count, misfit = len(np.unique(tones, axis=0)), unlike.model.field.misfit
    times = np.sqrt((3 * 0.55**2 + count * misfit**2) / (3 + count)) / 0.55
    assert unlike.model.field.widening == pytest.approx(times)
    assert times > 1.2
    mix = np.array([[50.0, 50, 50]])
    sd = [one.errors._variance(one.model.coverage(mix)) for one in (usual, unlike)]
    np.testing.assert_allclose(sd[0], sd[1], rtol=0.02)  # but for noise, whatever was read
    wider = unlike.expected_error(mix).de00 / usual.expected_error(mix).de00
    assert wider == pytest.approx(times, rel=0.1)  # the colour moves a little


def test_mixtures_of_other_inks_are_noticed():
    """Columns of cyan and yellow changed: far off, unproven, and a stated error that says so."""
    rng = np.random.default_rng(8)
    tones = rng.choice([0.0, 40, 100], (40, 3))
    tones = tones[(tones > 0).sum(axis=1) >= 2]
    true = press().xyz100(tones) * rng.uniform(0.97, 1.03, (len(tones), 1))
    right = press(Patches(tone_pct=tones, xyz100=true))
    wrong = press(Patches(tone_pct=tones[:, ::-1], xyz100=true))
    assert right.model.field.misfit < 1.5
    assert wrong.model.field.misfit > 4
    assert right.unproven == ()
    (reason,) = wrong.unproven
    assert "the measured mixtures do not fit these inks" in reason
    mixed = [50, 50, 50]
    assert wrong.expected_error(mixed).de00 > 3 * right.expected_error(mixed).de00
    assert press().model.field.misfit == 0
