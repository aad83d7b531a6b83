"""Findings that somebody accepts, as a book says them; a batch of them is tested elsewhere."""

import tomllib
from pathlib import Path

import jsonschema
import pytest
from drawn_book import BOOK, command, draw_book

from inkmix.base.errors import BookError
from inkmix.book.meant.plates import look_into
from inkmix.book.models import schema_of
from inkmix.book.read import parse_book
from inkmix.book.values import Book, Waiver
from inkmix.checks import table
from inkmix.checks.night.facts import NIGHT
from inkmix.checks.tones.facts import NAMED_TONES
from inkmix.checks.total_ink.facts import TOTAL_INK
from inkmix.jobs.books import read_book

WAIVER = """
[[waive]]
spread = "front"
check = "total ink"
name = "area 1"
rests_on = "5f0c2a91d3be"
reason = "the printer agreed: small area"
by = "M. Quill"
"""


def read(text: str) -> Book:
    return parse_book(text.encode(), path=Path("/nowhere/book.toml"), form=table.book_form())


def waived(old: str, new: str) -> str:
    assert WAIVER.count(old) == 1, old
    return BOOK + WAIVER.replace(old, new)


def test_all_that_a_waiver_says() -> None:
    assert read(BOOK + WAIVER).waivers == (
        Waiver(
            spread="front",
            check="total ink",
            name="area 1",
            rests_on="5f0c2a91d3be",
            reason="the printer agreed: small area",
            by="M. Quill",
        ),
    )


def test_what_may_be_left_out_and_several() -> None:
    short = WAIVER.replace('spread = "front"\n', "").replace('name = "area 1"\n', "")
    first, second = read(BOOK + WAIVER + short).waivers
    assert (first.spread, first.name, second.spread, second.name) == (
        *("front", "area 1"),
        *(None, None),
    )


@pytest.mark.parametrize("check", [TOTAL_INK, NIGHT, NAMED_TONES])
def test_every_check_can_be_named_as_findings_name_it(check: str) -> None:
    (waiver,) = read(waived("total ink", check)).waivers
    assert waiver.check == check


def test_names_of_spreads_in_any_unicode_form() -> None:
    (waiver,) = read(waived("front", "Bru\u0308cke")).waivers
    assert waiver.spread == "Br\u00fccke"


@pytest.mark.parametrize(
    ("old", "new", "key", "said"),
    [
        ("total ink", "total inks", "check", 'did you mean "total ink"?'),
        ('check = "total ink"\n', "", "check", "is missing"),
        ('rests_on = "5f0c2a91d3be"\n', "", "rests_on", "is missing"),
        ("5f0c2a91d3be", "5f0c2a91d3b", "rests_on", "copied from the block"),
        ("5f0c2a91d3be", "5F0C2A91D3BE", "rests_on", "copied from the block"),
        ("5f0c2a91d3be", "5f0c2a91d3be\\n", "rests_on", "copied from the block"),
        ('"5f0c2a91d3be"', "123456789012", "rests_on", 'write "123456789012"'),
        ('reason = "the printer agreed: small area"\n', "", "reason", "why the finding is"),
        ("the printer agreed: small area", "  ", "reason", "some text is needed"),
        ("M. Quill", "", "by", "some text is needed"),
        ('by = "M. Quill"\n', "", "by", "who accepts it"),
        ("by =", "from =", "from", "is not a key of a book"),
        ('"front"', "3", "spread", 'write "3"'),
        ("[[waive]]", "[waive]", "waive", "write [[waive]] in two brackets"),
    ],
)
def test_each_fault_at_its_line_and_key(old: str, new: str, key: str, said: str) -> None:
    with pytest.raises(BookError) as caught:
        read(waived(old, new))
    found = [str(fault) for fault in caught.value.faults]
    (fault,) = (text for text in found if said in text)
    place = "waive" if key == "waive" else f"waive[1].{key}"
    assert fault.startswith("book.toml, line ")
    assert f": {place}: " in fault
    # a key under another name is also one that is missing
    assert len(found) == (2 if key == "from" else 1)


def test_the_schema_knows_them() -> None:
    validator = jsonschema.Draft202012Validator(schema_of(table.book_form()))
    assert validator.is_valid(tomllib.loads(BOOK + WAIVER))
    for old, new in (("M. Quill", " "), ("5f0c2a91d3be", "5f0c"), ("total ink", "ink")):
        assert not validator.is_valid(tomllib.loads(waived(old, new)))


def test_a_waiver_of_a_spread_that_is_gone_keeps_no_spread_from_being_found(tmp_path: Path) -> None:
    """Whoever counts waivers says it."""
    book = read_book(draw_book(tmp_path / "book", waived('"front"', '"frnt"')))
    found = look_into(book)
    assert [(spread.name, spread.notes) for spread in found.spreads] == [("front", ())]
    assert found.notes == ()


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("xx", "xx", "1 waiver for this spread"),
        ('spread = "front"\n', "", "1 waiver for this spread"),
        ('"front"', '"back"', ""),
    ],
)
def test_check_says_that_it_does_not_count_them(
    old: str, new: str, said: str, tmp_path: Path, capfd
) -> None:
    """Exit code, verdict and report are as without: accepted is not the same as passed."""
    text = BOOK.replace("260", "120")
    folder = draw_book(
        tmp_path / "with", text + WAIVER.replace(old, new), spreads=("front", "back")
    )
    plain = draw_book(tmp_path / "without", text, spreads=("front", "back"))
    ran = command(capfd, "check", folder, "--spread", "front")
    assert ran.code == command(capfd, "check", plain, "--spread", "front").code == 1
    notes = [line for line in ran.err.splitlines() if "waiver" in line]
    assert len(notes) == bool(said)
    assert all(said in note and "inkmix batch" in note for note in notes)
    reports = [book / "reports/front/report.json" for book in (folder, plain)]
    assert reports[0].read_bytes() == reports[1].read_bytes()
