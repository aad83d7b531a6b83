"""The press of the tests obeys physics, prints near the swatches, and is as noisy as it says."""

import ast
from dataclasses import fields, replace
from pathlib import Path

import numpy as np
import pytest
import simulated_press
from night_ferry_inks import DEMO, STOCKS
from print_physics import CLEAR, film, laid_on
from simulated_press import lab_of, night_ferry, random_press

from inkmix.colour.colorimetry import delta_e00, reflectance_to_xyz100, xyz100_to_lab
from inkmix.press.swatches.by_name import load_ink

PAPERS = tuple(STOCKS)
SOLIDS = 100 * np.eye(5)
SOOT, FJORD, ROWAN, BRASS, FOG = range(5)


def mixtures(count, *, seed=0):
    """Tone values (N, 5): none to five inks at a time."""
    rng = np.random.default_rng(seed)
    return rng.uniform(0, 100, (count, 5)) * (rng.uniform(size=(count, 5)) < 0.6)


def clear(press):
    """The same press with inks that do not scatter."""
    inks = tuple(replace(ink, scatter=np.zeros(36)) for ink in press.inks)
    return replace(press, inks=inks)


def test_it_knows_nothing_of_the_model():
    tree = ast.parse(Path(simulated_press.__file__).read_text(encoding="utf-8"))
    used = {node.module for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
    assert {name for name in used if name.startswith("inkmix")} == {"inkmix.colour.observer"}


@pytest.mark.parametrize("paper", PAPERS)
def test_no_ink_is_paper(paper):
    press = night_ferry(paper=paper)
    np.testing.assert_allclose(press.truth(np.zeros((1, 5)))[0], press.stock.reflectance)


def test_a_film_sends_on_no_more_light_than_it_gets():
    for scatter in (0.0, 0.05, 1.5):
        one = film(np.full(36, 0.7), np.full(36, scatter), thickness=1.0)
        two = laid_on(one, one)
        assert (one.above + one.through < 1).all()
        assert (two.above + two.through < one.above + one.through).all()


def test_a_film_of_twice_the_thickness_is_two_films():
    # Kubelka 1954: films of one ink add up to a thicker film of it
    absorption, scatter = np.full(36, 0.7), np.full(36, 0.4)
    thick, thin = (film(absorption, scatter, thickness=t) for t in (1.0, 0.5))
    two = laid_on(laid_on(CLEAR, thin), thin)
    np.testing.assert_allclose(two.above, thick.above)
    np.testing.assert_allclose(two.through, thick.through)


def test_a_very_thick_film_follows_kubelka_and_munk():
    # Kubelka & Munk 1931: K/S = (1 - R)^2 / 2 R of a film that hides what is under it
    ratio = np.linspace(0.1, 20, 36)
    hiding = film(ratio, np.ones(36), thickness=30.0)
    np.testing.assert_allclose((1 - hiding.above) ** 2 / (2 * hiding.above), ratio)


@pytest.mark.parametrize("paper", PAPERS)
def test_no_light_is_lost_or_won_where_nothing_absorbs(paper):
    press = night_ferry(paper=paper)
    stock = replace(press.stock, reflectance=np.full(36, 0.96 + 0.04 * press.stock.gloss))
    np.testing.assert_allclose(stock.body, 1)  # a perfect diffuser under its own surface
    inks = tuple(replace(ink, absorption=np.full(36, 1e-9)) for ink in press.inks)
    perfect = replace(press, stock=stock, inks=inks)
    printed = perfect.truth(mixtures(20))
    np.testing.assert_allclose(printed, np.full((20, 36), stock.reflectance[0]), rtol=1e-5)


@pytest.mark.parametrize("seed", range(5))
def test_reflectance_is_between_nothing_and_all(seed):
    printed = random_press(seed).measured(mixtures(100), seed=seed)
    assert printed.min() > 0
    assert printed.max() < 1


@pytest.mark.parametrize("paper", ["uncoated", "coated"])
def test_solids_come_near_the_swatches(paper):
    """Within dE00 1: films scatter more than those of the swatches, and absorb alike."""
    printed = night_ferry(paper=paper).truth_lab(SOLIDS)
    assert night_ferry().names == DEMO
    for ink, lab in zip(DEMO, printed, strict=True):
        swatch = load_ink(f"night-ferry/{ink}", paper=f"night-ferry/{paper}").solid_xyz100
        assert delta_e00(lab, xyz100_to_lab(swatch)) < 1


def test_tints_grow_otherwise_than_in_the_swatches():
    """So that there is something to learn: Soot prints fuller, Brass sharper."""
    printed = night_ferry().truth_lab(SOLIDS / 2)
    swatches = xyz100_to_lab(
        [load_ink(f"night-ferry/{ink}", paper="night-ferry/uncoated").xyz100[5] for ink in DEMO]
    )
    assert printed[SOOT, 0] < swatches[SOOT, 0] - 0.5
    assert printed[BRASS, 2] < swatches[BRASS, 2] - 0.3


def test_lab_is_that_of_the_program():
    # colour-science weighs from its own tables; the program's are rounded to five decimals
    printed = night_ferry().truth(mixtures(50))
    ours = xyz100_to_lab(reflectance_to_xyz100(printed))
    np.testing.assert_allclose(lab_of(printed), ours, atol=5e-4)


@pytest.mark.parametrize("ink", range(5))
def test_more_of_a_clear_ink_is_darker_in_every_band(ink):
    press = clear(night_ferry())
    ramp = np.zeros((21, 5))
    ramp[:, ink] = np.linspace(0, 100, 21)
    for below in (np.zeros(5), SOLIDS[FJORD], [30, 40, 50, 60, 20]):
        printed = press.truth(np.maximum(ramp, below))
        assert (np.diff(printed, axis=0) <= 1e-12).all()
    thin, thick = (replace(ink_, thickness=t) for ink_ in [press.inks[ink]] for t in (1.0, 1.1))
    darker = [replace(press, inks=(one,)).truth([[100.0]]) for one in (thin, thick)]
    assert (darker[1] < darker[0]).all()


def test_an_ink_that_scatters_lightens_a_dark_one():
    press = night_ferry()
    over = press.truth([SOLIDS[SOOT], SOLIDS[SOOT] + SOLIDS[BRASS]])
    red = over[:, 25:]  # from 630 nm on, where Brass absorbs nothing
    assert (red[1] > 1.15 * red[0]).all()
    over = clear(press).truth([SOLIDS[SOOT], SOLIDS[SOOT] + SOLIDS[BRASS]])
    assert (over[1] <= over[0]).all()


def difference_by_order(press):
    """dE00 between Brass on Soot and Soot on Brass."""
    soot, brass = press.inks[SOOT], press.inks[BRASS]
    both = [
        replace(press, inks=pair).truth_lab([[100, 100]]) for pair in ((soot, brass), (brass, soot))
    ]
    return float(delta_e00(*both)[0])


def test_order_matters_to_inks_that_scatter_or_trap_badly():
    press = replace(night_ferry(), trapping_loss=0.0)
    assert difference_by_order(press) > 3
    assert difference_by_order(clear(press)) < 0.01  # a film scatters 1e-4 at least
    assert difference_by_order(replace(clear(press), trapping_loss=0.2)) > 1


def test_a_film_on_wet_ink_is_thinner():
    tones = [SOLIDS[FJORD] + SOLIDS[ROWAN]]
    press = clear(night_ferry())
    loss = [replace(press, trapping_loss=t).truth_lab(tones)[0, 0] for t in (0, 0.2, 0.4)]
    assert loss[0] < loss[1] < loss[2]


def test_two_wet_films_hold_less_than_one():
    """What Fog, the palest, takes from the light on two inks: by the filter least held by them."""
    press = clear(night_ferry())
    without = replace(press, trapping_loss=0.0)
    kept = []
    for under in (SOLIDS[BRASS], SOLIDS[BRASS] + SOLIDS[ROWAN]):
        tones = [under, under + SOLIDS[FOG]]
        took, all_ = (np.log10(p.truth(tones)[:, 24]) for p in (press, without))  # at 620 nm
        took_without_loss = all_[0] - all_[1]
        kept.append((took[0] - took[1]) / took_without_loss)
    assert kept[1] < kept[0] - 0.01
    assert kept[0] < 0.95


def test_dots_grow_by_a_width():
    """Of round dots and round holes, from their radii: silver, by arithmetic."""
    press = night_ferry()
    side_um = 1e4 / press.ruling_per_cm
    for tone in (0.05, 0.3):
        radius = side_um * np.sqrt(tone / np.pi) + 4
        assert press.covered(np.array([tone]), edge_um=4)[0] == pytest.approx(
            np.pi * radius**2 / side_um**2
        )
    hole = side_um * np.sqrt(0.3 / np.pi) - 4
    assert press.covered(np.array([0.7]), edge_um=4)[0] == pytest.approx(
        1 - np.pi * hole**2 / side_um**2
    )
    ends = press.covered(np.array([0.0, 0.9999, 1.0]), edge_um=4)
    np.testing.assert_array_equal(ends, [0, 1, 1])  # the smallest holes fill in
    tones = np.linspace(0, 1, 101)
    assert (np.diff(press.covered(tones, edge_um=9)) >= 0).all()
    np.testing.assert_allclose(press.covered(tones, edge_um=0), tones, atol=1e-12)


def test_noise_is_as_large_as_said():
    """The instrument near dE00 0.15, a sheet as a whole 0.3 to 1, as sheets of a run differ."""
    press, tones = night_ferry(), mixtures(300)
    truth = press.truth_lab(tones)
    read = np.mean(
        [delta_e00(lab_of(press.read(press.truth(tones), seed=s)), truth).mean() for s in range(5)]
    )
    assert 0.13 < read < 0.18
    sheets = [delta_e00(lab_of(press.measured(tones, seed=s)), truth).mean() for s in range(20)]
    assert 0.3 < np.mean(sheets) < 1
    assert np.ptp(sheets) > 0.1  # sheets differ


QUIET = {kind.name: 0 for kind in fields(simulated_press.Noise)}


@pytest.mark.parametrize(
    ("kind", "tone"),
    [("sheet", 100), ("across", 100), ("patch", 100), ("edge_sheet", 50), ("edge_patch", 50)],
)
def test_each_kind_of_noise_is_as_large_as_said(kind, tone):
    """Spread of L* of Fjord over many sheets, against what so much more ink, or width, does."""
    press, sd = night_ferry(), getattr(simulated_press.Noise(), kind)
    noisy = replace(press, noise=simulated_press.Noise(**QUIET | {kind: sd}))
    tones = np.tile(tone / 100 * SOLIDS[FJORD], (20, 1))
    spread = np.std([lab_of(noisy.printed(tones, seed=s))[:, 0] for s in range(300)])
    more = {"edge_um" if kind.startswith("edge") else "thickness": np.exp(sd)}
    inks = [replace(ink, **{k: getattr(ink, k) * v for k, v in more.items()}) for ink in press.inks]
    step = replace(press, inks=tuple(inks)).truth_lab(tones[:1])[0, 0]
    assert spread == pytest.approx(abs(step - press.truth_lab(tones[:1])[0, 0]), rel=0.1)


def test_a_sheet_is_off_as_a_whole_and_in_places():
    press = replace(night_ferry(), noise=simulated_press.Noise(gain=0, band=0))
    tones = np.tile(SOLIDS[FJORD], (200, 1))
    lightness = np.array([lab_of(press.printed(tones, seed=s))[:, 0] for s in range(30)])
    assert np.std(lightness.mean(axis=1)) > np.std(lightness, axis=1).mean() / 2
    slow = lightness.reshape(30, 10, 20).mean(axis=2) - lightness.mean(axis=1, keepdims=True)
    quick = (lightness - lightness.mean(axis=1, keepdims=True)).std() / np.sqrt(20)
    assert slow.std() > 1.5 * quick  # neighbours are alike


def test_the_same_seed_prints_the_same():
    press, tones = random_press(3), mixtures(10)
    np.testing.assert_array_equal(press.measured(tones, seed=4), press.measured(tones, seed=4))
    assert (press.measured(tones, seed=4) != press.measured(tones, seed=5)).all()
    np.testing.assert_array_equal(press.measured(tones, seed=4, noise=False), press.truth(tones))
    np.testing.assert_array_equal(random_press(3).truth(tones), press.truth(tones))


def test_presses_differ_in_all_they_have():
    base, tones = night_ferry(), np.vstack([np.zeros(5), SOLIDS, SOLIDS / 2, np.full((1, 5), 40)])
    apart = [delta_e00(random_press(s).truth_lab(tones), base.truth_lab(tones)) for s in range(20)]
    assert (np.mean(apart, axis=0) > 0.3).all()
    assert np.mean(apart) < 3
    assert len({random_press(s).trapping_loss for s in range(20)}) == 20
