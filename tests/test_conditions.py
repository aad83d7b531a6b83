"""How patches were read: what files say of it, and what is said where they do not."""

from pathlib import Path

import numpy as np
import pytest

from inkmix.colour.measured.cgats import parse_cgats
from inkmix.colour.measured.conditions import (
    ReadingConditions,
    conditions_of,
    left_open,
    with_conditions,
)
from inkmix.colour.measured.table import MeasurementTable, unknown_conditions
from inkmix.colour.measured.written_cgats import cgats_text

REFERENCE = Path(__file__).parent / "reference"


def told(**keywords: str) -> tuple[str, str, str, str, str]:
    found = conditions_of(keywords)
    assert found.contradictions == ()
    return found.mode, found.backing, found.illuminant, found.observer, found.ink


# Wording of published headers (characterization data of 2006 to 2015) and of keywords that programs
# of instruments write, from memory.
def test_the_sentence_of_published_sets() -> None:
    sentence = "D50, 2 degree, geometry 45/0, no polarisation filter, white backing, ISO 13655:2009"
    assert told(INSTRUMENTATION=f"{sentence} M1") == ("M1", "white", "D50", "2", "")
    assert told(INSTRUMENTATION=sentence) == ("", "white", "D50", "2", "")


def test_the_keywords_of_instruments() -> None:
    source = "Illumination=D50\tObserverAngle=2degree\tWhiteBase=Abs\tFilter=UVcut"
    assert told(MEASUREMENT_SOURCE=source) == ("M2", "", "D50", "2", "")
    source = "MeasurementCondition=M0\tFilter=no"
    weights = "ILLUMINANT, D50; OBSERVER, 2 degree"
    assert told(MEASUREMENT_SOURCE=source, WEIGHTING_FUNCTION=weights) == ("M0", "", "D50", "2", "")
    assert told(FILTER="M3", ILLUMINATION_NAME="D50", OBSERVER_ANGLE="10")[0::3] == ("M3", "10")
    assert told(SAMPLE_BACKING="Substrate", INK_STATE="wet") == ("", "own stock", "", "", "wet")


@pytest.mark.parametrize(
    "words",
    [
        "Status T",
        "white paper",
        "black ink",
        "dry offset",
        "wet on wet",
        "no UV filter",
        "AM screen",
    ],
)
def test_nothing_is_guessed(words: str) -> None:
    assert conditions_of({"PRINT_CONDITIONS": words, "FILTER": words}) == ReadingConditions()


@pytest.mark.parametrize("state", ["not dry", "semi-dry", "wet and dry", "dry?!  wet", "touch dry"])
def test_ink_of_which_more_is_said_than_one_word_is_unknown(state: str) -> None:
    """What is not understood is said, so that nobody takes a wet reading for a dry one."""
    found = conditions_of({"INK_STATE": state})
    assert (found.ink, found.contradictions) == ("", ())
    *_, said = unknown_conditions(_table(keywords={"INK_STATE": state}))
    assert said.startswith(f'The file says INK_STATE "{state}", which does not tell whether the')


@pytest.mark.parametrize(("state", "ink"), [("Dry", "dry"), ("dry.", "dry"), (" WET ", "wet")])
def test_one_word_on_ink_is_understood(state: str, ink: str) -> None:
    found = conditions_of({"INK_STATE": state})
    assert (found.ink, dict(found.not_understood)) == (ink, {})


def test_a_light_or_mode_that_nobody_knows_is_said() -> None:
    found = conditions_of({"MEASUREMENT_MODE": "M7", "ILLUMINANT": "candle", "OBSERVER": " "})
    assert dict(found.not_understood) == {
        "mode": 'MEASUREMENT_MODE "M7"',
        "illuminant": 'ILLUMINANT "candle"',
    }


def test_what_is_left_open_has_a_line_that_tells_it() -> None:
    """Each line, put into a header with one of its answers, closes the question."""
    lab = np.array([[95.0, 0.0, -2.0]])
    asked = left_open(unknown_conditions(_table(lab=lab)))
    assert len(asked) == 5
    answers = (one.line.split('"')[:2] for one in asked)
    keywords = {keyword.strip(): answer for keyword, answer in answers}
    assert left_open(unknown_conditions(_table(lab=lab, keywords=keywords))) == ()
    (twice,) = left_open(conditions_of({"INSTRUMENTATION": "M0, M1"}).contradictions)
    assert twice.called == "the readings are M0, M1, M2 or M3"
    assert twice.line == 'MEASUREMENT_MODE "M0", "M1", "M2" or "M3"'


def test_two_answers_are_none() -> None:
    found = conditions_of({"FILTER": "M0", "INSTRUMENTATION": "according to ISO 13655 M1"})
    assert found.mode == ""
    assert found.contradictions == (
        "The file says in several ways whether the readings are M0, M1, M2 or M3: M0, M1.",
    )


def test_what_somebody_tells_goes_before_what_a_program_wrote() -> None:
    assert conditions_of(with_conditions({"FILTER": "M0"}, mode="M1", ink="")).mode == "M1"


def _table(**changed: object) -> MeasurementTable:
    told: dict[str, object] = {"sample_names": ("1",), "plates": ("K",)}
    return MeasurementTable(**{**told, "tone_pct": np.zeros((1, 1)), **changed})  # type: ignore[arg-type]


def test_what_is_unknown_in_words() -> None:
    lab = np.array([[95.0, 0.0, -2.0]])
    said = unknown_conditions(_table(lab=lab))
    assert len(said) == 5
    assert said[0] == (
        "The file does not say whether the readings are M0, M1, M2 or M3; papers with brightener "
        "read bluer in M1 than in M0, and M2 leaves the brightener out."
    )
    assert len(unknown_conditions(_table(reflectance=np.full((1, 36), 0.8)))) == 3
    assert len(unknown_conditions(_table(density=np.zeros((1, 1)), density_channels=("red",)))) == 3
    mixed = unknown_conditions(_table(lab=lab, keywords={"FILTER": "M0 or M1"}))
    assert [sentence.startswith("The file says in several ways") for sentence in mixed[:2]] == [
        True,
        False,
    ]
    all_told = with_conditions(
        {}, mode="M1", backing="white", illuminant="D50", observer="2", ink="dry"
    )
    assert unknown_conditions(_table(lab=lab, keywords=all_told)) == ()


def test_conditions_are_written_and_read() -> None:
    words = with_conditions({}, mode="M2", backing="own stock", ink="wet")
    table = _table(lab=np.array([[95.0, 0.0, -2.0]]), keywords=words)
    again = parse_cgats(cgats_text(table).encode(), where="again")
    assert (
        again.conditions
        == table.conditions
        == ReadingConditions(mode="M2", backing="own stock", ink="wet")
    )


def test_a_published_set_leaves_open_what_it_does_not_say() -> None:
    """By its header: D50, 2 degrees, 0:45, and no word of mode, backing or drying."""
    table = parse_cgats((REFERENCE / "fogra39l.txt").read_bytes(), where="fogra39l.txt")
    assert table.conditions == ReadingConditions(illuminant="D50", observer="2")
    assert len(unknown_conditions(table)) == 3
