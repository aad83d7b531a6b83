"""What mixes may hold and which comes first, at the bounds; worked by hand."""

from dataclasses import replace

import numpy as np
import pytest
from press_for_checks import press

from inkmix.jobs.mix import Answer, Terms
from inkmix.mixes.choose import EQUAL_DE00, EQUAL_L, in_order_of_choice
from inkmix.mixes.constraints import constraints_of, ink_sets
from inkmix.mixes.darkest import darkest_ink, darkness_of
from inkmix.mixes.goals import CAST_WORTH_L, Nearness
from inkmix.mixes.helping import Candidate, Help, help_for
from inkmix.mixes.lattice import OnePress, lattice_of
from inkmix.mixes.nearest import _nearest_of
from inkmix.mixes.relax import relaxed
from inkmix.mixes.values import Aims, Found, Mix, mix_of
from inkmix.pages.mixes.words import reach_word, terms_sentence

THREE = ("Soot", "Fjord", "Rowan")


def room(**aims):
    return constraints_of(press(*THREE), Aims(**{"ink_limit_pct": None} | aims))


@pytest.mark.parametrize(
    ("step", "least", "ladder"),
    [
        (25, 0, [0, 25, 50, 75, 100]),
        (25, 12, [0, 25, 50, 75, 100]),
        (25, 25, [0, 25, 50, 75, 100]),  # the smallest dot itself holds
        (25, 25.1, [0, 50, 75, 100]),
        (30, 0, [0, 30, 60, 90, 100]),  # the last step, and the solid, which needs no screen
        (100, 0, [0, 100]),
        (100 / 3, 0, [0, 33.333333, 66.666667, 100]),
    ],
)
def test_the_ladder_of_tone_values(step, least, ladder):
    found = room(step_pct=step, least_pct=least).ladder
    np.testing.assert_allclose(found, ladder, atol=1e-6)


def test_tenths_of_a_percent_are_the_finest_steps():
    found = room(step_pct=0.1, least_pct=3).ladder
    assert len(found) == 972  # 0, and 3.0 to 100.0
    assert found[1] == 3.0
    assert found[-2] == 99.9


def test_as_many_inks_fit_as_smallest_dots_in_the_limit():
    """Three tenths are three of one tenth, though not to the last bit of a number in binary."""
    sets = ink_sets(room(ink_limit_pct=0.3, step_pct=0.1))
    assert sets.sum(axis=1).tolist() == [0, 1, 1, 1, 2, 2, 2, 3]
    assert len(ink_sets(room(ink_limit_pct=14, step_pct=5))) == 7  # two of 5 %, not three


def test_a_mix_may_hold_the_whole_limit():
    fine = room(ink_limit_pct=0.3, step_pct=0.1)
    places = np.array([[1, 1, 1], [1, 2, 0], [2, 2, 0], [0, 0, 3], [0, 0, -1]])
    assert fine.holds(places, places > 0).tolist() == [True, True, False, True, False]


def test_a_limit_of_one_smallest_dot_is_enough():
    sets = ink_sets(room(ink_limit_pct=5, step_pct=5, least_pct=5))
    assert sets.sum(axis=1).tolist() == [0, 1, 1, 1]


# --- which comes first ---------------------------------------------------------------------------


def first(score, inks, total=None, *, equal=EQUAL_DE00, keep=0.5):
    held = np.array([[ink in one for ink in "abcd"] for one in inks])
    total = 100.0 * held.sum(axis=1) if total is None else np.array(total)
    return in_order_of_choice(np.array(score), held, total, equal=equal, keep=keep)[0]


def test_equally_near_and_equally_dark_are_three_tenths():
    """As the README has it: within dE00 0.3, and the same of L*."""
    assert (EQUAL_DE00, EQUAL_L) == (0.3, 0.3)
    assert first([1.0, 1.299], ["ab", "c"]) == 1
    assert first([1.0, 1.301], ["ab", "c"]) == 0


def test_of_equals_the_one_with_least_ink_comes_first():
    assert first([1.0, 1.0, 1.0], ["a", "b", "c"], [70, 40, 90]) == 1
    assert first([1.0, 0.9, 1.0], ["a", "b", "c"], [70, 80, 40]) == 1  # nearness before ink


def mix(de00, **tones):
    return Mix(
        tone_pct=tones, lab=(50, 0, 0), de00=de00, total_pct=sum(tones.values()), error_de00=1.5
    )


@pytest.mark.parametrize(("de00", "in_reach"), [(0.0, True), (0.5, True), (0.501, False)])
def test_in_reach_is_half_a_de00(de00, in_reach):
    """As the README has it."""
    found = Found(lab=(50, 0, 0), nearest=mix(de00, Soot=40), mixes=())
    assert (found.in_reach, found.left_de00, found.nearest.error_de00) == (in_reach, de00, 1.5)


def test_the_exact_mix_is_told_unless_steps_come_clearly_nearer():
    exact = mix(1.2, Soot=40.1)
    assert _nearest_of(exact, [mix(0.95, Soot=40)]) is exact
    nearer = mix(0.85, Fjord=40)
    assert _nearest_of(exact, [nearer]) is nearer
    reaches = mix(0.45, Fjord=40)
    assert _nearest_of(mix(0.6, Soot=40.1), [reaches]) is reaches


def test_steps_downhill_lead_to_the_mix_of_a_colour():
    """Colours that are mixes themselves are met before any step is looked for."""
    condition, every = press(), constraints_of(press(), Aims(ink_limit_pct=300, step_pct=0.1))
    random = np.random.default_rng(3)
    tones = random.uniform(0, 60, (20, 5)) * (random.random((20, 5)) < 0.5)
    labs = condition.lab(tones)
    lattice = lattice_of(condition, every, ink_sets(every))
    model, goal = OnePress(condition=condition), Nearness(targets=labs)
    rows = relaxed(model, every, goal, lattice.starts(labs))
    left = [rows.left[rows.wish == k].min() for k in range(20)]
    assert max(left) < 0.01


# --- what is said --------------------------------------------------------------------------------

TERMS = Terms(
    inks=THREE, paper="cartridge", process="web offset", ink_limit_pct=260, whose="printer",
    step_pct=5, least_pct=3,
)  # fmt: skip


def test_the_terms_say_whose_word_the_limit_is():
    said = terms_sentence(TERMS)
    assert said == (
        "web offset on cartridge; ink limit: the printer allows 260 %; steps of 5 %, no tint "
        "below 3 %."
    )
    assert "the book allows" in terms_sentence(replace(TERMS, whose="user"))
    assert "ask your printer" in terms_sentence(replace(TERMS, whose="process default"))


def test_out_of_reach_is_said_by_what_is_left():
    far = Found(lab=(50, 0, 0), nearest=mix(3.24, Soot=40), mixes=())
    assert reach_word(Answer(text="", name="", where="", found=far)) == "out of reach by dE00 3.2"


# --- the darkest ---------------------------------------------------------------------------------


def test_a_dark_within_two_of_grey_is_neutral():
    """Beyond, each point of a*, b* is worth two of L*; a tint of less than four is none."""
    assert CAST_WORTH_L == 2
    neutral, warm = darkness_of("neutral"), darkness_of(0.0)
    labs = np.array([[20.0, 0, 0], [20, 1.9, 0], [20, 0, 3.0], [20, 6, 0], [20, 6, 4]])
    np.testing.assert_allclose(neutral.of_lab(labs), [20, 20, 22, 28, 20 + 2 * (52**0.5 - 2)])
    np.testing.assert_allclose(warm.of_lab(labs), [24, 20.2, 26, 20, 24])


def test_the_darkest_ink_is_the_one_that_may_be_printed_twice():
    condition = press(*THREE)
    assert darkest_ink(condition, Aims(ink_limit_pct=None)) == "Soot"
    assert darkest_ink(condition, Aims(ink_limit_pct=None, inks=("Rowan", "Fjord"))) == "Fjord"


# --- inks that would help ------------------------------------------------------------------------


def candidate(name):
    """An ink among the others, as if it were a shipped one that is not at hand."""
    condition = press(*THREE, name)
    room = constraints_of(condition, Aims(ink_limit_pct=None, step_pct=0.1))
    sets = ink_sets(room, most_inks=2)
    lattice = lattice_of(condition, room, sets[sets[:, 3]])
    return Candidate(
        name=name, after="Rowan", condition=condition, constraints=room, lattice=lattice
    )


def found(lab):
    """What is found where the three alone print no nearer than bare paper."""
    nearest = mix_of(press(*THREE), np.zeros(3), np.array(lab))
    with_error = mix(nearest.de00, Soot=0)
    return Found(lab=tuple(lab), nearest=with_error, mixes=())


def test_inks_that_bring_a_colour_nearer_are_told_the_best_first():
    """A solid of Brass: reached with Brass, brought nearer with Fog; bare paper needs neither."""
    lab = press(*THREE, "Brass").lab([0, 0, 0, 100])
    helps, none = help_for(
        [found(lab), found(press(*THREE).lab(np.zeros(3)))], [candidate("Fog"), candidate("Brass")]
    )
    assert [one.ink for one in helps] == ["Brass", "Fog"]
    assert isinstance(helps[0], Help)
    assert helps[0].in_reach
    assert helps[0].nearer_by_de00 > helps[1].nearer_by_de00 >= 0.5
    assert none == ()
