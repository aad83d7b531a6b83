"""`inkmix mend` end to end: corrected copies of every form of plates, refused folders, recipes.

What the copies hold is read by tifffile and imagecodecs alone and judged by arithmetic of the test;
the book is drawn in night_book.py.
"""

import errno
import html
import json
import shutil
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import imagecodecs
import numpy as np
import pytest
import tifffile
from drawn_book import Ran, command, digests
from night_book import (
    FORMS,
    HEAVY,
    HEIGHT_PX,
    INKS,
    LIMIT_PCT,
    MOON,
    PPI,
    SKY,
    WIDTH_PX,
    NightBook,
    draw_book,
    draw_plates,
)
from plate_files import write_tiff
from report_cases import findings
from schemas import refuse_unlike

import inkmix
from inkmix.base import output_files
from inkmix.base.listed_files import LIST_NAME
from inkmix.checks.finding import CurveStep, Remedy
from inkmix.checks.mending.curve import PLACES_PCT
from inkmix.checks.mending.mender import Mended, Spoiling
from inkmix.checks.night import remedies as night_remedies
from inkmix.jobs.answer import BeforeAfter
from inkmix.jobs.checking import places
from inkmix.jobs.mending import find, write
from inkmix.jobs.mending import find as finding_corrections
from inkmix.jobs.mending.folder import RECIPE_NAME
from inkmix.jobs.mending.values import BookMended, CorrectionMade, PlateMended, SpreadMended, Undone
from inkmix.jobs.printing.pictures import jpeg_bytes
from inkmix.pages.mending.document import mending_schema
from inkmix.pages.mending.page import render_page
from inkmix.pages.mending.pictures import page_pictures
from inkmix.pages.mending.text import result_lines
from inkmix.pages.mending.words import NO_PROOF, NOTHING, note_lines, undone_lines
from inkmix.pages.report.pictures import BUDGET_BYTES, PAGE_LIMIT_BYTES, picture_size
from inkmix.sheet.geometry import Place

STEP_PCT = 100 / 255
BIG_MOON = slice(20, 50), slice(20, 50)
NOBODY_TOLD = '\n[paper]\nsrgb = "#eeeeee"\nclass = "uncoated"\nguessed = true\n'


def mend(book: NightBook, capfd, to: Path, *options: str | Path) -> Ran:
    return command(capfd, "mend", book.folder, "--to", to, *options)


@pytest.fixture(scope="module")
def mended_once(tmp_path_factory) -> Path:
    """A folder with the book and its corrected copy, to be copied."""
    folder = tmp_path_factory.mktemp("mended")
    book = draw_book(folder / "in")
    inkmix.mend_book(inkmix.read_book(book.folder), folder / "out")
    return folder


@pytest.fixture
def mended(mended_once, tmp_path) -> NightBook:
    """The book, with its corrected copy in "out" beside it."""
    shutil.copytree(mended_once, tmp_path, dirs_exist_ok=True)
    return NightBook(folder=tmp_path / "in")


def document(folder: Path) -> dict:
    """mending.json, which its schema describes."""
    said = json.loads((folder / "mending.json").read_bytes())
    refuse_unlike(mending_schema, said)
    return said


@pytest.mark.parametrize("form", FORMS)
def test_copies_of_every_form_pass_and_keep_what_they_are(tmp_path, capfd, form):
    book = draw_book(tmp_path / "in", form, lightest_L=32 if form == "double hit" else 33)
    before = digests(book.folder)
    ran = mend(book, capfd, tmp_path / "out")
    copies = book.at(tmp_path / "out")
    assert ran.code == 0, ran.err
    assert digests(book.folder) == before
    assert "01: fail, now pass" in ran.err
    assert NO_PROOF in ran.err

    # A plate finer than the set counts by its rounded mean, so by half a step more at most.
    spare_pct = STEP_PCT / 2 if form == "finer" else 1e-6
    assert book.total_pct().max() > LIMIT_PCT + 30
    assert copies.total_pct().max() <= LIMIT_PCT + spare_pct
    changed = {ink for ink in INKS if (book.raw(ink) != copies.raw(ink)).any()}
    assert len(changed) >= 3
    for ink in INKS:
        assert copies.raw(ink).dtype == book.raw(ink).dtype
        assert copies.raw(ink).shape == book.raw(ink).shape
        scale = len(book.raw(ink)) // 160
        moon = tuple(slice(side.start * scale, side.stop * scale) for side in MOON)
        np.testing.assert_array_equal(copies.raw(ink)[moon], book.raw(ink)[moon])
    sky = {ink: (copies.tone_pct(ink) - book.tone_pct(ink))[SKY] for ink in INKS}
    assert min(change.min() for change in sky.values()) > -STEP_PCT  # nothing is taken off there
    assert sum(change.mean() for change in sky.values()) > 1
    assert command(capfd, "check", copies.folder, "--to", tmp_path / "report").code == 0


def test_what_does_not_change_is_equal_bytes_and_tags_stay(tmp_path, capfd):
    book = draw_book(tmp_path / "in", spreads=("01", "02"))
    quiet = draw_book(tmp_path / "quiet", spreads=("02",))
    for ink in INKS:  # the second spread lacks the heavy place, and its sky is dark
        with tifffile.TiffFile(quiet.path(ink, "02")) as file:
            numbers = file.asarray()
        numbers[HEAVY] = 230 - 5 * INKS.index(ink)
        numbers[SKY] = {"Soot": 20, "Fjord": 40}.get(ink, 240)
        tifffile.imwrite(
            book.path(ink, "02"), numbers, metadata=None, resolution=(100, 100),
            resolutionunit="INCH",
        )  # fmt: skip
    ran = mend(book, capfd, tmp_path / "out")
    copies = book.at(tmp_path / "out")
    assert ran.code == 0, ran.err
    for ink in INKS:
        assert copies.path(ink, "02").read_bytes() == book.path(ink, "02").read_bytes()
    assert copies.path("Fjord").read_bytes() == book.path("Fjord").read_bytes()
    for name in ("book.toml", "masks/01.png", "masks/02.png"):
        assert (copies.folder / name).read_bytes() == (book.folder / name).read_bytes()
    with tifffile.TiffFile(copies.path("Soot")) as file:
        page = file.pages[0]
        assert page.tags["Software"].value == "a scanner"
        assert (page.compression, page.rowsperstrip) == (tifffile.COMPRESSION.LZW, 16)
        assert page.resolution == (100, 100)


def test_what_the_copy_of_a_plate_leaves_out_is_said_everywhere(tmp_path, capfd):
    """Layers of an editor show the picture as it was; those of a plate that stays are kept."""
    book = draw_book(tmp_path / "in")
    layers = (37724, 7, 6, b"layers", True)
    for ink in ("Soot", "Fjord"):  # no ink of Fjord comes or goes
        write_tiff(book.path(ink), book.raw(ink), PPI, extratags=[layers])
    ran = mend(book, capfd, tmp_path / "out")
    copies = book.at(tmp_path / "out")
    assert b"layers" not in copies.path("Soot").read_bytes()
    assert copies.path("Fjord").read_bytes() == book.path("Fjord").read_bytes()
    (note,) = (
        said for said in document(tmp_path / "out")["spreads"][0]["notes"] if "37724" in said
    )
    assert note.startswith("01/Soot.tif: ")
    assert f"note: {note}" in ran.err
    assert note in html.unescape((tmp_path / "out" / "mended.html").read_text(encoding="utf-8"))


def test_ink_that_came_and_went_lies_beside_as_grey_pictures(mended, tmp_path, capfd):
    copies, said = mended.at(tmp_path / "out"), document(tmp_path / "out")
    (spread,) = said["spreads"]
    assert {plate["ink"] for plate in spread["plates"]} == {"Soot", "Rowan", "Fog"}
    for plate in spread["plates"]:
        change = mended.raw(plate["ink"]).astype(int) - copies.raw(plate["ink"])  # 0 is full ink
        for way, sign, most in (
            ("added", 1, "most_added_pct"),
            ("removed", -1, "most_removed_pct"),
        ):
            wanted = np.maximum(sign * change, 0)
            if plate[way] is None:
                assert not wanted.any()
                continue
            picture = tifffile.imread(tmp_path / "out" / plate[way])
            np.testing.assert_array_equal(255 - picture.astype(int), wanted)
            assert plate[most] == pytest.approx(wanted.max() * STEP_PCT, abs=1e-4)
        share_pct = 100 * np.count_nonzero(change) / change.size
        assert plate["changed_pct"] == pytest.approx(share_pct, abs=1e-4)
    assert "left out" not in command(capfd, "check", copies.folder).err  # no plate among them


def test_mended_plates_have_nothing_more_to_mend(mended, tmp_path, capfd):
    ran = mend(mended.at(tmp_path / "out"), capfd, tmp_path / "again")
    assert ran.code == 0
    assert NOTHING in ran.err
    assert not (tmp_path / "again").exists()


def test_a_correction_that_would_take_the_picture_is_made_only_if_asked_for(tmp_path, capfd):
    book = draw_book(tmp_path / "in", lightest_L=24.5)  # little above the darkest that can be had
    ran = mend(book, capfd, tmp_path / "out", "--only", "night")
    assert ran.code == 1
    assert "not done: the sky: making it dark enough would at least " in ran.err
    assert "--give-up-lights" in ran.err
    assert not (tmp_path / "out").exists()


def test_what_only_just_does_is_followed_up_at_once_and_kept_in_the_recipe(
    tmp_path, capfd, monkeypatch
):
    """Curves that do for sure are found only when the first, which only just do, are made."""
    sure, remedy = [], night_remedies._AreaSearch.remedy

    def hesitant(self, *, margin, may_spoil):
        sure.extend([margin] * margin)
        if margin and len(sure) == 1:
            return None
        return remedy(self, margin=margin, may_spoil=may_spoil)

    monkeypatch.setattr(night_remedies._AreaSearch, "remedy", hesitant)
    book = draw_book(tmp_path / "in", lightest_L=26)
    edited(book, "ink_limit_pct = 260", "ink_limit_pct = 320")  # all else is as it must be
    first, same = tmp_path / "out", tmp_path / "same"
    ran = mend(book, capfd, first, "--only", "night")
    assert "01: fail, now pass" in ran.err, ran.err
    assert len(document(first)["spreads"][0]["corrections"]) == 2
    ran = mend(book.at(first), capfd, tmp_path / "again", "--only", "night")
    assert (ran.code, NOTHING in ran.err) == (0, True), ran.err
    ran = mend(book, capfd, same, "--only", "night", "--again", first / RECIPE_NAME)
    assert "no longer fits" not in ran.err
    remedies = [
        [made["remedy"] for made in document(folder)["spreads"][0]["corrections"]]
        for folder in (first, same)
    ]
    for once, again in zip(*remedies, strict=True):
        assert (again["loses"], again["gains"]) == (once["loses"], once["gains"])
        assert again["do"] == "Darken the pale parts of the sky by the curves of the recipe."
    former, last = remedies[1]
    assert f"  mended: {former['do']}\n  mended: {last['do']}\n" in ran.err
    assert former["gains"] == ""  # "only just", which the second made stale
    assert last["gains"].startswith("Asked: 95 % of the area at L* ")
    for ink in INKS:
        assert book.at(first).path(ink).read_bytes() == book.at(same).path(ink).read_bytes()


def test_every_reason_is_said_once_with_all_that_it_holds_for():
    names = [*(f"area {number}" for number in range(1, 8)), "specks"]
    undone = [
        *(Undone(check="total ink", name=name, why="it is so") for name in names[:6]),
        Undone(check="night", name="the sky", why="it is so"),
        *(Undone(check="total ink", name=name, why="it is so") for name in names[6:]),
        Undone(check="named tones", name="", why="it was left out"),
    ]
    assert list(undone_lines(undone)) == [
        "not done: area 1, area 2, area 3, 4 more and specks: it is so.",
        "not done: the sky: it is so.",
        "not done: named tones: it was left out.",
    ]
    assert next(undone_lines(undone[:2])) == "not done: area 1 and area 2: it is so."


def night_made(name: str, **costs: object) -> CorrectionMade:
    return CorrectionMade(check="night", name=name, remedy=Remedy(do="Darken it.", **costs))


@pytest.mark.parametrize(
    ("made", "said"),
    [
        ((night_made("the sky", lights_kept=3, lights_lost=0, texture_pct=88.0),), ""),
        ((night_made("the sky", lights_lost=1, texture_pct=88.0),), "1 light lost"),
        (
            (night_made("the sky", lights_lost=2, texture_pct=38.2), night_made("", lights_lost=1)),
            "3 lights lost, 62 % of the texture of the sky lost",
        ),
        (  # half of it goes by the two together
            (night_made("the sky", texture_pct=70.0), night_made("the sky", texture_pct=60.0)),
            "58 % of the texture of the sky lost",
        ),
    ],
)
def test_what_a_correction_costs_stands_beside_its_verdict(tmp_path, made, said):
    one = SpreadMended(
        spread="01", was="fail", was_sentence="", verdict="pass", sentence="All is well.",
        corrections=made,
    )  # fmt: skip
    book = BookMended(title="b", spreads=(one, replace(one, spread="02", corrections=())))
    lines = [line.replace("\xa0", " ") for line in result_lines(book, tmp_path)]
    assert f"01: fail, now pass{'; ' if said else ''}{said}" in lines
    assert "02: fail, now pass" in lines
    page = html.unescape(render_page(book).decode()).replace("\xa0", " ")
    assert (f'01 <span class="aside">{said}</span></th>' in page) == bool(said)
    assert (f'<p class="caution">{said}.</p>' in page) == bool(said)
    assert '<th scope="row">02</th>' in page


def test_notes_name_their_spreads_unless_all_share_them():
    same = ("the mask is scaled",)
    notes = {"01": (*same, "coral drifts here"), "02": (*same, "02/Soot.tif: layers"), "03": same}
    book = BookMended(
        title="b",
        spreads=tuple(
            SpreadMended(
                spread=name, was="pass", was_sentence="", verdict="pass", sentence="", notes=said
            )
            for name, said in notes.items()
        ),
    )
    assert list(note_lines(book)) == [
        "the mask is scaled", "01: coral drifts here", "02/Soot.tif: layers",
    ]  # fmt: skip
    assert list(note_lines(replace(book, spreads=book.spreads[:1]))) == [*notes["01"]]


def test_no_smaller_share_is_offered_where_none_helps():
    """Nor a key without its number."""
    cost = Remedy(do="", lights_lost=1)  # what would be done is not said of it
    some = replace(cost, share_for_lights_pct=91.0)
    said = {
        one.share_for_lights_pct: find._declined("night", Spoiling(name="the sky", remedy=one)).why
        for one in (cost, some)
    }
    assert "share" not in said[None]
    assert "Allow a lighter night (lightest_L) or a darker ink, or measure" in said[None]
    assert "(lightest_L), a smaller share (share_pct = 91, by the lights' size) or" in said[91.0]


def dark_sheet(book: NightBook) -> None:
    """A sheet without lights, since Fog is turned; Soot alone can be darkened enough."""
    y, x = np.mgrid[:HEIGHT_PX, :WIDTH_PX]
    drawn = 50 + 45 * np.sin(x / 25) * np.cos(y / 19)
    tone_pct = {"Soot": 60 + 0.35 * drawn, "Fjord": 60 - 0.3 * drawn, "Rowan": 0.3 * drawn,
                "Fog": 100 - 0.9 * drawn}  # fmt: skip
    for ink, tone in tone_pct.items():
        write_tiff(book.path(ink), np.rint(255 - 2.55 * tone).astype(np.uint8), PPI)


def doubts(folder: Path) -> list[str]:
    result = inkmix.check_spread(inkmix.read_book(folder), "01", remedies=False)
    return [note for note in result.warnings if "is it inverted?" in note]


def test_a_plate_that_may_be_turned_is_doubted_on_its_copy_too(tmp_path, capfd):
    book = draw_book(tmp_path / "in")
    dark_sheet(book)
    assert doubts(book.folder)
    ran = mend(book, capfd, tmp_path / "out", "--only", "night")
    assert "01/Soot.tif: is it inverted?" in ran.err
    assert doubts(tmp_path / "out") == doubts(book.folder)


def test_a_night_that_became_dark_is_not_taken_for_a_turned_plate(tmp_path, capfd, monkeypatch):
    """The same plates, as if there had been lights before inkmix wrote the copies."""
    book = draw_book(tmp_path / "in")
    dark_sheet(book)
    with monkeypatch.context() as patched:
        patched.setattr("inkmix.plates.survey.counting.lights_are_hidden_by", lambda tone: ())
        mend(book, capfd, tmp_path / "out", "--only", "night")
    assert doubts(tmp_path / "out") == []
    copy = book.at(tmp_path / "out").path("Fog")
    write_tiff(copy, imagecodecs.imread(copy.read_bytes()), PPI, software="somebody")
    assert doubts(tmp_path / "out") == doubts(book.folder)  # no copy of ours any more


def test_ink_that_came_off_is_not_asked_for_again(tmp_path, capfd):
    """Curves for the sky go by a limit of 150 %; alone they say so, before ink came off they do."""
    book = draw_book(tmp_path / "in")
    edited(book, "ink_limit_pct = 260", "ink_limit_pct = 150")
    advice = "Do the remedy for total ink after it"
    ran = mend(book, capfd, tmp_path / "night", "--only", "night")
    assert advice in ran.err
    ran = mend(book, capfd, tmp_path / "out")
    made = [one["check"] for one in document(tmp_path / "out")["spreads"][0]["corrections"]]
    assert (made[0], made[-1]) == ("night", "total ink")
    page = (tmp_path / "out" / "mended.html").read_text(encoding="utf-8")
    assert advice not in ran.err + page + (tmp_path / "out" / "mending.json").read_text()


def test_ink_that_curves_bring_over_the_limit_comes_off_in_the_same_run(tmp_path, capfd):
    """A pale cloud in the sky holds 164 % where 165 % are allowed; nothing else holds as much."""
    book = draw_book(tmp_path / "in", lightest_L=30)
    edited(book, "ink_limit_pct = 260", "ink_limit_pct = 165")
    for ink, pct in zip(INKS, (62, 60, 0, 42), strict=True):
        numbers = book.raw(ink)
        numbers[HEAVY] = 255
        numbers[60:90, 70:100] = np.ceil(255 - 2.55 * pct)
        write_tiff(book.path(ink), numbers, PPI)
    assert book.total_pct().max() <= 165
    mend(book, capfd, tmp_path / "night", "--only", "night")
    assert book.at(tmp_path / "night").total_pct().max() > 165
    ran = mend(book, capfd, tmp_path / "out")
    assert ran.code == 0, ran.err
    assert book.at(tmp_path / "out").total_pct().max() <= 165 + 1e-6


@pytest.mark.parametrize(
    ("done", "is_counted"),
    [
        (lambda planes: planes, False),
        (lambda planes: planes.copy(), False),
        (lambda planes: planes + np.uint8(1), False),  # more than the files can hold
        (lambda planes: planes + np.uint8(2), True),
    ],
)
def test_a_correction_counts_only_if_files_hold_what_it_changes(done, is_counted):
    planes = np.full((2, 4, 6), 100, np.uint8)
    correction = SimpleNamespace(applied=lambda planes, rows, cols: done(planes))
    mended = SimpleNamespace(correction=correction, boxes=((slice(0, 4), slice(0, 6)),))
    trials = SimpleNamespace(
        source=SimpleNamespace(read=lambda rows, cols: (planes[:, rows, cols], None)),
        held=lambda before, after: after & np.uint8(0xFE),  # as if each second step were missing
    )
    assert find._acts(mended, trials) == is_counted


def test_what_is_open_in_the_whole_book_is_said_once(tmp_path):
    """Named tones are a matter of the book; what a spread alone has, stays with it."""
    first = findings()[0]
    tones = replace(first, check="named tones", verdict="fail", sentence="Moss is too light.")
    own = replace(first, check="total ink", verdict="fail", sentence="Too much ink here.")
    plate = PlateMended(
        ink="Soot", file="Soot.tif", added="added/Soot.tif", removed=None, changed_pct=3.0,
        most_added_pct=9.4, most_removed_pct=0.0,
    )  # fmt: skip
    both = [
        SpreadMended(
            spread=name, was="fail", verdict="fail", was_sentence="", sentence="", plates=(plate,),
            left=(tones, own) if name == "01" else (tones,),
        )
        for name in ("01", "02")
    ]  # fmt: skip
    book = BookMended(title="Two", spreads=tuple(both))
    lines = list(result_lines(book, tmp_path))
    assert lines.count("still open: fail: Moss is too light.") == 1
    assert lines.count("  still open: fail: Too much ink here.") == 1
    assert sum("still open" in line for line in lines) == 2
    assert "  Soot: up to 10 points more, on 3 % of the sheet" in lines
    page = render_page(book).decode()
    assert [page.count(words) for words in ("Moss is too light.", "Too much ink here.")] == [1, 1]
    assert ">10 points<" in page
    alone = BookMended(title="One", spreads=tuple(both[:1]))
    assert "  still open: fail: Moss is too light." in result_lines(alone, tmp_path)


def test_the_page_of_a_large_book_holds_the_worst_places_pixel_by_pixel(tmp_path):
    """Forty spreads of two noisy places are three times what fits; only 03 still fails."""
    rng = np.random.default_rng(0)
    sheet, place = (
        jpeg_bytes(rng.integers(0, 255, size, np.uint8)) for size in ((300, 500, 3), (300, 480, 3))
    )
    assert 40 * 2 * 2 * len(place) > 3 * BUDGET_BYTES
    names = [f"{number:02}" for number in range(40)]
    keys = [(f"{number}, before", f"{number}, after") for number in range(2)]
    where = Place(
        panel=None, panels=(), x_mm=1, y_mm=1, width_mm=9, height_mm=9, sheet_x_mm=1, sheet_y_mm=1
    )
    curves = CurveStep(plate="Soot", area="sky", heights_pct=PLACES_PCT, most_pct=9.0)
    spreads = tuple(
        SpreadMended(
            spread=name, was="fail", verdict="fail" if name == "03" else "pass", was_sentence="",
            sentence="",
            corrections=tuple(
                CorrectionMade(
                    check="night", name="sky",
                    crops=(BeforeAfter(before=pair[0], after=pair[1], place=where),),
                    remedy=Remedy(
                        do="Darken it.",
                        curves=(replace(curves, most_pct=90.0) if name == "27" else curves,),
                    ),
                )
                for pair in keys
            ),
            pictures={"before": sheet, "after": sheet}
            | {key: place for pair in keys for key in pair},
        )
        for name in names
    )  # fmt: skip
    book = BookMended(title="Large", spreads=spreads)
    shown = page_pictures(book, page="mended.html")
    pairs = {name: sum(", before" in key for key in kept) for name, kept in shown.of.items()}
    assert pairs["03"] == 2
    rest = {name: number for name, number in pairs.items() if number and name != "03"}
    assert next(iter(rest)) == "27"
    assert sum(pairs.values()) + shown.places_left_out == 40 * 2
    assert sum("before" in kept for kept in shown.of.values()) == 8
    assert "before" in shown.of["03"]
    assert shown.sheets_left_out == 32
    for kept in shown.of.values():
        assert all(picture_size(kept[key]) == (480, 300) for key in kept if " " in key)
    page = render_page(book)
    assert len(page) < PAGE_LIMIT_BYTES
    words = f"Not shown, for want of room: {shown.places_left_out} places before and after"
    assert words in page.decode()


def test_a_recipe_makes_the_same_copies_and_serves_fresh_exports(mended, tmp_path, capfd):
    recipe = tmp_path / "out" / RECIPE_NAME
    corrections = json.loads(recipe.read_bytes())["spreads"][0]["corrections"]
    # What darkens a night adds ink, so ink comes off last.
    assert [one["check"] for one in corrections] == ["night", "total ink"]
    ran = mend(mended, capfd, tmp_path / "same", "--again", recipe)
    assert ran.code == 0
    assert "no longer fits" not in ran.err
    for ink in INKS:
        first, second = (
            mended.at(tmp_path / "out").path(ink),
            mended.at(tmp_path / "same").path(ink),
        )
        assert first.read_bytes() == second.read_bytes()
    assert recipe.read_bytes() == (tmp_path / "same" / RECIPE_NAME).read_bytes()

    draw_plates(mended, seed=5, moons=2)  # another export, with a second moon
    ran = mend(mended, capfd, tmp_path / "fresh", "--again", recipe)
    assert "the sky: 2 lights stay as drawn; when the recipe was made, 1 did." in ran.err
    assert ran.code == 0, ran.err
    copies = mended.at(tmp_path / "fresh")
    assert copies.total_pct().max() <= LIMIT_PCT + 1e-6
    for moon in (MOON[1], slice(MOON[1].start + 30, MOON[1].stop + 30)):
        assert copies.total_pct()[MOON[0], moon].max() == 0
    assert document(tmp_path / "fresh")["spreads"][0]["misfits"] != []


def changed_sky(book: NightBook, tone_pct: dict[str, float], spread: str = "01") -> None:
    """A flat sky without a moon."""
    for ink in INKS:
        numbers = book.raw(ink, spread)
        numbers[SKY] = round(255 - 2.55 * tone_pct.get(ink, 0))
        write_tiff(book.path(ink, spread), numbers, PPI)


def test_a_correction_that_an_export_does_not_need_survives_it(mended, tmp_path, capfd):
    recipe, new = tmp_path / "out" / RECIPE_NAME, tmp_path / "new"
    changed_sky(mended, {"Soot": 92, "Fjord": 84})
    ran = mend(mended, capfd, new, "--again", recipe)
    assert ran.code == 0, ran.err
    assert "  kept in the recipe: the sky: not needed now.\n" in ran.err
    assert [made["check"] for made in document(new)["spreads"][0]["corrections"]] == ["total ink"]
    assert (new / RECIPE_NAME).read_bytes() == recipe.read_bytes()
    draw_plates(mended, seed=5)  # the moon is back
    ran = mend(mended, capfd, new, "--again", new / RECIPE_NAME)
    assert ("not needed" in ran.err, ran.code) == (False, 0), ran.err


def test_a_recipe_that_does_not_do_leaves_the_good_one_as_it_was(mended, tmp_path, capfd):
    recipe, new = tmp_path / "out" / RECIPE_NAME, tmp_path / "new"
    changed_sky(
        mended, {"Soot": 5, "Fog": 40}
    )  # far paler than the sky that the curves were made for
    ran = mend(mended, capfd, new, "--again", recipe)
    assert "with the curves of the recipe it comes down to" in ran.err
    assert ran.code == 1
    assert (new / RECIPE_NAME).read_bytes() == recipe.read_bytes()


def big_moon(book: NightBook) -> None:
    """A moon of 8 % of the sky, of which 5 % may be light."""
    for ink in INKS:
        numbers = book.raw(ink)
        numbers[BIG_MOON] = 255
        write_tiff(book.path(ink), numbers, PPI)


def test_what_a_recipe_says_where_it_does_not_do_is_true(mended, tmp_path, capfd):
    """Its curves cannot darken bare paper: the moon stays, whoever gives it up."""
    big_moon(mended)
    recipe, new = tmp_path / "out" / RECIPE_NAME, tmp_path / "new"
    ran = mend(mended, capfd, new, "--again", recipe, "--give-up-lights")
    assert ran.code == 1
    (night,) = (
        made["remedy"]
        for made in document(new)["spreads"][0]["corrections"]
        if made["check"] == "night"
    )
    np.testing.assert_array_equal(
        mended.at(new).raw("Soot")[BIG_MOON], mended.raw("Soot")[BIG_MOON]
    )
    assert night["loses"].startswith("1 light is not spared. It is ")
    (spread,) = document(new)["spreads"]
    assert not any(crop["lost"] for made in spread["corrections"] for crop in made["crops"])
    assert night["gains"].startswith("Asked: 95 % of the area at L* 33 or darker. Reached: ")
    only = f"(95 % of it only at L* {night['reaches_L']:.1f}): it still fails."
    assert night["gains"].endswith(only)
    for untrue in ("turns dark", "only just", "would stay with", "0 lights stay as drawn"):
        assert untrue not in ran.err + night["loses"] + night["gains"]


def test_a_recipe_gives_up_no_light_that_it_kept(mended, tmp_path, capfd):
    big_moon(mended)
    recipe, new = tmp_path / "out" / RECIPE_NAME, tmp_path / "new"
    ran = mend(mended, capfd, new, "--again", recipe)
    assert "not done: the sky: by the recipe, its correction would now not spare 1 light" in ran.err
    assert "not needed" not in ran.err
    np.testing.assert_array_equal(mended.at(new).raw("Soot")[SKY], mended.raw("Soot")[SKY])
    edited(mended, "lightest_L = 33\n", "lightest_L = 33\nshare_pct = 99.5\n")
    draw_plates(mended)
    mend(mended, capfd, new, "--only", "night", "--give-up-lights")
    kept = json.loads((new / RECIPE_NAME).read_bytes())["spreads"][0]["corrections"][0]
    assert (kept["lights"], kept["lights_lost"]) == (0, 1)
    ran = mend(mended, capfd, new, "--again", new / RECIPE_NAME)  # it gave up one itself
    assert "not done" not in ran.err
    assert "1 light turns dark" in ran.err


def test_what_nobody_asked_for_stays_in_the_recipe(tmp_path, capfd):
    book, out = draw_book(tmp_path / "in", spreads=("01", "02")), tmp_path / "out"

    def kept() -> list[tuple[str, list[str]]]:
        spreads = json.loads((out / RECIPE_NAME).read_bytes())["spreads"]
        return [(one["spread"], [made["check"] for made in one["corrections"]]) for one in spreads]

    mend(book, capfd, out, "--spread", "02", "--only", "total-ink")
    assert kept() == [("02", ["total ink"])]
    mend(book, capfd, out, "--spread", "02", "--only", "night")
    assert kept() == [("02", ["night", "total ink"])]
    mend(book, capfd, out, "--spread", "01")
    both = (out / RECIPE_NAME).read_bytes()
    assert kept() == [(name, ["night", "total ink"]) for name in ("01", "02")]
    mend(book, capfd, out, "--spread", "02", "--again", out / RECIPE_NAME, "--only", "night")
    assert (out / RECIPE_NAME).read_bytes() == both
    edited(book, 'title = "A small night"', 'title = "Another night"')
    mend(book, capfd, out, "--spread", "02", "--only", "night")
    assert kept() == [("02", ["night"])]


def test_a_light_that_a_fresh_export_lost_is_named(tmp_path, capfd):
    book = draw_book(tmp_path / "in")
    draw_plates(book, moons=2)
    mend(book, capfd, tmp_path / "out", "--only", "night")
    draw_plates(book, seed=5)
    recipe = tmp_path / "out" / RECIPE_NAME
    ran = mend(book, capfd, tmp_path / "fresh", "--only", "night", "--again", recipe)
    assert "1 light stays as drawn; when the recipe was made, 2 did." in ran.err
    corrections = document(tmp_path / "fresh")["spreads"][0]["corrections"]
    assert [made["remedy"]["lights_kept"] for made in corrections] == [1]


@pytest.mark.parametrize(
    ("form", "check"), [("double hit", "night"), ("sixteen and eight", "total-ink")]
)
def test_what_is_shown_as_mended_is_what_the_copies_hold(tmp_path, capfd, monkeypatch, form, check):
    """No plate can hold all that is wanted: one prints twice, or has 8 bits among 16."""
    book = draw_book(tmp_path / "in", form)
    if form == "double hit":  # Fjord, which darkens the sky, instead of Soot
        second = 'name = "Soot 2"\nswatch = "night-ferry/Soot"\nplate = "Soot"'
        edited(book, second, second.replace("Soot", "Fjord"))
    rowan = book.raw("Rowan")
    rowan[HEAVY] = np.linspace(20, 90, 50).astype(np.uint8)  # colours enough to tell steps apart
    write_tiff(book.path("Rowan"), rowan, PPI)
    shown = []

    def noted(srgb8):
        shown.append(srgb8)
        return jpeg_bytes(srgb8)

    for module in ("inkmix.jobs.mending.spread", "inkmix.jobs.checking.places"):
        monkeypatch.setattr(f"{module}.jpeg_bytes", noted)
    mend(book, capfd, tmp_path / "out", "--only", check)
    before, after, *_ = shown  # of the one correction, then the sheets as the checks see them
    inkmix.check_spread(
        inkmix.read_book(tmp_path / "out"), picture=tmp_path / "print.png", remedies=False
    )
    printed = imagecodecs.png_decode((tmp_path / "print.png").read_bytes())
    np.testing.assert_array_equal(after, printed)
    assert (before != printed).any()


def edited(book: NightBook, old: str, new: str) -> None:
    text = (book.folder / "book.toml").read_text(encoding="utf-8")
    assert text.count(old) == 1
    (book.folder / "book.toml").write_text(text.replace(old, new), encoding="utf-8")


@pytest.mark.parametrize(
    ("old", "new", "said", "code"),
    [
        ("ink_limit_pct = 260", "ink_limit_pct = 240", "limit was 260 % and is 240 % now", 0),
        (
            "lightest_L = 33\n",
            "lightest_L = 33\nshare_pct = 96\n",
            "made for 95 % of the area, and the book asks 96 % now",
            0,
        ),
        ("lightest_L = 33", "lightest_L = 33.2", "L* 33, and the book allows L* 33.2 now", 0),
        (
            "ink_limit_pct = 260",
            "ink_limit_pct = 240",
            "made for an ink limit of 260 %, and the book gives an ink limit of 240 % now",
            0,
        ),
        ('name = "the sky"', 'name = "heaven"', "the sky: the book asks for nothing there", 1),
        ('name = "the sky"', 'name = "heaven"', "heaven: the recipe says nothing of it", 1),
        pytest.param(
            "lightest_L = 33", "lightest_L = 27", "comes down to L* 31", 1, marks=pytest.mark.long
        ),
        ('name = "Fog"\n', 'name = "Haze"\n', "The inks were Soot, Fjord, Rowan, Fog", 0),
    ],
)
def test_what_of_a_recipe_no_longer_fits_is_named(mended, tmp_path, capfd, old, new, said, code):
    edited(mended, old, new)
    if "Haze" in new:
        mended.path("Fog").rename(mended.folder / "plates" / "01" / "Haze.tif")
    ran = mend(
        mended, capfd, tmp_path / "new", "--again", tmp_path / "out" / RECIPE_NAME, "--strict"
    )
    assert said in ran.err
    assert ran.code == code, ran.err


def test_a_recipe_darkens_no_further_than_the_book_asks_now(tmp_path, capfd):
    """Two more of L* are allowed, so the sky gets less ink than it got before."""
    book = draw_book(tmp_path / "in", lightest_L=30)
    edited(book, "ink_limit_pct = 260", "ink_limit_pct = 320")  # all else is as it must be
    mend(book, capfd, tmp_path / "out", "--only", "night")
    edited(book, "lightest_L = 30", "lightest_L = 32")
    recipe = tmp_path / "out" / RECIPE_NAME
    ran = mend(book, capfd, tmp_path / "new", "--only", "night", "--again", recipe)
    assert "still open" not in ran.err
    drawn = book.total_pct()[SKY].mean()
    then, now = (book.at(tmp_path / name).total_pct()[SKY].mean() for name in ("out", "new"))
    assert 1 < now - drawn < 0.75 * (then - drawn)


def test_more_lights_stay_where_a_book_asks_for_less_than_its_recipe(tmp_path, capfd):
    book = draw_book(tmp_path / "in")
    edited(book, "ink_limit_pct = 260", "ink_limit_pct = 320")  # all else is as it must be
    edited(book, "lightest_L = 33\n", "lightest_L = 33\nshare_pct = 99.5\n")
    ran = mend(book, capfd, tmp_path / "out", "--only", "night", "--give-up-lights")
    assert "1 light turns dark" in ran.err  # the moon has 1.1 % of the sky
    made = document(tmp_path / "out")["spreads"][0]["corrections"][0]
    rows, cols = MOON
    (where,) = made["remedy"]["lights_lost_at"]
    assert made["crops"][0]["lost"] == where
    for name, pixels in (
        ("sheet_x_mm", cols.start), ("sheet_y_mm", rows.start),
        ("width_mm", cols.stop - cols.start), ("height_mm", rows.stop - rows.start),
    ):  # fmt: skip
        assert where[name] == pytest.approx(25.4 * pixels / PPI, abs=2 * 25.4 / PPI)
    page = (tmp_path / "out" / "mended.html").read_text("utf-8")
    assert page.index("This light turns dark") < page.index("pixel by pixel")
    edited(book, "share_pct = 99.5", "share_pct = 95")
    recipe = tmp_path / "out" / RECIPE_NAME
    ran = mend(book, capfd, tmp_path / "new", "--only", "night", "--again", recipe)
    assert "made for 99.5 % of the area, and the book asks 95 % now" in ran.err
    assert "still open" not in ran.err
    np.testing.assert_array_equal(
        book.at(tmp_path / "new").raw("Soot")[MOON], book.raw("Soot")[MOON]
    )


def test_a_plate_that_is_gone_is_named(mended, tmp_path, capfd):
    edited(mended, '{ink}.tif"\n', '{ink}.tif"\nabsent = "empty"\n')
    recipe = json.loads((tmp_path / "out" / RECIPE_NAME).read_text())
    recipe["spreads"][0]["corrections"][0]["recipe"]["curves"][0]["plate"] = "Coal"
    (tmp_path / "other.json").write_text(json.dumps(recipe))
    ran = mend(mended, capfd, tmp_path / "new", "--again", tmp_path / "other.json", "--strict")
    assert "the sky: Coal cannot be changed any more" in ran.err
    assert ran.code == 1


def curve(number: int, change):
    """A recipe in which the curves of the first correction, from one on, are others."""

    def changed(text: str) -> str:
        recipe = json.loads(text)
        curves = recipe["spreads"][0]["corrections"][0]["recipe"]["curves"]
        curves[number:] = change(curves[number])
        return json.dumps(recipe)

    return changed


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (
            curve(0, lambda one: [one | {"heights_pct": [50.0]}]),
            "curves[0]: holds 1 height; a curve has 9",
        ),
        (
            curve(0, lambda one: [one | {"heights_pct": [50.0] * 100_000}]),
            "curves[0]: holds 100,000 heights; a curve has 9",
        ),
        (
            curve(0, lambda one: [one | {"heights_pct": [90.0] * 8 + [20.0]}]),
            "are not heights of a curve that adds ink",
        ),
        (curve(0, lambda one: [one, one]), "several curves for "),
        (lambda text: text[:100], "is no JSON"),
        (lambda text: "[1, 2]", "is no recipe of inkmix"),
        (lambda text: text.replace('"format": 1', '"format": 2'), "is of a newer format"),
        (
            lambda text: text.replace('"share_pct": 95.0', '"share_pct": "95"'),
            "share_pct: is not a",
        ),
        (lambda text: text.replace('"knee_pct": 5.0', '"knee_pct": -5.0'), "-5.0 is out of range"),
        (lambda text: text.replace('"knee_pct"', '"nee_pct"'), "nee_pct: is not known"),
        (lambda text: text.replace('"check": "night"', '"check": "day"'), "is no check that mends"),
    ],
)
def test_a_spoilt_recipe_is_refused_with_the_place(mended, tmp_path, capfd, change, said):
    text = (tmp_path / "out" / RECIPE_NAME).read_text(encoding="utf-8")
    spoilt = tmp_path / "spoilt.json"
    spoilt.write_text(change(text), encoding="utf-8")
    assert spoilt.read_text(encoding="utf-8") != text
    ran = mend(mended, capfd, tmp_path / "new", "--again", spoilt)
    assert ran.code == 2
    assert said in ran.messages[0]
    assert len(ran.messages[0]) < 1000
    assert not (tmp_path / "new").exists()


@pytest.mark.parametrize(
    ("place", "said"),
    [
        ("in", "is the folder of the book"),
        ("in/plates", "where the plates of the book are looked for"),
        ("in/plates/mended", "where the plates of the book are looked for"),
        ("in/plates/01/mended", "where the plates of the book are looked for"),
        ("in/masks", "lies in masks, a folder of the book's own"),
        ("in/masks/mended", "lies in masks, a folder of the book's own"),
        ("in/reports", "lies in reports, a folder of the book's own"),
        ("other", "holds files that inkmix did not write"),
    ],
)
def test_folders_in_which_plates_would_be_lost_or_taken_for_others_are_refused(
    tmp_path, capfd, place, said
):
    book = draw_book(tmp_path / "in")
    (tmp_path / "other").mkdir()
    (tmp_path / "other" / "letter.txt").write_text("dear printer")
    before = digests(tmp_path)
    ran = mend(book, capfd, tmp_path / place)
    assert ran.code == 2
    assert said in ran.messages[0]
    assert digests(tmp_path) == before


def test_names_that_are_no_folder_are_refused(tmp_path, capfd, monkeypatch):
    (tmp_path / "in").mkdir()
    (tmp_path / "link").symlink_to(tmp_path / "gone")
    monkeypatch.chdir(tmp_path)
    for name, said in (("-", "write a folder's name"), ("link", "is a link that leads nowhere")):
        ran = command(capfd, "mend", "in", "--to", name)
        assert ran.code == 2
        assert said in ran.messages[0]
    assert {path.name for path in tmp_path.iterdir()} == {"in", "link"}


def test_a_folder_in_the_book_is_written_where_no_plate_is_looked_for(tmp_path, capfd):
    book = draw_book(tmp_path / "in")
    assert mend(book, capfd, book.folder / "mended").code == 0
    ran = command(capfd, "check", book.folder)
    assert "mended" not in ran.err


def test_what_a_book_does_not_have_any_more_goes_and_is_named(tmp_path, capfd):
    book, out = draw_book(tmp_path / "in", spreads=("day", "night")), tmp_path / "out"
    assert mend(book, capfd, out).code == 0
    (out / "letter.txt").write_text("dear printer")
    for name in ("plates/day", "masks/day.png"):
        path = book.folder / name
        path.rename(path.with_stem("noon"))
    stale = sorted(
        f"{folder}/{path.name}"
        for folder in ("plates/day", "plates/day/added", "plates/day/removed")
        for path in (out / folder).iterdir()
        if path.is_file()
    )
    ran = mend(book, capfd, out)
    assert ran.code == 0, ran.err
    assert (
        f"Taken away, {len(stale) + 1} files of an earlier run that this book does not" in ran.err
    )
    assert sorted(document(out)["gone"]) == ["masks/day.png", *stale]
    assert {path.name for path in (out / "plates").iterdir()} == {"night", "noon"}
    assert (out / "plates" / "noon" / "removed").is_dir()
    assert (out / "letter.txt").exists()
    listed = json.loads((out / LIST_NAME).read_bytes())["files"]
    assert not [name for name in listed if "day" in name]
    assert [one["spread"] for one in document(out)["spreads"]] == ["night", "noon"]
    assert mend(book, capfd, out).err.count("Taken away") == 0


def test_what_somebody_changed_since_is_not_taken_away(mended, tmp_path, capfd):
    out = tmp_path / "out"
    (mended.folder / "plates" / "01").rename(mended.folder / "plates" / "02")
    (mended.folder / "masks" / "01.png").rename(mended.folder / "masks" / "02.png")
    touched = mended.at(out).path("Soot")
    touched.write_bytes(touched.read_bytes() + b"\0")
    before = digests(out)
    ran = mend(mended, capfd, out)
    assert ran.code == 2
    assert "plates/01/Soot.tif: already exists and was not written by inkmix" in ran.messages[0]
    assert digests(out) == before


def test_what_a_killed_run_left_is_no_file_of_others(tmp_path, capfd):
    book, out = draw_book(tmp_path / "in"), tmp_path / "out"
    (out / "masks").mkdir(parents=True)
    left = out / f".{LIST_NAME}.inkmix-part", out / "masks" / ".01.png.inkmix-part"
    for path in left:
        path.touch()
    (out / "masks" / "letter.txt").write_text("dear printer")
    ran = mend(book, capfd, out, "--only", "total-ink")
    assert "holds files that inkmix did not write" in ran.messages[0]
    (out / "masks" / "letter.txt").unlink()
    mend(book, capfd, out, "--only", "total-ink")
    assert (out / "book.toml").exists()
    assert not any(path.exists() for path in left)


def test_copies_are_written_again_but_not_where_somebody_changed_them(mended, tmp_path, capfd):
    first = digests(tmp_path / "out")
    assert mend(mended, capfd, tmp_path / "out").code == 0
    assert digests(tmp_path / "out") == first
    touched = mended.at(tmp_path / "out").path("Soot")
    touched.write_bytes(touched.read_bytes() + b"\0")
    ran = mend(mended, capfd, tmp_path / "out")
    assert ran.code == 2
    assert "already exists and was not written by inkmix" in ran.messages[0]
    assert touched.read_bytes()[-1:] == b"\0"


def test_one_check_or_one_spread_alone(tmp_path, capfd):
    book = draw_book(tmp_path / "in", spreads=("01", "02"))
    too_light = draw_book(tmp_path / "light", lightest_L=28, spreads=("01", "02"))
    ran = mend(too_light, capfd, tmp_path / "inked", "--only", "total-ink")
    assert ran.code == 1  # nobody made the sky darker
    assert "01 and 02 still fail" in ran.err
    assert {one["verdict"] for one in document(tmp_path / "inked")["spreads"]} == {"fail"}
    assert command(capfd, "check", tmp_path / "inked", "--spread", "01").code == 1
    inked = book.at(tmp_path / "inked")
    for ink in INKS:
        np.testing.assert_array_equal(inked.raw(ink)[SKY], book.raw(ink)[SKY])
    assert inked.total_pct("02").max() <= LIMIT_PCT + 1e-6
    ran = mend(book, capfd, tmp_path / "one", "--spread", "02")
    one = book.at(tmp_path / "one")
    assert ran.code == 0
    said = "nothing was found against sending 02 now. Copied without a check: 01."
    assert said in ran.err
    page = (tmp_path / "one" / "mended.html").read_text(encoding="utf-8")
    assert said in page
    assert "sending them" not in ran.err + page
    assert one.path("Fog").read_bytes() == book.path("Fog").read_bytes()
    assert one.total_pct("02").max() <= LIMIT_PCT + 1e-6


def as_dots(numbers: np.ndarray) -> np.ndarray:
    """The tones as an ordered screen of 4 x 4 pixels, ink or none."""
    order = np.array([[0, 8, 2, 10], [12, 4, 14, 6], [3, 11, 1, 9], [15, 7, 13, 5]])
    threshold = np.tile((order + 0.5) * 255 / 16, (HEIGHT_PX // 4, WIDTH_PX // 4))
    return np.where(numbers > threshold, 255, 0).astype(np.uint8)


@pytest.mark.parametrize(
    ("lightest_L", "options", "said"),
    [
        (28, ("--only", "total-ink"), "not done: night: it was left out of this run"),
        (33, ("--skip", "total-ink"), "not done: total ink: it was left out of this run"),
        (5, (), "not done: the sky: no curve of these plates is enough. The darkest that these"),
        (24.5, (), "not done: the sky: making it dark enough would at least turn 1 light dark"),
        (22, ("--give-up-lights",), "not done: the sky: it is only just within the limit"),
        ("dots", (), "not done: the sky: the plates are made of dots already; export them before"),
        ("dots", (), "not done: total ink: the plates are made of dots already where too much"),
        ("tone", (), "not done: teal: no correction of plates is made for it"),
    ],
)
def test_what_is_still_open_has_a_reason(tmp_path, capfd, lightest_L, options, said):
    tone = (
        '[[tones]]\nname = "teal"\nmix = { Fjord = 50 }\nlab = [20, 60, 60]\ntolerance_de00 = 5\n'
    )
    is_tone = lightest_L == "tone"
    book = draw_book(
        tmp_path / "in",
        lightest_L=33 if isinstance(lightest_L, str) else lightest_L,
        more=tone if is_tone else "",
    )
    if lightest_L == "dots":
        for ink in INKS:
            write_tiff(book.path(ink), as_dots(book.raw(ink)), PPI)
    ran = mend(book, capfd, tmp_path / "out", *options)
    lines = [line.strip() for line in ran.err.splitlines()]
    assert any(line.startswith(said) for line in lines), ran.err
    assert len([line for line in lines if line.startswith(said[:20])]) == 1
    if NOTHING in ran.err:
        assert f"{NOTHING} 01 still fails." in ran.err
        return
    (spread,) = document(tmp_path / "out")["spreads"]
    assert any(one["why"][:20] in said for one in spread["undone"])


def test_what_is_not_mended_is_judged_all_the_same(tmp_path, capfd):
    """Nothing mends a tone, so that nothing is written; night and ink fail none the less."""
    book = draw_book(tmp_path / "in", lightest_L=28)
    ran = mend(book, capfd, tmp_path / "out", "--only", "named-tones")
    assert ran.code == 1
    assert f"{NOTHING} 01 still fails." in ran.err
    assert not (tmp_path / "out").exists()


def test_a_place_that_is_shown_is_the_one_that_changes_most(tmp_path, monkeypatch):
    """Nothing changes in the moon, nor in most of the sheet; crops are small, as the sheet is."""
    monkeypatch.setattr(places, "HEIGHT_PX", 12)
    monkeypatch.setattr(places, "WIDTH_PX", 12)
    book = draw_book(tmp_path / "in", lightest_L=31)
    (spread,) = inkmix.mend_book(inkmix.read_book(book.folder), tmp_path / "out").spreads
    copies = book.at(tmp_path / "out")
    for made in spread.corrections:
        (crop,) = made.crops
        before, after = (
            imagecodecs.jpeg_decode(spread.pictures[key]).astype(float)
            for key in (crop.before, crop.after)
        )
        assert before.shape == (12, 12, 3)
        if made.check == "night":  # all of the sky gets darker, but for its moon
            assert (before - after).mean() > 2
    assert (copies.raw("Soot")[SKY] != book.raw("Soot")[SKY]).any()


def waive(book: NightBook, findings: list[dict]) -> None:
    """Accept findings of batch.json, by the block that a book holds for each."""
    edited(
        book,
        "[[night]]",
        "".join(
            f'[[waive]]\ncheck = "{one["check"]}"\nname = "{one["name"]}"\n'
            f'rests_on = "{one["rests_on"]}"\nreason = "so agreed"\nby = "M. Quill"\n\n'
            for one in findings
        )
        + "[[night]]",
    )


def batch_findings(book: NightBook, capfd, to: Path) -> list[dict]:
    command(capfd, "batch", book.folder, "--engine", "threads", "--to", to)  # they start at once
    (spread,) = json.loads((to / "batch.json").read_bytes())["rows"]
    return spread["findings"]


@pytest.mark.parametrize("which", ["the sky", "area 1", "both"])
def test_what_the_book_waives_is_left_as_it_is_and_named(tmp_path, capfd, which):
    """Of two places with too much ink the heavier is waived; on the copies it still is."""
    book, second = draw_book(tmp_path / "in", lightest_L=28), (slice(120, 150), slice(40, 90))
    for ink in INKS:
        numbers = book.raw(ink).copy()
        numbers[second] = 255 - 2.55 * 72
        write_tiff(book.path(ink), numbers, PPI)
    found = [one["finding"] for one in batch_findings(book, capfd, tmp_path / "before")]
    waived = [one for one in found if which in (one["name"], "both") and one["name"] != "area 2"]
    assert len(waived) == (2 if which == "both" else 1)
    waive(book, waived)
    ran = mend(book, capfd, tmp_path / "out")
    copies = book.at(tmp_path / "out")
    assert ran.code == 1  # accepted is not the same as passed
    for one in waived:
        said = f"waived, left as it is: {one['name']}: {one['sentence']} M. Quill: so agreed"
        assert said in ran.err
        page = (tmp_path / "out" / "mended.html").read_text(encoding="utf-8")
        assert said[1:] in page.replace("\u00a0", " ")
    assert len(document(tmp_path / "out")["spreads"][0]["waived"]) == len(waived)
    kept = {"the sky": SKY, "area 1": HEAVY}
    for name, place in kept.items():
        is_kept = all((book.raw(ink)[place] == copies.raw(ink)[place]).all() for ink in INKS)
        assert is_kept == (which in (name, "both")), name
    assert copies.total_pct()[second].max() <= LIMIT_PCT + 1e-6
    assert "Total ink then reaches 260 %." in ran.err
    after = batch_findings(copies, capfd, tmp_path / "after")
    left = {one["finding"]["name"]: one["waiver"] is not None for one in after}
    assert left == {one["name"]: True for one in waived}


def test_nothing_is_darkened_for_a_guess(tmp_path, capfd):
    book = draw_book(tmp_path / "in")
    edited(book, '[paper]\nswatch = "night-ferry/uncoated"\n', NOBODY_TOLD)
    ran = mend(book, capfd, tmp_path / "out", "--only", "night", "--strict")
    assert ran.code == 1
    assert NOTHING in ran.err
    assert "Tell the book first; nothing is darkened for a guess:" in ran.err


@pytest.mark.parametrize(("strict", "code"), [((), 0), (("--strict",), 1)])
@pytest.mark.parametrize("checks", [(), ("--only", "night")])
def test_what_rests_on_a_guess_is_no_pass_where_it_is_strict(tmp_path, capfd, checks, strict, code):
    """The sky is dark enough on a guessed paper, and nothing else is left once ink came off.

    Where nothing may come off, all of it is within the limit.
    """
    book = draw_book(tmp_path / "in", lightest_L=60)
    if checks:
        edited(book, "ink_limit_pct = 260", "ink_limit_pct = 320")
    edited(book, '[paper]\nswatch = "night-ferry/uncoated"\n', NOBODY_TOLD)
    ran = mend(book, capfd, tmp_path / "out", *checks, *strict)
    assert (NOTHING in ran.err) == bool(checks)
    assert ran.code == code, ran.err


def test_a_run_that_fails_in_the_middle_leaves_no_book_and_no_half_file(
    tmp_path, capfd, monkeypatch
):
    book = draw_book(tmp_path / "in", spreads=("01", "02"))
    mend(book, capfd, tmp_path / "out")
    recipe = tmp_path / "out" / RECIPE_NAME
    kept = recipe.read_bytes()
    take, seen = write._Walk.take, []

    def broken(walk, part):
        seen.append(part)
        if walk._mending.looked.spread.name == "02":
            raise KeyboardInterrupt
        take(walk, part)

    monkeypatch.setattr(write._Walk, "take", broken)
    draw_plates(book, "01", seed=9)
    ran = mend(book, capfd, tmp_path / "out", "--again", recipe)
    assert (ran.code, len(seen)) == (130, 2)
    left = {path.name for path in (tmp_path / "out").iterdir()}
    # No book, so nobody sends that; but corrections outlive it.
    assert left == {"plates", "masks", "reports", LIST_NAME, RECIPE_NAME}
    assert recipe.read_bytes() == kept
    listed = json.loads((tmp_path / "out" / LIST_NAME).read_text())["files"]
    for name, digest in digests(tmp_path / "out" / "plates").items():
        assert digest == "folder" or listed[f"plates/{name}"] == digest
    monkeypatch.setattr(write._Walk, "take", take)
    assert mend(book, capfd, tmp_path / "out", "--again", recipe).code == 0


def test_a_write_that_fails_names_the_file_and_what_is_left(tmp_path, capfd, monkeypatch):
    """The first spread is written, the disk is full for a plate of the second."""
    book = draw_book(tmp_path / "in", spreads=("01", "02"))
    part_of, out = output_files.part_of, tmp_path / "out"

    def full(path):
        if path == out / "plates/02/Soot.tif":
            raise OSError(errno.ENOSPC, "No space left on device", str(path))
        return part_of(path)

    monkeypatch.setattr(output_files, "part_of", full)
    ran = mend(book, capfd, out)
    assert ran.code == 2, ran.err
    assert f"{out / 'plates/02/Soot.tif'}: cannot be written (No space left on device)" in ran.err
    assert f"what was written before stays in {out}" in ran.err
    assert (out / "plates/01/Soot.tif").exists()
    assert not (out / "book.toml").exists()


def test_a_copy_of_a_plate_that_prints_twice_is_left_out_where_that_changes(tmp_path, capfd):
    book = draw_book(tmp_path / "in", "double hit", lightest_L=32)
    shutil.copy(book.path("Soot"), book.path("Soot 2"))
    ran = mend(book, capfd, tmp_path / "out")
    copies = book.at(tmp_path / "out")
    assert ran.code == 0, ran.err
    assert not copies.path("Soot 2").exists()
    assert command(capfd, "check", copies.folder).code == 0


def test_faults_of_all_spreads_are_told_before_anything_is_written(tmp_path, capfd):
    book = draw_book(tmp_path / "in", spreads=("01", "02", "03"))
    for spread in ("02", "03"):
        book.path("Fog", spread).write_bytes(b"no picture")
    ran = mend(book, capfd, tmp_path / "out")
    assert ran.code == 3
    assert len(ran.messages) + ran.err.count("\n  ") >= 1
    assert ran.err.count("Fog.tif") == 2
    assert not (tmp_path / "out").exists()


def test_the_function_gives_what_the_command_says(tmp_path, capfd):
    book = draw_book(tmp_path / "in")
    result = inkmix.mend_book(inkmix.read_book(book.folder), tmp_path / "out")
    ran = mend(book, capfd, tmp_path / "other", "--json")
    assert json.loads(ran.out) == document(tmp_path / "out")
    (spread,) = result.spreads
    assert (spread.was, spread.verdict) == ("fail", "pass")
    assert [made.check for made in spread.corrections] == ["night", "total ink"]
    page = (tmp_path / "out" / "mended.html").read_text(encoding="utf-8")
    for said in (NO_PROOF, "reports/01/report.html", spread.corrections[0].remedy.sentence[:15]):
        assert said in page
    assert page.count('id="words"') == page.count("Lightness, from 0 for black") - 1 == 1
    assert page.count("<img ") == 2 + 2 * len(spread.corrections)


class Stepwise:
    """A mender whose every step keeps 60 % of what texture there is, and only just does."""

    name = "the sky"

    def found(self, trials, *, may_spoil):
        remedy = Remedy(do="Darken the sky.", lights_kept=0, lights_lost=0, texture_pct=60.0)
        return Mended(
            name=self.name, remedy=remedy, correction=None, boxes=(), inks=("Soot",), recipe=None
        )


@pytest.mark.parametrize(("may_spoil", "steps"), [(False, 1), (True, 4)])
def test_texture_that_goes_step_by_step_is_reckoned_together(may_spoil, steps, monkeypatch):
    """60 % of 60 % is less than the half that a night has to keep."""
    monkeypatch.setattr(finding_corrections, "_acts", lambda *_: True)
    search = object.__new__(finding_corrections._Search)
    search._now, search._spoils, search._undone = None, may_spoil, []
    assert len(list(search._steps("night", Stepwise()))) == steps
    assert [one.name for one in search._undone] == ["the sky"] * (not may_spoil)
    if not may_spoil:
        assert "take 64 % of its texture" in search._undone[0].why
