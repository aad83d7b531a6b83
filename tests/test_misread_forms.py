"""Readings that are none of the printed form are refused, and nothing is called surer by them.

Printed by a press of another kind than the model's (`simulated_press.py`); the faults are planted.
"""

from dataclasses import replace

import numpy as np
import pytest
from printed_form import INKS, form_tones, readings_file, table_of, write_book
from simulated_press import night_ferry, random_press

from inkmix.base.errors import MeasurementError
from inkmix.colour.measured.written_cgats import cgats_text
from inkmix.jobs.books import read_book
from inkmix.jobs.calibrating.calibrate import calibrate_book
from inkmix.pages.calibration.next_steps import naming, to_do
from inkmix.pages.calibration.text import calibration_lines
from inkmix.pages.calibration.write import write_calibration
from inkmix.press.calibration.misread import refuse_unfit
from inkmix.press.calibration.press_file import parse_press_file, press_file_text
from inkmix.press.patches import SINGLE_SHEET, UNEVEN_SHEETS


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("misread")


@pytest.fixture(scope="module")
def book(folder):
    return write_book(folder)


@pytest.fixture(scope="module")
def tones(folder):
    return form_tones(folder)


@pytest.fixture(scope="module")
def once(tones):
    """Each patch but once."""
    return tones[: len(tones) - len(tones[::6]) + 1]


def refused(book, path, said):
    with pytest.raises(MeasurementError, match=said):
        calibrate_book(book, path)


def in_screen_colours(text):
    """The inks by colours that hold on any paper."""
    for k, name in enumerate(INKS):
        text = text.replace(f'swatch = "night-ferry/{name}"', f'srgb = "#33335{k}"')
    return text


# --- another light, another paper ----------------------------------------------------------------


@pytest.mark.parametrize("scale", [0.3, 0.5, 0.8, 1.3])
def test_readings_at_another_scale_are_refused(book, folder, tones, scale):
    """Half of all light, paper and all, looked like a press that prints a darker night."""
    path = readings_file(folder / "scaled.txt", tones, change=lambda spectra: spectra * scale)
    refused(book, path, r"bare paper of L\* .*set on its white tile.*class and lab under \[paper\]")


def test_a_paper_that_is_somewhat_off_is_remarked_on(book, folder, tones):
    path = readings_file(folder / "off.txt", tones, change=lambda spectra: spectra * 0.9)
    found = calibrate_book(book, path)
    assert any("bare paper was read as L*" in note for note in found.notes)
    same = readings_file(folder / "same.txt", tones, press=night_ferry())
    assert calibrate_book(book, same).notes == ()


def test_a_book_can_tell_that_its_paper_is_so(tmp_path, tones):
    """A grey paper is no fault where the book says that it is grey."""
    grey = night_ferry()
    grey = replace(grey, stock=replace(grey.stock, reflectance=grey.stock.reflectance * 0.7))
    path = readings_file(tmp_path / "grey.txt", tones, press=grey)
    book = write_book(tmp_path)
    refused(book, path, "bare paper")
    white = 'swatch = "night-ferry/uncoated"'
    text = book.path.read_text().replace(white, 'class = "uncoated"\nlab = [80, 0, 3]')
    book.path.write_text(in_screen_colours(text))
    assert calibrate_book(read_book(tmp_path), path).condition.paper.xyz100[1] < 60


def test_a_guessed_paper_is_held_against_its_class_only(tmp_path, tones):
    book = write_book(tmp_path)
    text = book.path.read_text()
    white = 'swatch = "night-ferry/uncoated"'
    text = text.replace(white, 'class = "uncoated"\nsrgb = "#ffffff"\nguessed = "#ffffff"')
    book.path.write_text(in_screen_colours(text))
    guessed = read_book(tmp_path)
    assert guessed.paper.is_guess
    path = readings_file(tmp_path / "a.txt", tones, change=lambda spectra: spectra * 0.5)
    refused(guessed, path, r"uncoated papers have some L\* 86 to 98")


# --- rows that slipped ---------------------------------------------------------------------------


@pytest.mark.parametrize("seed", [71, 72])
@pytest.mark.parametrize("at", [8, 40, 90, 110])
def test_a_reading_that_is_missing_is_found_where_it_is_missing(book, folder, once, at, seed):
    def missing(spectra):
        return np.vstack([spectra[:at], spectra[at + 1 :], spectra[:1]])

    path = readings_file(folder / "missing.txt", once, seed=seed, change=missing)
    with pytest.raises(
        MeasurementError, match="one row further down: there is a reading miss"
    ) as e:
        calibrate_book(book, path)
    said = str(e.value)
    named = int(said.split("from P")[1].split(" ")[0])
    assert abs(named - (at + 1)) <= 10  # on a ramp neighbours are alike


@pytest.mark.parametrize("seed", [73, 74])
def test_a_patch_that_was_read_twice_in_a_row_is_found(book, folder, once, seed):
    def again(spectra):
        return np.vstack([spectra[:60], spectra[58:60], spectra[60:-2]])

    path = readings_file(folder / "again.txt", once, seed=seed, change=again)
    refused(book, path, "from P.* on they fit 2 rows further up: there are 2 readings too many")


@pytest.mark.parametrize("paper", ["coated", "newsprint"])
def test_sound_forms_of_other_papers_are_taken(tmp_path, tones, paper):
    book = write_book(tmp_path)
    text = book.path.read_text().replace("night-ferry/uncoated", f"night-ferry/{paper}")
    book.path.write_text(text)
    path = readings_file(tmp_path / "a.txt", tones, press=random_press(75, paper=paper))
    found = calibrate_book(read_book(tmp_path), path)
    assert found.suspects == ()


# --- readings that contradict each other ---------------------------------------------------------


def twice(once, factor):
    def change(spectra):
        first = spectra[: len(once)]
        return np.vstack([first, np.minimum(first * factor, 1)])

    return np.vstack([once, once]), change


def test_two_readings_of_everything_that_contradict_are_refused(book, folder, once):
    rows, change = twice(once, 1.5)
    path = readings_file(folder / "twice.txt", rows, change=change)
    refused(book, path, "readings of one and the same mix lie dE00 .*two presses or papers")


def test_sheets_that_are_not_alike_make_mixes_less_sure(book, folder, once):
    even, uneven = (twice(once, factor) for factor in (1.0, 1.2))
    found = [
        calibrate_book(book, readings_file(folder / "sheets.txt", rows, change=change))
        for rows, change in (even, uneven)
    ]
    assert [one.press.mixes.noise for one in found] == [SINGLE_SHEET, UNEVEN_SHEETS]
    bounds = [one.condition.expected_error(one.after.tone_pct).de00.mean() for one in found]
    assert bounds[1] > 1.2 * bounds[0]
    text = press_file_text(found[1].press)
    again = parse_press_file(text.encode(), where="a.toml")
    assert again.mixes.noise == UNEVEN_SHEETS
    for sign, said in (("-", "is out of range"), ("999", "0 to 100")):
        wrong = text.replace("scatter_de00 = ", f"scatter_de00 = {sign}")
        with pytest.raises(MeasurementError, match=f"scatter_de00.*{said}"):
            parse_press_file(wrong.encode(), where="a.toml")


def test_columns_of_three_inks_in_a_ring_are_named(book, folder, tones):
    names = (*INKS[1:3], INKS[0], *INKS[3:])
    spectra = random_press(1).measured(tones, seed=1)
    path = folder / "ring.txt"
    path.write_text(cgats_text(table_of(tones, spectra, names=names)), encoding="utf-8")
    refused(book, path, "(?s)Soot was read with the colour of.*Rowan was read with")


def test_readings_without_any_colour_are_refused(book, folder, tones):
    grey = readings_file(
        folder / "grey.txt", tones, change=lambda spectra: np.repeat(spectra[:, 16:17], 36, axis=1)
    )
    refused(book, grey, "no solid has any colour")


def test_two_readings_of_a_solid_that_part_are_refused_by_name(book, folder, tones):
    """Which of the two is wrong only the sheet tells; a sound tint beside it took the blame."""
    solid = np.flatnonzero((tones == [0, 0, 0, 100, 0]).all(axis=1))[0]
    rows = np.vstack([tones, tones[solid]])

    def slip(spectra):
        spectra[solid] *= 0.5
        return spectra

    once_more = [k for k in range(len(rows)) if (rows[k] == rows[solid]).all()]
    rows = np.delete(rows, once_more[1:-1], axis=0)
    path = readings_file(folder / "solid.txt", rows, change=slip)
    refused(book, path, f"Brass, solid: patches P{solid + 1} and P{len(rows)} were read dE00")


def test_copies_of_readings_make_nothing_surer(book, folder, tones):
    path = readings_file(folder / "copied.txt", tones)
    alone, thrice = calibrate_book(book, path), calibrate_book(book, [path, path, path])
    assert [one.de00 for one in thrice.mixes] == [one.de00 for one in alone.mixes]
    assert thrice.scatter == alone.scatter
    said = f"{2 * len(tones)} readings stood there before, to the last digit, and count once"
    assert said in thrice.notes


def test_readings_that_contradict_a_measured_book_are_to_be_looked_into_first(book, folder, tones):
    """All ink reads darker, as wet ink does: it fits itself, and a night passed by it."""
    path = readings_file(folder / "wet.txt", tones, change=lambda spectra: spectra**1.25)
    found = calibrate_book(book, path)
    first = next(to_do(found, naming(found, folder / "press" / "wet.toml")))
    assert "of dry ink" in first.do
    sound = calibrate_book(book, readings_file(folder / "sound.txt", tones, press=night_ferry()))
    steps = to_do(sound, naming(sound, folder / "press" / "sound.toml"))
    assert not any("dry ink" in one.do for one in steps)


def test_a_form_of_another_list_is_refused(book, folder, once):
    """Half of the rows in any order: no shift mends it, and nothing foretells anything."""
    rng = np.random.default_rng(5)

    def mixed(spectra):
        some = np.flatnonzero((once > 0).sum(axis=1) >= 2)
        spectra[some] = spectra[rng.permutation(some)]
        return spectra

    path = readings_file(folder / "mixed.txt", once, change=mixed)
    refused(book, path, "readings do not fit the others|mixes foretold from each other are|light")


def test_where_a_third_does_not_fit_the_rest_is_not_taken_for_the_press(book, folder, tones):
    found = calibrate_book(book, readings_file(folder / "third.txt", tones))
    some = len(tones) // 3
    refuse_unfit(found.readings, 3, found.after)
    with pytest.raises(MeasurementError, match=f"{some} of {len(tones)} readings do not fit"):
        refuse_unfit(found.readings, some, found.after)


# --- what a book names already -------------------------------------------------------------------


def with_press(tmp_path, seed):
    book = write_book(tmp_path)
    rows = form_tones(tmp_path)
    first = calibrate_book(book, readings_file(tmp_path / "first.txt", rows, seed=seed))
    written = write_calibration(first, tmp_path / "press")[0]
    line = f'[press]\ncondition = "press/{written.name}"\n'
    book.path.write_text(book.path.read_text().replace("[press]\n", line))
    return read_book(tmp_path), written, rows


def test_a_press_file_that_no_longer_fits_is_no_dead_end(tmp_path):
    """After a change of order, or damage to the file: nothing is compared, and that is said."""
    book, written, rows = with_press(tmp_path, 76)
    path = readings_file(tmp_path / "second.txt", rows, seed=176)
    turned = replace(book, inks=(book.inks[1], book.inks[0], *book.inks[2:]))
    found = calibrate_book(turned, path)
    assert found.drift is None
    assert any("nothing is compared with press/first.toml" in note for note in found.notes)
    assert any("printed in the order Soot, Fjord" in note for note in found.notes)
    assert found.press.names[:2] == ("Fjord", "Soot")
    written.write_text("junk = [")
    assert calibrate_book(book, path).drift is None


def test_a_file_that_would_make_mixes_less_sure_is_not_to_be_named(tmp_path):
    """Of the same press the ramps alone were read again."""
    book, _, rows = with_press(tmp_path, 77)
    ramps = rows[(rows > 0).sum(axis=1) < 2]
    path = readings_file(tmp_path / "ramps.txt", ramps, press=random_press(77), seed=77)
    found = calibrate_book(book, path)
    now = sum(one.de00 for one in found.mixes)
    assert now > sum(one.was_de00 for one in found.mixes)
    steps = [one.do for one in to_do(found, naming(found, tmp_path / "press" / "ramps.toml"))]
    assert any("those of first.txt together" in do for do in steps)
    assert not any("name press" in do for do in steps)


def test_noise_between_sheets_is_not_called_drift(tmp_path):
    book, _, rows = with_press(tmp_path, 78)
    path = readings_file(tmp_path / "b.txt", rows, press=random_press(78), seed=178)
    found = calibrate_book(book, path)
    lines = " ".join(calibration_lines(found, [tmp_path / "press" / "b.toml"]))
    assert "one run may differ" in lines
    assert "look at it again" not in lines


def test_ten_more_mixes_are_asked_for_only_where_they_teach(book, folder, tones):
    found = calibrate_book(book, readings_file(folder / "more.txt", tones, seed=79))
    named = naming(found, folder / "press" / "more.toml")
    gains = replace(
        found.to_print, all_de00=2.0, all_then_de00=1.95, asked_de00=1, asked_then_de00=1
    )
    idle = replace(found, to_print=gains)
    assert not any("more mix" in one.do for one in to_do(idle, named))
    assert "would hardly make the others surer" in " ".join(
        calibration_lines(idle, [folder / "a.toml"])
    )
    telling = replace(found, to_print=replace(gains, all_then_de00=1.5))
    assert any("more mix" in one.do for one in to_do(telling, named))
    assert len(INKS) == len(found.press.names)
