"""Named tones over a whole book: how far their uses drift, on the index, in tables, in records."""

import csv
import io
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from index_cases import all_pass, checked, row, thumbnail
from report_cases import png, revised, spread_result

from inkmix.base.words import difference
from inkmix.batch.document import document_bytes
from inkmix.batch.spread_record import kept_bytes, read_kept
from inkmix.checks.finding import PASS
from inkmix.checks.tones.answer import answer_of
from inkmix.checks.tones.finder import Found
from inkmix.checks.uses import ColourUse
from inkmix.colour.colorimetry import delta_e00
from inkmix.jobs.book_answer import BatchResult, KeptUse, SpreadRow
from inkmix.jobs.colour_drifts import ALL_COMPARED, colour_drifts
from inkmix.pages.folders import KEPT_NAME
from inkmix.pages.index import view, words
from inkmix.pages.index.page import render_index
from inkmix.pages.index.tables import TONE_COLUMNS, tones_csv
from inkmix.pages.index.text import result_lines
from inkmix.pages.index.write import write_index
from inkmix.pages.report.page import render_page
from inkmix.sheet.geometry import Place

CORAL = (60.0, 45.0, 30.0)
PLACE = Place(panel="panel 3", panels=("panel 3",), x_mm=12.0, y_mm=88.0, width_mm=20.0,
              height_mm=4.0, sheet_x_mm=232.0, sheet_y_mm=88.0)  # fmt: skip


def kept(name="coral", lab=CORAL, *, area=1200.0, seed=1) -> KeptUse:
    used = lab is not None
    use = ColourUse(
        name=name, within_de00=6.0, area_mm2=area if used else 0.0, area_pct=4.2 if used else 0.0,
        areas=3 if used else 0, places=(PLACE,) if used else (),
        mean_tone_pct={"Rowan": 58.3, "Brass": 21.8, "Fog": 0.4} if used else {}, lab=lab,
        srgb8=(226, 110, 92) if used else None, from_mix_de00=0.8 if used else None,
        from_intended_de00=2.25 if used else None, out_of_srgb=False,
        picture=f"use of {name}" if used else None,
    )  # fmt: skip
    return KeptUse(use=use, picture=thumbnail(seed, width=60, height=40) if used else b"")


def spread(name: str, *uses: KeptUse) -> SpreadRow:
    one = row(name, PASS)
    return replace(one, checked=replace(checked(name), uses=uses))


def book(*rows: SpreadRow) -> BatchResult:
    found = colour_drifts(one.checked for one in rows if one.checked is not None)
    return replace(all_pass(1), rows=rows, colours=found)


def moved(by: float) -> tuple[float, float, float]:
    return CORAL[0] + by, CORAL[1], CORAL[2]


def test_the_two_uses_that_differ_most_are_named():
    found = book(
        spread("3", kept()), spread("5", kept(lab=moved(2))), spread("7", kept(lab=moved(6)))
    )
    (drift,) = found.colours
    assert drift.spreads == ("3", "5", "7")
    assert drift.farthest == ("3", "7")
    assert drift.apart_de00 == pytest.approx(float(delta_e00(CORAL, moved(6))))


def test_a_tone_on_one_spread_or_none_has_nothing_to_differ_from():
    found = book(
        spread("3", kept(), kept("moss", None)), spread("5", kept("moss", None), kept(lab=None))
    )
    coral, moss = found.colours
    assert (coral.spreads, coral.apart_de00, coral.farthest) == (("3",), None, ())
    assert moss.spreads == ()


def test_a_tone_with_the_mix_of_another_says_so_instead_of_being_nowhere():
    same = replace(kept("rose", lab=None).use, same_mix_as="coral")
    result = book(spread("1", kept(), KeptUse(use=same)), spread("2", kept(), KeptUse(use=same)))
    assert "Same mix as coral, for which its places count." in str(render_index(result))
    rows = list(csv.DictReader(io.StringIO(tones_csv(result).decode("utf-8-sig"))))
    assert [(one["tone"], one["same_mix_as"]) for one in rows] == 2 * [
        ("coral", ""), ("rose", "coral")
    ]  # fmt: skip


def test_a_report_says_which_tones_have_one_mix_and_which_are_nowhere():
    uses = kept().use, kept("moss", None).use, replace(kept("rose", None).use, same_mix_as="coral")
    base = spread_result()
    drawn = {**base.pictures, "use of coral": png(np.zeros((8, 12, 3)))}
    page = render_page(revised(replace(base, pictures=drawn), tone_uses=uses)).decode()
    assert "Not on this spread: moss." in page
    assert "With the same mix as another, for which all is counted: rose (as coral)." in page


def limited(lab, from_mix: float, *, limit: float | None = 3.0) -> KeptUse:
    one = kept(lab=lab)
    return replace(one, use=replace(one.use, from_mix_de00=from_mix, limit_de00=limit))


def test_a_use_beyond_its_own_limit_is_a_note_where_it_drifts(tmp_path):
    """The spread nearest to the mix is what others are measured by; no verdict turns."""
    found = book(
        spread("3", limited(moved(6), 6.0)),
        spread("5", limited(moved(2), 2.0)),
        spread("7", limited(CORAL, 0.1)),
    )
    (one,) = found.colours[0].drifted
    assert (one.spread, one.other, one.limit_de00) == ("3", "7", 3.0)
    assert one.apart_de00 == pytest.approx(float(delta_e00(CORAL, moved(6))))
    note = f"Coral drifts: {difference(one.apart_de00)} from what it is on 7; its tolerance is dE00"
    assert render_index(found).decode().replace("\xa0", " ").count(note) == 1
    lines = list(result_lines(found, tmp_path, reused=0))
    assert next(line for line in lines if "drifts" in line).startswith(f"note: 3: {note}")
    assert {row.exit_code for row in found.rows} == {0}


@pytest.mark.parametrize(
    ("by", "limit", "drifts"),
    [(6, None, 0), (2, 9.0, 0), (2, 1.5, 1), (2.5, 9.0, 1), (6, 9.0, 1), (6, 3.0, 1)],
)
def test_a_tone_drifts_where_it_is_noticed_or_beyond_its_limit(by, limit, drifts):
    """L* + 2 is dE00 1.7 here, 2.5 is 2.2; without a limit nobody asked for one colour."""
    found = book(
        spread("3", limited(moved(by), by, limit=limit)),
        spread("7", limited(CORAL, 0.1, limit=limit)),
    )
    assert len(found.colours[0].drifted) == drifts
    said = list(words.drifts_on("3", found.colours))
    within = [", noticed side by side, though within its tolerance of" in one for one in said]
    assert within == ([by < limit] if drifts else [])


@pytest.mark.parametrize(("from_mix", "notes"), [(2.9, 0), (3.2, 1)])
def test_a_tone_that_is_drawn_too_far_from_its_mix_is_a_note_of_its_spread(from_mix, notes):
    uses = (limited(CORAL, from_mix).use,)
    answer = answer_of((), found=Found(uses=uses, cells={}))
    assert len(answer.notes) == notes
    assert answer.verdict == PASS
    if notes:
        assert "Coral drifts here: drawn, on average, dE00 3.2 from the mix" in answer.notes[0]


def test_equal_uses_are_no_step_apart():
    (drift,) = book(spread("a", kept()), spread("b", kept())).colours
    assert drift.apart_de00 == 0.0
    assert drift.farthest == ("a", "b")


@pytest.mark.parametrize("seed", range(5))
def test_of_many_uses_the_outermost_are_compared(seed):
    """Beside every two of them (silver): never more apart, and hardly less."""
    rng = np.random.default_rng(seed)
    labs = [tuple((np.array(CORAL) + rng.normal(0, 2, 3)).tolist()) for _ in range(120)]
    assert len(labs) > ALL_COMPARED
    (drift,) = book(*(spread(f"{k:03}", kept(lab=lab)) for k, lab in enumerate(labs))).colours
    most = max(float(delta_e00(one, other)) for one, other in combinations(labs, 2))
    assert 0.93 * most <= drift.apart_de00 <= most + 1e-9


@pytest.mark.parametrize(
    ("by", "said"),
    [(0.4, "the same colour everywhere"), (2.0, "nearly the same"), (6.0, "not the same")],
)
def test_in_words_it_is_the_same_colour_or_not(by, said):
    (drift,) = book(spread("3", kept()), spread("7", kept(lab=moved(by)))).colours
    text = words.drift(drift, within_de00=6.0, spreads=3)
    assert said in text
    assert text.startswith("On 2 of 3 spreads, ")
    assert words.drift(drift, within_de00=6.0, spreads=2).startswith("On all 2 spreads, ")


def test_the_page_shows_each_use_with_its_picture_and_place():
    result = book(spread("3", kept(seed=3)), spread("7", kept(lab=moved(6), seed=4)),
                  spread("9", kept(lab=None)))  # fmt: skip
    page = render_index(result).decode().replace("\xa0", " ")
    assert page.count('alt="Where coral is on ') == 2
    section = page.partition('id="colours"')[2].partition("</section>")[0]
    assert section.count("data:image/jpeg") == 2
    assert "panel 3: 20 × 4 mm" in section
    assert "Rowan 58 + Brass 22" in section
    assert "Fog 0" not in section
    assert "within dE00 6 of its mix" in section
    assert 'id="colours"' not in render_index(all_pass(2)).decode()


def test_pictures_of_cards_and_uses_keep_their_places():
    """Each address stands where its picture belongs, and a card without one takes no other's."""
    blank = spread("3", kept(seed=3))
    blank = replace(blank, checked=replace(blank.checked, thumbnail=b""))
    result = book(blank, spread("7", kept(seed=4)))
    page = render_index(result).decode()
    cards, _, uses = page.partition('id="colours"')
    assert cards.count("data:image/jpeg") == 1
    assert 'width="60" height="40"' in uses
    assert 'width="60" height="40"' not in cards


def test_where_uses_are_too_many_the_farthest_and_the_largest_are_listed(monkeypatch):
    monkeypatch.setattr(view, "MOST_USES", 3)
    rows = [spread(f"{k}", kept(lab=moved(0.1 * k), area=100.0 * (k == 3) + k)) for k in range(6)]
    (colour,) = view.named_colours(book(*rows))
    assert [use.spread for use in colour.uses] == ["0", "3", "5"]
    assert colour.unlisted == 3


def test_the_table_has_a_row_for_each_tone_on_each_spread():
    result = book(spread("3", kept()), spread("7", kept(lab=None)))
    found = list(csv.DictReader(io.StringIO(tones_csv(result).decode("utf-8-sig"))))
    assert list(found[0]) == list(TONE_COLUMNS)
    assert [(one["spread"], one["tone"], one["used"]) for one in found] == [
        ("3", "coral", "yes"), ("7", "coral", ""),
    ]  # fmt: skip
    assert (found[0]["L"], found[0]["area_pct"], found[0]["places"]) == ("60.0", "4.2", "3")
    assert found[0]["mean_mix"] == "Rowan 58 + Brass 22"
    assert found[1]["L"] == found[1]["mean_mix"] == ""


def test_the_table_is_there_as_long_as_the_book_names_tones(tmp_path):
    for result, is_there in ((book(spread("3", kept())), True), (all_pass(2), False)):
        write_index(result, tmp_path, document=b'{\n "inkmix": 1\n}\n')
        assert (tmp_path / "tones.csv").exists() == is_there


def test_what_is_kept_comes_back_as_it_was(tmp_path):
    one = replace(checked("3"), uses=(kept(), kept("moss", None)))
    (tmp_path / KEPT_NAME).write_bytes(kept_bytes(one))
    assert read_kept(tmp_path).checked == one


def test_the_document_for_scripts_holds_uses_without_their_pictures():
    text = document_bytes(book(spread("3", kept())), last=None).decode()
    assert '"colours": [' in text
    assert '"from_intended_de00": 2.25' in text
    assert "JFIF" not in text
