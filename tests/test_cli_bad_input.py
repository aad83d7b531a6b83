"""Bad input at the command line: one clear message, the right exit code, no input touched."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest
import spoiled_books
from drawn_book import (
    BOOK,
    INKS,
    MEASURED,
    NIGHT,
    PPI,
    changed,
    command,
    digests,
    draw_book,
    plate_of,
    plates,
    untouched,
)
from plate_files import write_png, write_tiff
from rights import drop_rights
from spoiled_books import Case

import inkmix.jobs.spread

ROOT = Path(__file__).parents[1]


@pytest.fixture
def book(tmp_path: Path) -> Path:
    return draw_book(tmp_path / "book", BOOK + NIGHT)


def spoiled(folder: Path, case: Case) -> Path:
    draw_book(folder)
    text = case.text if isinstance(case.text, bytes) else case.text.encode()
    (folder / "book.toml").write_bytes(text)
    case.spoil(folder)
    return folder


def named(cases):
    return pytest.mark.parametrize("case", cases, ids=lambda case: case.name)


# --- every fault of plates, book, measurements and pictures --------------------------------------


@named(spoiled_books.ALL)
def test_check_refuses(case, tmp_path, capfd):
    folder = spoiled(tmp_path / "book", case)
    with untouched(folder):
        ran = command(capfd, "check", folder)
    assert (ran.code, ran.out) == (case.code, "")
    assert len(ran.messages) == case.faults
    assert ran.messages == ran.err.splitlines()
    for words in case.said:
        assert words in ran.err


@named([*spoiled_books.PLATES, *spoiled_books.BOOKS[:4], *spoiled_books.MEASUREMENTS[:2]])
def test_predict_refuses_alike(case, tmp_path, capfd):
    folder = spoiled(tmp_path / "book", case)
    with untouched(folder):
        ran = command(capfd, "predict", folder)
    assert ran.code == case.code
    for words in case.said:
        assert words in ran.err


@named([case for case in spoiled_books.MEASUREMENTS if case.code == 3 and "inks" not in case.name])
def test_score_refuses_alike(case, tmp_path, capfd):
    folder = spoiled(tmp_path / "book", case)
    with untouched(folder):
        ran = command(capfd, "score", folder / "rowan.txt", "--known", "ramps", "--order", "Rowan")
    assert (ran.code, ran.out) == (3, "")
    assert len(ran.messages) == case.faults
    assert all("rowan.txt" in message for message in ran.messages)


@named([case for case in spoiled_books.PLATES if case.name in ("zero bytes", "PDF called .tif")])
def test_start_leaves_out_what_it_cannot_read(case, tmp_path, capfd):
    folder = spoiled(tmp_path / "book", case)
    (folder / "book.toml").unlink()
    before = digests(folder)
    ran = command(capfd, "start", folder)
    assert ran.code == 0
    assert "Left out: " in ran.err
    assert "Fjord.tif" in ran.err
    after = digests(folder)
    after.pop("book.toml")
    assert after == before


PICTURES = (
    (b"\xff\xd8\xff\xe0\0\x10JFIF\0", "JPEG"),
    (b"BM" + bytes(40), "BMP"),
    (b"GIF89a" + bytes(40), "GIF"),
    (b"RIFF\x24\0\0\0WEBPVP8 ", "WebP"),
    (b"8BPS\0\1" + bytes(40), "layered picture (PSD)"),
    (b"%PDF-1.7\n1 0 obj\n", "PDF"),
)
"""How files of these formats begin; for some of them a file needs no other bytes to be known."""


@pytest.mark.parametrize(("head", "kind"), PICTURES)
def test_a_picture_is_not_taken_for_a_book(head, kind, tmp_path, capfd):
    path = tmp_path / "Blue.img"
    path.write_bytes(head)
    told = command(capfd, "predict", path)
    assert told.code != 0
    assert f"Blue.img: is a {kind} file" in told.err
    assert "UTF-8" not in told.err
    checked = command(capfd, "check", path)
    assert checked.code == 2
    assert f"is a {kind} file, but a book.toml" in checked.err


@pytest.mark.parametrize("key", ["BM", "GIF8", "RIFF", "8BPS"])
def test_a_book_that_begins_like_a_picture_is_a_book(key, tmp_path, capfd):
    path = tmp_path / "book.toml"
    path.write_text(f"{key} = 1\n")
    assert f"{key}: is not a key of a book" in command(capfd, "check", path).err


def test_a_plate_of_another_ending_is_predicted(book, tmp_path, capfd):
    plate = tmp_path / "Soot.dat"
    plate.write_bytes((book / "plates/front/Soot.tif").read_bytes())
    ran = command(capfd, "predict", plate, "--to", tmp_path / "print.png")
    assert ran.code == 0
    assert (tmp_path / "print.png").exists()


# --- what was asked for --------------------------------------------------------------------------

USAGE = (
    (
        ("check", "{}/nowhere"),
        "nowhere: there is no such file or folder; name the folder of a book",
    ),
    (("check", "{}/plates"), "plates/book.toml: there is not a book file"),
    (("check", "{}/plates/front/Soot.tif"), "Soot.tif: is not a book file"),
    (("predict", "{}/nowhere"), "there is no such file or folder"),
    (("check", "{}", "--spread", "back"), "spread back: there is none of that name; known: front"),
    (("predict", "{}", "--spread", "back"), "known: front"),
    (("predict", "{}", "--inks", "Soot,Fiord"), "ink Fiord: no plate has this name"),
    (
        ("predict", "{}", "--inks", "2"),
        "use `inkmix palette --choose 2`",
    ),
    (("predict", "{}", "--inks", ","), "names separated by commas"),
    (("predict", "{}", "--to", "{}/print.jpg"), "ends in .jpg, but a picture ends in .png or .tif"),
    (("predict", "{}", "--to", "{}/print"), "ends in nothing"),
    (("predict", "{}", "--to", "{}/book.toml"), "ends in .toml"),
    (("predict", "{}", "--to", "{}/plates/front/Soot.tif"), "never overwritten"),
    (("predict", "{}", "--to", "{}/masks/cellar.png"), "never overwritten"),
    (("predict", "{}/plates/front/Soot.tif", "--to", "{}/plates/front/Soot.tif"), "never overwr"),
    (("predict", "{}", "--to", "{}/book.toml/print.png"), "is a file, but a folder is needed"),
    (("predict", "{}/plates/front/Soot.tif", "{}"), "2 paths that are not all plates"),
    (("predict", "{}/plates/front/Soot.tif", "--ink", "Soot"), "NAME=SWATCH or NAME=#rrggbb"),
    (("predict", "{}/plates/front/Soot.tif", "--ink", "Soot=#12"), '--ink Soot: "#12", but a scr'),
    (("predict", "{}/plates/front/Soot.tif", "--ink", "Soot=x/Soot"), "did you mean"),
    (("predict", "{}/plates/front/Soot.tif", "--ink", "Fog=#123456"), "ink Fog: no file Fog.tif"),
    (("predict", "{}/plates/front/Soot.tif", "--paper", "chalk"), "--paper: swatches: no paper"),
    (("predict", "{}/plates/front/Soot.tif", "--process", "etching"), "one of sheet-fed offset"),
    (("check", "{}", "--to", "{}/book.toml"), "is a file, but a folder is needed"),
    (("check", "{}", "--to", "{}/book.toml/deep"), "book.toml: is a file, but a folder"),
    (("start", "{}"), "book.toml: already exists"),
    (("demo", "{}", "--ppi", "20"), "nothing is overwritten"),
    (("demo", "{}/new", "--fault", "mist"), "no fault is called mist"),
)


@pytest.mark.parametrize(("arguments", "said"), USAGE)
def test_usage(arguments, said, book, capfd):
    with untouched(book):
        ran = command(capfd, *(argument.format(book) for argument in arguments))
    assert (ran.code, ran.out) == (2, "")
    assert len(ran.messages) == 1
    assert said in ran.messages[0]


@pytest.mark.parametrize(
    "arguments",
    [
        ("score", "{}/rowan.txt", "--known", "everything"),
        ("check", "{}", "--colour"),
        ("check", "{}", "{}"),
        ("frobnicate",),
    ],
)
def test_options_that_cannot_be(arguments, book, capfd):
    with untouched(book):
        ran = command(capfd, *(argument.format(book) for argument in arguments))
    assert (ran.code, ran.out) == (2, "")
    assert ran.err.count("Error: ") == 1


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("predict", "{}/plates/front/Soot.tif", "--ppi", "-3"), "-3, but it must be a number"),
        (("predict", "{}/plates/front/Soot.tif", "--ppi", "nan"), "nan, but it must be a number"),
        (("demo", "{}/new", "--ppi", "0"), "0, but it must be a number from 20 to 1200 ppi"),
        (("demo", "{}/new", "--ppi", "1e9"), "1e+09, but it must be a number from 20 to 1200 ppi"),
    ],
)
def test_a_resolution_out_of_range(arguments, said, book, capfd):
    with untouched(book):
        ran = command(capfd, *(argument.format(book) for argument in arguments))
    assert (ran.code, ran.out) == (2, "")
    assert len(ran.messages) == 1
    assert f"ppi: is {said}" in ran.messages[0]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("predict", "{}/nowhere.tif"), "nowhere.tif: does not exist"),
        (("score", "{}/nowhere.txt", "--known", "ramps"), "nowhere.txt: cannot be read"),
        (("score", "{}/plates", "--known", "ramps"), "plates: cannot be read"),
        (
            ("score", "{}/plates/front/Soot.tif", "--known", "ramps"),
            "Soot.tif: this is a picture (TIFF)",
        ),
        (("score", "{}/book.toml", "--known", "ramps"), "measurements are CGATS text"),
        (("start", "{}/nowhere"), "nowhere: is not there"),
        (("score", "{}/rowan.txt", "--known", "ramps"), "one ink only, Rowan"),
    ],
)
def test_files_that_are_not_there_or_something_else(arguments, said, book, capfd):
    with untouched(book):
        ran = command(capfd, *(argument.format(book) for argument in arguments))
    assert (ran.code, ran.out) == (3, "")
    assert len(ran.messages) == 1
    assert said in ran.messages[0]


@pytest.mark.parametrize("name", ["check", "predict"])
def test_several_spreads_and_none_named(name, tmp_path, capfd):
    folder = draw_book(tmp_path / "book", spreads=("back", "front"))
    with untouched(folder):
        ran = command(capfd, name, folder)
    assert ran.code == 2
    assert ran.messages == ["inkmix: book.toml: 2 spreads: back, front; name one (--spread NAME)"]


# --- nothing of others is overwritten ------------------------------------------------------------


def test_a_prediction_replaces_its_own_picture_only(book, capfd):
    first = command(capfd, "predict", book)
    assert first.code == 0
    with untouched(book):
        again = command(capfd, "predict", book)
    assert again == first


@pytest.mark.parametrize("name", ["cellar.png", "link.png"])
def test_the_second_picture_of_a_pair_overwrites_nothing_either(name, book, capfd):
    other = book / "out" / "a-on-screen.png"
    other.parent.mkdir()
    if name == "link.png":
        other.symlink_to(book / "masks" / "cellar.png")
    else:
        other.write_bytes((book / "masks" / "cellar.png").read_bytes())
    with untouched(book):
        ran = command(capfd, "predict", book, "--pair", "--to", book / "out" / "a.png")
    assert ran.code == 2
    assert "a-on-screen.png: " in ran.messages[0]
    assert "never overwritten" in ran.messages[0]


def test_a_prediction_that_became_the_reference_is_an_input(book, capfd):
    assert command(capfd, "predict", book).code == 0
    text = BOOK + '\n[reference]\npicture = "predicted/front.png"\n'
    (book / "book.toml").write_text(text)
    with untouched(book):
        ran = command(capfd, "predict", book)
    assert ran.code == 2
    assert "predicted/front.png: the prediction is made from this" in ran.messages[0]


@pytest.mark.parametrize("name", ["report.html", "report.json"])
def test_somebody_elses_report_stays(name, book, capfd):
    folder = book / "reports" / "front"
    folder.mkdir(parents=True)
    (folder / name).write_text("<html>of somebody else</html>")
    with untouched(book):
        ran = command(capfd, "check", book)
    assert (ran.code, ran.out) == (2, "")
    assert f"{name}: already exists and was not written by inkmix" in ran.messages[0]


def test_a_page_of_inks_replaces_no_other_file(book, capfd):
    with untouched(book):
        ran = command(capfd, "inks", "Fog", "--page", book / "book.toml")
    assert ran.code == 2
    assert "never overwritten" in ran.messages[0]


def test_folders_of_masks_and_pictures_are_no_spreads(tmp_path, capfd):
    text = changed("plates/{spread}/{ink}.tif", "{spread}/{ink}.png")
    folder = draw_book(tmp_path / "book", text + NIGHT)
    (folder / "front").mkdir()
    for ink, numbers in plates().items():
        write_png(folder / "front" / f"{ink}.png", numbers, PPI)
    assert command(capfd, "predict", folder).code == 0
    assert command(capfd, "check", folder).code == 0


# --- rights, pipes, interrupts, files that vanish -------------------------------------------------


def in_a_process(*arguments: str | Path, **options) -> subprocess.CompletedProcess[str]:
    line = [sys.executable, "-m", "inkmix", *map(str, arguments)]
    return subprocess.run(line, capture_output=True, text=True, cwd=ROOT, check=False, **options)


@pytest.mark.skipif(sys.platform != "linux", reason="rights are dropped in the way of Linux")
@pytest.mark.parametrize(
    "arguments",
    [
        ("check", "{}", "--to", "{}/closed"),
        ("check", "{}", "--to", "{}/closed/deep/er"),
        ("predict", "{}", "--to", "{}/closed/print.png"),
        ("start", "{}/closed"),
        ("inks", "Fog", "--page", "{}/closed/inks.html"),
        ("demo", "{}/closed", "--ppi", "20"),
    ],
)
def test_a_folder_that_cannot_be_written(arguments, book):
    closed = book / "closed"
    closed.mkdir()
    write_tiff(closed / "Soot.tif", plates()["Soot"], PPI)
    closed.chmod(0o555)
    with untouched(book):
        done = in_a_process(*(a.format(book) for a in arguments), preexec_fn=drop_rights)
    closed.chmod(0o755)
    assert (done.returncode, done.stdout) == (2, "")
    said = [line for line in done.stderr.splitlines() if line.startswith("inkmix: ")]
    assert len(said) == 1
    assert "Permission denied" in said[0]
    assert "Traceback" not in done.stderr


@pytest.mark.skipif(sys.platform != "linux", reason="rights are dropped in the way of Linux")
def test_a_plate_that_may_not_be_read(book):
    plate_of(book, "Fjord").chmod(0)
    done = in_a_process("check", book, preexec_fn=drop_rights)
    assert done.returncode == 3
    assert "Fjord.tif: cannot be read (Permission denied)" in done.stderr


@pytest.mark.skipif(os.name != "posix", reason="pipes that close early are a thing of POSIX")
@pytest.mark.parametrize("arguments", [("inks", "Fog", "--json"), ("--help",)])
def test_a_reader_that_goes_away(arguments):
    reading, writing = os.pipe()
    os.close(reading)
    line = [sys.executable, "-m", "inkmix", *arguments]
    done = subprocess.run(line, stdout=writing, stderr=subprocess.PIPE, cwd=ROOT, check=False)
    os.close(writing)
    assert done.returncode == 141  # 128 + SIGPIPE, as shells count
    assert done.stderr == b""


@pytest.mark.skipif(os.name != "posix", reason="signals are a thing of POSIX")
def test_an_interrupt_from_outside_leaves_no_half_picture(tmp_path):
    rng = np.random.default_rng(1)
    for ink in INKS:
        write_tiff(tmp_path / f"{ink}.tif", rng.integers(0, 256, (2500, 2500), np.uint8), PPI)
    target = tmp_path / "out" / "print.png"
    line = [sys.executable, "-m", "inkmix", "predict", *map(str, tmp_path.glob("*.tif"))]
    before = digests(tmp_path)
    with subprocess.Popen(
        [*line, "--to", str(target)], stderr=subprocess.PIPE, text=True, cwd=ROOT
    ) as process:
        part = target.with_name(".print.png.inkmix-part")
        while process.poll() is None and not part.exists():
            time.sleep(0.005)
        process.send_signal(signal.SIGINT)
        err = process.communicate()[1]
    assert process.returncode == 130
    assert "interrupted" in err
    assert "Traceback" not in err
    assert not target.parent.exists()
    assert digests(tmp_path) == before


@pytest.mark.parametrize(
    ("name", "place"),
    [
        ("check", "inkmix.jobs.checking.gather.coloured_window"),
        ("check", "inkmix.press.table.colouring.Colouring.coloured"),
        ("check", "inkmix.checks.night.at_work.night_remedies"),
        ("check", "inkmix.base.output_files._flush_folder"),
        ("check", "inkmix.base.atomic_files.Part.flush"),
        ("predict", "inkmix.plates.survey.counting.Survey.part"),
        ("predict", "inkmix.press.table.colouring.Colouring.srgb8"),
    ],
)
def test_an_interrupt_at_a_set_place(name, place, book, capfd, monkeypatch):
    """The signal arrives as this exception; whole files may be there, halves and rests not."""

    def interrupted(*_, **__):
        raise KeyboardInterrupt

    monkeypatch.setattr(place, interrupted)
    before = digests(book)
    ran = command(capfd, name, book)
    assert ran.code == 130
    assert "inkmix: interrupted; nothing half-written is left behind" in ran.err
    made = [path for path in digests(book).keys() - before.keys() if (book / path).is_file()]
    whole = ["reports/front/report.html", "reports/front/report.json"]
    assert sorted(made) == (whole if place.endswith("_flush_folder") else [])


@pytest.mark.parametrize(
    ("name", "step"),
    [
        (name, step)
        for name in ("check", "predict")
        for step in ("find_spread", "open_set", "resolve_sheet")
    ],
)
@pytest.mark.parametrize("compression", [None, "zlib"])
def test_a_plate_that_vanishes_meanwhile(name, step, compression, book, capfd, monkeypatch):
    plate = plate_of(book, "Fjord")
    write_tiff(plate, plates()["Fjord"], PPI, compression=compression)
    real = getattr(inkmix.jobs.spread, step)

    def then_gone(*arguments, **options):
        result = real(*arguments, **options)
        plate.unlink(missing_ok=True)
        return result

    monkeypatch.setattr(inkmix.jobs.spread, step, then_gone)
    ran = command(capfd, name, book)
    assert ran.code == 3
    assert len(ran.messages) == 1
    assert "Fjord" in ran.messages[0]
    assert not list(book.rglob("*part")) + list(book.rglob("report.*"))
    assert not (book / "predicted" / "front.png").exists()


# --- odd, and accepted with a word ---------------------------------------------------------------


def test_a_byte_order_mark_is_skipped_and_said(book, capfd):
    (book / "book.toml").write_bytes(b"\xef\xbb\xbf" + BOOK.encode())
    ran = command(capfd, "check", book)
    assert ran.code == 0
    assert "byte-order mark" in ran.err


def test_measurements_that_are_whole_pass(tmp_path, capfd):
    folder = draw_book(tmp_path / "book", MEASURED)
    assert command(capfd, "check", folder).code == 0


def test_an_antialiased_mask_is_split_and_said(book, capfd):
    from PIL import Image

    mask = book / "masks" / "cellar.png"
    with Image.open(mask) as picture:
        smooth = picture.resize((79, 53), Image.Resampling.BILINEAR).resize(picture.size)
    write_png(mask, np.array(smooth), PPI)
    ran = command(capfd, "check", book)
    assert ran.code == 0
    assert "of the mask is grey, split at 50 %" in ran.err


def test_an_inverted_mask_is_taken_where_the_book_says_so(book, capfd):
    spoiled_books.PICTURES[0].spoil(book)
    text = BOOK + NIGHT.replace("lightest", 'mask_shows = "black"\nlightest')
    (book / "book.toml").write_text(text)
    assert command(capfd, "check", book).code == 0


def test_plates_without_resolution_are_taken_where_it_is_told(book, capfd):
    for ink, numbers in plates().items():
        write_tiff(plate_of(book, ink), numbers, None)
    (book / "book.toml").write_text(changed("[plates]", "[plates]\nppi = 100"))
    assert command(capfd, "check", book).code == 0


def test_lists_of_words_are_told_without_tabs(capfd):
    ran = command(capfd, "score", "chart.txt")
    assert ran.code == 2
    assert "solids" in ran.err
    assert "\\x09" not in ran.err


def test_a_file_too_large_for_a_book_is_no_reason_to_start_one(tmp_path, capfd):
    (tmp_path / "book.toml").write_text("# " + "x" * 1_100_000)
    ran = command(capfd, "check", tmp_path)
    assert ran.code == 2
    assert "larger than 1 MB; a book file has a few kilobytes; is this the right file?" in ran.err
