"""Guesses: what they are in a book, how they end, and that no verdict resting on one is a pass."""

import json
import xml.etree.ElementTree as ElementTree
from pathlib import Path

import numpy as np
import pytest
import tifffile

from inkmix.book.values import Book
from inkmix.checks.confidence import judge_on
from inkmix.checks.finding import FAIL, NOT_READY, PASS, UNSURE, judge_at_most, stops
from inkmix.checks.guesses import Guess, guess_words
from inkmix.checks.headline import CLEAR, headline
from inkmix.cli.main import run
from inkmix.jobs.books import read_book
from inkmix.jobs.check import check_spread
from inkmix.jobs.start import start_book


def draw(folder: Path, *names: str, tone_pct: float = 40) -> None:
    """Flat plates, a fifth of an inch wide, with a corner left bare."""
    for k, name in enumerate(names):
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        pixels = np.full((72, 72), 255 - round(2.55 * tone_pct), np.uint8)
        pixels[: 9 + k, :9] = 255
        tifffile.imwrite(path, pixels, photometric="minisblack", resolution=(360, 360),
                         resolutionunit=2)  # fmt: skip


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A book as `start` wrote it, of a known ink and one that nothing is known of."""
    draw(tmp_path, "plates/01/Soot.tif", "plates/01/Xyzzy.tif")
    start_book(tmp_path)
    return tmp_path


def said(book: Book) -> tuple[bool, bool, list[bool], bool]:
    return (
        book.paper.is_guess,
        book.press.is_guess,
        [ink.is_guess for ink in book.inks],
        book.order_is_guess,
    )


def edited(folder: Path, *changes: tuple[str, str]) -> Book:
    path = folder / "book.toml"
    text = path.read_text(encoding="utf-8")
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    path.write_text(text, encoding="utf-8")
    return read_book(folder)


class TestInTheBook:
    def test_all_that_start_wrote_is_a_guess(self, folder: Path) -> None:
        assert said(read_book(folder)) == (True, True, [True, True], True)

    def test_whoever_changes_a_value_has_told_it(self, folder: Path) -> None:
        """Though the line `guessed` still stands there: people forget it."""
        book = edited(
            folder,
            ('swatch = "night-ferry/uncoated"  #', 'lab = [92, 0, 2]\nclass = "uncoated"  #'),
            ('process = "sheet-fed offset"', 'process = "web offset"'),
            ('srgb = "#808080"', 'srgb = "#808081"'),
        )
        assert said(book) == (False, False, [True, False], True)

    def test_whoever_deletes_the_line_has_confirmed_the_value(self, folder: Path) -> None:
        path = folder / "book.toml"
        lines = path.read_text(encoding="utf-8").splitlines()
        path.write_text("\n".join(line for line in lines if not line.startswith("guessed")))
        assert said(read_book(folder)) == (False, False, [False, False], False)

    def test_whoever_turns_the_inks_round_has_told_their_order(self, folder: Path) -> None:
        order = 'guessed_order = ["Soot", "Xyzzy"]'
        assert not edited(folder, (order, 'guessed_order = ["Xyzzy", "Soot"]')).order_is_guess

    def test_what_the_printer_confirmed_is_no_guess(self, folder: Path) -> None:
        line = '# confirmed_by_printer = ["ink_limit_pct"]'
        book = edited(folder, (line, 'confirmed_by_printer = ["process"]'))
        assert not book.press.is_guess

    def test_true_holds_for_whatever_stands_beside_it(self, folder: Path) -> None:
        """So older books wrote it."""
        book = edited(
            folder,
            ('guessed = "#808080"', "guessed = true"),
            ('srgb = "#808080"', "lab = [50, 0, 0]"),
        )
        assert book.inks[1].is_guess

    def test_anything_else_is_refused(self, folder: Path, capfd) -> None:  # type: ignore[no-untyped-def]
        path = folder / "book.toml"
        text = path.read_text(encoding="utf-8").replace('guessed = "#808080"', "guessed = 3")
        path.write_text(text, encoding="utf-8")
        assert run(["check", str(folder)]) == 2
        assert "the guessed value as text, or true or false, is expected" in capfd.readouterr().err

    def test_one_ink_has_no_order(self, tmp_path: Path) -> None:
        draw(tmp_path, "plates/01/Soot.tif")
        start_book(tmp_path)
        book = read_book(tmp_path)
        assert not book.order_is_guess
        assert book.guessed_order == ()


class TestVerdicts:
    @pytest.mark.parametrize(
        ("value", "verdict"), [(10, NOT_READY), (19, NOT_READY), (21, NOT_READY), (23, FAIL)]
    )
    def test_what_rests_on_a_guess_fails_or_is_not_ready(self, value: float, verdict: str) -> None:
        """With a limit of 20 and an error of 2."""
        assert judge_at_most(value, 20, error=2, may_pass=False, on_guess=True) == verdict

    def test_only_what_lies_in_the_mix_counts(self, folder: Path) -> None:
        """The order counts where two inks lie over each other; paper and process everywhere."""
        from inkmix.book.meant.condition import resolve_condition

        book = edited(
            folder,
            ('guessed = "night-ferry/uncoated"', ""),
            ('guessed = "sheet-fed offset"', ""),
            ('guessed = "night-ferry/Soot"', ""),
        )
        condition = resolve_condition(book)
        verdicts = {
            mix: judge_on(condition, np.array(mix, float), value=10, limit=20, error=2)
            for mix in ((80, 0), (0, 80), (80, 80), (80, 0.5))
        }
        assert verdicts == {
            (80, 0): PASS, (0, 80): NOT_READY, (80, 80): NOT_READY, (80, 0.5): PASS
        }  # fmt: skip
        order_alone = resolve_condition(edited(folder, ('guessed = "#808080"', "")))
        both, one = (
            judge_on(order_alone, np.array(mix, float), value=10, limit=20, error=2)
            for mix in ((80, 80), (0, 80))
        )
        assert (both, one) == (NOT_READY, UNSURE)  # a screen colour never passes

    @pytest.mark.parametrize("verdict", [PASS, NOT_READY, UNSURE, FAIL])
    def test_which_stop_a_build(self, verdict: str) -> None:
        assert stops(verdict, strict=False) == (verdict == FAIL)
        assert stops(verdict, strict=True) == (verdict != PASS)

    def test_a_usual_ink_limit_goes_by_guesses_and_a_told_one_does_not(self, folder: Path) -> None:
        result = check_spread(read_book(folder), "01")
        assert result.verdict == NOT_READY
        (finding,) = result.findings
        assert "usual for the process and the paper that were guessed" in finding.sentence
        told = check_spread(edited(folder, ("# ink_limit_pct", "ink_limit_pct")), "01")
        assert told.verdict == PASS
        assert told.sentence.startswith(CLEAR)
        assert "guesses)." in told.sentence


PAPER = Guess(about="paper", taken_as="x", do="")
PROCESS = Guess(about="process", taken_as="x", do="")
ORDER = Guess(about="order", taken_as="x", do="")
INKS = [Guess(about="ink", name=name, taken_as="x", do="") for name in ("A", "B")]


class TestWords:
    @pytest.mark.parametrize(
        ("guesses", "words"),
        [
            ([PAPER], "the paper is a guess"),
            (INKS[:1], "one ink is a guess"),
            (INKS, "two inks are guesses"),
            ([PAPER, *INKS], "the paper and two inks are guesses"),
            ([ORDER], "the order of the inks is a guess"),
            ([*INKS, *INKS], "two inks are guesses"),
            (
                [PAPER, PROCESS, *INKS[:1], ORDER],
                "the paper, the process, one ink and the order of the inks are guesses",
            ),
        ],
    )
    def test_what_is_a_guess(self, guesses: list[Guess], words: str) -> None:
        assert guess_words(guesses) == words

    def test_guesses_come_first(self) -> None:
        first = "Not ready to judge: the paper and two inks are guesses."
        guesses = [PAPER, *INKS]
        assert headline({"total ink": NOT_READY}, [], guesses).startswith(f"{first} Tell the book")
        failing = headline({"total ink": FAIL}, [], guesses)
        assert failing == f"{first} Do not send yet: total ink is over the limit."

    def test_without_guesses_nothing_is_said_of_them(self) -> None:
        for verdict in (PASS, UNSURE, FAIL):
            assert "guess" not in headline({"total ink": verdict}, [])

    def test_every_guess_says_what_to_do(self, folder: Path) -> None:
        result = check_spread(read_book(folder), "01")
        about = [(guess.about, guess.name, guess.taken_as) for guess in result.guesses]
        assert about == [
            ("paper", "", "night-ferry/uncoated"),
            ("process", "", "sheet-fed offset"),
            ("ink", "Soot", "night-ferry/Soot"),
            ("ink", "Xyzzy", "#808080"),
            ("order", "", "Soot, Xyzzy"),
        ]
        assert all(guess.do.endswith(".") for guess in result.guesses)
        colours = {guess.name: guess.srgb8 for guess in result.guesses if guess.about == "ink"}
        assert colours == {ink.name: ink.solid_srgb8 for ink in result.inks}

    def test_a_book_that_was_told_has_none(self, folder: Path) -> None:
        path = folder / "book.toml"
        lines = path.read_text(encoding="utf-8").splitlines()
        path.write_text("\n".join(line for line in lines if not line.startswith("guessed")))
        assert check_spread(read_book(folder), "01").guesses == ()


class TestCommands:
    def test_check(self, folder: Path, capfd) -> None:  # type: ignore[no-untyped-def]
        assert run(["check", str(folder)]) == 0
        assert run(["check", str(folder), "--strict"]) == 1
        told = capfd.readouterr()
        assert "Not ready to judge: the paper, the process, two inks" in told.err
        assert CLEAR not in told.err + told.out
        report = folder / "reports" / "01"
        page = (report / "report.html").read_text(encoding="utf-8")
        assert "Tell the book first" in page
        assert CLEAR not in page
        assert page.index("Tell the book first") < page.index("Plan of the sheet")
        document = json.loads((report / "report.json").read_text(encoding="utf-8"))
        assert [one["name"] for one in document["guesses"]] == ["", "", "Soot", "Xyzzy", ""]
        assert document["verdict"] == "not ready"

    @pytest.mark.parametrize(("strict", "code"), [((), 0), (("--strict",), 1)])
    def test_batch_counts_it_apart(  # type: ignore[no-untyped-def]
        self, folder: Path, strict: tuple[str, ...], code: int, capfd
    ) -> None:
        assert run(["batch", str(folder), "--engine", "threads", *strict]) == code
        told = capfd.readouterr().err
        assert "Not ready to judge: the paper" in told
        assert "The only spread rests on guesses" in told
        assert "pass" not in told
        reports = folder / "reports"
        assert "Tell the book first" in (reports / "index.html").read_text(encoding="utf-8")
        row = json.loads((reports / "batch.json").read_text(encoding="utf-8"))["rows"][0]
        assert (row["state"], len(row["checked"]["guesses"])) == ("not ready", 5)
        (case, *_) = ElementTree.parse(reports / "junit.xml").iter("testcase")
        (outcome,) = case
        assert outcome.tag == ("failure" if strict else "skipped")
        assert outcome.attrib["message"].startswith("not ready: ")

    def test_a_kept_report_keeps_them(self, folder: Path) -> None:
        for _ in range(2):
            assert run(["batch", str(folder), "--engine", "threads"]) == 0
            document = json.loads((folder / "reports" / "batch.json").read_text(encoding="utf-8"))
            assert len(document["rows"][0]["checked"]["guesses"]) == 5

    def test_what_rests_on_guesses_cannot_be_waived(self, folder: Path) -> None:
        run(["batch", str(folder), "--engine", "threads"])
        document = json.loads((folder / "reports" / "batch.json").read_text(encoding="utf-8"))
        finding = document["rows"][0]["findings"][0]["finding"]
        with (folder / "book.toml").open("a", encoding="utf-8") as book:
            book.write(f'\n[[waive]]\ncheck = "total ink"\nrests_on = "{finding["rests_on"]}"\n'
                       'reason = "it will be right"\nby = "M. Quill"\n')  # fmt: skip
        assert run(["batch", str(folder), "--engine", "threads", "--strict"]) == 1
