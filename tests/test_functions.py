"""The functions for people who write Python: each is there, typed, loaded late, and does what its
example says."""

import ast
import inspect
import shutil
import textwrap
from pathlib import Path

import numpy as np
import pytest
from drawn_book import BOOK, MEASURED, draw_book
from printed_form import readings_file
from test_cli_every_option import CHART

import inkmix
from inkmix.base.errors import UsageError
from inkmix.checks import table
from inkmix.checks.finding import VERDICTS
from inkmix.jobs import ranges
from inkmix.jobs.refusals import refuse_counts

INIT = Path(inkmix.__file__)
VALUES = {"Pictures", "PaletteRequest"}  # what is asked of a function, where that is much
FUNCTIONS = sorted(set(inkmix.__all__) - VALUES)


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """A book of three inks that is called as in the examples, plates without a book, a chart."""
    home = tmp_path_factory.mktemp("functions")
    draw_book(home / "night-ferry", BOOK, spreads=("night-ferry",))
    shutil.copytree(home / "night-ferry" / "plates" / "night-ferry", home / "loose")
    draw_book(home / "day-ferry", MEASURED, spreads=("day-ferry",))
    (home / "chart.txt").write_text(CHART, encoding="utf-8")
    steps = [[tone * (k == ink) for k in range(5)] for ink in range(3) for tone in (50, 100)]
    readings_file(home / "readings.txt", np.array([[0] * 5, *steps, [80, 60, 0, 0, 0.0]]))
    return home


def example_of(name):
    """The lines of a docstring after `::` under Examples."""
    doc = inspect.getdoc(getattr(inkmix, name)) or ""
    _, _, rest = doc.partition("Examples\n--------\n::\n")
    return textwrap.dedent(rest)


@pytest.mark.parametrize("name", FUNCTIONS)
def test_the_example_holds(name, folder, monkeypatch):
    monkeypatch.chdir(folder)
    example = example_of(name)
    assert f"inkmix.{name}(" in example
    assert "assert " in example
    exec(compile(example, name, "exec"), {"inkmix": inkmix, "Path": Path})


def test_a_spread_is_checked(folder):
    book = inkmix.read_book(folder / "night-ferry")
    result = inkmix.check_spread(book, "night-ferry")
    assert result.verdict in VERDICTS
    assert result.spread == "night-ferry"
    assert result.out_of_srgb_pct <= 100


@pytest.mark.parametrize("name", FUNCTIONS)
def test_its_docstring_says_what_it_takes_and_what_it_refuses(name):
    doc = inspect.getdoc(getattr(inkmix, name)) or ""
    assert "Raises\n------" in doc
    documented = doc.partition("Parameters\n----------")[2].partition("Raises\n------")[0]
    unsaid = [
        parameter.name
        for parameter in inspect.signature(getattr(inkmix, name)).parameters.values()
        if not _is_named(documented, parameter.name)
    ]
    assert set(unsaid) <= {"book", "folder"}  # these say it themselves


def _is_named(documented, name):
    heads = [line.partition(" : ")[0] for line in documented.splitlines() if " : " in line]
    return any(name in head.split(", ") for head in heads)


def test_type_checkers_and_python_see_the_same_names(monkeypatch):
    (typed,) = [
        node for node in ast.parse(INIT.read_text("utf-8")).body if isinstance(node, ast.If)
    ]
    seen = {alias.asname: node.module for node in typed.body for alias in node.names}
    assert seen == inkmix._HOMES
    assert set(inkmix.__all__) == set(seen)
    for name in seen:
        monkeypatch.delitem(vars(inkmix), name, raising=False)  # as if nobody had asked for it
    assert set(seen) <= set(dir(inkmix))


def test_a_name_that_is_not_there_is_refused():
    with pytest.raises(AttributeError, match="module 'inkmix' has no attribute 'proof'"):
        inkmix.__getattr__("proof")


def test_a_number_is_no_name_of_an_ink_unless_one_is_called_so():
    refuse_counts(("185", "Soot"), known=("Soot", "185"))
    with pytest.raises(UsageError, match="inks 4: is a number, but names of inks are needed"):
        refuse_counts(("185", "4"), known=("Soot", "185"))


NO_BOOK = (
    "check_spread", "check_book", "predict_spread", "preview_spread", "orders_of_book",
    "sheet_of_book", "mix_ground", "mix_darkest", "book_as_printed",
)  # fmt: skip


@pytest.mark.parametrize("name", NO_BOOK)
def test_a_folder_is_no_book(name, folder):
    with pytest.raises(UsageError, match=r"book: is 'night-ferry', but a Book is needed; read one"):
        getattr(inkmix, name)("night-ferry")


@pytest.fixture(scope="module")
def book(folder):
    return inkmix.read_book(folder / "night-ferry")


def palette(book, **asked):
    return inkmix.choose_inks(
        book, inkmix.PaletteRequest(**{"choose": 1, "with_plates": False} | asked)
    )


@pytest.mark.parametrize(
    ("call", "said"),
    [
        *(
            (lambda b, n=n: inkmix.check_book(b, workers=n), f"workers: is {n}, but it must be a")
            for n in (0, -3, 1000, 2.5, True)
        ),
        *(
            (lambda b, n=n: inkmix.mix_darkest(b, most=n), f"most: is {n}, but it must be a whole")
            for n in (99, 0, -1)
        ),
        (lambda b: inkmix.mix_colours(b, "#3a3d4c", most=0), "number from 1 to 50"),
        *(
            (lambda b, n=n: inkmix.preview_spread(b, longest_px=n), f"longest_px: is {n}, but it")
            for n in (0, -3, 1.5)
        ),
        (lambda b: inkmix.check_spread(b, tries=0), "tries: is 0, but it must be"),
        (lambda b: inkmix.check_spread(b, 5), "spread: is 5, but a text is needed"),
        (lambda b: inkmix.check_spread(b, checks=[5]), "checks: is 5, but a text is needed"),
        (lambda b: inkmix.check_spread(b, picture=5), "picture: is 5, but a path is needed"),
        (lambda b: inkmix.check_book(b, to=5), "to: is 5, but a path is needed"),
        (lambda b: inkmix.check_book(b, engine="oxen"), 'engine: there is no engine "oxen"; there'),
        (lambda b: inkmix.mix_colours(b, [5]), "colour 1: is 5, but a text is needed, #rrggbb"),
        *(
            (lambda b, n=n: inkmix.mix_ground(b, limit_pct=n), f"ink limit: is {n}, but it must be")
            for n in (float("inf"), float("nan"), 49, 900)
        ),
        *(
            (lambda b, n=n: palette(b, limit_pct=n), "from 50 to 800 %")
            for n in (float("inf"), float("nan"), 1e9)
        ),
        (lambda b: inkmix.mix_ground(b, step_pct="5"), 'step: is "5", but it must be a number'),
        (lambda b: palette(b, choose="1"), 'to choose: is "1", but it must be a whole number'),
        (lambda b: palette(b, fixed=[1]), "fixed: is 1, but a text is needed"),
        (lambda b: inkmix.write_demo("nan", ppi=float("nan")), "ppi: is nan, but it must be"),
        (lambda b: inkmix.write_demo("seed", seed=-1), "seed: is -1, but it must be"),
        (lambda b: inkmix.inks_at_hand(status="M"), 'status: is "M", but it must be one of E, T'),
        (lambda b: inkmix.sheet_of_book(b, view="gray"), 'view: is "gray", but it must be one of'),
        (
            lambda b: inkmix.predict_spread(b, swaps={"Soot": "Flaer"}),
            "ink Soot=Flaer: there is no ink Flaer; did you mean",
        ),
        (lambda b: inkmix.predict_spread(b, pictures=inkmix.Pictures(to=5)), "to: is 5, but a"),
    ],
)
def test_what_cannot_be_is_said_in_words(call, said, book, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    with pytest.raises(UsageError) as caught:
        call(book)
    assert said in str(caught.value)
    assert list(tmp_path.iterdir()) == []


def test_a_text_is_a_path(folder, book, tmp_path):
    inkmix.write_demo(str(tmp_path / "demo"), ppi=20)
    assert (tmp_path / "demo" / "book.toml").exists()
    inkmix.check_spread(book, checks="night", picture=str(tmp_path / "print.png"))
    assert (tmp_path / "print.png").exists()
    inkmix.check_book(book, to=str(tmp_path / "reports"), engine="threads")
    assert (tmp_path / "reports" / "index.html").exists()
    pictures = inkmix.Pictures(to=str(tmp_path / "soot.tif"), inks="Soot")
    assert inkmix.predict_spread(book, pictures=pictures).written[0].path.name == "soot.tif"


def test_one_name_is_not_taken_apart_into_letters(book):
    (paper,) = inkmix.inks_at_hand("Soot", paper="night-ferry/uncoated")
    assert [ink.short_name for ink in paper.inks] == ["Soot"]
    ground = inkmix.mix_ground(book, inks="Soot")
    assert set(ground.aims.inks) == {"Soot"}
    (answer,) = inkmix.mix_colours(ground, "#3a3d4c").answers
    assert answer.text == "#3a3d4c"
    best = palette(book, fixed="Soot").choice.ranked[0]
    assert "Soot" in best.inks
    assert len(best.inks) == 2


def test_the_ends_of_a_range_lie_in_it():
    for allowed in (ranges.MIXES, ranges.SHEET_PPI):
        assert allowed.faults(int(allowed.low)) == allowed.faults(int(allowed.high)) == ()
        assert allowed.faults(int(allowed.low) - 1) != ()
        assert allowed.faults(int(allowed.high) + 1) != ()


@pytest.mark.parametrize("checks", [["named-tones"], "named-tones", ("named tones",)])
def test_a_check_is_named_as_the_command_line_names_it(book, checks):
    assert table.asked_for(checks) == {"named tones"}


@pytest.mark.parametrize("function", [inkmix.check_spread, inkmix.check_book])
def test_docstrings_list_the_checks_and_show_no_machinery(function):
    assert "total-ink, night, named-tones" in function.__doc__
    assert " at 0x" not in str(inspect.signature(function))
    assert "ScratchRoom(" not in str(inspect.signature(function))
