"""Sheets as files: true size, colours to the pixel, same bytes, tables whole, inputs safe."""

import csv
import io
import json
import re
import subprocess
import sys
import zlib
from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
from PIL import Image
from test_overprints import ferry, sheet_of

from inkmix.base.errors import OutputError, UsageError
from inkmix.export.srgb_profile import srgb_profile
from inkmix.jobs.overprints.fields import OVERPRINTS, PAIR
from inkmix.jobs.overprints.sheet import OverprintSheet
from inkmix.pages.overprints import shades
from inkmix.pages.overprints.canvas import MARK, Canvas, hatching, own_style
from inkmix.pages.overprints.captions import captions_for, mix_words
from inkmix.pages.overprints.draw import drawn, frame_of
from inkmix.pages.overprints.layout import PAGES_MM, arranged
from inkmix.pages.overprints.letters import FALLBACK, PLAIN, drawable, fitted, width_mm, wrapped
from inkmix.pages.overprints.small import small_sheet
from inkmix.pages.overprints.table import COLUMNS, FIRST_COLUMN, sheet_csv, sheet_json
from inkmix.pages.overprints.write import refuse_sheets, write_sheets
from inkmix.sheet.box import Box

ALL = ("a.png", "a.svg", "a.pdf", "a.csv", "a.json")


@cache
def sheet(count: int = 3, view: str = "plain") -> OverprintSheet:
    return sheet_of(ferry(count), view=view, title="Three & <more> $inks$")


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("sheets")
    write_sheets(sheet(), [folder / name for name in ALL], ppi=60)
    return folder


# --- true size -----------------------------------------------------------------------------------


@pytest.mark.parametrize("page", PAGES_MM)
def test_pages_are_at_true_size(page: str, tmp_path: Path) -> None:
    # ISO 216: A4 210 x 297, A3 297 x 420, A2 420 x 594 mm; a point is 1/72 inch.
    sizes = {"A4": (297, 210), "A3": (420, 297), "A2": (594, 420)}
    write_sheets(sheet(1), [tmp_path / "a.pdf", tmp_path / "a.svg"], page=page)
    told = subprocess.run(
        ["pdfinfo", str(tmp_path / "a.pdf")], capture_output=True, text=True, check=True
    ).stdout
    points = [float(n) for n in re.findall(r"Page size: +([\d.]+) x ([\d.]+)", told)[0]]
    assert points == pytest.approx([side / 25.4 * 72 for side in sizes[page]], abs=0.01)
    root = ElementTree.parse(tmp_path / "a.svg").getroot()
    assert (root.get("width"), root.get("height")) == tuple(f"{mm}mm" for mm in sizes[page])
    box = [float(n) for n in root.get("viewBox", "").split()]
    assert box[2:] == pytest.approx(points, abs=0.01)


def test_png_has_the_resolution_asked_for(written: Path) -> None:
    with Image.open(written / "a.png") as picture:
        assert picture.size == (int(420 / 25.4 * 60), int(297 / 25.4 * 60))
        assert picture.info["dpi"] == pytest.approx((60, 60), abs=0.1)
        assert picture.info["icc_profile"]


@pytest.mark.parametrize("form", ["png", "pdf"])
@pytest.mark.parametrize("view", ["plain", "deutan"])
def test_fields_have_their_colour_to_the_step(form: str, view: str, tmp_path: Path) -> None:
    given = sheet(3, view)
    path = tmp_path / f"a.{form}"
    write_sheets(given, [path], ppi=100)
    if form == "pdf":  # another program draws it
        command = ["pdftoppm", "-r", "100", "-png", "-singlefile", str(path), str(tmp_path / "a")]
        subprocess.run(command, check=True)
    pixels = np.asarray(Image.open(tmp_path / "a.png").convert("RGB")).astype(int)
    checked = 0
    for placed in arranged(given.blocks, frame_of(*PAGES_MM["A3"])):
        for field, box in zip(placed.block.fields, placed.fields, strict=True):
            if field.is_over:  # hatched
                continue
            x, y = box.right - 0.3 * box.width, box.y + 0.3 * box.height
            if placed.block.kind != PAIR and box.height < 12:
                y = box.bottom - 0.7
            found = pixels[int(y / 25.4 * 100), int(x / 25.4 * 100)]
            assert np.abs(found - field.srgb8).max() <= (1 if form == "pdf" else 0), (placed, field)
            checked += 1
    assert checked > 380


def test_fields_over_the_limit_are_hatched_and_no_others() -> None:
    given = sheet_of(ferry(5), darkest=())
    pixels = drawn(given, page="A3").srgb8(ppi=100).astype(int)
    placed = arranged(given.blocks, frame_of(*PAGES_MM["A3"]))[0]
    for field, box in zip(placed.block.fields[1:], placed.fields[1:], strict=True):
        rows, cols = (
            slice(int(a / 25.4 * 100) + 2, int(b / 25.4 * 100) - 2)
            for a, b in ((box.y, box.y + 0.25 * box.height), (box.x, box.right))
        )
        lines = np.abs(pixels[rows, cols] - field.srgb8).max(axis=2)
        assert (lines > 25).any() == field.is_over
        assert (lines < 3).mean() > 0.6  # the colour stays to be seen
    assert sum(field.is_over for field in placed.block.fields) == 10 + 5 + 1


def test_fields_outside_srgb_have_a_corner_off() -> None:
    given = sheet_of(ferry(8), darkest=())
    pixels = drawn(given, page="A3").srgb8(ppi=150).astype(int)
    paper = given.blocks[0].fields[0].srgb8
    placed = arranged(given.blocks, frame_of(*PAGES_MM["A3"]))[0]
    for field, box in zip(placed.block.fields[1:9], placed.fields[1:9], strict=True):
        corner = pixels[int((box.y + 0.3) / 25.4 * 150), int((box.right - 0.3) / 25.4 * 150)]
        assert (np.abs(corner - paper).max() < 3) == (not field.in_srgb)
    assert sum(not field.in_srgb for field in placed.block.fields[1:9]) == 1  # Oilskin


# --- same bytes ----------------------------------------------------------------------------------


def test_same_sheet_same_bytes_whatever_the_settings(written: Path, tmp_path: Path) -> None:
    # Another process, another day, another place, a person's own settings for the library.
    (tmp_path / "matplotlibrc").write_text(
        "font.size: 30\nlines.linewidth: 9\nsvg.fonttype: none\naxes.facecolor: red\n"
        "path.sketch: 5, 100, 2\ntext.usetex: True\npdf.fonttype: 3\nfigure.autolayout: True\n"
    )
    program = (
        "import sys; sys.path.insert(0, sys.argv[1])\n"
        "from pathlib import Path\n"
        "from test_overprints_files import ALL, sheet\n"
        "from inkmix.pages.overprints.write import write_sheets\n"
        "write_sheets(sheet(), [Path(name) for name in ALL], ppi=60)\n"
    )
    done = subprocess.run(
        ["env", "TZ=Asia/Tokyo", "SOURCE_DATE_EPOCH=86400", "PYTHONHASHSEED=7", "LC_ALL=C",
         f"MATPLOTLIBRC={tmp_path / 'matplotlibrc'}", sys.executable, "-c", program,
         str(Path(__file__).parent)],
        cwd=tmp_path, capture_output=True, text=True,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    for name in ALL:
        assert (tmp_path / name).read_bytes() == (written / name).read_bytes(), name


def test_no_date_and_no_place_in_the_files(written: Path) -> None:
    for name in ALL:
        data = (written / name).read_bytes()
        for word in (b"CreationDate", b"ModDate", b"dc:date", b"/work", b"/tmp", b"/usr"):
            assert word not in data, (name, word)


def test_pdf_stays_sound_with_its_mark(written: Path) -> None:
    data = (written / "a.pdf").read_bytes()
    assert data.splitlines()[2] == b"%" + MARK
    # Every entry of the table of references points to the object that it names (ISO 32000, 7.5.4).
    table = int(data[data.rindex(b"startxref") :].split()[1])
    entries = re.findall(rb"(\d{10}) \d{5} ([nf])", data[table:])
    assert len(entries) > 10
    for number, (offset, kind) in enumerate(entries):
        if kind == b"n":
            assert data[int(offset) :].startswith(b"%d 0 obj" % number)
    # What RGB means is said for all content of the page (ISO 32000, 8.6.5.6).
    assert data.count(b"/ColorSpace << /DefaultRGB") == 1
    number = int(re.findall(rb"/DefaultRGB \[ /ICCBased (\d+) 0 R \]", data)[0])
    offset = int(entries[number][0])
    stream = data[data.index(b"stream\n", offset) + 7 :]
    assert zlib.decompressobj().decompress(stream) == srgb_profile()
    done = subprocess.run(
        ["pdftotext", str(written / "a.pdf"), "-"], capture_output=True, text=True, check=True
    )
    assert done.stderr == ""
    assert "Three & <more> $inks$" in done.stdout
    assert "Soot + Rowan" in done.stdout
    assert "not a proof" in done.stdout


# --- tables --------------------------------------------------------------------------------------


def test_csv_has_every_field_and_every_pair() -> None:
    text = sheet_csv(sheet()).decode("utf-8-sig")
    assert text.endswith("\r\n")
    rows = list(csv.DictReader(io.StringIO(text)))
    fields = [field for block in sheet().blocks for field in block.fields]
    assert [row[FIRST_COLUMN] for row in rows] == [str(n) for n in range(1, len(fields) + 1)]
    for row, field in zip(rows, fields, strict=True):
        assert [float(row[f"{ink} %"]) for ink in sheet().inks] == list(field.tone_pct)
        lab = [float(row[name]) for name in ("L", "a", "b")]
        assert lab == pytest.approx(field.lab, abs=0.005)
        assert row["mix"] == mix_words(sheet().inks, field)
        assert (row["over_limit"] == "yes") == field.is_over
        assert float(row["total_ink_pct"]) == field.total_pct
        assert float(row["expected_error_de00"]) == pytest.approx(field.error_de00, abs=0.005)
    named = sum(len([cell for cell in row["alike"].split("; ") if cell]) for row in rows)
    assert named == 2 * sum(len(block.alike) for block in sheet().blocks)
    assert set(COLUMNS) <= set(rows[0])


def test_both_fields_of_a_pair_name_the_other() -> None:
    """In the CSV each row names those that look like it, and is named by each of them."""
    rows = list(csv.DictReader(sheet_csv(sheet()).decode("utf-8-sig").splitlines()))
    told = {
        row[FIRST_COLUMN]: dict(re.findall(r"(\d+) \(([\d.]+)\)", row["alike"])) for row in rows
    }
    assert any(told.values())
    for number, others in told.items():
        assert number not in others
        assert all(told[other][number] == de00 for other, de00 in others.items())


def test_json_says_the_same() -> None:
    document = json.loads(sheet_json(sheet()))
    assert (document["format"], document["inks"]) == (1, ["Soot", "Fjord", "Rowan"])
    assert document["ink_limit_pct"] == {"value": 260.0, "whose": "printer"}
    assert document["known"]["level"] == "ramps"
    assert [ink["name"] for ink in document["known"]["process_inks"]] == ["Soot"]
    assert document["known"]["spots"] == ["Fjord", "Rowan"]
    assert document["known"]["cautions"] == list(sheet().condition.cautions)
    number = 1
    for told, block in zip(document["blocks"], sheet().blocks, strict=True):
        assert [field["number"] for field in told["fields"]] == list(
            range(number, number + len(block.fields))
        )
        pairs = {tuple(pair["fields"]) for pair in told["alike"]}
        assert pairs == {(number + p.first, number + p.second) for p in block.alike}
        number += len(block.fields)
        for said, field in zip(told["fields"], block.fields, strict=True):
            assert said["lab"] == pytest.approx(field.lab, abs=0.005)
            assert said["shown"] == "#{:02x}{:02x}{:02x}".format(*field.srgb8)


def test_names_that_a_spreadsheet_would_reckon_with_are_harmless() -> None:
    plain = sheet(1).condition
    inks = tuple(replace(ink, name="=1+1") for ink in plain.inks)
    odd = replace(sheet(1), condition=replace(plain, inks=inks), title="x")
    assert "'=1+1" in sheet_csv(odd).decode()


# --- what is refused -----------------------------------------------------------------------------


def test_files_of_others_stay(tmp_path: Path) -> None:
    for name in ALL:
        (tmp_path / name).write_bytes(b"precious")
    with pytest.raises(OutputError) as caught:
        refuse_sheets([tmp_path / name for name in ALL], page="A3", ppi=100)
    assert len(caught.value.faults) == len(ALL)
    assert {(tmp_path / name).read_bytes() for name in ALL} == {b"precious"}


def test_own_files_are_replaced(written: Path, tmp_path: Path) -> None:
    for name in ALL:
        (tmp_path / name).write_bytes((written / name).read_bytes())
    write_sheets(sheet(2), [tmp_path / name for name in ALL], ppi=50)
    assert json.loads((tmp_path / "a.json").read_bytes())["inks"] == ["Soot", "Fjord"]


@pytest.mark.parametrize(
    ("names", "page", "ppi", "words"),
    [
        (
            ["a.jpg"],
            "A3",
            100,
            "must end in one of .png, .svg, .pdf, .csv, .json",
        ),
        (["a"], "A3", 100, "ends in nothing"),
        (["a.pdf", "a.pdf"], "A3", 100, "is to be written twice"),
        (["a.png"], "A5", 100, "one of A4, A3, A2"),
        (["a.png"], "A3", 5, "a number from 36 to 600 ppi"),
        (["a.png"], "A3", float("nan"), "a number from 36 to 600 ppi"),
        (["a.png"], "A2", 600, "take at most 508 ppi, or write a PDF"),
    ],
)
def test_wrong_wishes_are_told(
    names: list[str], page: str, ppi: float, words: str, tmp_path: Path
) -> None:
    with pytest.raises((OutputError, UsageError), match=re.escape(words)):
        refuse_sheets([tmp_path / name for name in names], page=page, ppi=ppi)


# --- type ----------------------------------------------------------------------------------------


def test_letters_that_no_font_has_are_squares_and_others_find_theirs() -> None:
    assert drawable("Soot", PLAIN) == ("Soot", PLAIN)
    assert drawable("Łódź Тьма", PLAIN)[0] == "Łódź Тьма"
    assert drawable("\u05e9\u05dc\u05d5\u05dd", PLAIN)[1] == FALLBACK  # Hebrew is in one of them
    assert drawable("夜 x\n\0", PLAIN) == ("□ x  ", FALLBACK)


def test_any_title_and_any_names_can_be_drawn() -> None:
    plain = sheet(2).condition
    soot, fjord = plain.inks
    known = replace(
        plain,
        inks=(replace(soot, name="$\\alpha$ _x_" * 9), replace(fjord, name="🌊\nnight")),
        paper=replace(plain.paper, name="p" * 300),
        unproven=("why " * 200,),
    )
    odd = replace(sheet(2), title="夜の渡し船 " * 30, condition=known, signs=("1", "2"))
    assert drawn(odd, page="A4").srgb8(ppi=40).std() > 10


def wcag_contrast(one: Sequence[float], other: Sequence[float]) -> float:
    """WCAG 2.2, contrast ratio and relative luminance as it spells them out, for itself."""
    lights = sorted(
        sum(
            weight * (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4)
            for weight, c in zip((0.2126, 0.7152, 0.0722), colour, strict=True)
        )
        for colour in (one, other)
    )
    return (lights[1] + 0.05) / (lights[0] + 0.05)


def test_type_stands_off_from_every_colour_and_is_light_wherever_that_can_be_read() -> None:
    """4.5:1 is asked for text (WCAG 2.2, 1.4.3); on all fields of sheets, and on random colours."""
    random = np.random.default_rng(5).integers(0, 256, (400, 3)).tolist()
    drawn_ones = [
        field.srgb8 for n in (2, 5) for block in sheet(n).blocks for field in block.fields
    ]
    assert len(drawn_ones) > 400
    for srgb8 in (*drawn_ones, *map(tuple, random)):
        ground = [value / 255 for value in srgb8]
        kind = shades.type_on(srgb8)
        assert wcag_contrast(ground, kind) >= 4.5
        assert (kind == (1.0, 1.0, 1.0)) == (wcag_contrast(ground, (1, 1, 1)) >= 4.5)
    assert shades.contrast((0, 0, 0), (1, 1, 1)) == pytest.approx(21)  # its greatest, by WCAG


@pytest.mark.parametrize("page", ["A4", "A3", "A2"])
@pytest.mark.parametrize("count", [1, 2, 5, 8])
def test_no_type_on_a_page_is_too_small_to_read(page: str, count: int, monkeypatch) -> None:
    """Letters of fields without a caption may be smaller: fields that small say nothing else."""
    told = []
    real = Canvas.text

    def text(self: Canvas, words: str, x: float, y: float, **how: object) -> None:
        told.append((words, how["size_pt"]))
        real(self, words, x, y, **how)

    monkeypatch.setattr(Canvas, "text", text)
    drawn(sheet(count), page=page)
    sizes = [size for words, size in told if len(words) > 2]
    assert len(sizes) > 10
    assert min(sizes) >= 5.5 - 1e-9


def test_pairs_tell_the_tone_values_of_their_first_line_and_column(monkeypatch) -> None:
    told = []
    monkeypatch.setattr(Canvas, "text", lambda self, words, x, y, **how: told.append((words, x, y)))
    given = sheet(2)
    drawn(given, page="A4")
    width, height = PAGES_MM["A4"]
    (pair,) = (
        one for one in arranged(given.blocks, frame_of(width, height)) if one.block.kind == PAIR
    )
    side = len(pair.block.groups)
    for place, (field, box) in enumerate(zip(pair.block.fields, pair.fields, strict=True)):
        inside = [w for w, x, y in told if box.x < x < box.right and box.y < y < box.bottom]
        at_edge = place < side or place % side == 0
        assert inside == ([f"{max(field.tone_pct):g}"] if at_edge else [])


def test_lines_fit_their_room() -> None:
    words = "a long line that has to be broken into several of them, unbreakable" + "x" * 80
    lines = list(wrapped(words, size_pt=8, room_mm=40))
    assert len(lines) > 2
    assert all(width_mm(line, size_pt=8) <= 40 for line in lines)
    text, size = fitted("Soot" * 40, sizes_pt=(12, 8), room_mm=30)
    assert (text[-1], size) == ("…", 8)
    assert width_mm(text, size_pt=8) <= 30
    # Twice the size, twice the width.
    assert width_mm("Soot", size_pt=14) == pytest.approx(2 * width_mm("Soot", size_pt=7))


@pytest.mark.parametrize("page", ["A4", "A3"])
@pytest.mark.parametrize("count", [2, 5, 8])
def test_captions_lie_inside_their_fields(page: str, count: int) -> None:
    given = sheet_of(ferry(count), darkest=())
    width, height = PAGES_MM[page]
    placed = arranged(given.blocks, frame_of(width, height))[0]
    start, told = 0, 0
    for size in placed.block.groups:
        fields = placed.block.fields[start : start + size]
        boxes = placed.fields[start : start + size]
        captions = captions_for(given, fields, boxes, kind=OVERPRINTS, scale=width / 420)
        for caption, box in zip(captions or (), boxes, strict=bool(captions)):
            told += 1
            assert len(caption.lines) * caption.leading_mm <= box.height
            widest = max(width_mm(line, size_pt=caption.size_pt) for line in caption.lines)
            assert widest < box.width
            assert caption.size_pt == captions[0].size_pt
        start += size
    assert told >= (2**count if page == "A3" else 4)


def test_hatching_stays_inside() -> None:
    box = Box(x=5, y=7, width=11, height=3)
    lines = list(hatching(box, step_mm=1.3))
    assert len(lines) == 10  # (11 + 3) / 1.3
    for (x1, y1), (x2, y2) in lines:
        assert x1 - x2 == pytest.approx(y2 - y1)  # at 45 degrees
        assert 5 <= min(x1, x2) <= max(x1, x2) <= 16
        assert 7 <= min(y1, y2) <= max(y1, y2) <= 10


def test_a_canvas_is_in_millimetres_from_the_top_left() -> None:
    with own_style():
        canvas = Canvas(100, 50, ground=(1.0, 1.0, 1.0))
        canvas.fields([Box(x=10, y=5, width=20, height=10)], [(1.0, 0.0, 0.0)])
    pixels = canvas.srgb8(ppi=254)  # ten pixels a millimetre
    assert pixels.shape == (500, 1000, 3)
    red = (pixels == (255, 0, 0)).all(axis=2)
    rows, cols = np.flatnonzero(red.any(axis=1)), np.flatnonzero(red.any(axis=0))
    assert (rows[0], rows[-1], cols[0], cols[-1]) == (50, 149, 100, 299)


# --- small sheets --------------------------------------------------------------------------------


def test_small_sheets_can_stand_side_by_side() -> None:
    condition = ferry(5)
    drawings = [
        small_sheet(condition, ink_limit_pct=260, prefix=f"p{k}", darkest=()) for k in range(2)
    ]
    page = ElementTree.fromstring(f"<div>{''.join(drawings)}</div>")
    ids = [element.get("id") for element in page.iter() if element.get("id")]
    assert len(ids) == len(set(ids)) == 2
    used = set(re.findall(r"url\(#([^)]+)\)", "".join(drawings)))
    assert used == set(ids)
    assert len(drawings[0]) < 40_000
    assert drawings[0].replace("p0-", "p1-") == drawings[1]
    assert "style" not in drawings[0]


def test_small_sheets_show_the_same_colours_and_say_them() -> None:
    drawing = ElementTree.fromstring(small_sheet(ferry(3), ink_limit_pct=260, prefix="x"))
    titles = {
        title.text or "": rect.get("fill")
        for rect in drawing.iter("rect")
        for title in rect.iter("title")
    }
    assert len(titles) == 9  # eight overprints and the darkest
    for field in sheet(3).blocks[0].fields[1:]:
        words = mix_words(sheet(3).inks, field)
        (colour,) = (fill for title, fill in titles.items() if title.startswith(f"{words},"))
        assert colour == "#{:02x}{:02x}{:02x}".format(*field.srgb8)
    assert any("300 % ink, over the limit" in title for title in titles)
    assert drawing.get("aria-label") == (
        "Overprint sheet of Soot, Fjord, Rowan on night-ferry/uncoated"
    )


def test_names_in_small_sheets_are_escaped() -> None:
    from inkmix.press.condition import press_condition

    plain = ferry(2)
    inks = [replace(plain.inks[0], name='<b>&"Soot"'), plain.inks[1]]
    odd = press_condition(plain.paper, inks, process=plain.process)
    drawing = small_sheet(odd, ink_limit_pct=None, prefix='a"b')
    assert '<b>&"Soot"' in (ElementTree.fromstring(drawing).get("aria-label") or "")
