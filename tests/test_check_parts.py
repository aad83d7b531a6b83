"""What joins the checks of one spread, without its pixels: limits, masks, verdicts that count."""

import io
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from PIL import Image
from plate_files import write_png
from press_for_checks import press
from report_cases import night, night_answer, tone, tones_answer, total_ink_answer
from report_cases import total_ink as ink_facts

from inkmix.base.errors import PictureError
from inkmix.book.values import NightArea, Told
from inkmix.checks.finding import FAIL, NO_LIMIT, NOT_CHECKED, PASS, UNSURE, Finding, overall
from inkmix.checks.night.entry import Night
from inkmix.checks.night.facts import NIGHT
from inkmix.checks.night.on_spread import notes_of, open_nights
from inkmix.checks.reference.check import ReferenceResult
from inkmix.checks.tones.entry import NamedTones
from inkmix.checks.total_ink.at_work import OpenedTotalInk
from inkmix.checks.total_ink.entry import TotalInk
from inkmix.jobs.checking.crops import crop_pictures
from inkmix.jobs.checking.reference import compared_reference, reference_check
from inkmix.plates.files.scratch.room import TEMPORARY
from inkmix.sheet.geometry import Sheet

SHEET = Sheet(width_px=200, height_px=120, ppi=50.8, bleed_mm=5.0)  # the trim is 90 x 50 mm
NO_PLANES = np.zeros((0, 120, 200), np.uint8)
WHOLE = slice(0, 120), slice(0, 200)


def spread(folder=None, *nights: NightArea, **more):
    book = SimpleNamespace(
        nights=nights, min_area_mm2=4.0, folder=folder, path=folder and folder / "book.toml",
        reference="whole.png",
    )  # fmt: skip
    return SimpleNamespace(
        book=book, name="02", sheet=SHEET, condition=press("Soot"), room=TEMPORARY,
        plates=SimpleNamespace(inks=("Soot",)), **more,
    )  # fmt: skip


def area(**said) -> NightArea:
    return NightArea(**({"name": "sea", "rect_mm": (0.0, 0.0, 10.0, 10.0)} | said))


# --- night ----------------------------------------------------------------------------------------


def test_a_night_is_checked_on_its_spreads_and_on_all_where_none_are_named():
    nights = open_nights(
        spread(None, area(name="all"), area(name="here", spreads=("01", "02")),
               area(name="elsewhere", spreads=("01",)))
    )  # fmt: skip
    assert [night.area.name for night in nights] == ["all", "here"]


def test_a_night_is_judged_by_what_the_book_says_of_it():
    (night,) = open_nights(spread(None, area(lightest_L=25.0, share_pct=80.0)))
    check = night.check
    assert (check.lightest_L, check.share_pct, check.min_area_mm2) == (25.0, 80.0, 4.0)
    assert night.mask.read(*WHOLE, NO_PLANES).sum() == 400  # 10 x 10 mm in pixels of half a mm
    assert night.mask.read(*WHOLE, NO_PLANES)[10:30, 10:30].all()


@pytest.mark.parametrize(("shows", "marked"), [(None, 200), ("white", 200), ("black", 23800)])
def test_white_marks_a_night_unless_the_book_says_otherwise(tmp_path, shows, marked):
    picture = np.zeros((120, 200), np.uint8)
    picture[:10, :20] = 255
    write_png(tmp_path / "sea.png", picture)
    (night,) = open_nights(spread(tmp_path, area(mask="sea.png", rect_mm=None, mask_shows=shows)))
    assert night.mask.read(*WHOLE, NO_PLANES).sum() == marked


@pytest.mark.parametrize("mask", ["02.png", "{spread}.png"])
def test_only_a_mask_drawn_for_each_spread_may_be_empty(tmp_path, mask):
    write_png(tmp_path / "02.png", np.zeros((120, 200), np.uint8))
    ground = spread(tmp_path, area(), area(name="harbour", mask=mask, rect_mm=None))
    if mask == "02.png":
        with pytest.raises(PictureError, match=r'spreads = \[\.\.\.\].*mask_shows = "black"'):
            open_nights(ground)
        return
    nights = open_nights(ground)
    assert [night.is_there for night in nights] == [True, False]
    assert notes_of(nights, SHEET) == (
        f"{tmp_path.name}/02.png: there is no white in it, so this spread has no night harbour",
    )


@pytest.mark.parametrize(
    ("rect_mm", "beyond"),
    [
        ((10, 10, 85, 10), None),  # into the bleed, no farther
        ((10, 10, 85.2, 10), None),  # by less than a pixel
        ((10, 10, 88, 10), "3 mm"),
        ((10, 40, 10, 17), "2 mm"),
        ((-9, 10, 20, 10), "4 mm"),
        ((10, -6, 20, 10), "1 mm"),
    ],
)
def test_a_rectangle_that_leaves_the_sheet_is_said_on_every_side(rect_mm, beyond):
    notes = notes_of(open_nights(spread(None, area(rect_mm=rect_mm))), SHEET)
    said = f"night sea: its rectangle reaches {beyond} beyond the sheet and is cut"
    assert notes == (() if beyond is None else (said,))


# --- total ink and verdicts -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("limit", "expected"),
    [(Told(value=280.0, whose="printer"), (280.0, "printer")), (None, (None, "user"))],
)
def test_total_ink_is_held_to_the_limit_that_counts_and_the_books_least_area(limit, expected):
    check = OpenedTotalInk(spread(limits=SimpleNamespace(ink_limit_pct=limit))).check
    assert (check.limit_pct, check.whose) == expected
    assert check.min_area_mm2 == 4.0


@pytest.mark.parametrize(
    ("ink", "nights", "tones", "expected", "worst"),
    [
        (PASS, [PASS, FAIL, UNSURE], [PASS, UNSURE], (PASS, FAIL, UNSURE), FAIL),
        (FAIL, [], [], (FAIL, NOT_CHECKED, NOT_CHECKED), FAIL),
        (PASS, [NOT_CHECKED], [PASS], (PASS, NOT_CHECKED, PASS), PASS),
        (NOT_CHECKED, [], [], (NOT_CHECKED,) * 3, NOT_CHECKED),
    ],
)
def test_the_worst_area_and_the_worst_tone_stand_for_their_checks(
    ink, nights, tones, expected, worst
):
    answers = (
        total_ink_answer(replace(ink_facts(PASS, limit=300.0, highest=200.0), verdict=ink)),
        night_answer([night("sea", said, limit=30.0, value=29.0) for said in nights]),
        tones_answer([tone("dusk", said, de00=2.0, mix={"Fog": 40}) for said in tones]),
    )
    assert tuple(answer.verdict for answer in answers) == expected
    assert overall(expected) == worst  # what was not checked counts only where nothing was


def test_what_checks_say_beside_their_findings():
    """Figures of a batch, the line of the verdict, charts and the card, each from its own value."""
    ink = total_ink_answer(ink_facts(FAIL, limit=300.0, highest=312.0))
    assert ink.figures == {"max_total_ink_pct": 312.0, "ink_limit_pct": 300.0}
    assert [line.words for line in ink.lines] == ["reaches 312 % on the sheet"]
    assert TotalInk().card(ink.figures) == ("total ink", "312 %", ", limit 300 %")
    assert TotalInk().sorts_by == "max_total_ink_pct"
    areas = [night("sea", PASS, limit=30.0, value=29.0), night("sky", FAIL, limit=30.0, value=34.0)]
    dark = night_answer(areas)
    assert [line.words for line in dark.lines] == [
        "95 % of it at L* 29 or darker",
        "95 % of it at L* 34 or darker",
    ]
    assert set(Night().shown(dark)["charts"]) == {"sea", "sky"}


def test_findings_are_called_by_their_check_and_their_name():
    assert [check.label("dusk") for check in (TotalInk(), Night(), NamedTones())] == [
        "total ink",
        "night: dusk",
        "named tone: dusk",
    ]
    assert [check.label("") for check in (Night(), NamedTones())] == ["night", "named tone"]


# --- pictures of places ---------------------------------------------------------------------------


def test_every_place_to_act_or_to_ask_about_has_a_picture(monkeypatch):
    monkeypatch.setattr("inkmix.jobs.checking.crops._crop", lambda *_: b"a picture")
    place = Finding(
        check=NIGHT, name="sea", verdict=FAIL, sentence="", unit="L*",
        rows_px=(10, 20), cols_px=(10, 20),
    )  # fmt: skip
    given = [replace(place, verdict=said) for said in (FAIL, PASS, UNSURE, NO_LIMIT)]
    found, pictures = crop_pictures(spread(), None, given, overview=None)
    assert [one.picture for one in found] == ["finding 1", None, "finding 3", None]
    assert list(pictures) == ["finding 1", "finding 3"]


# --- reference ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("covers", "size", "rows", "cols"),
    [
        ("sheet", (120, 200), slice(0, 120), slice(0, 200)),
        ("trim", (100, 180), slice(10, 110), slice(10, 190)),
        ("trim", (50, 90), slice(10, 110), slice(10, 190)),  # coarser than the plates
    ],
)
def test_a_reference_is_laid_on_what_it_shows(covers, size, rows, cols):
    """The bleed is 5 mm, 10 px."""
    picture = SimpleNamespace(covers=covers, height_px=size[0], width_px=size[1], white=None)
    check = reference_check(spread(), picture)
    assert (check.rows, check.cols) == (rows, cols)
    assert check.ppi == 50.8


def test_the_map_shows_differences_in_grey_up_to_de00_20():
    de00 = np.repeat(np.array([[0.0, 5.0, 10.0, 20.0, 40.0]]), 8, axis=0).repeat(8, axis=1)
    as_large = SimpleNamespace(pixels=object())
    made = compared_reference(
        SimpleNamespace(notes=(), white=None), ReferenceResult(facts=as_large, de00=de00)
    )
    shown = np.asarray(Image.open(io.BytesIO(made.picture)).convert("L"))[4, 4::8]
    assert shown.tolist() == pytest.approx([0, 64, 128, 255, 255], abs=3)  # JPEG


@pytest.mark.parametrize(
    ("covers", "words"), [("sheet", "the sheet with its bleed"), ("trim", "the trimmed sheet")]
)
def test_a_reference_of_another_size_is_averaged_and_said(covers, words):
    picture = SimpleNamespace(
        notes=("more",), width_px=90, height_px=50, covers=covers, white="absolute"
    )
    facts = SimpleNamespace(pixels=None, map_ppi=25.4)
    made = compared_reference(picture, ReferenceResult(facts=facts, de00=np.zeros((8, 8))))
    white, scaled, more = made.notes
    assert white.endswith("compared as it is: it says that the paper's colour is in it")
    assert scaled == (
        "the reference picture is 90 × 50 px, not as large as the plates: it is taken to show "
        f"{words}, and both are averaged to 25 ppi"
    )
    assert more == "more"
