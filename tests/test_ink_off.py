"""Ink taken off smoothly: the limit is kept, little changes, and nothing where nothing has to.

Artwork is drawn by seeds. Colours before and after come from the exact model of an invented press;
differences that decide are reckoned by colour-science, not by inkmix.
"""

from dataclasses import dataclass, replace
from itertools import combinations_with_replacement

import colour
import numpy as np
import pytest
from press_for_checks import inks, paper
from scipy.ndimage import distance_transform_edt, gaussian_filter

from inkmix.checks.mending import ink_off_pixels
from inkmix.checks.mending.ink_off import (
    InkOff,
    InkOffGround,
    excess_table,
    ink_off_correction,
)
from inkmix.checks.mending.ink_off_change import ChangeTally
from inkmix.checks.mending.ink_off_least import InkTaking
from inkmix.checks.mending.ink_off_near import OverCells, cells_of, weights_near
from inkmix.checks.total_ink.check import TotalInkCheck
from inkmix.checks.window import CheckedWindow, full_scale, steps_at_most
from inkmix.press.condition import press_condition
from inkmix.press.inks import ink_from_lab
from inkmix.press.processes import find_process
from inkmix.sheet.geometry import Sheet

KINDS = ("flat", "gradients", "grain", "soft shapes")
MORE_INKS = {"Moss": (50, -40, 30), "Plum": (35, 30, -25), "Sand": (75, 8, 30)}
SHEET = Sheet(width_px=72, height_px=56, ppi=25.4)  # a pixel is a millimetre
ROWS, COLS = slice(0, SHEET.height_px), slice(0, SHEET.width_px)


def press_of(count: int):
    """The first so many of eight invented inks, in sheet-fed offset."""
    more = [
        ink_from_lab(name, lab, paper=paper(), source="test") for name, lab in MORE_INKS.items()
    ]
    process = find_process("sheet-fed offset")
    return press_condition(paper(), [*inks(), *more][:count], process=process)


@dataclass(frozen=True, kw_only=True, eq=False)
class Art:
    """Plates on a press with an ink limit."""

    planes: np.ndarray
    limit_pct: float

    @property
    def inks(self) -> int:
        return len(self.planes)

    @property
    def condition(self):
        return press_of(self.inks)

    @property
    def limit(self) -> int:
        return steps_at_most(self.limit_pct, full_scale(self.planes))

    def read(self, rows: slice, cols: slice):
        part = self.planes[:, rows, cols]
        return part, part.sum(axis=0, dtype=np.int32)

    def over(self) -> np.ndarray:
        return self.planes.sum(axis=0, dtype=int) > self.limit

    def ground(self, **other) -> InkOffGround:
        fields = {"read": self.read, "condition": self.condition, "sheet": SHEET}
        fields["printed_from"] = tuple(range(self.inks))
        return InkOffGround(**{**fields, **other})

    def correction(self, **wanted):
        cells = cells_of(SHEET)
        marked = cells.map_of([cells.marked(self.over(), rows=ROWS, cols=COLS)])
        return ink_off_correction(InkOff(limit_pct=self.limit_pct, **wanted), self.ground(), marked)

    def mended(self) -> np.ndarray:
        return self.correction().applied(self.planes, rows=ROWS, cols=COLS)

    def labs(self, planes: np.ndarray) -> np.ndarray:
        """Lab (rows, cols, 3) of planes."""
        return self.condition.lab(np.moveaxis(planes, 0, -1) * (100 / full_scale(planes)))


def drawn(seed: int) -> Art:
    """Two to eight plates of one of KINDS, a third of the sheet over the limit or less."""
    rng = np.random.default_rng(seed)
    count = 2 + seed % 7
    tones = np.stack([_plane(rng, KINDS[seed % 4]) for _ in range(count)])
    dtype = np.uint16 if seed % 3 == 0 else np.uint8
    planes = np.rint(tones * np.iinfo(dtype).max).astype(dtype)
    limit_pct = float(np.quantile(tones.sum(axis=0), 0.75) * 100)
    return Art(planes=planes, limit_pct=round(limit_pct))


def _plane(rng: np.random.Generator, kind: str) -> np.ndarray:
    """Tone values (rows, cols), 0-1."""
    shape = SHEET.height_px, SHEET.width_px
    rows, cols = np.mgrid[0 : 1 : shape[0] * 1j, 0 : 1 : shape[1] * 1j]
    if kind == "gradients":
        across, down, start = rng.uniform(-0.8, 0.8, 3)
        return np.clip(0.5 + start / 2 + across * (cols - 0.5) + down * (rows - 0.5), 0, 1)
    tones = np.full(shape, rng.uniform(0.1, 0.5))
    for _ in range(4):
        at, side = rng.uniform(0, 0.8, 2), rng.uniform(0.15, 0.5, 2)
        inside = (abs(rows - at[0]) < side[0]) & (abs(cols - at[1]) < side[1])
        tones[inside] = rng.uniform(0, 1)
    if kind == "soft shapes":
        return gaussian_filter(tones, 3)
    grain = rng.normal(0, 0.03, shape) if kind == "grain" else 0.0
    return np.clip(tones + grain, 0, 1)


def de00(first: np.ndarray, second: np.ndarray) -> np.ndarray:
    return colour.delta_E(first, second, method="CIE 2000")


@pytest.mark.parametrize("seed", range(20))
def test_every_pixel_keeps_the_limit_and_nothing_changes_away_from_what_was_over(seed):
    art = drawn(seed)
    before = art.planes.copy()
    assert art.over().any()
    after = art.mended()
    assert (art.planes == before).all()
    assert after.dtype == before.dtype
    assert (after <= before).all()
    assert after.sum(axis=0, dtype=int).max() <= art.limit
    # a fade of 5 mm, and a pixel of full weight beside what is over
    far = distance_transform_edt(~art.over()) > 5 + 2
    assert (after[:, far] == before[:, far]).all()
    knee = art.limit - steps_at_most(5, full_scale(before))
    low = before.sum(axis=0, dtype=int) <= knee
    assert (after[:, low] == before[:, low]).all()


@pytest.mark.parametrize("seed", range(0, 20, 3))
def test_a_mended_set_has_no_finding_and_is_left_as_it_is(seed):
    art = drawn(seed)
    mended = replace(art, planes=art.mended())
    check = TotalInkCheck(sheet=SHEET, limit_pct=art.limit_pct, whose="printer")
    window = CheckedWindow(rows=ROWS, cols=COLS, planes=mended.planes,
                           lightness=np.zeros(mended.planes.shape[1:], np.int16))  # fmt: skip
    result = check.finish(check.update(check.start(), window))
    assert result.facts.verdict == "pass"
    assert mended.correction() is None


@pytest.mark.parametrize("seed", [1, 5, 9, 13, 17])
def test_no_banding_shows_in_gradients(seed):
    """Seeds of KINDS[1]; at 8 bits a step of each plate is dE00 0.1 to 0.3 by itself."""
    art = drawn(seed)
    before, after = art.labs(art.planes), art.labs(art.mended())
    for axis in (0, 1):
        steps_before = de00(*_neighbours(before, axis))
        steps_after = de00(*_neighbours(after, axis))
        assert (steps_after - steps_before).max() <= 0.5


def _neighbours(lab: np.ndarray, axis: int) -> tuple[np.ndarray, np.ndarray]:
    lab = np.moveaxis(lab, axis, 0)
    return lab[:-1], lab[1:]


def old_split(art: Art) -> np.ndarray:
    """What remedies did before: quarters of the excess, by the mean mix, the rest from others."""
    lab, full = art.condition.lab, full_scale(art.planes)
    over = art.over()
    before = art.planes[:, over].astype(int)
    excess = before.sum(axis=0) - art.limit
    mix_pct, mean_pct = before.mean(axis=1) * 100 / full, excess.mean() * 100 / full
    parts = combinations_with_replacement(range(art.inks), 4)
    shares = np.array([np.eye(art.inks)[list(part)].sum(axis=0) / 4 for part in parts])

    def cost(taken_pct):
        left = np.maximum(mix_pct - taken_pct, 0)
        return de00(np.broadcast_to(lab(mix_pct), (len(left), 3)), lab(left))

    best = shares[np.argmin(cost(shares * mean_pct) + 0.25 * (shares > 0).sum(axis=1))]
    gentle = np.argsort(cost(np.eye(art.inks) * mean_pct))
    after, left = before.copy(), excess.copy()
    caps = [(k, np.ceil(best[k] * excess.max())) for k in np.argsort(-best) if best[k] > 0]
    for k, cap in [*caps, *((k, full) for k in gentle)]:
        taken = np.minimum(np.minimum(left, int(cap)), after[k])
        after[k] -= taken
        left = left - taken
    return after


@pytest.mark.parametrize("seed", range(20))
def test_colours_change_no_more_than_where_each_plate_loses_what_it_is_told(seed):
    art = drawn(seed)
    over, scale = art.over(), 100 / full_scale(art.planes)
    before, mended, split = (
        art.condition.lab(planes.T * scale)
        for planes in (art.planes[:, over], art.mended()[:, over], old_split(art))
    )
    invisible = 0.02  # a step of 8 bits in one plate is more
    assert de00(before, mended).mean() <= de00(before, split).mean() + invisible


def least_de00(art: Art, tone_pct: np.ndarray) -> float:
    """The least change that brings a mix (I,) to the limit: a grid, and finer ones around its best.

    The plate that holds most gives what the others leave.
    """
    lab, rest = art.condition.lab, int(np.argmax(tone_pct))
    others = [k for k in range(art.inks) if k != rest]
    excess, best = tone_pct.sum() - art.limit_pct, tone_pct / 2
    for reach, step in ((50.0, 10.0), (10.0, 2.5), (2.5, 0.625)):
        axes = [np.clip(np.arange(best[k] - reach, best[k] + reach + 0.1, step), 0, tone_pct[k])
                for k in others]  # fmt: skip
        taken = np.zeros((np.prod([len(axis) for axis in axes]), art.inks))
        taken[:, others] = np.stack(np.meshgrid(*axes, indexing="ij"), -1).reshape(len(taken), -1)
        taken[:, rest] = excess - taken.sum(axis=1)
        taken = taken[(taken[:, rest] >= 0) & (taken[:, rest] <= tone_pct[rest])]
        left = lab(tone_pct - taken)
        change = de00(np.broadcast_to(lab(tone_pct), left.shape), left)
        best = taken[np.argmin(change)]
    return float(change.min())


@pytest.mark.parametrize("seed", [1, 2, 3, 8, 9, 10])
def test_colours_change_hardly_more_than_the_best_of_all_mixes(seed):
    """Three to five plates of every kind; knee and lattice may cost a tenth more."""
    art = drawn(seed)
    after, scale = art.mended(), 100 / full_scale(art.planes)
    at = np.flatnonzero(art.over())
    at = at[np.linspace(0, len(at) - 1, 25).astype(int)]
    before_pct, after_pct = (
        planes.reshape(art.inks, -1)[:, at].T * scale for planes in (art.planes, after)
    )
    changes = de00(art.condition.lab(before_pct), art.condition.lab(after_pct))
    best = [least_de00(art, mix) for mix in before_pct]
    assert changes.mean() <= 1.1 * np.mean(best) + 0.02  # a step of 8 bits


@pytest.mark.parametrize("seed", [0, 1, 2, 6, 11])
def test_windows_and_loops_change_no_byte(seed, monkeypatch):
    art = drawn(seed)
    correction, after = art.correction(), art.mended()
    for rows in (slice(0, 11), slice(11, 56)):
        for cols in (slice(0, 30), slice(30, 31), slice(31, 72)):
            window = correction.applied(art.planes[:, rows, cols], rows=rows, cols=cols)
            assert (window == after[:, rows, cols]).all()
    monkeypatch.setattr("inkmix.checks.window.BAND_PX", 500)
    assert (art.mended() == after).all()
    monkeypatch.setattr(ink_off_pixels, "are_compiled", lambda: False)
    assert (art.mended() == after).all()


def two_hits() -> Art:
    """Soot printed twice from its plate, under Fjord and Rowan."""
    rng = np.random.default_rng(4)
    planes = rng.integers(90, 256, (4, SHEET.height_px, SHEET.width_px)).astype(np.uint8)
    planes[1] = planes[0]
    return Art(planes=planes, limit_pct=260)


@pytest.mark.parametrize("compiled", [True, False])
def test_a_plate_that_prints_twice_stays_one_plate(compiled, monkeypatch):
    monkeypatch.setattr(ink_off_pixels, "are_compiled", lambda: compiled)
    art = two_hits()
    ground = art.ground(printed_from=(0, 0, 2, 3))
    assert (ground.plates, ground.hits) == ((0, 2, 3), (2, 1, 1))
    everywhere = np.ones(cells_of(SHEET).shape, dtype=bool)
    correction = ink_off_correction(InkOff(limit_pct=260), ground, everywhere)
    after = correction.applied(art.planes, rows=ROWS, cols=COLS)
    assert (after[0] == after[1]).all()
    assert (after[0] < art.planes[0]).any()
    total = after.sum(axis=0, dtype=int)
    assert total.max() <= art.limit
    assert total[art.over()].min() >= art.limit - 2 - 5 * 255 / 100 / 4  # the knee's and a step


def test_plates_made_of_dots_are_left_alone_and_counted_by_their_mean():
    """Half of a plate's pixels are full: 50 % of ink, however the dots lie."""
    rng = np.random.default_rng(5)
    planes = np.full((3, SHEET.height_px, SHEET.width_px), 150, np.uint8)
    planes[2] = 255 * rng.integers(0, 2, planes[2].shape)
    planes[1, 10:30, 10:40] = 240
    art = Art(planes=planes, limit_pct=180)

    def read(rows: slice, cols: slice):
        part = art.planes[:, rows, cols]
        return part, (part[0].astype(np.int32) + part[1] + 128).astype(np.int32)

    condition = art.condition.with_screened(["Rowan"])
    ground = art.ground(read=read, condition=condition)
    over = read(ROWS, COLS)[1] > art.limit
    assert 0 < over.sum() < over.size
    after = ink_off_correction(InkOff(limit_pct=180), ground, over).applied(
        planes, rows=ROWS, cols=COLS
    )
    assert (after[2] == planes[2]).all()
    total = after[:2].sum(axis=0, dtype=int) + 128
    assert total.max() <= art.limit
    assert total[over].min() >= art.limit - 1


def test_nothing_can_be_done_where_all_plates_are_made_of_dots():
    art = two_hits()
    condition = art.condition.with_screened([ink.name for ink in art.condition.inks])
    ground = art.ground(condition=condition)
    assert ink_off_correction(InkOff(limit_pct=260), ground, art.over()) is None


@pytest.mark.parametrize("full", [255, 65535])
def test_totals_come_down_to_the_limit_without_a_kink(full):
    """A parabola from 5 points below the limit to 5 above, reckoned here in exact shares."""
    table = excess_table(InkOff(limit_pct=240), full=full, inks=4)
    total = np.arange(4 * full + 1)
    after, limit = total - table, 240 * full // 100
    assert after.max() == limit
    assert (np.diff(after) >= 0).all()
    assert (table[total <= limit - 5 * full / 100 - 1] == 0).all()
    assert (after[total >= limit + 5 * full / 100] == limit).all()
    # at the limit itself a quarter of the knee goes: 1.25 points
    assert table[limit] == pytest.approx(1.25 * full / 100, abs=1)
    slopes = (after[limit // 50 :] - after[: -(limit // 50)]) / (limit // 50)
    assert np.abs(np.diff(slopes)).max() < 0.1


def test_a_sky_that_lies_just_under_the_limit_shows_no_edge_and_is_not_touched_far_off():
    """From 1 point below the limit a fault's surroundings lose ink, less and less over 5 mm."""
    planes = np.full((3, SHEET.height_px, SHEET.width_px), 65535 * 0.797, np.uint16)
    planes[:, :, 30] = 65535
    art = Art(planes=planes, limit_pct=240)
    lost = (planes - art.mended())[:, 20].sum(axis=0, dtype=int) * 100 / 65535
    assert lost[30] == pytest.approx(60, abs=0.01)
    beside = lost[31:]
    assert beside[0] > 0.5
    assert (np.diff(beside) <= 0).all()
    assert np.diff(beside).min() > -0.35  # of a point, from one pixel to the next
    assert (beside[7:] == 0).all()
    assert (lost[:23] == 0).all()


def test_cells_are_marked_alike_by_any_windows():
    cells, rng = OverCells(height_px=50, width_px=70, side=8), np.random.default_rng(6)
    over = rng.random((50, 70)) < 0.01
    marked = [
        cells.marked(over[rows, cols], rows=rows, cols=cols)
        for rows in (slice(0, 13), slice(13, 50))
        for cols in (slice(0, 16), slice(16, 70))
        if over[rows, cols].any()
    ]
    expected = np.zeros((7, 9), bool)
    for row, col in np.argwhere(over):
        expected[row // 8, col // 8] = True
    assert (cells.map_of(marked) == expected).all()


def test_boxes_hold_every_place_with_a_weight():
    cells = OverCells(height_px=400, width_px=300, side=4)
    over = np.zeros(cells.shape, bool)
    over[10, 20] = over[70, 50] = True
    near = weights_near(over, fade=3)
    assert near[10, 20] == near[9, 21] == 256
    assert 0 < near[10, 23] < 256
    boxes = cells.boxes(near)
    assert len(boxes) == 2
    outside = np.repeat(np.repeat(near, 4, axis=0), 4, axis=1)[:400, :300] > 0
    for rows, cols in boxes:
        outside[rows, cols] = False
    assert not outside.any()


def invisible_second(tone_pct: np.ndarray) -> np.ndarray:
    """Lab of two inks, of which one darkens and the other does not print."""
    lab = np.zeros((*tone_pct.shape[:-1], 3))
    lab[..., 0] = 90 - 0.5 * tone_pct[..., 0]
    return lab


def test_ink_comes_first_from_where_it_does_not_show():
    taking = InkTaking(lab=invisible_second, hits=np.ones(2))
    taken = taking.least(np.array([[50.0, 20.0], [50.0, 60.0]]), np.array([30.0, 30.0]))
    np.testing.assert_allclose(taken, [[10, 20], [0, 30]], atol=0.1)


def test_a_plate_that_prints_twice_gives_half_as_much():
    taking = InkTaking(lab=lambda tone_pct: 0 * tone_pct, hits=np.array([2.0, 1.0, 1.0]))
    (taken,) = taking.least(np.array([[40.0, 50.0, 50.0]]), np.array([60.0]))
    assert taken @ [2, 1, 1] == pytest.approx(60, abs=0.01)
    assert taken[0] == pytest.approx(2 * taken[1], abs=0.1)  # evenly, by what each point saves


def darker_or_yellower(tone_pct: np.ndarray) -> np.ndarray:
    """Lab of a black and of a yellow."""
    lab = np.zeros((*tone_pct.shape[:-1], 3))
    lab[..., 0] = 60 - 0.3 * tone_pct[..., 0]
    lab[..., 2] = 0.3 * tone_pct[..., 1]
    return lab


def test_lightness_that_is_worth_more_keeps_the_black():
    mixes, take = np.array([[80.0, 80.0]]), np.array([40.0])
    evenly, darkly = (
        InkTaking(lab=darker_or_yellower, hits=np.ones(2), lightness_worth=worth).least(mixes, take)
        for worth in (1.0, 4.0)
    )
    assert darkly[0, 0] < evenly[0, 0] - 5


def test_the_map_of_the_change_is_that_of_every_pixel_where_it_can_be():
    """A small sheet has a cell a pixel; parts come in any order."""
    art = drawn(5)
    after = art.mended()
    exact = de00(art.labs(art.planes), art.labs(after))
    tally = ChangeTally(ROWS, COLS)
    for rows in (slice(20, 56), slice(0, 20)):
        tally.take(tally.part(art.planes[:, rows], after[:, rows], rows=rows, cols=COLS))
    change = tally.change(art.condition.lab)
    np.testing.assert_allclose(change.de00, exact, atol=1e-5)
    changed = exact[(after != art.planes).any(axis=0)]
    assert change.mean == pytest.approx(changed.mean(), abs=1e-6)
    assert change.p95 == pytest.approx(np.quantile(changed, 0.95), abs=1e-6)
    assert change.most == pytest.approx(changed.max(), abs=1e-5)


def test_in_larger_cells_the_pixel_that_loses_most_is_looked_at(monkeypatch):
    monkeypatch.setattr("inkmix.checks.mending.ink_off_change.MOST_CELLS", 56 * 72 // 16)
    before = np.full((2, SHEET.height_px, SHEET.width_px), 200, np.uint8)
    after = before.copy()
    after[0, 21, 33] -= 50
    after[1, 23, 35] -= 60
    tally = ChangeTally(ROWS, COLS)
    tally.take(tally.part(before, after, rows=ROWS, cols=COLS))
    change = tally.change(lambda tone_pct: np.stack([tone_pct[..., 1]] * 3, -1) * [1, 0, 0])
    assert change.de00.shape == (14, 18)
    assert np.argwhere(change.de00).tolist() == [[5, 8]]
    assert change.most > 10
