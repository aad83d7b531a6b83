"""Sections that checks bring to the book: read, refused, merged and told like its own."""

import pickle
import tomllib
from pathlib import Path

import jsonschema
import pytest
from drawn_book import BOOK

from inkmix.base.errors import BookError
from inkmix.book.form import Form
from inkmix.book.keys import MERGED, FilePath, Key, Section, SpreadName, key, keyed
from inkmix.book.meant.inputs import named_files
from inkmix.book.read import book_schema, parse_book
from inkmix.book.values import NIGHT, SECTIONS, TOTAL_INK, WAIVABLE, Book


@keyed
class BarePaper:
    """How much of the paper may stay bare."""

    at_most_pct: float = key("largest share left bare", unit="%", low=0, high=100)
    tint: str = key("from where on it counts", words=("any", "visible"), default="visible")


@keyed
class Fold:
    """A fold that ink must not cross."""

    name: str = key("name of the fold")
    photo: FilePath | None = key("picture of it", default=None)
    more: tuple[FilePath, ...] = key("other pictures of it", default=())
    at_mm: tuple[float, float] | None = key("from and to", unit="mm", low=0, default=None)
    spreads: tuple[SpreadName, ...] = key("only on these spreads", default=())


BARE: Section[BarePaper | None] = Section(
    table="bare_paper", kind=BarePaper, about="how bare paper is looked at", absent=None,
    override=MERGED,
)  # fmt: skip
FOLDS: Section[tuple[Fold, ...]] = Section(
    table="fold", kind=Fold, about="one [[fold]] table for each fold", absent=()
)
ALL = (*SECTIONS, BARE, FOLDS)
NAMES = (*WAIVABLE, "bare paper")
AT_MOST = "\n[bare_paper]\nat_most_pct = 30\n"
COVER = '\n[[override]]\nspreads = ["cover"]\n'
FOLD = '\n[[fold]]\nname = "spine"\n'
WAIVER = '\n[[waive]]\ncheck = "bare paper"\nrests_on = "5f0c2a91d3be"\nreason = "x"\nby = "y"\n'


def read(text: str) -> Book:
    return parse_book(text.encode(), path=Path("/nowhere/book.toml"), sections=ALL, waivable=NAMES)


def fault(text: str) -> str:
    with pytest.raises(BookError) as caught:
        read(text)
    (found,) = caught.value.faults
    return str(found)


def test_a_section_is_read_into_its_own_dataclass() -> None:
    book = read(BOOK + AT_MOST)
    assert book.section(BARE) == BarePaper(at_most_pct=30.0, tint="visible")
    assert book.section(FOLDS) == ()
    assert pickle.loads(pickle.dumps(book)) == book


def test_without_it_holds_what_the_section_says() -> None:
    book = read(BOOK)
    assert (book.section(BARE), book.section(FOLDS), book.sections) == (None, (), {})
    assert book.section(TOTAL_INK).min_area_mm2 == book.min_area_mm2 == 1.0
    assert book.section(NIGHT) == book.nights == ()


def test_a_book_knows_no_section_that_nobody_brings() -> None:
    with pytest.raises(BookError, match="bare_paper: is not a key of a book"):
        parse_book((BOOK + AT_MOST).encode(), path=Path("/nowhere/book.toml"))


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("= 30", "= 130", "bare_paper.at_most_pct: is 130, but it lies from 0 to 100 %"),
        ("= 30", "= 0.3", "is 0.3 %, but percentages count from 0 to 100; write 30 if that was"),
        ("= 30", '= "30"', "a number is expected; write it without quotes"),
        ("at_most_pct = 30", "", "at_most_pct: is missing, but it is needed (largest share left"),
        ("at_most_pct", "at_most_pc", 'at_most_pc: is not a key of a book; did you mean "at'),
        ("= 30", '= 30\ntint = "visable"', 'one of any, visible; did you mean "visible"?'),
        ("[bare_paper]", "[[bare_paper]]", "write [bare_paper] in one bracket"),
        ("[bare_paper]", "[bare_papr]", 'bare_papr: is not a key of a book; did you mean "bare'),
    ],
)  # fmt: skip
def test_what_is_wrong_with_it_is_said_in_the_words_of_the_book(
    old: str, new: str, said: str
) -> None:
    with pytest.raises(BookError) as caught:
        read(BOOK + AT_MOST.replace(old, new))
    messages = [str(found) for found in caught.value.faults]
    assert any(said in message for message in messages), messages


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ("photo = '../x.png'\n", 'fold[1].photo: "../x.png" leaves the book'),
        ("photo = 'none.png'\n", "fold[1].photo: there is no file none.png"),
        ("at_mm = [5]\n", "fold[1].at_mm: has 1 values, but at least 2 are expected"),
        ("at_mm = [5, -1]\n", "fold[1].at_mm[2]: is -1, but it lies at least 0 mm"),
    ],
)
def test_keys_of_a_list_of_tables_are_held_against_the_same_rules(more: str, said: str) -> None:
    assert said in fault(BOOK + FOLD + more)


def test_a_list_of_tables_is_written_in_two_brackets() -> None:
    assert "write [[fold]] in two brackets" in fault(BOOK + FOLD.replace("[[fold]]", "[fold]"))


def test_an_override_gives_single_keys_of_one_that_is_merged() -> None:
    book = read(BOOK + AT_MOST + COVER + '[override.bare_paper]\ntint = "any"\n')
    assert book.for_spread("cover").section(BARE) == BarePaper(at_most_pct=30.0, tint="any")
    assert book.for_spread("1").section(BARE) == BarePaper(at_most_pct=30.0)
    said = fault(BOOK + COVER + '[override.bare_paper]\ntint = "any"\n')
    assert "override[1].bare_paper.at_most_pct: is missing, but it is needed (largest" in said
    assert said.endswith("for the book has no [bare_paper]")


def test_an_override_gives_a_list_of_tables_anew() -> None:
    book = read(BOOK + FOLD + COVER + "fold = []\n")
    assert (len(book.section(FOLDS)), book.for_spread("cover").section(FOLDS)) == (1, ())
    stranger = COVER + '[[override.fold]]\nname = "spine"\nspreads = ["back"]\n'
    assert 'fold[1].spreads[1]: "back" is not a spread of this override' in fault(BOOK + stranger)
    assert "bare_paper" in fault(BOOK + COVER)  # among what an override that says nothing may give


def test_tables_of_single_spreads_hold_there_only() -> None:
    book = read(BOOK + FOLD + 'spreads = ["bru\u0308cke"]\n')
    assert [fold.name for fold in book.for_spread("br\u00fccke").section(FOLDS)] == ["spine"]
    assert book.for_spread("1").section(FOLDS) == ()
    assert book.for_spread("1").digest == read(BOOK).digest
    assert book.digest != read(BOOK).digest


def test_its_findings_can_be_waived() -> None:
    assert read(BOOK + WAIVER).waivers[0].check == "bare paper"
    other = WAIVER.replace('"bare paper"', '"bare papr"')
    assert 'named tones, bare paper; did you mean "bare paper"?' in fault(BOOK + other)


def test_the_schema_and_the_table_of_keys_tell_it() -> None:
    schema = book_schema(sections=ALL, waivable=NAMES)
    validator = jsonschema.Draft202012Validator(schema)
    validator.check_schema(schema)
    good = BOOK + AT_MOST + FOLD + COVER + "bare_paper = {}\n" + WAIVER
    assert validator.is_valid(tomllib.loads(good))
    for old, new in (("= 30", "= 130"), ("at_most_pct", "at_most"), ('"bare paper"', '"bare"')):
        assert not validator.is_valid(tomllib.loads(good.replace(old, new)))
    at_most = schema["$defs"]["BarePaper"]["properties"]["at_most_pct"]
    assert (at_most["description"], at_most["maximum"]) == ("largest share left bare", 100)
    told = Form(sections=ALL, waivable=NAMES).tables
    assert told["bare_paper"]["at_most_pct"].range_words == "from 0 to 100 %"
    assert told["waive"]["check"].about == "total ink, night, named tones or bare paper"


def test_files_that_it_names_decide_the_answer_where_it_holds(tmp_path: Path) -> None:
    for name in ("spine.png", "back.png", "edge.png"):
        (tmp_path / name).touch()
    back = FOLD.replace("spine", "edge") + 'photo = "edge.png"\nspreads = ["back"]\n'
    text = BOOK + FOLD + 'photo = "spine.png"\nmore = ["back.png"]\n' + back
    book = parse_book(text.encode(), path=tmp_path / "book.toml", sections=ALL)
    assert named_files(book, "1") == (tmp_path / "spine.png", tmp_path / "back.png")
    assert named_files(book, "back")[-1] == tmp_path / "edge.png"
    wrong = text.replace('["back.png"]', '["back.png", "../x.png"]')
    with pytest.raises(BookError, match=r'fold\[1\].more\[2\]: "../x.png" leaves'):
        parse_book(wrong.encode(), path=tmp_path / "book.toml", sections=ALL)


@pytest.mark.parametrize(
    ("low", "high", "words"),
    [(0, 5, "from 0 to 5 mm"), (0.5, None, "at least 0.5 mm"), (None, 0, "at most 0 mm")],
)
def test_a_range_may_have_one_end(low: float | None, high: float | None, words: str) -> None:
    assert Key(about="", unit="mm", low=low, high=high).range_words == words


def test_a_name_has_a_hundred_characters_and_no_more() -> None:
    """They stand in file names, of which most systems take 255 bytes."""
    title = "Two panels"
    assert len(read(BOOK.replace(title, "a" * 100)).title) == 100
    assert "title: " in fault(BOOK.replace(title, "a" * 101))


def test_two_sections_of_one_name_are_refused() -> None:
    paper: Section[None] = Section(table="paper", kind=BarePaper, about="", absent=None)
    for wrong in ((BARE, BARE), (paper,)):
        with pytest.raises(ValueError, match="sections of one name"):
            book_schema(sections=wrong)
