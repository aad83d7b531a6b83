"""The one sentence at the head of a report."""

from dataclasses import replace

import pytest
from report_cases import findings, place

from inkmix.checks.finding import FAIL, NO_LIMIT, NOT_CHECKED, PASS, UNSURE
from inkmix.checks.headline import headline
from inkmix.checks.night.facts import NIGHT
from inkmix.checks.tones.facts import NAMED_TONES
from inkmix.checks.total_ink.facts import TOTAL_INK

SEA, HULL, POST, DUSK, SKY = findings()


def verdicts(total_ink=PASS, night=PASS, tones=PASS):
    return {TOTAL_INK: total_ink, NIGHT: night, NAMED_TONES: tones}


@pytest.mark.parametrize(
    ("given", "found", "said"),
    [
        (verdicts(night=FAIL), [SEA], "Do not send yet: night on panel 3 is too light."),
        (verdicts(night=FAIL), [], "Do not send yet: night is too light."),
        (
            verdicts(FAIL, FAIL, FAIL),
            [SEA, HULL, POST, DUSK, SKY],
            "Do not send yet: total ink on panel 6 is over the limit, night on panel 3 is too "
            "light and the tone “harbour dusk” prints too far from its intended colour.",
        ),
        (
            verdicts(tones=FAIL),
            [DUSK, DUSK, replace(DUSK, name="lamplight")],  # one is too near another as well
            "Do not send yet: 2 named tones print too far from their intended colours.",
        ),
        (verdicts(night=UNSURE), [SKY], "Ask before sending: night on panel 2 may be too light."),
        (
            verdicts(tones=UNSURE),
            [replace(DUSK, verdict=UNSURE)],
            "Ask before sending: the tone “harbour dusk” may print too far from its intended "
            "colour.",
        ),
        (verdicts(NO_LIMIT), [], "Ask before sending: no limit was given for total ink."),
        (
            verdicts(),
            [],
            "Nothing was found against sending these plates, as far as inkmix checked.",
        ),
        (
            verdicts(night=NOT_CHECKED, tones=NOT_CHECKED),
            [],
            "Nothing was found against sending these plates, as far as inkmix checked (night and "
            "named tones were not checked).",
        ),
        (
            dict.fromkeys((TOTAL_INK, NIGHT), NOT_CHECKED),
            [],
            "Nothing was checked, so nothing can be said about these plates.",
        ),
    ],
)
def test_headline(given, found, said):
    assert headline(given, found) == said


def test_unsure_findings_are_not_said_to_fail():
    assert "panel 2" not in headline(verdicts(night=FAIL), [SEA, SKY])


@pytest.mark.parametrize(
    ("panels", "said"),
    [
        ((3, 5), "night on panels 3 and 5 is"),
        ((1, 2, 4), "night on panels 1, 2 and 4 is"),
        ((1, 2, 4, 7), "night on 4 panels is"),
        ((10, 9), "night on panels 9 and 10 is"),
    ],
)
def test_panels_are_named_once_and_counted_when_many(panels, said):
    found = [replace(SEA, place=place(k, 1.0, 1.0, 5.0, 5.0)) for k in (*panels, panels[0])]
    assert said in headline(verdicts(night=FAIL), found)
