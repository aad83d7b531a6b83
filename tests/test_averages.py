"""The readings of a form, each mix once, as files for others: they tell of the same press."""

import numpy as np
import pytest
from printed_form import form_tones, readings_file, write_book

from inkmix.base.errors import OutputError, UsageError
from inkmix.cli.main import run
from inkmix.jobs.calibrating.averages import write_averages
from inkmix.jobs.calibrating.calibrate import calibrate_book

CONDITIONS = {"MEASUREMENT_MODE": "M1", "SAMPLE_BACKING": "black", "INK_STATE": "dry"}


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("averages")


@pytest.fixture(scope="module")
def book(folder):
    return write_book(folder)


@pytest.fixture(scope="module")
def found(folder, book):
    path = readings_file(folder / "sheet.txt", form_tones(folder), keywords=CONDITIONS)
    return calibrate_book(book, path)


@pytest.mark.parametrize("ending", [".txt", ".cxf", ".csv"])
def test_the_same_press_is_learnt_from_the_averages(book, folder, found, ending):
    path = write_averages(found, folder / f"mean{ending}")
    again = calibrate_book(book, path)
    assert len(again.readings) == len(np.unique(found.readings.chart.tone_pct, axis=0))
    for one, other in zip(found.press.inks, again.press.inks, strict=True):
        np.testing.assert_allclose(one.xyz, other.xyz, atol=1e-9)
        np.testing.assert_allclose(one.reflectance, other.reflectance, atol=1e-12)
    mixes, others = (np.array(press.mixes.rows)[:, :-1] for press in (found.press, again.press))
    np.testing.assert_allclose(mixes, others, atol=1e-9)
    conditions = again.readings.conditions
    assert (conditions.mode, conditions.backing, conditions.ink) == ("M1", "black", "dry")
    named = dict(zip(found.readings.patches, found.readings.chart.tone_pct.tolist(), strict=True))
    for name, tones in zip(again.readings.patches, again.readings.chart.tone_pct, strict=True):
        assert named[name] == tones.tolist()


def test_of_sheets_read_in_two_ways_neither_is_told(book, folder):
    rows = form_tones(folder)
    paths = [
        readings_file(folder / f"{mode}.txt", rows, seed=seed, keywords={"MEASUREMENT_MODE": mode})
        for seed, mode in ((1, "M0"), (1, "M1"))
    ]
    told = calibrate_book(book, paths).readings.conditions
    assert told.mode == ""


def test_nothing_is_written_over(found, folder):
    path = folder / "theirs.csv"
    path.write_text("mine")
    with pytest.raises(OutputError, match="theirs"):
        write_averages(found, path)
    assert path.read_text() == "mine"


def test_a_name_without_a_format_is_refused_before_anything_is_done(found, folder, capsys):
    with pytest.raises(UsageError, match=r"mean.xls.*\.txt, \.cxf or \.csv"):
        write_averages(found, folder / "mean.xls")
    words = ["calibrate", str(folder), str(folder / "sheet.txt"), "--averages", "mean.xls"]
    assert run(words) == 2
    assert "mean.xls" in capsys.readouterr().err
    assert not (folder / "press").exists()
