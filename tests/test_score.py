"""The score of the model on published charts, and that it cannot peek."""

from dataclasses import replace

import numpy as np
import pytest
from published_sets import SETS, chart, table

from inkmix.colorimetry import xyz100_to_lab
from inkmix.errors import MeasurementError, ModelError, UsageError
from inkmix.press.score import KNOWN, compare, read_chart, score_table, tell

# Greatest mean, 95th percentile and dark mean |dL*| that are allowed.
LIMITS = {"solids": (1.9, 3.4, 0.9), "ramps": (1.3, 3.0, 0.8), "overprints": (0.95, 1.9, 0.6)}
COUNTED = {
    ("fogra39l", "solids"): 1505, ("fogra39l", "overprints"): 1494,
    ("fogra29l", "solids"): 1374, ("fogra29l", "overprints"): 1363,
    ("tr002", "solids"): 851, ("tr002", "overprints"): 836,
}  # fmt: skip


def score(name, known):
    return score_table(table(name), known=known, paper_class=SETS[name])


@pytest.mark.parametrize("known", KNOWN)
@pytest.mark.parametrize("name", SETS)
def test_score_of_the_published_sets(name, known):
    result = score(name, known)
    mean, p95, dark = LIMITS[known]
    assert result["de00"]["mean"] <= mean
    assert result["de00"]["p95"] <= p95
    assert result["dark"]["mean_abs_dL"] <= dark


@pytest.mark.parametrize("name", SETS)
def test_more_told_is_better(name):
    solids, ramps, overprints = (score(name, known)["de00"]["mean"] for known in KNOWN)
    assert overprints < ramps < solids


@pytest.mark.parametrize(("name", "known"), COUNTED)
def test_told_patches_are_not_counted(name, known):
    result = score(name, known)
    assert result["patches"] == COUNTED[name, known]
    assert result["dark"]["patches"] == int(np.ceil(COUNTED[name, known] / 5))


@pytest.mark.parametrize("known", KNOWN)
@pytest.mark.parametrize("name", SETS)
def test_predictions_do_not_depend_on_what_was_not_told(name, known):
    """Every untold measurement replaced by random numbers: the predictions stay the same bits."""
    honest, told = tell(chart(name), known=known, paper_class=SETS[name])
    random = np.random.default_rng(11).uniform(0, 90, chart(name).xyz100.shape)
    xyz100 = np.where(told[:, None], chart(name).xyz100, random)
    lab = np.where(told[:, None], chart(name).lab, xyz100_to_lab(random))
    scrambled = read_chart(replace(table(name), xyz100=xyz100, lab=lab), "KCMY")
    blind, told_again = tell(scrambled, known=known, paper_class=SETS[name])
    assert (told == told_again).all()
    tones = chart(name).tone_pct
    assert honest.xyz100(tones).tobytes() == blind.xyz100(tones).tobytes()
    assert honest.expected_error(tones).de00.tobytes() == blind.expected_error(tones).de00.tobytes()


def test_only_what_is_told_is_known():
    counts = {known: tell(chart("fogra39l"), known=known, paper_class="coated")[1].sum()
              for known in KNOWN}  # fmt: skip
    tones = chart("fogra39l").tone_pct
    single = (tones > 0).sum(axis=1) < 2
    solid = ((tones == 0) | (tones == 100)).all(axis=1)
    assert counts["solids"] == (single & solid).sum()
    assert counts["ramps"] == single.sum()
    assert counts["overprints"] == (single | solid).sum()
    levels = [
        tell(chart("fogra39l"), known=known, paper_class="coated")[0].level for known in KNOWN
    ]
    assert levels == ["solids", "ramps", "overprints"]


def test_screen_multiply_is_far_too_dark():
    for name in SETS:
        on_screen = score(name, "ramps")["screen_multiply"]
        assert 6 < on_screen["de00"]["mean"] < 9
        assert 8 < on_screen["dark"]["mean_abs_dL"] < 14


def test_order_matters():
    """Constants unchanged, another lay-down order makes the dark worse: trapping is in the data."""
    for name, paper_class in SETS.items():
        right = score(name, "ramps")["dark"]["mean_abs_dL"]
        for order in ("CMYK", "Y,M,C,K"):
            other = score_table(table(name), known="ramps", paper_class=paper_class, order=order)
            assert other["dark"]["mean_abs_dL"] > 1.2 * right


def test_figures_of_a_comparison():
    measured = np.array([[L, 0.0, 0.0] for L in range(10, 60, 5)])
    result = compare(measured + np.array([2.0, 0, 0]), measured)
    assert result["dark"] == {
        "lightest_L": 15.0, "patches": 2, "mean_abs_dL": 2.0, "p95_abs_dL": 2.0,
    }  # fmt: skip
    assert result["de00"]["max"] >= result["de00"]["p95"] >= result["de00"]["median"]


def test_json_shape():
    result = score("tr002", "ramps")
    assert list(result) == [
        "data_set", "known", "paper", "patches", "de00", "dark", "screen_multiply",
    ]  # fmt: skip
    assert (result["data_set"], result["known"], result["paper"]) == ("TR002", "ramps", "newsprint")
    assert set(result["screen_multiply"]) == {"de00", "dark"}


def rows_of(name, keep):
    whole = table(name)
    return replace(whole, sample_names=tuple(np.array(whole.sample_names)[keep]),
                   tone_pct=whole.tone_pct[keep], xyz100=whole.xyz100[keep],
                   lab=whole.lab[keep])  # fmt: skip


def test_a_chart_that_lacks_what_must_be_told():
    tones = table("tr002").tone_pct
    no_paper_no_black = rows_of("tr002", (tones[:, :3] > 0).any(axis=1))
    with pytest.raises(MeasurementError) as caught:
        score_table(no_paper_no_black, known="solids", paper_class="newsprint")
    words = str(caught.value)
    assert "no patch of bare paper" in words
    assert "no 100 % patch of K alone" in words
    single = rows_of("tr002", (tones > 0).sum(axis=1) < 2)
    with pytest.raises(MeasurementError, match="left to predict"):
        score_table(single, known="ramps", paper_class="newsprint")


def test_wrong_words():
    with pytest.raises(UsageError, match="C, M, Y, K"):
        score_table(table("tr002"), known="ramps", paper_class="newsprint", order="KCM")
    with pytest.raises(UsageError, match="solids, ramps, overprints"):
        score_table(table("tr002"), known="all", paper_class="newsprint")
    with pytest.raises(ModelError, match="uncoated"):
        score_table(table("tr002"), known="ramps", paper_class="glossy")
    with pytest.raises(MeasurementError, match="no colours"):
        score_table(replace(table("tr002"), xyz100=None, lab=None), known="ramps",
                    paper_class="newsprint")  # fmt: skip
