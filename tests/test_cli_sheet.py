"""`inkmix sheet`: from a book to files, swaps and views, and what is refused."""

import json
import subprocess
import sys
from pathlib import Path

import pytest
from PIL import Image

from inkmix.cli.main import run

BOOK = """\
format = 1
title = "The Night Ferry"
[paper]
swatch = "night-ferry/uncoated"
[[inks]]
name = "Soot"
swatch = "night-ferry/Soot"
[[inks]]
name = "Rowan"
swatch = "night-ferry/Rowan"
[[inks]]
name = "Fog"
swatch = "night-ferry/Fog"
[press]
process = "sheet-fed offset"
ink_limit_pct = 220
confirmed_by_printer = ["ink_limit_pct"]
[plates]
pattern = "plates/{spread}/{ink}.tif"
"""
COVER = """
[[override]]
spreads = ["cover"]
paper = { swatch = "night-ferry/coated" }
press = { ink_limit_pct = 280 }
"""


@pytest.fixture
def book(tmp_path: Path) -> Path:
    (tmp_path / "book.toml").write_text(BOOK, encoding="utf-8")
    return tmp_path


def document(path: Path) -> dict:
    return json.loads(path.read_bytes())


def test_a_sheet_needs_no_plates(book: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["sheet", str(book)]) == 0
    caution, written = capsys.readouterr().err.splitlines()
    assert caution.startswith("caution: The model was tested with bright inks on coated paper only")
    assert written == f"written: {book / 'overprints.pdf'}"
    assert (book / "overprints.pdf").read_bytes().startswith(b"%PDF-1.7\n")


def test_several_forms_at_once(book: Path) -> None:
    names = ["a.png", "a.SVG", "new/a.pdf", "a.csv", "a.json"]
    to = [part for name in names for part in ("--to", str(book / name))]
    assert run(["sheet", str(book / "book.toml"), *to, "--page", "a4", "--ppi", "72"]) == 0
    assert all((book / name).stat().st_size > 1000 for name in names)
    with Image.open(book / "a.png") as picture:
        assert picture.size == (841, 595)  # A4 in points, cut to whole pixels
    told = document(book / "a.json")
    assert told["title"] == "The Night Ferry"
    assert told["ink_limit_pct"] == {"value": 220.0, "whose": "printer"}
    assert told["inks"] == ["Soot", "Rowan", "Fog"]


def test_swapped_inks_are_called_by_what_prints(book: Path) -> None:
    to = ["--to", str(book / "a.json")]
    assert run(["sheet", str(book), *to, "--ink", "Rowan=Rust", "--ink", "Fog=Soot"]) == 0
    told = document(book / "a.json")
    assert told["inks"] == ["Soot", "Soot 2", "Rust"]
    solids = [f for f in told["blocks"][0]["fields"] if f["total_ink_pct"] == 100]
    assert solids[0]["lab"] == solids[1]["lab"]


def test_a_swapped_ink_is_laid_down_in_its_place_and_that_is_said(book: Path, capfd) -> None:
    # Fjord, a dark blue, is printed before Rowan; the pale Fog, whose plate it takes, comes last.
    to = ["--to", str(book / "a.json")]
    assert run(["sheet", str(book), *to, "--ink", "Fog=Fjord"]) == 0
    assert document(book / "a.json")["inks"] == ["Soot", "Fjord", "Rowan"]
    said = "note: Fjord is laid down where it usually is, not in the place of Fog: "
    assert f"{said}Soot, Fjord, Rowan; ask your printer" in capfd.readouterr().err


def test_views_change_what_is_shown_and_not_what_is_predicted(book: Path) -> None:
    plain, grey = book / "plain.json", book / "grey.json"
    assert run(["sheet", str(book), "--to", str(plain)]) == 0
    assert run(["sheet", str(book), "--to", str(grey), "--as", "grey"]) == 0
    first, second = (document(path)["blocks"][0]["fields"] for path in (plain, grey))
    assert [field["lab"] for field in first] == [field["lab"] for field in second]
    for field in second:
        assert field["shown"][1:3] == field["shown"][3:5] == field["shown"][5:7]
    assert document(grey)["view"] == "grey"
    assert first != second


def test_a_spread_of_its_own_paper_has_its_own_sheet(book: Path) -> None:
    (book / "book.toml").write_text(BOOK + COVER, encoding="utf-8")
    to = ["--to", str(book / "a.json")]
    assert run(["sheet", str(book), *to, "--spread", "cover"]) == 0
    told = document(book / "a.json")
    assert told["paper"]["name"] == "night-ferry/coated"
    assert told["ink_limit_pct"]["value"] == 280
    assert run(["sheet", str(book), *to]) == 0
    assert document(book / "a.json")["paper"]["name"] == "night-ferry/uncoated"


def test_a_hint_is_said(book: Path, capsys: pytest.CaptureFixture[str]) -> None:
    to = ["--to", str(book / "a.csv")]
    assert run(["sheet", str(book), *to, "--ink", "Fog=#a0c0d8"]) == 0
    assert "hint only: Fog is known by a screen colour" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--to", "a.tif"], "ends in .tif"),
        (["--to", "book.toml"], "ends in .toml"),
        (["--ink", "Rowen=Rust"], 'did you mean "Rowan"?'),
        (["--ink", "Rowan=Rust", "--ink", "Rowan=Gull"], "swapped twice"),
        (["--spread", "nowhere"], "no plate was found"),
        (["--as", "sepia"], "'sepia' is not one of 'grey', 'protan', 'deutan', 'tritan'"),
        (["--page", "A9"], "'A9' is not one of"),
        (["--ppi", "5000"], "36 to 600"),
        (["--to", "x.png", "--page", "A2", "--ppi", "600"], "take at most 508 ppi"),
    ],
)
def test_what_is_wrong_is_told(
    book: Path,
    options: list[str],
    words: str,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.chdir(book)
    before = sorted(path.name for path in book.iterdir())
    assert run(["sheet", *options]) in (2, 3)
    said = capsys.readouterr().err
    assert words in said
    assert "Traceback" not in said
    assert sorted(path.name for path in book.iterdir()) == before
    assert (book / "book.toml").read_text(encoding="utf-8") == BOOK


def test_a_table_needs_no_drawing_library(book: Path) -> None:
    program = (
        "import sys\nfrom inkmix.cli.main import run\n"
        f"assert run(['sheet', {str(book)!r}, '--to', {str(book / 'a.csv')!r}]) == 0\n"
        "assert 'matplotlib' not in sys.modules\n"
    )
    subprocess.run([sys.executable, "-c", program], check=True, capture_output=True)
