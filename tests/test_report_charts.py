"""Charts and plan of the report: that what is drawn lies where its value or its place lies.

Places are worked out by hand from the scale of each drawing: of a chart 2 % of its width are left
free at both ends.
"""

import re
from dataclasses import replace

import pytest
from report_cases import (
    failing,
    findings,
    night,
    place,
    sheet,
    spot,
    spread_result,
    strip_result,
)
from report_cases import total_ink as ink_facts

from inkmix.checks.chart import Axis, Histogram, Line
from inkmix.checks.finding import FAIL, UNSURE
from inkmix.checks.night.answer import night_chart
from inkmix.checks.total_ink.answer import total_ink_chart
from inkmix.pages.report import view
from inkmix.pages.report.plan import plan
from inkmix.pages.svg import histogram

AXIS = Axis(start=0.0, stop=100.0, tick=25.0, words="total ink")
BARS = [(10.0, 30.0), (20.0, 60.0)]


def shapes(drawn: object, name: str) -> list[dict[str, str]]:
    """Attributes of all elements of a name."""
    return [
        dict(re.findall(r'([\w-]+)="([^"]*)"', found))
        for found in re.findall(rf"<{name} ([^>]*)>", str(drawn))
    ]


def lettering(drawn: object) -> dict[str, dict[str, str]]:
    """Attributes of each text by what it says."""
    found = re.findall(r"<text ([^>]*)>([^<]*)</text>", str(drawn))
    return {text: dict(re.findall(r'([\w-]+)="([^"]*)"', given)) for given, text in found}


def x_of(value: float, axis: Axis = AXIS) -> str:
    x = 2 + 96 * (value - axis.start) / (axis.stop - axis.start)
    return f"{x:.2f}".rstrip("0").rstrip(".") + "%"


def verticals(drawn: object) -> list[str]:
    """Places of the lines that mark a value: those that begin above the bars."""
    return [line["x1"] for line in shapes(drawn, "line") if float(line["y1"]) < 42]


def drawn_bars(bars: list[tuple[float, float]], **others: object) -> object:
    return histogram(Histogram(bars=tuple(bars), **others))


# --- histograms -----------------------------------------------------------------------------------


def test_bars_stand_over_their_values_and_are_as_high_as_their_shares():
    drawn = drawn_bars(BARS, step=10.0, axis=AXIS, limit=None)
    low, high = shapes(drawn, "rect")
    assert (low["x"], high["x"]) == (x_of(10), x_of(20))
    assert low["width"] == "9.48%"  # a tenth of 96 % but for the gap
    assert float(high["height"]) == pytest.approx(2 * float(low["height"]))
    assert float(high["height"]) > 80
    for bar in (low, high):
        assert float(bar["y"]) + float(bar["height"]) == pytest.approx(152)


def test_bars_beyond_the_limit_are_hatched_and_no_others():
    limit = Line(value=20.0, words="limit 20")
    low, high = shapes(drawn_bars(BARS, step=10.0, axis=AXIS, limit=limit), "rect")
    assert low["fill"].startswith("#")
    assert high["fill"] == "url(#hatch-slant)"
    unlimited = shapes(drawn_bars(BARS, step=10.0, axis=AXIS, limit=None), "rect")
    assert all(bar["fill"].startswith("#") for bar in unlimited)


def test_numbers_of_an_axis_are_round_and_stand_at_their_values():
    axis = Axis(start=23.0, stop=41.0, tick=5.0, words="L*")
    said = lettering(drawn_bars([(30.0, 1.0)], step=1.0, axis=axis, limit=None))
    assert list(said) == ["25", "30", "35", "40", "L*"]
    for value in ("25", "30", "35", "40"):
        assert said[value]["x"] == x_of(float(value), axis)


def test_the_expected_error_is_drawn_on_both_sides_of_the_value():
    reached = Line(value=50.0, words="reached 50", error=4.0)
    drawn = drawn_bars(BARS, step=10.0, axis=AXIS, limit=None, reached=reached)
    (span,) = [line for line in shapes(drawn, "line") if line["y1"] == "42"]
    assert (span["x1"], span["x2"]) == (x_of(46), x_of(54))
    assert x_of(50) in verticals(drawn)


@pytest.mark.parametrize(("limit", "reached"), [(45.0, 55.0), (55.0, 45.0)])
def test_the_words_of_limit_and_value_stand_away_from_one_another(limit, reached):
    drawn = drawn_bars(
        BARS, step=10.0, axis=AXIS,
        limit=Line(value=limit, words="limit"), reached=Line(value=reached, words="reached"),
    )  # fmt: skip
    said = lettering(drawn)
    left, right = ("limit", "reached") if limit < reached else ("reached", "limit")
    assert (said[left]["text-anchor"], said[right]["text-anchor"]) == ("end", "start")
    assert said["limit"]["x"] == x_of(limit)


def test_the_ink_limit_lies_in_its_chart_though_no_ink_comes_near():
    drawn = histogram(total_ink_chart(ink_facts("pass", limit=300.0, highest=60.0)))
    assert "limit 300 %" in lettering(drawn)
    axis = replace(AXIS, stop=320.0)
    assert x_of(300, axis) in verticals(drawn)
    assert shapes(drawn, "rect")[1]["x"] == x_of(10, axis)


def test_the_chart_of_a_night_shows_its_limit_value_and_error():
    facts = night("sea", FAIL, limit=30.0, value=36.4)  # its error is 1.4
    facts = replace(facts, histogram=((27.0, 40.0), (28.0, 60.0)))
    drawn = histogram(night_chart(facts))
    said = lettering(drawn)
    assert "limit 30" in said
    assert "reached 36.4" in said
    axis = Axis(start=22.0, stop=41.4, tick=5.0, words="")  # five beyond both ends
    assert said["limit 30"]["x"] == x_of(30, axis)
    (span,) = [line for line in shapes(drawn, "line") if line["y1"] == "42"]
    assert (span["x1"], span["x2"]) == (x_of(35.0, axis), x_of(37.8, axis))
    bars = shapes(drawn, "rect")
    assert [bar["x"] for bar in bars] == [x_of(27, axis), x_of(28, axis)]
    assert float(bars[0]["width"][:-1]) == pytest.approx(96 / 19.4 - 0.12, abs=0.02)


# --- plan -----------------------------------------------------------------------------------------


def numbers(drawn: object) -> list[tuple[str, float, float]]:
    """Each number with where it stands: in % of its row, in px of its margin."""
    found = re.findall(
        r'<svg x="([\d.]+)%" y="([\d.]+)" class="number">.*?>(\d+)</text>', str(drawn)
    )
    return [(number, float(x), float(y)) for x, y, number in found]


def test_numbers_on_the_plan_are_those_of_the_list():
    """Also where a finding has several places, and where two findings lie side by side."""
    sea, hull, post, *_ = findings()  # hull and post lie on panel 6
    far = spot(place(8, 70.0, 110.0, 22.0, 14.0), value=34.0)
    sea = replace(sea, spots=(*sea.spots, far))  # on panels 3, 5 and 8
    drawn = plan(strip_result().sheet, view.marks(view.numbered([hull, sea, post])))
    rows = str(drawn).split('class="plan-part"')[1:]
    said = [sorted(number for number, *_ in numbers(row)) for row in rows]
    assert said == [["2"], ["1", "2", "2", "3"]]


def test_a_number_alone_stands_straight_over_or_under_its_place():
    facts = sheet((), (294.0, 194.0))  # 300 x 200 mm with bleed
    for top_mm, y_px in ((37.0, 34 - 22), (97.0, 22)):  # a margin of one line is 34 px high
        one = replace(findings()[0], spots=(), place=place(None, 117.0, top_mm, 60.0, 50.0))
        ((_, x, y),) = numbers(plan(facts, view.marks(view.numbered([one]))))
        assert (x, y) == (50.0, y_px)


def test_a_speck_is_enlarged_about_its_middle():
    facts = sheet((), (294.0, 194.0))
    one = replace(findings()[2], place=place(None, 146.9, 97.0, 0.2, 0.2))
    (under, _) = shapes(plan(facts, view.marks(view.numbered([one]))), "path")
    across = [float(x) for x in re.findall(r"[ML]([\d.]+) ", under["d"])]
    assert (min(across) + max(across)) / 2 == pytest.approx(500, abs=0.2)


def test_outlines_tell_checks_apart_and_what_fails_from_what_may():
    facts = spread_result().sheet
    sea, hull, *_ = findings()
    for finding, hatch in ((hull, "hatch-slant"), (sea, "hatch-level")):
        for verdict, dashes in ((FAIL, None), (UNSURE, "7 4")):
            one = replace(finding, verdict=verdict, spots=(), place=place(None, 50, 50, 40, 40))
            under, over = shapes(plan(facts, view.marks(view.numbered([one]))), "path")
            assert under["fill"] == f"url(#{hatch})"
            assert over.get("stroke-dasharray") == dashes


def test_each_row_of_a_strip_shows_its_own_part_of_the_picture():
    first, second = shapes(plan(strip_result().sheet, ()), "use")
    assert (first["x"], first["width"]) == ("0%", "200%")
    assert (second["x"], second["width"]) == ("-100%", "200%")


# --- what to do -----------------------------------------------------------------------------------


def test_a_remedy_that_solves_goes_before_one_that_was_tried_earlier():
    sea = findings()[0]
    solves, helps = sea.remedies
    assert view.best_remedy(replace(sea, remedies=(helps, solves))) is solves
    assert view.best_remedy(replace(sea, remedies=(helps,))) is helps
    assert view.best_remedy(replace(sea, remedies=())) is None


def test_the_head_counts_the_tones_of_the_worst_verdict():
    assert view.check_lines(failing())[-1].words == "1 of 3 tones"
    good = view.check_lines(spread_result())[-1]
    assert good.words == "3 of 3 tones"
