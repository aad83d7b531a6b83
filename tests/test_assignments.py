"""Which ink prints which plate: the small table, sampled plates, the search of all ways."""

from itertools import permutations

import numpy as np
import pytest
from palette_book import book
from PIL import Image

from inkmix.colour.colorimetry import delta_e00, xyz100_to_lab, xyz100_to_srgb8
from inkmix.jobs.spread import open_uncounted
from inkmix.mixes.assigned.aims import aimed_at_picture, aimed_at_print
from inkmix.mixes.assigned.assign import (
    MOST_TRIED,
    TIE_DE00,
    best_assignment,
    in_palette,
    most_mixes,
)
from inkmix.mixes.assigned.plates import (
    MainMixes,
    SampledPlates,
    main_mixes,
    sampled_plates,
    shares_of,
)
from inkmix.mixes.assigned.printed import picture_of, printed_in
from inkmix.mixes.assigned.table import SmallTable, small_table
from inkmix.plates.reference.picture import open_reference
from inkmix.press.condition import press_condition
from inkmix.press.processes import find_process
from inkmix.press.swatches.by_name import load_ink, load_paper
from inkmix.sheet.geometry import Sheet


def condition(*names):
    paper = load_paper("night-ferry/uncoated")
    inks = [load_ink(f"night-ferry/{name}", paper=paper) for name in names]
    return press_condition(paper, inks, process=find_process("sheet-fed offset"))


@pytest.fixture(scope="module")
def spread():
    return open_uncounted(book(), "night-ferry")


@pytest.fixture(scope="module")
def sampled(spread):
    return sampled_plates(spread.plates, longest_px=200)


OWN = ("Soot", "Fjord", "Rowan", "Brass", "Fog")


@pytest.fixture(scope="module")
def mixes(sampled):
    return main_mixes(sampled, most=300)


@pytest.mark.parametrize("names", [OWN[:1], OWN[1:3], OWN[:3], OWN, (*OWN, "Tide")])
def test_the_small_table_is_near_the_exact_model(names):
    """At most dE00 1: a difference of pictures of thumb size that nobody sees (judgement)."""
    exact = condition(*names)
    tones = np.random.default_rng(4).uniform(0, 100, (300, len(names)))
    away = delta_e00(small_table(exact).lab_of(tones), exact.lab(tones))
    assert away.mean() < 0.2
    assert away.max() < 1.0


def test_five_inks_are_as_near_as_is_stated():
    """Silver: 0.07 on average and 0.22 at most of these mixes."""
    exact = condition(*OWN)
    tones = np.random.default_rng(4).uniform(0, 100, (300, 5))
    away = delta_e00(small_table(exact).lab_of(tones), exact.lab(tones))
    assert away.mean() < 0.075
    assert away.max() < 0.3


def test_the_small_table_holds_paper_and_solids_exactly():
    exact = condition(*OWN)
    corners = 100.0 * np.vstack([np.zeros(5), np.eye(5), np.ones(5)])
    assert small_table(exact).lab_of(corners) == pytest.approx(exact.lab(corners), abs=1e-6)


def test_sampled_pixels_are_those_of_the_plates(spread, sampled):
    plates = spread.plates
    whole = plates.read(slice(0, plates.height_px), slice(0, plates.width_px))
    expected = whole[:, :: sampled.step, :: sampled.step] * (100 / plates.full)
    assert sampled.names == OWN
    assert np.moveaxis(sampled.tone_pct, -1, 0) == pytest.approx(expected)
    assert max(sampled.tone_pct.shape[:2]) <= 200


def test_main_mixes_are_the_means_of_their_pixels(sampled, mixes):
    assert mixes.share.sum() == pytest.approx(1)
    assert len(mixes.share) <= 300
    mean = (mixes.share[:, None] * mixes.tone_pct).sum(axis=0)
    assert mean == pytest.approx(sampled.tone_pct.reshape(-1, 5).mean(axis=0))
    fullest = int(mixes.share.argmax())
    inside = sampled.tone_pct[mixes.group_of == fullest]
    assert inside.mean(axis=0) == pytest.approx(mixes.tone_pct[fullest])


def test_shares_count_each_pixel_for_the_nearest_mix():
    """By hand: of four pixels one is near both mixes, one near none."""
    tones = np.array([[[0.0, 0.0], [9.0, 0.0]], [[30.0, 0.0], [90.0, 90.0]]])
    few = SampledPlates(names=("A", "B"), tone_pct=tones, step=1)
    shares = shares_of(few, [[0, 0], [25, 0]], near_pct=20)
    assert shares.tolist() == [0.5, 0.25]


def test_a_pixel_just_within_the_distance_counts():
    """The distance is told as "at most": a tone value of 20 is 20 away from bare paper."""
    tones = np.array([[[0.0], [20.0], [20.1], [90.0]]])
    few = SampledPlates(names=("A",), tone_pct=tones, step=1)
    assert shares_of(few, [[0.0]], near_pct=20).tolist() == [0.5]


def test_mixes_that_differ_by_a_solid_are_never_one_group():
    """A solid of the second plate is not one step more of the first, whatever the steps are."""
    tones = np.array([[[0.0, 100.0], [5.0, 0.0], [5.0, 100.0], [100.0, 0.0]]])
    apart = main_mixes(SampledPlates(names=("A", "B"), tone_pct=tones, step=1), most=10)
    assert apart.share.tolist() == [0.25] * 4
    assert sorted(apart.tone_pct.tolist()) == sorted(tones[0].tolist())


def test_own_inks_go_to_their_own_plates(mixes):
    table = small_table(condition(*OWN))
    aimed = aimed_at_print(table, mixes)
    found = best_assignment(table, inks=OWN, plates=OWN, mixes=mixes, aim_lab=aimed.lab)
    assert found.best.inks == OWN
    assert found.best.de00 == 0
    assert (found.tried, found.all_tried) == (120, True)


def test_the_way_found_is_the_best_of_all_by_the_exact_model(mixes):
    """All 24 ways of four inks to three plates, each by the press model itself."""
    names = ("Soot", "Dusk", "Flare", "Oilskin")
    exact = condition(*names)
    three = mixes.tone_pct[:, 1:4]
    part = type(mixes)(tone_pct=three, share=mixes.share, group_of=mixes.group_of)
    aim = condition(*OWN[1:4]).lab(three)
    scores = {
        way: float(delta_e00(exact.lab(in_palette(three, way, inks=4)), aim) @ mixes.share)
        for way in permutations(range(4), 3)
    }
    found = best_assignment(
        small_table(exact), inks=names, plates=OWN[1:4], mixes=part, aim_lab=aim
    )
    best = min(scores, key=scores.__getitem__)
    assert found.tried == 24
    assert found.best.inks == tuple(names[ink] for ink in best)
    assert found.best.de00 == pytest.approx(scores[best], abs=0.2)
    assert all(tie.de00 - found.best.de00 < TIE_DE00 for tie in found.ties)


def test_too_many_ways_are_searched_by_exchanges(mixes):
    """2,520 ways of seven inks to five plates: within a tie of the best of all of them."""
    names = ("Soot", "Fjord", "Mussel", "Buoy", "Flare", "Brass", "Fog")
    table = small_table(condition(*names))
    few = main_mixes_of(mixes, 60)
    aim = small_table(condition(*OWN)).lab_of(few.tone_pct)
    found = best_assignment(table, inks=names, plates=OWN, mixes=few, aim_lab=aim)
    assert not found.all_tried
    assert found.tried < MOST_TRIED
    ways = list(permutations(range(7), 5))
    tones = np.stack([in_palette(few.tone_pct, way, inks=7) for way in ways])
    least = (delta_e00(table.lab_of(tones), aim) @ few.share).min()
    assert found.best.de00 <= least + TIE_DE00


def greys(*lightness):
    """A table of inks that make greys of these L*, on white paper; each is to print alone."""
    lab = np.zeros((2,) * len(lightness) + (3,))
    lab[(0,) * len(lightness)] = 100, 0, 0
    for ink, L in enumerate(lightness):
        lab[(*(0,) * ink, 1, *(0,) * (len(lightness) - ink - 1))] = L, 0, 0
    return SmallTable(lab=lab, curves=np.tile(np.linspace(0, 1, 257), (len(lightness), 1)))


def alone(*share):
    """Main mixes of plates that each print alone, in full, on their share of the picture."""
    return MainMixes(
        tone_pct=100 * np.eye(len(share)), share=np.array(share), group_of=np.zeros((1, 1), int)
    )


def test_ties_are_within_two_tenths():
    """At L* 50 a difference in lightness is its dE00 (Sharma 2005: S_L is 1 there)."""
    found = best_assignment(
        greys(51.0, 51.19, 51.21), inks=("A", "B", "C"), plates=("one",),
        mixes=alone(1.0), aim_lab=np.array([[50.0, 0, 0]]),
    )  # fmt: skip
    assert found.best.inks == ("A",)
    assert [tie.inks for tie in found.ties] == [("B",)]


def test_of_many_inks_the_fullest_plate_chooses_first_and_exchanges_what_others_need_more():
    """By hand: the first plate, on nearly half of the picture, is nearest to A; but only A suits
    the second. So A goes to the first, the two exchange, and no exchange gains more: the first way,
    the 21 exchanges from it, and from the way that was better 20 others.
    """
    wanted = [50.0, 48.0, 10.0, 20.0, 30.0, 70.0, 80.0]
    inks = (48.0, 53.0, *wanted[2:])
    found = best_assignment(
        greys(*inks), inks=tuple("ABCDEFG"), plates=tuple("1234567"),
        mixes=alone(0.4, 0.35, *[0.05] * 5), aim_lab=np.array([[L, 0, 0] for L in wanted]),
    )  # fmt: skip
    assert found.best.inks == tuple("BACDEFG")
    assert found.tried == 1 + 21 + 20


def main_mixes_of(mixes, most):
    """The fullest groups alone."""
    fullest = np.argsort(-mixes.share)[:most]
    share = mixes.share[fullest] / mixes.share[fullest].sum()
    return type(mixes)(tone_pct=mixes.tone_pct[fullest], share=share, group_of=mixes.group_of)


def test_all_ways_of_few_mixes_take_no_longer_than_few_ways_of_many():
    assert most_mixes(6, 6) < most_mixes(3, 3)
    assert most_mixes(8, 8) >= 150


def test_a_picture_of_the_print_aims_where_the_print_does(spread, sampled, mixes, tmp_path):
    plates, exact = spread.plates, condition(*OWN)
    amounts = plates.read(slice(0, plates.height_px), slice(0, plates.width_px))
    tones = np.moveaxis(amounts, 0, -1) * (100 / plates.full)
    on_white = exact.xyz100(tones) / exact.paper.xyz100 * [96.422, 100, 82.521]  # D50
    srgb8, _ = xyz100_to_srgb8(on_white)
    Image.fromarray(srgb8).save(tmp_path / "wanted.png")
    picture = open_reference(tmp_path / "wanted.png", spread.sheet)
    aimed = aimed_at_picture(
        picture, sampled=sampled, mixes=mixes, sheet=spread.sheet, paper=exact.paper
    )
    away = delta_e00(aimed.lab, exact.lab(mixes.tone_pct))
    assert aimed.words == "the picture wanted.png"
    assert away @ mixes.share < 1.0  # means of light in a group, not the colour of a mean


def test_a_picture_of_the_trimmed_sheet_lies_within_the_bleed(tmp_path):
    """By hand: 20 px of bleed about a picture of 200 × 100 px, whose right half is black."""
    sheet = Sheet(width_px=240, height_px=140, ppi=254, bleed_mm=2)
    wanted = np.full((100, 200, 3), 255, np.uint8)
    wanted[:, 100:] = 0
    Image.fromarray(wanted).save(tmp_path / "wanted.png")
    is_right = np.arange(240) >= 120
    plates = SampledPlates(
        names=("A",), tone_pct=np.tile(is_right, (140, 1))[..., None] * 100.0, step=1
    )
    mixes = main_mixes(plates, most=2)
    paper = load_paper("night-ferry/uncoated")
    picture = open_reference(tmp_path / "wanted.png", sheet)
    aimed = aimed_at_picture(picture, sampled=plates, mixes=mixes, sheet=sheet, paper=paper)
    assert mixes.tone_pct.ravel().tolist() == [0, 100]
    assert aimed.lab == pytest.approx(np.array([xyz100_to_lab(paper.xyz100), [0, 0, 0]]), abs=1e-6)


def test_pictures_are_those_of_the_model(sampled, mixes):
    own, other = condition(*OWN), condition("Soot", "Fjord", "Flare", "Fog", "Brass")
    aimed = aimed_at_print(small_table(own), mixes)
    told = []
    found = printed_in(
        [own, condition("Soot", "Fjord"), other], sampled, mixes=mixes, aimed=aimed,
        progress=lambda done, of: told.append((done, of)),
    )  # fmt: skip
    assert told == [(1, 3), (2, 3), (3, 3)]
    assert found[1] is None  # two inks cannot print five plates
    exact, _ = xyz100_to_srgb8(own.xyz100(sampled.tone_pct))
    assert np.abs(found[0].srgb8.astype(int) - exact).max() <= 4
    # Flare, a fluorescent orange, stands in for one of the two warm inks; the others stay.
    given = dict(zip(OWN, found[2].assigned.best.inks, strict=True))
    assert {given[ink] for ink in ("Rowan", "Brass")} == {"Flare", "Brass"}
    assert [given[ink] for ink in ("Soot", "Fjord", "Fog")] == ["Soot", "Fjord", "Fog"]


def test_same_plates_same_pictures(sampled):
    table = small_table(condition(*OWN))
    assert (picture_of(table, sampled.tone_pct) == picture_of(table, sampled.tone_pct)).all()
