"""Which parts of a night are lights that stay, and which pale areas have to go dark."""

from types import SimpleNamespace

import numpy as np
import pytest

from inkmix.checks.mending.darkening import Darkening
from inkmix.checks.mending.lights import find_lights, sky_of
from inkmix.checks.mending.night import night_correction
from inkmix.checks.mending.recipe import NightRecipe, Wanted

SIDE, LIMIT_L = 200, 29.0
STARS = ((20, 30), (60, 150), (95, 70), (110, 120), (170, 40), (180, 180))
"""Two of them lie in the cloud."""
INSIDE = np.ones((SIDE, SIDE), np.bool_)


def sky(seed: int = 4) -> np.ndarray:
    """L* of a night with some grain."""
    return 25 + np.random.default_rng(seed).normal(0, 0.6, (SIDE, SIDE))


def cloud(lightness: np.ndarray, *, level_L: float = 37.0) -> np.ndarray:
    """A wavy pale area over an eighth of it."""
    y, x = np.mgrid[:SIDE, :SIDE]
    where = ((y - 100) / 38) ** 2 + ((x - 95) / 42) ** 2 < 1
    waves = 3 * np.sin(x / 9) * np.cos(y / 7) + np.random.default_rng(7).normal(0, 2, x.shape)
    lightness[where] = (level_L + waves)[where]
    return where


def stars(lightness: np.ndarray) -> None:
    for y, x in STARS:
        lightness[y : y + 3, x : x + 3] = 70


def found(lightness: np.ndarray, *, room: float = 0.05):
    over_px = (lightness > LIMIT_L).astype(np.int64)
    told = sky_of(lightness, INSIDE)
    return find_lights(lightness, INSIDE, over_px, sky=told, room_px=int(room * lightness.size))


def test_stars_stay_and_no_piece_of_a_cloud_does():
    lightness = sky()
    where = cloud(lightness)
    stars(lightness)
    lights = found(lightness)
    assert len(lights.kept) == len(STARS)
    assert lights.lost == ()
    assert all(lights.cells[y : y + 3, x : x + 3].all() for y, x in STARS)
    assert lights.cells.sum() <= len(STARS) * 25  # a cell around each
    assert lights.going_cells[where].mean() > 0.9
    assert not (lights.going_cells & lights.cells).any()


def test_a_cloud_too_large_for_the_share_is_not_told_as_a_lost_light():
    lightness = sky()
    where = cloud(lightness)
    lights = found(lightness)
    assert (lights.kept, lights.lost) == ((), ())
    assert lights.going_cells[where].mean() > 0.9


def test_a_cloud_that_the_share_has_room_for_stays():
    lightness = sky()
    where = cloud(lightness)
    lights = found(lightness, room=0.2)
    assert lights.cells[where].mean() > 0.9
    assert len(lights.kept) == 1


def test_a_moon_too_large_for_the_share_is_told_as_lost():
    lightness = sky()
    y, x = np.mgrid[:SIDE, :SIDE]
    lightness[(y - 90) ** 2 + (x - 80) ** 2 < 35**2] = 80
    lights = found(lightness)
    (moon,) = lights.lost
    assert moon.rows.stop - moon.rows.start == pytest.approx(70, abs=2)
    assert lights.kept == ()


@pytest.mark.parametrize("room", [0.0, 0.01])
def test_a_moon_in_a_rough_sky_is_told_as_lost(room):
    """The sky spreads so far that the moon stands out by no more than the second step."""
    lightness = 25 + np.random.default_rng(4).normal(0, 4, (SIDE, SIDE))
    lightness[60:90, 60:90] = 70
    lights = found(lightness, room=room)
    assert lights.kept == ()
    (moon,) = lights.lost
    assert (moon.rows.start, moon.rows.stop) == pytest.approx((60, 90), abs=2)


def test_a_moon_in_a_haze_stays_and_the_haze_goes():
    lightness = sky()
    where = cloud(lightness, level_L=36)
    lightness[92:106, 88:102] = 85
    lights = found(lightness)
    assert len(lights.kept) == 1
    assert lights.cells[92:106, 88:102].all()
    assert lights.going_cells[where].mean() > 0.8


@pytest.mark.parametrize(("room_px", "kept"), [(9 * 6, 6), (9 * 6 - 1, 5), (8, 0)])
def test_as_many_stay_as_the_share_has_room_for(room_px, kept):
    lightness = np.full((SIDE, SIDE), 25.0)
    stars(lightness)
    lights = found(lightness, room=(room_px + 0.5) / lightness.size)
    assert (len(lights.kept), len(lights.lost)) == (kept, 6 - kept)


def test_where_one_has_room_the_moon_stays_and_not_what_is_fainter():
    """All stand out by more than the highest step, so that none is left out before."""
    lightness = np.full((SIDE, SIDE), 25.0)
    for y, x, level_L in ((20, 30, 57), (60, 150, 56), (150, 100, 85)):
        lightness[y : y + 3, x : x + 3] = level_L
    lights = found(lightness, room=9.5 / lightness.size)
    (moon,) = lights.kept
    assert (moon.rows.start, moon.cols.start) == (150, 100)
    assert [light.rows.start for light in lights.lost] == [20, 60]


@pytest.mark.parametrize(("fading_px", "most"), [(10, 8), (25, 7), (60, 3)])
def test_fewer_lights_stay_where_what_fades_beside_them_takes_their_room(
    monkeypatch, fading_px, most
):
    """Of 100 pixels that may stay light some fade, whatever stays; each light has ten."""

    def lights_in(self, room_px):
        kept = [SimpleNamespace(pixels=10)] * (room_px // 10)
        return SimpleNamespace(kept=kept, cells=np.zeros((2, 2), np.bool_))

    def with_fading(self, curves, lights):
        return SimpleNamespace(light_px=fading_px + 10 * len(lights.kept))

    monkeypatch.setattr(Darkening, "_lights", lights_in)
    monkeypatch.setattr(Darkening, "_gentlest", with_fading)
    view = SimpleNamespace(inside_px=np.full((2, 2), 500))
    wanted = Wanted(area="sky", limit_L=29.0, lightest_L=29.0, share_pct=95.0, ink_limit_pct=None)
    darkening = Darkening(view, wanted, None, [(0, "Soot")], 4.0)
    again = darkening.again(NightRecipe(wanted=wanted, curves=(), lights_pct=80.0))
    assert most - 1 <= len(again.lights.kept) <= most
    assert again.gentlest.light_px <= 100


@pytest.mark.parametrize(("pixels", "kept"), [(4, 1), (3, 0)])
def test_a_star_of_four_pixels_is_a_light_and_a_smaller_one_is_a_grain(pixels, kept):
    lightness = np.full((SIDE, SIDE), 25.0)
    lightness[[50, 50, 51, 51][:pixels], [50, 51, 50, 51][:pixels]] = 70
    lights = found(lightness)
    assert len(lights.kept) == kept
    assert lights.cells.sum() == pixels * kept


def test_a_night_that_not_even_solids_make_dark_is_not_searched():
    view = SimpleNamespace(
        planes=np.zeros((1, 4, 4), np.uint8), inside=np.ones((4, 4), np.bool_),
        inside_px=np.ones((4, 4), np.int64),
    )  # fmt: skip

    def look(planes):
        assert (planes == 255).all()
        return np.zeros((16, 3), np.uint8), np.full(16, 30 * 256, np.int16)

    wanted = Wanted(area="sky", limit_L=29.0, lightest_L=29.0, share_pct=95.0, ink_limit_pct=None)
    plates = [(0, "Soot", 20.0)]
    assert night_correction(view, wanted, look, plates=plates, px_per_mm=4.0) is None
