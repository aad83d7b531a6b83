"""The functions for people who write Python: each is there, typed, loaded late, and does what its
example says."""

import ast
import inspect
import shutil
import textwrap
from pathlib import Path

import pytest
from drawn_book import BOOK, draw_book
from test_cli_every_option import CHART

import inkmix
from inkmix.base.errors import UsageError
from inkmix.checks.finding import VERDICTS
from inkmix.jobs.books import refuse_counts

INIT = Path(inkmix.__file__)
VALUES = {"Pictures", "PaletteRequest"}  # what is asked of a function, where that is much
BY_HAND = {"check_spread"}  # called by a test of its own below
FUNCTIONS = sorted(set(inkmix.__all__) - VALUES)


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """A book of three inks that is called as in the examples, plates without a book, a chart."""
    home = tmp_path_factory.mktemp("functions")
    draw_book(home / "night-ferry", BOOK, spreads=("night-ferry",))
    shutil.copytree(home / "night-ferry" / "plates" / "night-ferry", home / "loose")
    (home / "chart.txt").write_text(CHART, encoding="utf-8")
    return home


def example_of(name):
    """The lines of a docstring after `::` under Examples."""
    doc = inspect.getdoc(getattr(inkmix, name)) or ""
    _, _, rest = doc.partition("Examples\n--------\n::\n")
    return textwrap.dedent(rest)


@pytest.mark.parametrize("name", sorted(set(FUNCTIONS) - BY_HAND))
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
    with pytest.raises(UsageError, match="--inks 4: is a number, but names of inks are needed"):
        refuse_counts(("185", "4"), known=("Soot", "185"))
