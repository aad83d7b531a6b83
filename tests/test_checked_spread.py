"""What is put together from the checks of one spread: its verdict, their order, what is refused."""

import numpy as np
import pytest
from drawn_book import (
    BOOK,
    HEIGHT_PX,
    INKS,
    NIGHT,
    PPI,
    WIDTH_PX,
    cellar,
    changed,
    draw_book,
    plate_of,
)
from plate_files import write_png, write_tiff

from inkmix.base.errors import OutputError, PictureError
from inkmix.book.meant.condition import resolve_condition
from inkmix.checks.finding import FAIL, NOT_CHECKED, PASS
from inkmix.jobs.books import read_book
from inkmix.jobs.check import check_spread
from inkmix.pages.report.page import render_page
from inkmix.pages.report.text import result_lines

TOO_LIGHT = NIGHT.replace("lightest_L = 40", "lightest_L = 10")
NOWHERE = NIGHT.replace('mask = "masks/cellar.png"', 'rule = [{plate = "Soot", at_least_pct = 99}]')


def checked(folder, text, **more):
    return check_spread(read_book(draw_book(folder / "book", text)), "front", **more)


def page_of(result):
    return str(render_page(result)).replace("\N{NO-BREAK SPACE}", " ")


def verdicts(result):
    return {answer.check: answer.verdict for answer in result.answers if not answer.unchecked}


def test_the_worst_check_stands_for_the_spread(tmp_path):
    result = checked(tmp_path, BOOK + TOO_LIGHT)
    assert verdicts(result) == {"total ink": PASS, "night": FAIL}
    assert result.verdict == FAIL
    assert "<b>night: cellar</b>" in page_of(result)


def test_what_a_run_leaves_out_is_told_apart_from_what_nobody_asked_for(tmp_path):
    result = checked(tmp_path, BOOK, checks={"total ink", "night"})
    assert verdicts(result) == {"total ink": PASS}
    ink, *others = result.answers
    assert [answer.verdict for answer in others] == [NOT_CHECKED, NOT_CHECKED]
    assert result.verdict == ink.verdict == PASS
    page = page_of(result)
    assert "The book names no dark area for this spread, so none was checked." in page
    assert "Left out of this run." in page
    assert "No tones are named in the book" not in page
    assert "<b>Not checked:</b> named tones, left out of this run." in page
    assert "see what was checked, above" in page  # so "nothing must be changed" has a reservation
    lines = list(result_lines(result, tmp_path / "report.html"))
    assert "not checked: named tones, left out of this run" in lines


def test_where_something_is_found_what_was_left_out_is_said_too(tmp_path):
    result = checked(tmp_path, BOOK + TOO_LIGHT, checks="night")
    assert result.verdict == FAIL
    lines = list(result_lines(result, tmp_path / "report.html"))
    assert lines.count("not checked: total ink and named tones, left out of this run") == 1
    assert "<b>Not checked:</b> total ink, named tones, left out of this run." in page_of(result)


def test_the_mask_is_named_as_its_file_is(tmp_path):
    folder = draw_book(tmp_path / "book", BOOK + NIGHT)
    (folder / "masks" / "cellar.png").rename(folder / "masks" / "front.png")
    text = (folder / "book.toml").read_text("utf-8").replace("cellar.png", "{spread}.png")
    (folder / "book.toml").write_text(text, "utf-8")
    (night,) = check_spread(read_book(folder), "front").facts["nights"]
    assert night.mask == "the white of masks/front.png"


def test_findings_stand_in_the_order_of_the_report(tmp_path):
    """Night before total ink, though total ink is counted first."""
    result = checked(tmp_path, changed("= 260", "= 150", BOOK + TOO_LIGHT))
    assert verdicts(result) == {"total ink": FAIL, "night": FAIL}
    found = [finding.check for finding in result.findings]
    assert found == ["night"] + ["total ink"] * (len(found) - 1)
    assert len(found) > 1


def test_a_spread_of_which_nothing_was_checked_does_not_pass(tmp_path):
    result = checked(tmp_path, BOOK + NOWHERE, checks={"night"})
    assert verdicts(result) == {"night": NOT_CHECKED}
    assert result.verdict == NOT_CHECKED
    assert result.sentence.startswith("Nothing was checked")


def test_the_expected_error_is_that_of_the_mixes_on_the_sheet(tmp_path):
    """A sheet of one mix: 153, 102 and 51 of 255 steps of ink are 60, 40 and 20 %."""
    folder = draw_book(tmp_path / "book", BOOK)
    for name, number in zip(INKS, (102, 153, 204), strict=True):
        flat = np.full((HEIGHT_PX, WIDTH_PX), number, np.uint8)
        write_tiff(plate_of(folder, name), flat, PPI)
    book = read_book(folder)
    known = check_spread(book, "front").condition
    expected = resolve_condition(book).expected_error(np.array([[60.0, 40.0, 20.0]]))
    assert known.error_de00 == pytest.approx(expected.de00[0], rel=1e-9)
    assert known.error_L == pytest.approx(expected.L[0], rel=1e-9)


def test_a_mask_that_the_pixels_show_to_be_inverted_is_refused(tmp_path):
    folder = draw_book(tmp_path / "book", BOOK + NIGHT)
    write_png(folder / "masks" / "cellar.png", 255 - cellar(), 100)
    with pytest.raises(PictureError, match="mask_shows"):
        check_spread(read_book(folder), "front")


def test_a_right_mask_beside_a_ground_with_too_much_ink_is_judged_with_a_caution(tmp_path):
    """A light sky is the night, and the rest holds 276 % of ink; turning the mask is no answer."""
    folder = draw_book(tmp_path / "book", BOOK + NIGHT)
    sky = cellar() > 0
    for number, name in enumerate(INKS):
        tone = np.where(sky, 25 + 5 * number, 88 + 4 * number)
        write_tiff(plate_of(folder, name), np.rint(255 - 2.55 * tone).astype(np.uint8), PPI)
    result = check_spread(read_book(folder), "front", remedies=False)
    assert verdicts(result)["night"] == FAIL
    (note,) = [note for note in result.warnings if "looks inverted" in note]
    assert "cellar would hold 90.2 % ink on average" in note
    assert 'if it is right, write mask_shows = "white"' in note
    text = NIGHT.replace("lightest", 'mask_shows = "white"\nlightest')
    (folder / "book.toml").write_text(BOOK + text, "utf-8")
    told = check_spread(read_book(folder), "front", remedies=False)
    assert not [note for note in told.warnings if "looks inverted" in note]


def test_rectangles_and_rules_show_no_wrong_side(tmp_path):
    """Both mark the light part of the sheet, which a picture would be suspected of."""
    bright = ("rect_mm = [34, 2, 18, 30]", 'rule = [{plate = "Rowan", at_least_pct = 40}]')
    for number, words in enumerate(bright):
        text = BOOK + NIGHT.replace('mask = "masks/cellar.png"', words)
        book = read_book(draw_book(tmp_path / f"book {number}", text))
        result = check_spread(book, "front", remedies=False)
        assert verdicts(result)["night"] == FAIL
        assert not [note for note in result.warnings if "looks inverted" in note]


def test_a_plate_that_only_its_pixels_show_to_be_made_of_dots_gains_at_their_edges(tmp_path):
    """Its dots are told in a second pass."""
    folder = draw_book(tmp_path / "book", BOOK)
    y, x = np.mgrid[:HEIGHT_PX, :WIDTH_PX]
    dots = (np.sin(x * 0.9) * np.sin(y * 0.9) > 0.2) * np.uint8(255)
    write_tiff(plate_of(folder, "Fjord"), 255 - dots, ppi=PPI)
    result = check_spread(read_book(folder), "front")
    assert any("taken as already screened" in note for note in result.warnings)
    share_pct = 100 * (dots > 0).mean()
    fjord = result.inks[INKS.index("Fjord")]
    assert fjord.mean_coverage_pct > share_pct + 1  # growing at the edges adds


def test_a_picture_never_takes_the_place_of_an_input_however_it_was_written(tmp_path):
    folder = draw_book(tmp_path / "book", BOOK)
    reference = folder / "reference.png"
    check_spread(read_book(folder), "front", picture=reference)  # a picture of ours
    path = folder / "book.toml"
    path.write_text(path.read_text("utf-8") + '\n[reference]\npicture = "reference.png"\n')
    before = reference.read_bytes()
    with pytest.raises(OutputError, match="inputs are never overwritten"):
        check_spread(read_book(folder), "front", picture=reference)
    assert reference.read_bytes() == before


@pytest.mark.parametrize("more", ["", NIGHT])
def test_a_spread_whose_own_mask_is_empty_has_no_night_and_the_rest_is_checked(tmp_path, more):
    drawn = TOO_LIGHT.replace("cellar", "{spread}").replace("{spread}", "harbour", 1)
    folder = draw_book(tmp_path / "book", BOOK + drawn + more)
    write_png(folder / "masks" / "front.png", np.zeros((HEIGHT_PX, WIDTH_PX), np.uint8), PPI)
    result = check_spread(read_book(folder), "front")
    assert verdicts(result) == {"total ink": PASS} | ({"night": PASS} if more else {})
    note = "masks/front.png: there is no white in it, so this spread has no night harbour"
    assert note in page_of(result)
