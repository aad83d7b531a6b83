"""`inkmix palette`: from the command line to a page, and what is told where something is wrong."""

import json

import pytest
from palette_book import FEW, KEPT, draw, without_all_but
from PIL import Image

from inkmix.base.shipped import swatches_folder
from inkmix.cli.main import run

FIX = ",".join(KEPT)


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return draw(tmp_path_factory.mktemp("palette") / "night-ferry")


@pytest.fixture
def told(folder, capfd):
    """Run the command on the book, with few candidates; its code, stdout and stderr."""

    def palette(*words, few=FEW):
        left_out = [] if few is None else ["--without", ",".join(without_all_but(few))]
        code = run(["palette", str(folder), *left_out, *words])
        out, err = capfd.readouterr()
        return code, out, err

    return palette


def refused(told, *words, few=FEW):
    """The one line that a refusal is, on stderr."""
    code, out, err = told(*words, few=few)
    assert (code, out) == (2, "")
    assert "Traceback" not in err
    return err


def inputs(folder):
    """The bytes of book and plates."""
    return {path: path.read_bytes() for path in (*folder.rglob("*.tif"), folder / "book.toml")}


def test_a_page_is_written_beside_the_book_and_every_run_writes_the_same(told, folder, tmp_path):
    before = inputs(folder)
    code, out, err = told("--choose", "1", "--fix", FIX)
    page = folder / "palette.html"
    assert code == 0
    assert "The Night Ferry" in page.read_text(encoding="utf-8")
    assert "the best compromise" in out
    assert out.count("\n") > 6
    assert err.splitlines()[-1] == f"written: {page}"
    told("--choose", "1", "--fix", FIX, "--to", str(tmp_path / "b.html"))
    assert page.read_bytes() == (tmp_path / "b.html").read_bytes()
    assert inputs(folder) == before


def test_json_alone_is_on_stdout_and_no_page_is_written(told, folder):
    (folder / "palette.html").unlink(missing_ok=True)
    code, out, err = told("--choose", "1", "--fix", FIX, "--no-plates", "--json")
    document = json.loads(out)
    assert code == 0
    assert (document["choose"], document["fixed"]) == (1, list(KEPT))
    assert document["front"][0]["plates"] is None
    assert err == ""  # progress is told on a terminal only
    assert not (folder / "palette.html").exists()


def test_weights_and_limit_are_heard(told):
    words = ("--choose", "1", "--fix", FIX, "--no-plates", "--json")
    _, out, _ = told(*words, "--weight", "tones=0,worst=0,bright=9", "--limit", "180")
    document = json.loads(out)
    assert document["weights"]["solids_chroma"] == 9
    assert document["ink_limit"] == {"pct": 180, "whose": "asked"}
    first, *others = document["ranked"]
    assert all(
        first["figures"]["solids_chroma"] > one["figures"]["solids_chroma"] for one in others
    )
    assert all(sum(t["tone_pct"].values()) <= 180.001 for t in document["front"][0]["tones"])


def test_tones_of_a_file(told, tmp_path):
    colours = ("#804020", "ferry = rgb(30, 60, 120)", "Lab(40, 20, 20)", "842010", "#48c")
    (tmp_path / "tones.txt").write_text("\n".join(colours))
    words = ("--choose", "1", "--fix", FIX, "--no-plates", "--json")
    _, out, _ = told(*words, "--tones", str(tmp_path / "tones.txt"))
    document = json.loads(out)
    names = [tone["name"] for tone in document["tones"]]
    assert names == ["#804020", "ferry", "Lab(40, 20, 20)", "842010", "#48c"]
    assert document["tones_from"] == "the 5 colours of tones.txt"


def test_a_picture_of_one_colour_is_taken_and_said(told, tmp_path):
    Image.new("RGB", (60, 40), (40, 60, 120)).save(tmp_path / "blue.png")
    words = ("--choose", "1", "--fix", FIX, "--no-plates", "--json")
    _, out, _ = told(*words, "--picture", str(tmp_path / "blue.png"))
    document = json.loads(out)
    assert len(document["tones"]) == 1
    assert document["tones_from"].startswith("the one colour of blue.png")


def test_tones_outside_of_every_gamut_are_said(told, tmp_path):
    (tmp_path / "tones.txt").write_text("poison = Lab(70, -120, 100)")
    words = ("--choose", "1", "--fix", FIX, "--no-plates", "--json")
    code, out, _ = told(*words, "--tones", str(tmp_path / "tones.txt"))
    document = json.loads(out)
    assert code == 0
    assert any("No palette here reaches poison" in said for said in document["words"])


def test_plates_come_near_a_picture_of_the_sheet(told, tmp_path):
    sheet = Image.new("RGB", (698, 123), (60, 60, 80))  # the demo's sheet, as dark as its night
    sheet.paste((250, 160, 70), (0, 100, 698, 123))
    sheet.save(tmp_path / "p.png")
    words = ("--choose", "1", "--fix", FIX, "--json", "--picture", str(tmp_path / "p.png"))
    _, out, _ = told(*words)
    document = json.loads(out)
    assert document["plates_aimed_at"] == "the picture p.png"
    assert len(document["tones"]) == 2
    assert all(one["plates"]["tried_all"] for one in document["front"])


def test_palettes_of_fewer_inks_than_plates_are_shown_without(told, tmp_path):
    page = tmp_path / "p.html"
    told("--choose", "1", "--fix", "Soot,Fjord", "--without", "Fog", "--to", str(page), few=None)
    assert "fewer inks than there are plates" in page.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (
            ("--choose", "6", "--fix", "Soot,Fjord,Fog"),
            "5 to choose from beside 3 fixed, but 6 are",
        ),
        (("--choose", "1", "--fix", "Flare,Dusk"), "Dusk is excluded too"),
        (("--choose", "1", "--limit", "80"), "one solid is 100 % already"),
        (("--choose", "0"), "1 to 6"),
        (("--choose", "7"), "1 to 6"),
        (("--choose", "1", "--fix", "Soott"), "did you mean Soot?"),
        (("--choose", "1", "--weight", "beauty=3"), "measures: tones, worst"),
        (("--choose", "1", "--weight", "tones=-1"), "0 or more"),
        (("--choose", "1", "--weight", "tones"), "a measure and its weight"),
        (("--choose", "1", "--fix", "Soot,,Fog"), "names separated by commas are needed"),
        (("--choose", "1", "--candidates", "day-ferry"), 'no ink set "day-ferry" on this paper'),
        (("--choose", "1", "--candidates", "inks.txt"), "inks.txt"),
        (("--choose", "1", "--tones", "none.txt"), "none.txt: cannot be read"),
        (("--choose", "1", "--picture", "none.png"), "none.png"),
        (("--choose", "1", "--tones", "a", "--picture", "b"), "give one of them"),
        (("--choose", "1", "--spread", "dawn"), "there is none of that name"),
        (("--choose", "1", "--to", "palette.pdf"), "a page ends in .html"),
        (("--inks", "4"), "for how many inks to choose, use `inkmix palette --choose 4`"),
        (("--choose", "1", "--inks", "4"), "inks 4: is a number"),
        (("--choose", "1", "--inks", "Soot"), "those to choose from with --candidates"),
        (("--choose", "two"), "not a valid integer"),
        ((), "For example --choose 1."),
        (("3",), "Missing option '--choose'"),
    ],
)
def test_what_is_wrong_is_told(told, words, said):
    code, out, err = told(*words)
    assert code in (2, 3)
    assert out == ""
    assert said in err
    assert "Traceback" not in err


def test_ten_thousand_colours_are_refused_with_what_to_do(told, tmp_path):
    (tmp_path / "many.txt").write_text("\n".join(f"#{k:06x}" for k in range(10_000)))
    err = refused(told, "--choose", "1", "--tones", str(tmp_path / "many.txt"))
    assert "10000, but there may be at most 64" in err
    assert "give a picture" in err


def test_wrong_lines_of_a_file_are_all_told(told, tmp_path):
    (tmp_path / "tones.txt").write_text("#12345\n\n# a remark\nLab(120, 0, 0)\n#123456\n")
    err = refused(told, "--choose", "1", "--tones", str(tmp_path / "tones.txt"))
    assert [line.split(":")[1].strip() for line in err.splitlines()] == [
        f"{tmp_path / 'tones.txt'}, line 1",
        f"{tmp_path / 'tones.txt'}, line 4",
    ]


def test_a_file_of_somebody_else_is_never_replaced(told, tmp_path):
    page = tmp_path / "palette.html"
    page.write_text("<h1>mine</h1>")
    code, _, err = told("--choose", "1", "--fix", FIX, "--to", str(page))
    assert code == 2
    assert "was not written by inkmix" in err
    assert page.read_text() == "<h1>mine</h1>"


def test_candidates_of_a_chart_stand_beside_the_book_s(told):
    chart = str(swatches_folder() / "fogra29l.txt")
    words = ("--choose", "1", "--fix", FIX, "--no-plates", "--json", "--candidates", chart)
    code, out, _ = told(*words, few=None)
    document = json.loads(out)
    assert code == 0
    assert {*document["candidates"]} == {*KEPT, "Rowan", "C", "M", "Y", "K"}
    assert any("Measured on another paper" in said for said in document["words"])


OWN_LABS = {
    "Soot": "[34.5, 0.2, 2.5]", "Fjord": "[36, 12, -43]", "Rowan": "[56, 49, 39]",
    "Brass": "[74, 14, 60]", "Fog": "[73, -3, -4]",
}  # fmt: skip


@pytest.fixture(scope="module")
def own(tmp_path_factory):
    """The same book in inks and on a paper that are told by their Lab."""
    folder = draw(tmp_path_factory.mktemp("own") / "night-ferry")
    text = (folder / "book.toml").read_text(encoding="utf-8")
    text = text.replace('swatch = "night-ferry/uncoated"', 'lab = [94, 0.5, 2]\nclass = "uncoated"')
    for name, lab in OWN_LABS.items():
        text = text.replace(f'swatch = "night-ferry/{name}"', f"lab = {lab}")
    (folder / "book.toml").write_text(text, encoding="utf-8")
    (folder / "card.csv").write_text(
        "name;L;a;b;g/m2\nEmber;58;60;45;1\nMoss;50;-28;24;1\nCrow;22;0;0;1\n", encoding="utf-8"
    )
    return folder


def test_own_inks_are_offered_hues_that_fit_their_paper(own, capfd):
    left_out = ",".join(without_all_but(FEW))
    words = ["--choose", "1", "--fix", FIX, "--without", left_out, "--json"]
    assert run(["palette", str(own), *words]) == 0
    document = json.loads(capfd.readouterr().out)
    assert document["candidates"][:5] == list(OWN_LABS)
    assert {one["name"] for one in document["hues_to_ask_for"]} >= set(FEW)
    assert any(said.startswith("Measured on another paper: ") for said in document["words"])
    assert all(one["plates"]["mean_de00"] >= 0 for one in document["front"])


def test_own_inks_beside_those_of_a_shade_card(own, capfd):
    """The card lies beside the book; its black would be a second one."""
    words = ["--choose", "1", "--fix", FIX, "--candidates", "card.csv"]
    assert run(["palette", str(own), *words, "--no-plates", "--json"]) == 0
    out, err = capfd.readouterr()
    document = json.loads(out)
    assert document["candidates"] == [*OWN_LABS, "Ember", "Moss", "Crow"]
    assert document["hues_to_ask_for"] == []
    assert not any("Crow" in one["inks"] for one in document["ranked"])
    assert "card.csv does not say which paper its colours are on" in err
    for said in ("1 palette with two blacks", "Nobody says on which paper: ", "the columns g/m2"):
        assert any(said in words for words in document["words"])
    assert run(["palette", str(own), *words, "--to", str(own / "p.html")]) == 0
    page = (own / "p.html").read_text(encoding="utf-8")
    assert "the 3 inks of card.csv" in page.replace("\xa0", " ")
    assert "hue to ask for" not in page


def test_wrong_lines_of_a_card_are_told(own, capfd):
    (own / "wrong.csv").write_text("Ember, 58, 60\nMoss, #12345\nFog, #aabbcc\n")
    assert run(["palette", str(own), "--choose", "1", "--candidates", "wrong.csv"]) == 3
    lines = capfd.readouterr().err.splitlines()
    assert [line.split(":")[1].strip() for line in lines] == [
        "wrong.csv, line 1",
        "wrong.csv, line 2",
    ]
