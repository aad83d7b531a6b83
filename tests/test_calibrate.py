"""A press learnt from a printed form: judged on a press of another kind, whose truth is known."""

import re
import tomllib
from dataclasses import replace
from functools import cache
from itertools import combinations

import colour
import numpy as np
import pytest
from drawn_book import digests
from printed_form import INKS, form_tones, readings_file, table_of, write_book
from simulated_press import lab_of, random_press

from inkmix.base.errors import BookError, MeasurementError, OutputError, UsageError
from inkmix.base.words import difference
from inkmix.book.meant.condition import condition_on_press, press_of, resolve_condition
from inkmix.checks.orders.check import Told
from inkmix.cli.main import run
from inkmix.colour.measured.written_cgats import cgats_text
from inkmix.jobs.books import read_book
from inkmix.jobs.calibrating.calibrate import calibrate_book
from inkmix.jobs.checking.press_known import press_notes
from inkmix.pages.calibration.write import write_calibration
from inkmix.press.calibration.misread import refuse_misplaced
from inkmix.press.calibration.order import likely_order
from inkmix.press.calibration.press_file import parse_press_file, press_file_text, with_mixes
from inkmix.press.calibration.readings import readings_of
from inkmix.press.condition import press_condition
from inkmix.press.patches import Patches


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """Of a book with its readings; read only."""
    return tmp_path_factory.mktemp("ferry")


@pytest.fixture(scope="module")
def book(folder):
    return write_book(folder)


@pytest.fixture(scope="module")
def tones(folder):
    return form_tones(folder)


@pytest.fixture(scope="module")
def found(book, folder, tones):
    return calibrate_book(book, readings_file(folder / "sheet.txt", tones))


# --- what is learnt ------------------------------------------------------------------------------


def test_a_calibration_keeps_the_truth_inside_and_makes_tones_surer(book, folder, tones):
    """On presses that a model of another kind prints; their truth has no noise."""
    misses, surer = [], []
    for seed in (2, 3):
        press = random_press(seed)
        found = calibrate_book(book, readings_file(folder / f"{seed}.txt", tones, seed=seed))
        assert found.after.mean_de00 < 0.7 * found.before.mean_de00
        assert found.suspects == ()
        for mix in found.mixes:
            truth = press.truth_lab(np.array([[mix.mix_pct.get(name, 0.0) for name in INKS]]))[0]
            misses.append(colour.delta_E(truth, mix.lab, method="CIE 2000") / mix.de00)
            surer.append(mix.de00 < mix.was_de00)
    assert np.mean(np.array(misses) <= 1) >= 0.9
    assert np.mean(surer) > 0.7


@pytest.mark.long
def test_over_forty_presses_the_truth_stays_inside_the_bound(book, folder, tones):
    misses, named = [], []
    for seed in range(300, 340):
        press = random_press(seed)
        found = calibrate_book(book, readings_file(folder / "one.txt", tones, seed=seed))
        rows = np.array([[mix.mix_pct.get(name, 0.0) for name in INKS] for mix in found.mixes])
        truth = press.truth_lab(rows)
        for mix, lab in zip(found.mixes, truth, strict=True):
            misses.append(colour.delta_E(lab, mix.lab, method="CIE 2000") <= mix.de00)
        named += [mix.de00 < mix.was_de00 for mix in found.mixes[:3]]
        assert found.after.mean_de00 < found.before.mean_de00, seed
    assert np.mean(misses) >= 0.9
    assert np.mean(named) >= 0.9


def test_what_was_read_is_what_is_predicted(found, folder, tones):
    """Solids exactly; mixes within what an instrument and the model's misfit leave."""
    chart = found.readings.chart
    solids = np.flatnonzero((chart.tone_pct == 100).sum(axis=1) == (chart.tone_pct > 0).sum(axis=1))
    single = solids[chart.inks_held[solids] == 1]
    assert len(single) >= 5
    for row in single:
        same = (chart.tone_pct == chart.tone_pct[row]).all(axis=1)
        mean = chart.xyz100[same].mean(axis=0)
        assert found.condition.xyz100(chart.tone_pct[row]) == pytest.approx(mean, abs=0.01)
    apart = colour.delta_E(found.condition.lab(chart.tone_pct), chart.lab, method="CIE 2000")
    assert apart.mean() < 0.4


def test_each_mix_is_foretold_without_itself(found, book):
    """By hand: the model without one fold, asked for a mix of it."""
    press = found.press
    count = len(press.mixes.rows)
    fold = np.random.default_rng(7).permutation(count) % 5
    held = np.flatnonzero(fold == 2)
    without = condition_on_press(book, with_mixes(press, np.flatnonzero(fold != 2)))
    rows = np.array(press.mixes.rows)[held]
    assert np.allclose(without.lab(rows[:, :5]), found.after.lab[held])
    assert np.allclose(found.after.tone_pct[held], rows[:, :5])


def test_a_mix_left_out_is_foretold_as_by_a_model_that_was_never_told_it(found, book):
    press = found.press
    model = condition_on_press(book, press).model
    missed, sd = model.field.left_out()
    tones = np.array(press.mixes.rows)[:, :5]
    for at in (0, 17):
        others = np.flatnonzero(np.arange(len(tones)) != at)
        alone = condition_on_press(book, with_mixes(press, others)).model
        y = alone.root(alone.coverage(tones[at : at + 1]))
        own = model.channels.relative(np.array([press.mixes.rows[at][5:8]])) ** (1 / model.n)
        assert own - missed[at] == pytest.approx(y, abs=1e-3)  # the model mixes, the field adds
        assert (sd[at] > 0).all()


def test_repeats_tell_how_even_the_press_prints(found):
    """Films that differ by some hundredths on a sheet part by some tenths of dE00."""
    assert found.scatter.repeated >= 15
    assert 0.05 < found.scatter.mean_de00 < 0.6 < found.scatter.most_de00 + 0.5


def test_inks_that_nobody_read_stay_as_the_book_tells(book, folder, tones):
    rows = tones[tones[:, 4] == 0]
    path = readings_file(folder / "four.txt", rows)
    found = calibrate_book(book, path)
    assert found.press.names == INKS[:4]
    assert any("Fog: no solid was read" in note for note in found.notes)
    fog = np.array([0, 0, 0, 0, 100.0])
    was, now = found.was, found.condition
    relative = [one.xyz100(fog) / one.paper.xyz100 for one in (was, now)]
    assert relative[0] == pytest.approx(relative[1], abs=0.01)


# --- bad readings --------------------------------------------------------------------------------


def exchanged(one, other):
    def change(spectra):
        spectra[[one, other]] = spectra[[other, one]]
        return spectra

    return change


def mixed_rows(tones):
    return np.flatnonzero(((tones > 0).sum(axis=1) >= 2) & (tones.sum(axis=1) < 180))


def test_swapped_rows_are_named_with_each_other(book, folder, tones):
    """The two mixes whose colours lie farthest apart."""
    rows = mixed_rows(tones)
    lab = lab_of(random_press(1).truth(tones))
    one, other = max(
        combinations(rows, 2), key=lambda pair: np.linalg.norm(lab[pair[0]] - lab[pair[1]])
    )
    path = readings_file(folder / "swapped.txt", tones, change=exchanged(one, other))
    found = calibrate_book(book, path)
    names = {f"P{one + 1}", f"P{other + 1}"}
    assert {suspect.patch for suspect in found.suspects} == names
    assert {suspect.swapped_with for suspect in found.suspects} == names
    assert {left.patch for left in found.press.left_out} == names
    assert len(found.readings) == len(tones) - 2


def test_a_smeared_patch_is_left_out_and_sound_ones_are_not(book, folder, tones):
    rows = mixed_rows(tones)
    at = rows[lab_of(random_press(1).truth(tones[rows]))[:, 0].argmax()]  # where a smear shows

    def smear(spectra):
        spectra[at] = 0.4 * spectra[at] + 0.1
        return spectra

    found = calibrate_book(book, readings_file(folder / "smeared.txt", tones, change=smear))
    assert [suspect.patch for suspect in found.suspects] == [f"P{at + 1}"]


def test_a_tint_beside_its_ramp_is_left_out(book, folder, tones):
    alone = np.flatnonzero(((tones > 0).sum(axis=1) == 1) & (tones[:, 0] > 40) & (tones[:, 0] < 70))
    at = alone[0]

    def lighter(spectra):
        spectra[at] *= 1.6
        return spectra

    found = calibrate_book(book, readings_file(folder / "ramp.txt", tones, change=lighter))
    assert f"P{at + 1}" in {suspect.patch for suspect in found.suspects}
    assert len(found.suspects) <= 2  # its repeat may be doubted with it


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda spectra: spectra[::-1], "read upside down, or from the last patch"),
        (
            lambda spectra: np.roll(spectra, 1, axis=0),
            "one row further up: there is a reading too many",
        ),
    ],
)
def test_a_form_that_was_read_the_wrong_way_is_refused(book, folder, tones, change, said):
    rows = tones[: len(tones) - len(tones) // 7]
    path = readings_file(folder / "wrong.txt", rows, change=change)
    with pytest.raises(MeasurementError, match=said):
        calibrate_book(book, path)


@pytest.mark.parametrize(
    ("some", "said"),
    [
        (lambda tones: (tones > 0).any(axis=1), "no patch of bare paper"),
        (lambda tones: ~(tones == 100).any(axis=1), "no solid of Soot"),
    ],
)
def test_what_lacks_is_said(book, folder, tones, some, said):
    path = readings_file(folder / "some.txt", tones[some(tones)])
    with pytest.raises(MeasurementError, match=said):
        calibrate_book(book, path)


def test_readings_of_another_book_are_refused(book, folder, tones):
    spectra = random_press(1).measured(tones, seed=1)
    names = ("Tar", "Moss", "Clay", "Straw", "Mist")
    path = folder / "other.txt"
    path.write_text(cgats_text(table_of(tones, spectra, names=names)), encoding="utf-8")
    with pytest.raises(MeasurementError, match=r"readings of Tar.*the book are Soot"):
        calibrate_book(book, path)


@pytest.mark.parametrize(("one", "other"), [(0, 3), (2, 3), (1, 2)])
def test_swapped_columns_are_named(book, folder, tones, one, other):
    names = list(INKS)
    names[one], names[other] = names[other], names[one]
    spectra = random_press(1).measured(tones, seed=1)
    path = folder / "columns.txt"
    path.write_text(cgats_text(table_of(tones, spectra, names=tuple(names))), encoding="utf-8")
    said = f"(?s){INKS[one]} was read with the colour of {INKS[other]}.*{INKS[other]} was read with"
    with pytest.raises(MeasurementError, match=said):
        calibrate_book(book, path)


def test_wet_readings_are_refused(book, folder, tones):
    words = {"INK_STATE": "wet"}
    path = readings_file(folder / "wet.txt", tones, keywords=words)
    with pytest.raises(MeasurementError, match="its ink was wet"):
        calibrate_book(book, path)


def test_a_book_that_prints_an_ink_twice_is_told_what_to_do(tmp_path, folder, tones):
    twice = '\n[[inks]]\nname = "Soot 2"\nswatch = "night-ferry/Soot"\nplate = "Soot"\n'
    double = write_book(tmp_path, more=twice)
    with pytest.raises(UsageError, match=r"prints an ink twice \(Soot 2\)"):
        calibrate_book(double, readings_file(folder / "twice.txt", tones))


# --- the file ------------------------------------------------------------------------------------


def test_a_press_file_reads_back_as_it_was_written(found):
    text = press_file_text(found.press)
    again = parse_press_file(text.encode(), where="x")
    assert press_file_text(again) == text
    assert again.names == INKS
    assert np.array(again.mixes.rows) == pytest.approx(np.array(found.press.mixes.rows), abs=1e-4)
    assert again.origin == found.press.origin


def test_words_of_others_stand_in_the_file_as_they_are(found):
    odd = 'a "quoted" \\ word\n[inks]\x00 é'
    press = replace(found.press, origin=replace(found.press.origin, says=odd))
    assert parse_press_file(press_file_text(press).encode(), where="x").origin.says == odd


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (("format = 1", "format = 2"), "format 2"),
        (("format = 1", "format = "), "no TOML text"),
        (("xyz = [", "xyz = [1.0, "), "paper, but X, Y, Z|colours of other than 3"),
        (('name = "Soot"', 'name = "Fjord"'), "two of one name"),
        (('paper_class = "uncoated"', 'paper_class = "felt"'), "felt"),
        (("[origin]", "[origins]"), "origins is not known"),
        (("rows = [\n  [", "rows = [\n  [1.0, "), "mixes, row 1"),
        (('measurements = "', "measurements = 1 # "), "is not a text"),
    ],
)
def test_a_damaged_press_file_says_what_is_wrong(found, change, said):
    text = press_file_text(found.press)
    assert change[0] in text
    with pytest.raises(MeasurementError, match=said):
        parse_press_file(text.replace(*change, 1).encode(), where="press.toml")


@pytest.mark.parametrize("number", ["1e308", "-3.0", "999999999"])
def test_a_number_that_nobody_reads_is_refused_wherever_it_stands(found, number):
    """Of each kind one: a tint, a colour, a spectrum, a mix, how often it was read."""
    press = found.press
    for kind in ("tone_pct", "xyz", "reflectance", "tones", "colour", "times"):
        lines = press_file_text(press).splitlines()
        at = next(k for k, line in enumerate(lines) if line.startswith("rows"))
        if kind in ("tone_pct", "xyz", "reflectance"):
            start = next(k for k, line in enumerate(lines) if line == "[[inks]]")
            row = next(k for k in range(start, at) if lines[k].startswith(kind))
            row += kind != "tone_pct"
            lines[row] = re.sub(r"\[[\d.]+", f"[{number}", lines[row], count=1)
        else:
            row, place = at + 1, {"tones": 0, "colour": 5, "times": 8}[kind]
            numbers = lines[row].strip(" [],").split(", ")
            numbers[place] = number
            lines[row] = f"  [{', '.join(numbers)}],"
        with pytest.raises(MeasurementError, match=r"press\.toml"):
            parse_press_file("\n".join(lines).encode(), where="press.toml")


def test_junk_is_no_press_file():
    for data in (b"", b"\xff\xfe\x00", b"[" * 5000, b"x" * 5_000_000, b"format = 1"):
        with pytest.raises(MeasurementError, match=r"press\.toml"):
            parse_press_file(data, where="press.toml")


# --- the book ------------------------------------------------------------------------------------


@cache
def calibrated(folder):
    """A book that names the press file of sheet 1, and its calibration."""
    plain = write_book(folder)
    rows = form_tones(folder)
    found = calibrate_book(plain, readings_file(folder / "sheet.txt", rows))
    (path, *_) = write_calibration(found, folder / "press")
    text = (folder / "book.toml").read_text()
    named = text.replace("[press]", f'[press]\ncondition = "press/{path.name}"')
    (folder / "book.toml").write_text(named)
    return read_book(folder), found


def test_a_book_that_names_the_file_predicts_by_it(tmp_path):
    book, found = calibrated(tmp_path)
    now = resolve_condition(book)
    mixes = np.array([[90, 68, 10, 0, 0], [0, 0, 0, 0, 0], [40, 0, 74, 22, 0.0]])
    assert now.lab(mixes) == pytest.approx(found.condition.lab(mixes), abs=1e-3)
    assert now.paper.source == "measured on this press (sheet.txt)"
    assert {origin.value for origin in now.origins if "solid" in origin.what} == {now.paper.source}


def test_the_report_says_whose_colours_count(tmp_path):
    book, found = calibrated(tmp_path)
    (said,) = press_notes(book, resolve_condition(book))
    assert said.startswith("colours are those measured on this press (press/sheet.toml), not the")
    far = [one.name for one in found.solids if one.de00 >= 1]
    assert far
    assert all(name in said for name in far)
    four = replace(found.press, inks=found.press.inks[:4])
    four = replace(four, mixes=replace(four.mixes, rows=()))
    (tmp_path / "press" / "sheet.toml").write_text(press_file_text(four))
    others = press_notes(book, resolve_condition(book))[1]
    assert others == "not measured on this press: Fog; what the book says of them counts"
    assert press_notes(write_book(tmp_path), resolve_condition(book)) == ()


def test_the_report_says_what_the_press_file_changed(tmp_path):
    book, found = calibrated(tmp_path)
    (mix,) = [one for one in found.mixes if one.name == "quay brick"]
    asked = [Told(name=mix.name, mix_pct=dict(mix.mix_pct))]
    *_, said = press_notes(book, resolve_condition(book), asked)
    assert said == (
        f"with the press file other tones are predicted: quay brick by {difference(mix.moved_de00)}"
        f" (sure to {difference(mix.de00)}, was {difference(mix.was_de00)})"
    )


def test_another_order_than_the_print_is_refused(tmp_path):
    book, _ = calibrated(tmp_path)
    turned = replace(book, inks=book.inks[::-1])
    with pytest.raises(MeasurementError, match="printed in the order Soot, Fjord"):
        resolve_condition(turned)


def test_a_guess_that_was_measured_is_none_any_more(tmp_path):
    book, _ = calibrated(tmp_path)
    guessed = replace(book, inks=tuple(replace(ink, guessed=True) for ink in book.inks))
    now = resolve_condition(guessed)
    assert not any(ink.guessed for ink in now.inks)


def test_an_ink_that_stands_in_for_another_is_not_the_measured_one(tmp_path):
    from inkmix.book.meant.swap import with_swapped

    book, _ = calibrated(tmp_path)
    swapped = resolve_condition(with_swapped(book, {"Rowan": "night-ferry/Oilskin"}))
    rows = np.eye(5) * 100
    own = resolve_condition(book)
    k = [ink.name for ink in swapped.inks].index("Rowan")
    apart = colour.delta_E(swapped.lab(rows[k]), own.lab(rows[2]), method="CIE 2000")
    assert apart > 20


def test_overprints_beside_the_file_are_refused(tmp_path):
    book, _ = calibrated(tmp_path)
    text = book.path.read_text().replace("[press]\n", '[press]\noverprints = "sheet.txt"\n')
    with pytest.raises(BookError, match="stands beside condition"):
        _parsed(text, book)


def _parsed(text, book):
    book.path.write_text(text)
    return read_book(book.folder)


def test_spreads_on_other_paper_do_not_go_by_it(tmp_path):
    book, _ = calibrated(tmp_path)
    more = '\n[[override]]\nspreads = ["cover"]\n'
    more += '[override.paper]\nlab = [94, 0, 2]\nclass = "coated"\n'
    book.path.write_text(book.path.read_text() + more)
    read = read_book(book.folder)
    assert press_of(read.for_spread("cover")) is None
    assert press_of(read) is not None
    cover = read.for_spread("cover")
    assert any("press-condition file is of other paper" in note for note in cover.notes)


def test_a_second_sheet_shows_what_moved(tmp_path):
    book, _ = calibrated(tmp_path)
    rows = form_tones(tmp_path)

    def darker(spectra):
        soot = rows[:, 0] > 0
        spectra[soot] *= 1 - 0.25 * rows[soot, :1] / 100
        return spectra

    path = readings_file(tmp_path / "later.txt", rows, change=darker)
    drift = calibrate_book(book, path).drift
    assert drift.since == "sheet.txt"
    assert drift.basics[0].what.startswith("Soot")
    assert drift.basics[0].lighter_L < -1
    paper = next(one for one in drift.basics if one.what == "paper")
    assert paper.de00 < 0.01
    assert drift.mixes[0].de00 > 1
    same, first = calibrate_book(book, tmp_path / "sheet.txt"), calibrated(tmp_path)[1]
    assert same.drift is None
    assert same.before.mean_de00 == pytest.approx(first.before.mean_de00)  # not by what it told


def test_a_press_file_never_takes_the_place_of_one_of_other_readings(book, folder, tones, tmp_path):
    one = calibrate_book(book, readings_file(folder / "day.txt", tones, seed=5))
    other = calibrate_book(book, readings_file(folder / "day.txt", tones, seed=6))
    paths = [write_calibration(each, tmp_path)[0].name for each in (one, other, one, other)]
    assert paths == ["day.toml", "day-2.toml", "day.toml", "day-2.toml"]


def test_where_every_name_is_taken_none_is_written_over(found, tmp_path):
    names = ["sheet.toml", *(f"sheet-{number}.toml" for number in range(2, 100))]
    for number, name in enumerate(names):
        other = replace(found.press.origin, sha256=f"{number:064x}")
        text = press_file_text(replace(found.press, origin=other))
        (tmp_path / name).write_text(text, encoding="utf-8")
    before = digests(tmp_path)
    with pytest.raises(OutputError, match=r"99 press files called sheet\.toml to sheet-99\.toml"):
        write_calibration(found, tmp_path)
    assert digests(tmp_path) == before
    (tmp_path / "sheet-99.toml").unlink()
    assert write_calibration(found, tmp_path)[0].name == "sheet-99.toml"


def test_the_command_writes_the_file_and_says_how_to_name_it(book, folder, tones, tmp_path, capsys):
    own = write_book(tmp_path)
    path = readings_file(tmp_path / "sheet.txt", tones)
    assert run(["calibrate", str(own.path), str(path)]) == 0
    told = capsys.readouterr()
    said = told.out + told.err
    assert 'condition = "press/sheet.toml"' in said
    assert '  whether the ink was wet or dry: INK_STATE "dry" or "wet"' in said
    assert "the sheet lay on white" in said
    assert "the observer" not in said  # spectra are not for one
    data = tomllib.loads((tmp_path / "press" / "sheet.toml").read_text())
    assert data["format"] == 1
    assert [ink["name"] for ink in data["inks"]] == list(INKS)


def test_a_mix_that_was_read_more_often_counts_more(found, book):
    """The same mean of it, read once and nine times."""
    rows = [list(row) for row in found.press.mixes.rows]
    at = next(k for k, row in enumerate(rows) if max(row[:5]) < 99 and row[8] == 1)
    moved = [*rows[at][:5], *(1.15 * value for value in rows[at][5:8])]
    pulled = []
    for times in (1.0, 9.0):
        told = tuple((*moved, times) if k == at else tuple(row) for k, row in enumerate(rows))
        press = replace(found.press, mixes=replace(found.press.mixes, rows=told))
        lab = condition_on_press(book, press).lab(np.array(moved[:5]))
        pulled.append(lab[0] - found.condition.lab(np.array(moved[:5]))[0])
    assert pulled[1] > 1.1 * pulled[0] > 0


# --- readings that tell no more than numbers of patches -------------------------------------------


def form_list(folder, tones):
    path = folder / "testform.txt"
    names = tuple(str(k) for k in range(1, len(tones) + 1))
    path.write_text(
        cgats_text(replace(table_of(tones, None), sample_names=names)), encoding="utf-8"
    )
    return path


def numbered(path, lab, names):
    lines = [f"{name};{L:.4f};{a:.4f};{b:.4f}" for name, (L, a, b) in zip(names, lab, strict=True)]
    path.write_text("\n".join(["SAMPLE_ID;LAB_L;LAB_A;LAB_B", *lines]) + "\n", encoding="utf-8")
    return path


def test_numbers_of_patches_are_looked_up_in_the_list_of_the_form(book, tmp_path, tones):
    """In whatever order they were read, with zeros in front or without."""
    form_list(tmp_path, tones)
    lab = lab_of(random_press(1).measured(tones, seed=1))
    order = np.random.default_rng(8).permutation(len(tones))
    names = [f"{k + 1:03d}" for k in order]
    found = calibrate_book(book, numbered(tmp_path / "lab.csv", lab[order], names), form=tmp_path)
    plain = calibrate_book(book, readings_file(tmp_path / "sheet.txt", tones))
    mixes = np.array(found.press.mixes.rows), np.array(plain.press.mixes.rows)
    assert mixes[0] == pytest.approx(mixes[1], abs=0.01)


def test_other_names_are_taken_in_order_and_it_is_said(book, tmp_path, tones):
    form_list(tmp_path, tones)
    lab = lab_of(random_press(1).measured(tones, seed=1))
    names = [f"scan {k}" for k in range(len(tones))]
    found = calibrate_book(book, numbered(tmp_path / "lab.csv", lab, names), form=tmp_path)
    assert any("taken in its order" in note for note in found.notes)


def test_readings_of_another_form_are_refused(book, tmp_path, tones):
    form_list(tmp_path, tones)
    lab = lab_of(random_press(1).measured(tones, seed=1))
    names = [f"scan {k}" for k in range(len(tones) - 1)]
    path = numbered(tmp_path / "lab.csv", lab[:-1], names)
    with pytest.raises(MeasurementError, match=r"not on the form \(scan 0"):
        calibrate_book(book, path, form=tmp_path)
    with pytest.raises(MeasurementError, match="--form"):
        calibrate_book(book, path)


# --- what a stranger might change ----------------------------------------------------------------


def test_numbered_columns_are_the_inks_in_their_order(book, folder, tones):
    """As some instruments head device values of five inks; it is said."""
    names = tuple(f"5CLR_{k}" for k in range(1, 6))
    spectra = random_press(1).measured(tones, seed=1)
    path = folder / "numbered.txt"
    plain = cgats_text(table_of(tones, spectra))
    for ink, name in zip(INKS, names, strict=True):
        plain = plain.replace(f"INK_{ink}", name)
    path.write_text(plain, encoding="utf-8")
    found = calibrate_book(book, path)
    assert found.press.names == INKS
    assert any("columns 1 to 5 are taken as Soot" in note for note in found.notes)


def test_rows_of_an_ink_that_the_book_has_not_are_left_aside(tmp_path, tones):
    """Else they would count as mixes without it."""
    four = write_book(tmp_path, inks=INKS[:4], tones=False)
    found = calibrate_book(four, readings_file(tmp_path / "five.txt", tones))
    held = tones[tones[:, 4] == 0]
    assert len(found.readings) == len(held)
    assert any("with ink of Fog left aside" in note for note in found.notes)


def test_mixes_of_other_inks_are_none_of_these(found):
    """Fog is not asked for: whatever holds it is left out, not taken as if it held none."""
    patches = found.press.patches(INKS[:4])
    rows = np.array(found.press.mixes.rows)
    bare = rows[rows[:, 4] == 0]
    times = bare[:, -1].astype(int)
    assert len(patches.tone_pct) == times.sum()
    assert patches.noises[0] == "single sheet"


def test_what_a_book_tells_of_mixes_does_not_leak_into_the_judgement(tmp_path, tones):
    """[[measured]] lines of the very mixes that are to be foretold."""
    plain = write_book(tmp_path)
    path = readings_file(tmp_path / "sheet.txt", tones)
    before = calibrate_book(plain, path)
    rows = before.after.tone_pct[:4]
    lines = ""
    for mix, lab in zip(rows, before.after.read_lab[:4], strict=True):
        inks = ", ".join(f"{n} = {t:.6f}" for n, t in zip(INKS, mix, strict=True) if t > 0)
        lines += f"\n[[measured]]\nmix = {{ {inks} }}\nlab = {[round(float(v), 4) for v in lab]}\n"
    told = calibrate_book(write_book(tmp_path, more=lines), path)
    assert told.after.de00 == pytest.approx(before.after.de00)


def test_a_mix_with_an_ink_that_was_not_read_says_nothing_of_the_others(tmp_path, tones):
    """Without its Fog the mix would be one of Rowan and Brass, in a colour they never have."""
    path = readings_file(tmp_path / "four.txt", tones)
    four = [list(row[:4]) for row in tones if row[4] == 0]
    spectra = random_press(1).measured(np.array([[*row, 0.0] for row in four]), seed=1)
    path.write_text(cgats_text(table_of(four, spectra, names=INKS[:4])), encoding="utf-8")
    line = "\n[[measured]]\nmix = { Rowan = 60, Brass = 60, Fog = 100 }\nlab = [30, 0, 0]\n"
    plain, told = (calibrate_book(write_book(tmp_path, more=more), path) for more in ("", line))
    assert [one.patch for one in told.suspects] == [one.patch for one in plain.suspects] == []
    assert told.order == plain.order
    assert [one.mix_pct for one in told.to_print.mixes] == [
        one.mix_pct for one in plain.to_print.mixes
    ]
    same = pytest.approx(
        plain.to_print.all_de00, rel=0.005
    )  # the darkest mix, which is asked for, is another
    assert told.to_print.all_de00 == same


def test_the_sureness_of_lightness_before_and_after_is_each_its_own(found):
    for mix in found.mixes:
        row = np.array([mix.mix_pct.get(name, 0.0) for name in INKS])
        assert mix.was_L == pytest.approx(float(found.was.expected_error(row).L))
        assert pytest.approx(float(found.condition.expected_error(row).L)) == mix.L
    assert any(mix.was_L != pytest.approx(mix.L) for mix in found.mixes)


def test_inks_on_a_guessed_paper_are_known_once_the_press_is_measured(tmp_path):
    """A paper told by a screen colour makes all inks hints; a measured one does not."""
    book, _ = calibrated(tmp_path)
    text = book.path.read_text().replace(
        'swatch = "night-ferry/uncoated"', 'srgb = "#f4f1e6"\nclass = "uncoated"'
    )
    book.path.write_text(text)
    assert resolve_condition(read_book(tmp_path)).hints == ()


def test_a_form_that_goes_light_and_dark_nearly_as_foretold_is_taken(book, folder, tones):
    """Guessed inks may be far off: 0.6 alike is enough where no other reading of it fits."""
    expected = resolve_condition(book)
    found = readings_of([table_of(tones, random_press(1).measured(tones, seed=1))], INKS)
    L = found.chart.lab[:, 0]
    noise = np.random.default_rng(2).permutation(L - L.mean())
    loose = replace(
        found, chart=replace(found.chart, lab=found.chart.lab + noise[:, None] * [1.1, 0, 0])
    )
    assert 0.5 < np.corrcoef(loose.chart.lab[:, 0], expected.lab(tones)[:, 0])[0, 1] < 0.85
    refuse_misplaced(loose, expected)


def test_an_order_is_doubted_only_where_a_pair_speaks_clearly(book, folder, tones):
    """An ink that hides, printed first and told to be last: what lies on it hides less."""
    told = resolve_condition(write_book(folder))
    hiding = replace(told.inks[3], opacity=0.9)
    inks = (*told.inks[:3], hiding, told.inks[4])
    clear = press_condition(told.paper, inks, process=told.process)
    pairs = np.array([[100, 0, 0, 100, 0], [0, 100, 0, 100, 0.0], [0, 0, 100, 100, 0]])
    turned = press_condition(told.paper, (hiding, *inks[:3], inks[4]), process=told.process)
    read = turned.xyz100(pairs[:, [3, 0, 1, 2, 4]])
    doubted = press_condition(
        told.paper, inks, process=told.process, patches=Patches(tone_pct=pairs, xyz100=read)
    )
    order = likely_order(doubted)
    assert not order.is_told
    assert order.inks.index("Brass") < order.inks.index("Soot")
    right = Patches(tone_pct=pairs, xyz100=clear.xyz100(pairs))
    assert likely_order(replace(clear, patches=right)).is_told
