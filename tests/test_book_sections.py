"""Sections that checks bring to the book: read, refused, merged and told like its own."""

import pickle
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import MISSING, fields, is_dataclass, replace
from pathlib import Path
from types import UnionType
from typing import Annotated, Any, Union, get_args, get_origin, get_type_hints

import jsonschema
import pytest
from drawn_book import BOOK

from inkmix.base.errors import BookError, Fault
from inkmix.book.form import Form
from inkmix.book.keys import (
    MERGED,
    FilePath,
    Key,
    PlatePath,
    Section,
    SpreadName,
    SpreadPath,
    key,
    keyed,
    keys_of,
)
from inkmix.book.meant.inputs import named_files
from inkmix.book.meant.mentions import mention_faults
from inkmix.book.models import schema_of
from inkmix.book.read import parse_book
from inkmix.book.values import NIGHT, TOTAL_INK, Book, Triple
from inkmix.book.view import View
from inkmix.checks import table


@keyed
class BarePaper:
    """How much of the paper may stay bare."""

    at_most_pct: float = key("largest share left bare", unit="%", low=0, high=100)
    tint: str = key("from where on it counts", words=("any", "visible"), default="visible")
    spreads: tuple[SpreadName, ...] = key("only on these spreads", default=())


@keyed
class Seen:
    """Where a fold is seen: a table inside a table."""

    mask: SpreadPath | None = key("picture of the place", default=None)
    plate: PlatePath | None = key("plates of the place", default=None)
    scans: frozenset[FilePath] = key("scans of it, in no order", default=frozenset())
    ink: str | None = key("the ink that shows it", names_inks=True, default=None)


@keyed
class Fold:
    """A fold that ink must not cross."""

    name: str = key("name of the fold")
    seen: Seen | None = key("where it is seen", default=None)
    others: tuple[Seen, ...] = key("where else", default=())
    within: str | float | None = key(
        "how near counts", words=("touching", "near"), unit="mm", default=None
    )
    lab: Triple | None = key("colour of its thread", default=None)
    mix: Mapping[str, float] | None = key("mix of its thread", names_inks=True, default=None)
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


def thread_is_told_once(view: View) -> Iterator[Fault]:
    for path, fold in view.tables("fold"):
        if {"lab", "mix"} <= fold.keys():
            yield view.fault(path, "has a thread of lab and mix", "one of them is needed")


OURS = table.book_form()
FORM = Form(
    sections=(*OURS.sections, BARE, FOLDS),
    rules=(*OURS.rules, thread_is_told_once),
    waivable=(*OURS.waivable, "bare paper"),
)
AT_MOST = "\n[bare_paper]\nat_most_pct = 30\n"
COVER = '\n[[override]]\nspreads = ["cover"]\n'
FOLD = '\n[[fold]]\nname = "spine"\n'
WAIVER = '\n[[waive]]\ncheck = "bare paper"\nrests_on = "5f0c2a91d3be"\nreason = "x"\nby = "y"\n'


def read(text: str) -> Book:
    return parse_book(text.encode(), path=Path("/nowhere/book.toml"), form=FORM)


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
        parse_book((BOOK + AT_MOST).encode(), path=Path("/nowhere/book.toml"), form=OURS)


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
        ("at_mm = [5]\n", "fold[1].at_mm: has 1 value, but exactly 2 are expected"),
        ("at_mm = [5, -1]\n", "fold[1].at_mm[2]: is -1, but it is at least 0 mm"),
        ("within = true\n", 'fold[1].within: is true, but it is "touching", "near" or a number'),
        ("within = 'nea'\n", '"touching", "near" or a number; did you mean "near"?'),
        ("seen = { mask = '../x.png' }\n", 'fold[1].seen.mask: "../x.png" leaves the book'),
        ("others = [{ mask = 'x.png' }]\n", "fold[1].others[1].mask: there is no file x.png"),
        ("seen = { ink = 'Fjrd' }\n", 'fold[1].seen.ink: "Fjrd" is not an ink of this book'),
        ("lab = [0.5, 0, 0]\n", "fold[1].lab: is [0.5, 0, 0], but L* counts from 0 to 100"),
        ("mix = { Soot = 120 }\n", "fold[1].mix.Soot: is 120, but tone values lie from 0 to"),
        ("mix = { Sot = 50 }\n", 'fold[1].mix.Sot: "Sot" is not an ink of this book; did you'),
        ("[[fold]]\nname = 'SPINE'\n", '"SPINE" is the name of an earlier fold already'),
        ("mix = { Soot = 9 }\nlab = [50, 0, 0]\n", "has a thread of lab and mix, but one of them"),
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


def test_a_single_table_may_hold_for_some_spreads_too() -> None:
    book = read(BOOK + AT_MOST + 'spreads = ["back"]\n')
    assert book.for_spread("back").section(BARE) == BarePaper(at_most_pct=30.0)
    assert book.for_spread("1").section(BARE) is None
    assert book.for_spread("1").digest == read(BOOK).digest
    (found,) = mention_faults(book, {"1", "bak"})
    assert str(found).startswith('book.toml: bare_paper.spreads[1]: "back" is not a spread')
    stranger = COVER + "[override.bare_paper]\nat_most_pct = 9\nspreads = ['back']\n"
    assert 'bare_paper.spreads[1]: "back" is not a spread of this override' in fault(
        BOOK + stranger
    )


def test_its_findings_can_be_waived() -> None:
    assert read(BOOK + WAIVER).waivers[0].check == "bare paper"
    other = WAIVER.replace('"bare paper"', '"bare papr"')
    assert 'named tones, bare paper; did you mean "bare paper"?' in fault(BOOK + other)


def test_the_schema_and_the_table_of_keys_tell_it() -> None:
    schema = schema_of(FORM)
    validator = jsonschema.Draft202012Validator(schema)
    validator.check_schema(schema)
    good = BOOK + AT_MOST + FOLD + COVER + "bare_paper = {}\n" + WAIVER
    assert validator.is_valid(tomllib.loads(good))
    for old, new in (("= 30", "= 130"), ("at_most_pct", "at_most"), ('"bare paper"', '"bare"')):
        assert not validator.is_valid(tomllib.loads(good.replace(old, new)))
    at_most = schema["$defs"]["BarePaper"]["properties"]["at_most_pct"]
    assert (at_most["description"], at_most["maximum"]) == ("largest share left bare", 100)
    told = FORM.tables
    assert told["bare_paper"]["at_most_pct"].range_words == "from 0 to 100 %"
    assert told["waive"]["check"].about == "total ink, night, named tones or bare paper"


def test_files_that_it_names_decide_the_answer_where_it_holds(tmp_path: Path) -> None:
    for name in ("spine.png", "back.png", "edge.png"):
        (tmp_path / name).touch()
    back = FOLD.replace("spine", "edge") + 'photo = "edge.png"\nspreads = ["back"]\n'
    text = BOOK + FOLD + 'photo = "spine.png"\nmore = ["back.png"]\n' + back
    book = parse_book(text.encode(), path=tmp_path / "book.toml", form=FORM)
    assert named_files(book, "1") == (tmp_path / "spine.png", tmp_path / "back.png")
    assert named_files(book, "back")[-1] == tmp_path / "edge.png"
    wrong = text.replace('["back.png"]', '["back.png", "../x.png"]')
    with pytest.raises(BookError, match=r'fold\[1\].more\[2\]: "../x.png" leaves'):
        parse_book(wrong.encode(), path=tmp_path / "book.toml", form=FORM)


def test_so_do_files_that_tables_inside_it_name(tmp_path: Path) -> None:
    for name in ("all.png", "a.png", "b.png"):
        (tmp_path / name).touch()
    inside = """
seen = { mask = "seen/{spread}.png" }
others = [{ mask = "all.png" }, { scans = ["b.png", "a.png"] }, { plate = "{spread}/{ink}.tif" }]
"""
    book = parse_book((BOOK + FOLD + inside).encode(), path=tmp_path / "book.toml", form=FORM)
    assert [path.relative_to(tmp_path).as_posix() for path in named_files(book, "1")] == [
        *("seen/1.png", "all.png", "a.png", "b.png"),
        *("1/Soot.tif", "1/Fjord.tif", "1/Rowan.tif"),
    ]


def test_a_mapping_that_nobody_would_look_into_is_refused() -> None:
    @keyed
    class Places:
        """Pictures by name."""

        by_name: Mapping[str, FilePath] = key("pictures")

    with pytest.raises(TypeError, match="by_name: a mapping holds no tables or paths"):
        keys_of(Places)


@pytest.mark.parametrize(
    ("low", "high", "words"),
    [
        (0, 5, "from 0 to 5 mm"),
        (0.5, None, "at least 0.5 mm"),
        (None, 0, "at most 0 mm"),
        (None, None, ""),
    ],
)
def test_a_range_may_have_one_end_or_none(
    low: float | None, high: float | None, words: str
) -> None:
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
            schema_of(Form(sections=wrong, rules=(), waivable=()))


def test_a_mix_over_the_ink_limit_is_told_wherever_it_stands() -> None:
    (note,) = read(BOOK + FOLD + "mix = { Soot = 90, Fjord = 90, Rowan = 90 }\n").notes
    assert "fold[1].mix: the mix adds up to 270 %, over the ink limit of 260 %" in note


def sample(kind: Any, seed: int) -> Any:
    """A value of a type: another one for another seed, be it in range or not."""
    origin, parts = get_origin(kind), get_args(kind)
    if origin in (Union, UnionType):
        return sample(parts[0], seed)
    if origin is Annotated:
        return f"word {seed}"
    if origin is tuple and parts[-1] is not ...:
        return tuple(sample(part, seed) for part in parts)
    if origin in (tuple, frozenset):
        return origin((sample(parts[0], seed),))
    if origin is Mapping:
        return {"Soot": sample(parts[1], seed)}
    if is_dataclass(kind):
        hints = get_type_hints(kind, include_extras=True)
        given = (f for f in fields(kind) if "key" in f.metadata or f.default is MISSING)
        return kind(**{f.name: sample(hints[f.name], seed) for f in given})
    return {float: seed / 2, int: seed, str: f"word {seed}", bool: bool(seed % 2)}[kind]


def variants(kind: Any) -> Iterator[Any]:
    """One value of a type, then values that differ from it in one key each, however deep."""
    origin, parts = get_origin(kind), get_args(kind)
    inner = parts[0] if origin in (tuple, Union, UnionType) else kind
    if is_dataclass(inner) and keys_of(inner):
        hints = get_type_hints(inner, include_extras=True)
        first = sample(inner, 1)
        made = [first]
        for one in keys_of(inner).values():
            for field in one.parts or (one.field,):
                others = list(variants(hints[field]))[1:]
                made += [replace(first, **{field: other}) for other in others]
    else:
        inner, made = kind, [sample(kind, 1), sample(kind, 2)]
    yield from ((one,) for one in made) if origin is tuple and inner is not kind else made


def test_every_key_that_holds_for_a_spread_changes_the_digest_of_its_book() -> None:
    """Else a batch would take the report of another book for that of this one."""
    book = read(BOOK)
    hints = get_type_hints(Book, include_extras=True)
    own = {one.field: hints[one.field] for one in keys_of(Book).values()}
    told: dict[str, list[str]] = {}
    for name, kind in own.items():
        if name not in ("overrides", "waivers"):
            made = variants(kind)
            told[name] = [replace(book, **{name: value}).digest for value in made]
    for section in FORM.sections:
        made = variants(section.key.kind)
        told[section.table] = [
            replace(book, sections={section.table: value}).digest for value in made
        ]
    for name, digests in told.items():
        assert len(set(digests)) == len(digests), name
    assert len(told["total_ink"]) == 1 + len(FORM.tables["total_ink"])
    assert len(told["night"]) == len(FORM.tables["night"]) + len(FORM.tables["night.rule"])
    assert len({digests[0] for digests in told.values()}) == len(told)


def test_nothing_else_changes_the_digest() -> None:
    book = read(BOOK + FOLD + COVER + "fold = []\n")
    assert book.digest == replace(read(BOOK + FOLD + WAIVER), path=Path("/x"), notes=("x",)).digest
    assert book.for_spread("cover").digest == read(BOOK).digest
    assert read(BOOK + "[total_ink]\nmin_area_mm2 = 1.0\n").digest == read(BOOK).digest


def test_whoever_reads_a_book_says_what_it_may_hold() -> None:
    """A form that is forgotten would refuse the tables of a check, or pass over its rules."""
    for told in ({}, {"sections": ()}, {"sections": (), "waivable": ()}):
        with pytest.raises(TypeError, match="required keyword-only arg"):
            Form(**told)
    with pytest.raises(TypeError, match="form"):
        parse_book(BOOK.encode(), path=Path("/nowhere/book.toml"))  # type: ignore[call-arg]
