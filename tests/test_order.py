"""The lay-down order: what is proposed, what another one changes, in which words it is told.

Colours are silver: made up, or of the invented swatches. That an ink counts by what it lies on is
Yule, Principles of Color Reproduction, 1967; process inks first and dark before light is common
practice; an orange last comes from the one measured press that tells its order.
"""

from dataclasses import dataclass, replace
from itertools import combinations, permutations
from types import SimpleNamespace

import numpy as np
import pytest
from press_for_checks import SOLIDS, paper, press
from report_cases import night_order, tone_order

from inkmix.book.first.inkwords import guess_inks
from inkmix.book.values import NamedTone
from inkmix.checks.finding import FAIL, NO_LIMIT, PASS, UNSURE
from inkmix.checks.night.counts import NightOutcome, no_counts
from inkmix.checks.orders import words as order_words
from inkmix.checks.orders.check import (
    NightAtHand,
    Told,
    night_orders,
    order_questions,
    pairs_told,
    tone_orders,
    tones_told,
)
from inkmix.checks.orders.of_spread import orders_of
from inkmix.checks.tones.check import tone_facts
from inkmix.colour.colorimetry import delta_e00
from inkmix.mixes.helping import Helpers, candidates_ready
from inkmix.mixes.nearest import found_for_all
from inkmix.mixes.values import Aims
from inkmix.press.condition import Patches, press_condition
from inkmix.press.inks import Ink, ink_from_lab
from inkmix.press.order import lay_down_order
from inkmix.press.other_orders import moves_of, other_orders
from inkmix.press.processes import find_process
from inkmix.press.swatches.by_name import load_ink, overprints_order
from inkmix.press.table.lookup import LIGHTNESS_SCALE

OFFSET = find_process("sheet-fed offset")
COLOURS = {
    **SOLIDS,
    "Cyan": (59, -24, -46),
    "Magenta": (55, 60, -4),
    "Yellow": (88, -3, 76),
    "Orange": (66, 45, 60),
    "Fern": (50, -40, 25),
    "Chalk": (93, 0, 2),
}


def ink(name: str, **said: object) -> Ink:
    made = ink_from_lab(name, COLOURS[name], paper=paper(), source="test")
    return replace(made, **said)  # type: ignore[arg-type]


def condition(*given: Ink):
    return press_condition(paper(), given, process=OFFSET)


def names_in_order(names, told=()):
    given = [ink(name) for name in names]
    places = lay_down_order(given, paper(), told=[names.index(name) for name in told])
    return [names[at] for at in places]


# --- what is proposed -----------------------------------------------------------------------------


def test_process_inks_then_dark_before_light_then_an_orange():
    names = ["Orange", "Chalk", "Yellow", "Fern", "Magenta", "Fjord", "Cyan", "Soot"]
    expected = ["Soot", "Cyan", "Magenta", "Yellow", "Fjord", "Fern", "Chalk", "Orange"]
    for given in (names, names[::-1], sorted(names)):
        assert names_in_order(given) == expected


def test_inks_whose_order_is_told_keep_it_and_the_others_come_in_between():
    names = ["Fern", "Soot", "Chalk", "Fjord", "Orange"]
    assert names_in_order(names, told=["Soot", "Fjord", "Chalk"]) == [
        "Soot", "Fjord", "Fern", "Chalk", "Orange",
    ]  # fmt: skip
    for told in permutations(names, 3):
        order = names_in_order(names, told=told)
        assert [name for name in order if name in told] == list(told)
        assert sorted(order) == sorted(names)


def test_an_ink_goes_where_fewest_told_ones_lie_on_its_wrong_side():
    """Against every place, counted anew."""
    proposed = {name: at for at, name in enumerate(names_in_order(list(COLOURS)))}
    for told in permutations(("Soot", "Fjord", "Chalk", "Orange")):
        order = names_in_order([*told, "Fern"], told=told)

        def wrong(row):
            at = row.index("Fern")
            before = sum(proposed[name] > proposed["Fern"] for name in row[:at])
            return before + sum(proposed[name] < proposed["Fern"] for name in row[at + 1 :])

        rows = [[*told[:at], "Fern", *told[at:]] for at in range(5)]
        best = min(wrong(row) for row in rows)
        assert order == [row for row in rows if wrong(row) == best][-1]


def test_an_ink_is_added_in_its_place_and_measured_mixtures_stay():
    fjord_over = Patches(tone_pct=[[100.0, 100.0]], xyz100=[[9.0, 8.0, 9.0]])
    two = press_condition(paper(), [ink("Soot"), ink("Chalk")], process=OFFSET, patches=fjord_over)
    more = two.with_ink_in_its_place(ink("Fern"))
    assert [one.name for one in more.inks] == ["Soot", "Fern", "Chalk"]
    assert more.patches.tone_pct.tolist() == [[100.0, 0.0, 100.0]]
    np.testing.assert_allclose(more.xyz100([100, 0, 100]), [9.0, 8.0, 9.0], rtol=1e-4)


def test_an_ink_that_helps_is_tried_in_its_place():
    ferry = [load_ink(f"night-ferry/{name}", paper="night-ferry/uncoated") for name in
             ("Soot", "Fog")]  # fmt: skip
    two = press_condition(ferry[0].measured_on, ferry, process=OFFSET)
    aims = Aims(ink_limit_pct=260.0, step_pct=5.0, least_pct=3.0)
    rust = load_ink("night-ferry/Rust", paper="night-ferry/uncoated")
    lab = two.with_ink_in_its_place(rust).lab([0, 100, 0])
    (found,) = found_for_all(two, np.array([lab]), aims, most=1)
    (helps,) = Helpers(two, aims, lambda: {"night-ferry/Rust": rust}).help([found])
    by_rust = next(one for one in helps if one.ink == "night-ferry/Rust")
    assert tuple(by_rust.mix.tone_pct) == ("Soot", "Rust", "Fog")
    assert (by_rust.after, by_rust.in_reach) == ("Soot", True)
    (ready,) = candidates_ready(two, aims, {"night-ferry/Rust": rust})
    assert ready.lattice.sets[:, 1].all()  # no mix is tried that lacks the new ink
    assert not ready.lattice.sets[:, 2].all()


def test_inks_that_were_measured_together_keep_that_order_in_a_first_book():
    """As `LAY_DOWN_ORDER` of the shipped overprints says; a green goes between."""
    swatches = [f"night-ferry/{name}" for name in ("Fog", "Brass", "Kelp", "Soot")]
    assert overprints_order("night-ferry/uncoated", swatches) == (3, 1, 0)
    assert overprints_order("night-ferry/coated", swatches) == ()
    assert overprints_order("night-ferry/uncoated", ["night-ferry/Soot", ""]) == ()
    guesses, words = guess_inks(["Fog", "Brass", "Kelp", "Soot"])
    assert [guess.name for guess in guesses] == ["Soot", "Kelp", "Brass", "Fog"]
    assert words.startswith("3 of them as their measured mixtures were printed")


# --- what another order changes -------------------------------------------------------------------


@pytest.mark.parametrize("count", [1, 2, 3, 5])
def test_every_order_one_move_away_comes_once(count):
    moves = moves_of(count)
    orders = [move.order for move in moves]
    told = tuple(range(count))
    assert len(set(orders)) == len(orders)
    assert told not in orders
    assert len(orders) == (0 if count == 1 else 1 if count == 2 else 2 * (count - 1))
    for move in moves:
        rest = [k for k in move.order if k != move.ink]
        assert rest == sorted(rest)
        assert move.order[0 if move.to == "first" else -1] == move.ink


SPOTS = ("Fjord", "Rowan", "Chalk", "Orange")


def test_without_process_inks_both_orders_are_those_of_plain_conditions():
    """Nothing was measured and presses share nothing in spots: then there is one prediction."""
    given = [ink(name, opacity=0.6 if name == "Chalk" else None) for name in SPOTS]
    told = condition(*given)
    tones = np.random.default_rng(5).uniform(0, 100, (40, 4))
    orders = other_orders(told)
    np.testing.assert_allclose(orders.told_lab(tones), told.lab(tones), atol=1e-9)
    for move, lab in zip(orders.moves, orders.moved_lab(tones), strict=True):
        other = condition(*(given[at] for at in move.order))
        np.testing.assert_allclose(lab, other.lab(tones[:, list(move.order)]), atol=1e-9)


def test_measured_mixtures_and_what_presses_share_enter_neither_side():
    given = [ink(name) for name in ("Cyan", "Magenta", "Orange")]
    bare = condition(*given)
    odd = Patches(tone_pct=[[100.0, 100.0, 100.0]], xyz100=[[40.0, 50.0, 60.0]])
    measured = press_condition(paper(), given, process=OFFSET, patches=odd)
    tones = np.array([[100.0, 100.0, 100.0], [100.0, 100.0, 0.0]])
    assert delta_e00(bare.lab(tones[0]), measured.lab(tones[0])) > 20
    one, other = other_orders(bare), other_orders(measured)
    np.testing.assert_allclose(one.told_lab(tones), other.told_lab(tones), atol=1e-9)
    np.testing.assert_allclose(one.moved_lab(tones), other.moved_lab(tones), atol=1e-9)
    # Out of the usual order presses share nothing, so there a plain condition says the same.
    tints = np.array([[50.0, 60.0, 0.0], [100.0, 100.0, 0.0]])
    orders = other_orders(bare)
    at = [move.order for move in orders.moves].index((1, 0, 2))
    swapped = condition(given[1], given[0], given[2]).lab(tints[:, [1, 0, 2]])
    np.testing.assert_allclose(orders.moved_lab(tints)[at], swapped, atol=1e-9)
    # C and M as presses print them; were that left in on one side, it would pass for the order's.
    assert delta_e00(one.told_lab(tones)[1], bare.lab(tones[1])) > 0.3


def test_a_white_on_top_veils_what_it_would_lie_under():
    """An opacity of .9 is that of whites: Chalk last is near its own colour, first it is gone."""
    told = condition(ink("Fjord"), ink("Chalk", opacity=0.9))
    (change,) = tone_orders(told, pairs_told(told))
    assert (change.ink, change.to, change.passes) == ("Chalk", "first", ("Fjord",))
    # By the colours themselves: Chalk on top is light, Fjord on top is dark.
    assert change.lab[0] > 80
    assert change.other_lab[0] < 50
    assert change.sentence.startswith("Chalk printed first instead of last: Fjord + Chalk much ")
    assert change.ask
    assert change.verdict is None


def told_pair(first: str, second: str, share: float = 100.0, **more) -> Told:
    return Told(name="dusk", mix_pct={first: share, second: share}, **more)


def test_the_move_that_changes_most_is_kept():
    """Against all moves of inks of the mix, each predicted by a condition of its own."""
    given = [ink(name, opacity=0.4 if name == "Orange" else None) for name in SPOTS]
    told = condition(*given)
    mix = {"Fjord": 70.0, "Rowan": 40.0, "Orange": 60.0}
    tones = np.array([mix.get(name, 0.0) for name in SPOTS])
    sizes = {}
    for at, name in enumerate(SPOTS):
        others = [k for k in range(4) if k != at]
        for to, order in (("first", [at, *others]), ("last", [*others, at])):
            if name in mix:
                other = condition(*(given[k] for k in order)).lab(tones[order])
                sizes[name, to] = float(delta_e00(told.lab(tones), other))
    (change,) = tone_orders(told, [Told(name="ember", mix_pct=mix)])
    assert change.de00 == pytest.approx(max(sizes.values()), abs=1e-6)
    assert sizes[change.ink, change.to] == pytest.approx(change.de00, abs=1e-6)
    assert set(change.passes) <= set(mix) - {change.ink}


def test_inks_that_a_move_changes_places_with():
    """By hand: of four inks the second to first passes one, to last two, and never itself."""
    passed = {(move.ink, move.to): move.passes for move in moves_of(4)}
    assert passed[1, "first"] == (0,)
    assert passed[1, "last"] == (2, 3)
    assert passed[3, "first"] == (0, 1, 2)
    assert all(ink not in others for (ink, _), others in passed.items())


def test_small_changes_are_not_listed_and_middling_ones_are_no_question():
    told = condition(ink("Fjord"), ink("Chalk", opacity=0.9))
    sizes = {}
    for share in (2.0, 5.0, 8.0, 12.0, 20.0, 60.0):
        pct = {"Fjord": share, "Chalk": share}
        found = tone_orders(told, [Told(name="t", mix_pct=pct)])
        tones = np.array([[share, share]])
        orders = other_orders(told)
        size = round(float(delta_e00(orders.told_lab(tones)[0], orders.moved_lab(tones)[0, 0])), 1)
        assert bool(found) == (size >= 1)
        assert [one.ask for one in found] == ([size >= 2] if found else [])
        sizes[share] = size
    assert min(sizes.values()) < 1 < 2 < max(sizes.values())
    assert any(1 <= size < 2 for size in sizes.values())


def tone(condition, mix: dict[str, float], *, meant: np.ndarray, tolerance: float):
    named = NamedTone(
        name="dusk", mix_pct=mix, intended_lab=tuple(meant.tolist()), tolerance_de00=tolerance
    )
    return tone_facts(condition, [named])[0]


def test_a_verdict_that_would_change_is_a_question_however_small_the_change():
    told = press("Fjord", "Rowan")
    mix = {"Fjord": 30.0, "Rowan": 30.0}
    vector = np.array([30.0, 30.0])
    predicted, error = told.lab(vector), float(told.expected_error(vector).de00)
    orders = other_orders(told)
    step = orders.moved_lab(vector[None])[0, 0] - orders.told_lab(vector[None])[0]
    size = float(delta_e00(predicted, predicted + step))
    assert 0 < size < 1
    # It just passes; the step leads away from what was meant.
    meant = predicted - step
    at_limit = float(delta_e00(meant, predicted)) + error + size / 3
    fact = tone(told, mix, meant=meant, tolerance=at_limit)
    assert fact.verdict == PASS
    (change,) = tone_orders(told, tones_told([fact]))
    assert (change.verdict, change.other_verdict, change.ask) == (PASS, UNSURE, True)
    assert change.sentence.endswith("(unsure instead of pass)")
    assert "hardly" in change.change
    far = tone(told, mix, meant=meant, tolerance=at_limit + 3)
    assert tone_orders(told, tones_told([far])) == ()


def test_tones_of_one_ink_hang_on_no_order():
    told = press()
    fact = tone(told, {"Fjord": 80.0, "Rowan": 0.0}, meant=np.array([40.0, 0, 0]), tolerance=3)
    assert tone_orders(told, tones_told([fact])) == ()
    assert tone_orders(told, ()) == ()
    assert tone_orders(press("Soot"), pairs_told(press("Soot"))) == ()


def test_pairs_stand_in_for_tones():
    told = press()
    assert [one.name for one in pairs_told(told)] == [
        f"{one} + {other}" for one, other in combinations(SOLIDS, 2)
    ]


def test_overprints_that_stand_in_for_tones_are_shown_and_not_asked_about():
    """Nobody knows whether any of them is in the picture."""
    told = condition(ink("Fjord"), ink("Chalk", opacity=0.9))
    found = orders_of(SimpleNamespace(tone_condition=told, condition=told), ())
    assert [one.ask for one in found.tones] == [True]
    assert found.questions == ()


# --- night ----------------------------------------------------------------------------------------


def counted(told, mixes):
    """Counts of a night area of so many pixels of each mix (tones in %, pixels)."""
    counts = no_counts(len(told.inks))
    for tones, pixels in mixes:
        level = round(float(told.lab(tones)[0]) * LIGHTNESS_SCALE)
        counts.levels[level] += pixels
        per_mix = len(counts.levels) // len(counts.mixes)
        counts.mixes[level // per_mix] += np.rint(pixels * np.array(tones) * 2.55).astype(int)
    return replace(counts, full=255)


def test_night_that_another_order_makes_lighter():
    told = condition(ink("Chalk", opacity=0.9), ink("Fjord"))
    dark, darker = [40.0, 100.0], [0.0, 100.0]
    counts = counted(told, [(dark, 600), (darker, 400)])
    value = float(told.lab(dark)[0])
    was = NightOutcome(  # an opaque ink is unproven, so nothing here can pass
        verdict=UNSURE, value_L=value, reached_pct=100.0, error_L=1.0, clears=True,
        involved_pct=(40.0, 100.0),
    )  # fmt: skip
    at_hand = NightAtHand(
        name="sea", counts=counts, outcome=was, lightest_L=value + 2, share_pct=95.0
    )
    swapped = condition(ink("Fjord"), ink("Chalk", opacity=0.9))
    # Chalk on Fjord veils it; the pixels without Chalk, which are the darker ones, stay.
    expected = float(swapped.lab(dark[::-1])[0])
    (change,) = night_orders(told, [at_hand])
    assert (change.ink, change.to, change.passes) == ("Fjord", "first", ("Chalk",))
    assert change.other_L == pytest.approx(expected, abs=0.3)  # mixes are kept by quarters of L*
    assert expected > value + 5
    assert (change.verdict, change.other_verdict, change.ask) == (UNSURE, FAIL, True)
    assert "night sea lighter" in change.sentence
    only_darker = replace(at_hand, share_pct=30.0, outcome=replace(was, value_L=20.0))
    assert night_orders(told, [only_darker]) == ()
    empty = replace(at_hand, counts=no_counts(2))
    assert night_orders(told, [empty]) == ()


@dataclass(frozen=True, kw_only=True)
class Orders:
    """What other orders would do, made up: L* of greys as told, and after each move."""

    told_L: list[float]
    moved_L: list[list[float]]

    @property
    def moves(self):
        return moves_of(2 if len(self.moved_L) == 1 else 3)

    def told_lab(self, tones):
        return self._greys(self.told_L)

    def moved_lab(self, tones):
        return self._greys(self.moved_L)

    def _greys(self, lightness):
        greys = np.array(lightness, dtype=np.float64)
        return np.stack([greys, np.zeros_like(greys), np.zeros_like(greys)], axis=-1)


@pytest.fixture
def other(monkeypatch):
    """Takes what other orders shall do."""

    def take(told_L, *moved_L):
        orders = Orders(told_L=told_L, moved_L=list(moved_L))
        monkeypatch.setattr("inkmix.checks.orders.check.other_orders", lambda _: orders)

    return take


@pytest.mark.parametrize(
    ("step", "listed", "ask"),
    [
        (0.9, False, False),
        (1.1, True, False),
        (1.9, True, False),
        (2.1, True, True),
        (9.0, True, True),
    ],
)
def test_from_which_change_on_a_tone_is_told_and_asked_about(other, step, listed, ask):
    """Of greys about L* 50 dE00 is the difference of L*: there S_L is 1 (CIE 142)."""
    other([50 - step / 2], [50 + step / 2])
    found = tone_orders(press("Soot", "Fjord"), [told_pair("Soot", "Fjord")])
    assert [one.ask for one in found] == [ask] * listed
    assert [one.de00 for one in found] == pytest.approx([step] * listed)


def test_what_another_order_changes_most_is_told_first(other):
    other([48.0, 48.0, 48.0], [50.0, 54.0, 51.0])
    told = [Told(name=name, mix_pct={"Soot": 50.0, "Fjord": 50.0}) for name in "abc"]
    assert [one.name for one in tone_orders(press("Soot", "Fjord"), told)] == ["b", "c", "a"]


def at_night(*mixes, verdict=NO_LIMIT, value_L=30.0, lightest_L=None, involved=(90.0, 40.0, 0.0)):
    """A night of Soot, Fjord and Brass: mixes as (level of L*, pixels)."""
    counts = no_counts(3)
    per_mix = len(counts.levels) // len(counts.mixes)
    for L, pixels in mixes:
        counts.levels[round(L * LIGHTNESS_SCALE)] += pixels
        counts.mixes[round(L * LIGHTNESS_SCALE) // per_mix] += pixels * 100
    outcome = NightOutcome(
        verdict=verdict, value_L=value_L, reached_pct=None, error_L=1.0, clears=False,
        involved_pct=involved,
    )  # fmt: skip
    return NightAtHand(
        name="sea", counts=replace(counts, full=255), outcome=outcome, lightest_L=lightest_L,
        share_pct=95.0,
    )  # fmt: skip


THREE = ("Soot", "Fjord", "Brass")


@pytest.mark.parametrize(
    ("step", "listed", "ask", "way"),
    [
        (0.9, False, False, ""),
        (1.1, True, False, "lighter"),
        (-1.1, True, False, "darker"),
        (1.9, True, False, "lighter"),
        (2.1, True, True, "lighter"),
        (-2.1, True, True, "darker"),
    ],
)
def test_from_which_change_on_a_night_is_told_and_asked_about(other, step, listed, ask, way):
    """What hardly anyone sees is L* 1, what is noticed side by side L* 2 (common practice)."""
    other([30.0], [30.0 + step], [30.0], [30.0], [30.0])
    found = night_orders(press(*THREE), [at_night((30, 100))])
    assert [one.ask for one in found] == [ask] * listed
    for one in found:
        assert one.change.startswith(f"night sea {way}, L* {30 + step:.1f} where")


def test_a_night_reaches_what_its_share_does_not_exceed(other):
    """A tenth of the sea is L* 40, so that is what 95 % of it reach; the dark part counts not."""
    other([20.0, 40.0], [29.0, 40.0], [20.0, 43.0], [20.0, 40.0], [20.0, 40.0])
    (change,) = night_orders(press(*THREE), [at_night((20, 900), (40, 100), value_L=40.0)])
    assert (change.value_L, change.other_L) == (40.0, pytest.approx(43.0))


def test_inks_that_a_night_does_not_hold_are_not_moved_for_it(other):
    moves = moves_of(3)
    steps = [[38.0] if THREE[move.ink] == "Brass" else [31.5] for move in moves]
    other([30.0], *steps)
    (change,) = night_orders(press(*THREE), [at_night((30, 100))])
    assert change.ink != "Brass"
    assert change.other_L == pytest.approx(31.5)


def test_a_move_that_changes_the_verdict_goes_before_a_greater_one(other):
    other([30.0], [24.0], [31.4], [30.0], [30.0])
    night = at_night((30, 100), verdict=PASS, lightest_L=32.0)
    (change,) = night_orders(press(*THREE), [night])
    assert (change.other_L, change.other_verdict) == (pytest.approx(31.4), UNSURE)
    assert change.ask


# --- words ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("lab", "other", "words"),
    [
        ((50, 0, 0), (56, 0, 0), "lighter"),
        ((50, 0, 0), (44, 0, 0), "darker"),
        ((50, 0, 0), (50, 6, 0), "redder"),
        ((50, 0, 0), (50, -6, 0), "greener"),
        ((50, 0, 0), (50, 0, 6), "yellower"),
        ((50, 0, 0), (50, 0, -6), "bluer"),
        ((50, 40, 0), (50, 30, 0), "less red"),
        ((50, -40, 0), (50, -30, 0), "less green"),
        ((70, 0, 60), (70, 0, 50), "less yellow"),
        ((40, 0, -40), (40, 0, -30), "less blue"),
        ((50, 6, 0), (50, -6, 0), "greener"),  # from a red to a green
        ((50, 0, 0), (45, 6, 0), "redder and darker"),
        ((74, 29, 71), (70, 35, 66), "redder and darker"),  # 5 of b* count little at such chroma
        ((50, 12, 0), (50, 3, 0), "greener"),  # nothing red is left that there could be less of
        # Alone, a* makes dE00 4.2 and 3.0 here, and L* makes 6.0 (worked by hand after CIE 142).
        ((47, 0, 0), (53, 3.09, 0), "lighter and redder"),
        ((47, 0, 0), (53, 2.14, 0), "lighter"),
    ],
)
def test_the_way_of_a_difference(lab, other, words):
    assert order_words.direction(lab, other) == words


@pytest.mark.parametrize(
    ("de00", "word"),
    [(0.4, "hardly"), (0.94, "hardly"), (0.96, "slightly"), (1.9, "slightly"), (2.0, "visibly"),
     (3.9, "visibly"), (4.0, "clearly"), (7.9, "clearly"), (8.0, "much"), (40.0, "much")],
)  # fmt: skip
def test_the_degree_of_a_difference(de00, word):
    assert order_words.degree(de00) == word


def test_sentences():
    assert order_words.move_words("Brass", "first", 4, 5) == "Brass printed first instead of last"
    assert order_words.move_words("Soot", "last", 0, 5) == "Soot printed last instead of first"
    assert order_words.move_words("Fjord", "last", 1, 3) == "Fjord printed last instead of second"
    words = order_words.tone_words("lamp glow", (70.0, 30.0, 60.0), (70.0, 37.0, 60.0), 4.0)
    assert words == "lamp glow clearly redder, dE00 4"
    assert order_words.question("Brass", "first", ["Rowan"]) == (
        "Which ink is printed first, Brass or Rowan?"
    )


def test_one_question_for_each_ink_and_end():
    told = condition(ink("Soot"), ink("Fjord"), ink("Chalk", opacity=0.9))
    changes = tone_orders(told, pairs_told(told))
    asked = list(order_questions(changes, (), inks=["Soot", "Fjord", "Chalk"]))
    worth = [one for one in changes if one.ask]
    assert len(worth) >= 2
    assert len(asked) == len({(one.ink, one.to) for one in worth})
    for one in worth:
        assert sum(one.change in question.why for question in asked) == 1
    quiet = [replace(one, ask=False) for one in changes]
    assert list(order_questions(quiet, (), inks=["Soot", "Fjord", "Chalk"])) == []


def test_a_question_names_the_inks_that_change_places_in_the_order_of_the_book():
    book = ["Fog", "Brass", "Rowan", "Fjord", "Soot"]
    changes = [tone_order(ask=True), replace(tone_order(ask=True), name="quay", passes=("Soot",))]
    (question,) = order_questions(changes, [night_order()], inks=book)
    assert question.words == "Which ink is printed first, Rowan, Fjord or Soot?"
    assert question.as_told == "Rowan, then Fjord, then Soot"
    assert question.why.startswith("Rowan printed first instead of third: harbour dusk clearly")
