"""The book of many spreads is what it says: damage is refused, faults fail, the rest passes.

Silver: verdicts are those of the check itself; that what is planted fails, and nothing else, is
known from what was drawn.
"""

import numpy as np
import pytest
import tifffile
from many_spreads import OTHER_SIZE, OVERWRITTEN, TRUNCATED, WAYS, draw_spreads, main

from inkmix.base.errors import PlateError
from inkmix.checks.finding import FAIL, PASS
from inkmix.checks.night.facts import NIGHT
from inkmix.checks.total_ink.facts import TOTAL_INK
from inkmix.demo.tones import INKS
from inkmix.jobs.books import read_book
from inkmix.jobs.check import check_spread

SIZE = {"width_px": 300, "height_px": 200}
COUNT = 10
SAID = {TRUNCATED: "is cut off", OVERWRITTEN: "is damaged", OTHER_SIZE: "px"}


@pytest.fixture(scope="module")
def drawn(tmp_path_factory):
    """Ten spreads, three of them damaged, and what the damage is."""
    folder = tmp_path_factory.mktemp("many")
    return folder, draw_spreads(folder, count=COUNT, **SIZE)


def files(folder):
    return {path.relative_to(folder): path.read_bytes() for path in folder.rglob("*.tif")}


def test_every_plate_is_there_and_no_two_are_the_same(drawn):
    folder, _ = drawn
    names = {f"plates/{n}/{ink}.tif" for n in range(1, COUNT + 1) for ink in INKS}
    assert {path.as_posix() for path in files(folder)} == names
    assert len(set(files(folder).values())) == len(names)


def test_what_is_damaged_is_refused_by_name(drawn):
    folder, damage = drawn
    book = read_book(folder / "book.toml")
    assert [one.way for one in damage] == list(WAYS)
    for one in damage:
        with pytest.raises(PlateError) as refused:
            check_spread(book, one.spread)
        assert f"{one.spread}/{one.ink}.tif" in str(refused.value)
        assert SAID[one.way] in str(refused.value)


def test_what_is_planted_fails_and_the_rest_passes(drawn):
    folder, damage = drawn
    book = read_book(folder / "book.toml")
    sound = set(map(str, range(1, COUNT + 1))) - {one.spread for one in damage}
    planted = {"3": TOTAL_INK, "6": NIGHT}
    assert sound & set(planted)
    for spread in sound:
        failed = {f.check for f in check_spread(book, spread).findings if f.verdict == FAIL}
        assert failed == ({planted[spread]} if spread in planted else set())


def test_one_seed_gives_one_book_and_another_a_different_one(drawn, tmp_path):
    folder, damage = drawn
    again = draw_spreads(tmp_path / "again", count=COUNT, **SIZE)
    other = draw_spreads(tmp_path / "other", count=COUNT, **SIZE, seed=1)
    assert files(tmp_path / "again") == files(folder)
    assert not set(files(tmp_path / "other").values()) & set(files(folder).values())
    assert [one.spread for one in again] == [one.spread for one in damage]
    assert [one.way for one in other] == list(WAYS)


def test_grain_lies_on_inked_pixels_only(tmp_path):
    for name, grainy in (("flat", False), ("grainy", True)):
        draw_spreads(tmp_path / name, count=1, damaged=0, **SIZE, grainy=grainy)
    flat, grainy = (
        np.stack([tifffile.imread(tmp_path / f"{name}/plates/1/{ink}.tif") for ink in INKS])
        for name in ("flat", "grainy")
    )
    assert (grainy[flat == 255] == 255).all()
    steps = grainy.astype(int)[flat < 230] - flat[flat < 230]
    assert 3.5 < steps.std() < 4.5  # 4 were asked for; full ink cuts a few off
    result = check_spread(read_book(tmp_path / "grainy/book.toml"), "1")
    assert {finding.verdict for finding in result.findings} == {PASS}


def test_command_line_says_what_is_damaged(tmp_path, capsys):
    sizes = [f"--{name.replace('_', '-')}={value}" for name, value in SIZE.items()]
    main([str(tmp_path), "--count", "3", "--damaged", "1", *sizes])
    assert capsys.readouterr().out.endswith(": truncated\n")
    assert (tmp_path / "plates/3/Fog.tif").exists()


def test_more_damage_than_spreads_is_refused(tmp_path):
    with pytest.raises(ValueError, match="3 of 2 spreads"):
        draw_spreads(tmp_path, count=2)
