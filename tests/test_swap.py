"""Another ink on a plate: what is swapped, what stays, and what is refused."""

import shutil
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from inkmix.base.errors import UsageError
from inkmix.base.shipped import swatches_folder
from inkmix.book.meant.condition import resolve_condition
from inkmix.book.meant.plates import find_spread
from inkmix.book.meant.sources import spread_sources
from inkmix.book.meant.swap import named_as_printed, with_swapped
from inkmix.book.values import Book, InkSpec, NamedTone, Override, PaperSpec, PlatesSpec, PressSpec
from inkmix.cli.arguments import SWAPS, ink_pairs
from inkmix.cli.main import run
from inkmix.colour.colorimetry import xyz100_to_lab
from inkmix.demo.write import write_demo
from inkmix.jobs.books import book_as_printed
from inkmix.jobs.candidates import swapped
from inkmix.press.condition import PressCondition
from inkmix.press.swatches.by_name import load_ink, load_paper

FERRY = ("Soot", "Fjord", "Rowan", "Brass", "Fog")


def ferry(*names: str, **more: object) -> Book:
    """A book in inks of the Night Ferry; no file of it is read."""
    inks = tuple(InkSpec(name=name, swatch=f"night-ferry/{name}") for name in names or FERRY)
    book = Book(
        path=Path("/nowhere/book.toml"),
        folder=Path("/nowhere"),
        title="Ferry",
        paper=PaperSpec(swatch="night-ferry/uncoated"),
        inks=inks,
        press=PressSpec(process="sheet-fed offset"),
        plates=PlatesSpec(pattern="{ink}.tif"),
    )
    return replace(book, **more)


def solid(condition: PressCondition, name: str) -> np.ndarray:
    """Lab of a solid alone."""
    names = [ink.name for ink in condition.inks]
    return condition.lab(100.0 * np.eye(len(names))[names.index(name)])


# --- what a swap does ----------------------------------------------------------------------------


@pytest.mark.parametrize("new", ["Rust", "night-ferry/Rust"])
def test_the_plate_keeps_its_name_and_prints_in_the_new_ink(new: str) -> None:
    before, swapped = ferry(), with_swapped(ferry(), {"Rowan": new})
    assert swapped.ink_names == FERRY
    assert [ink.swatch for ink in swapped.inks if ink.name == "Rowan"] == ["night-ferry/Rust"]
    old, other = resolve_condition(before), resolve_condition(swapped)
    rust = load_ink("night-ferry/Rust", paper=old.paper)
    assert solid(other, "Rowan") == pytest.approx(solid_of(rust), abs=0.05)
    for name in ("Soot", "Fjord", "Brass", "Fog"):
        assert solid(other, name) == pytest.approx(solid(old, name), abs=1e-6)


def solid_of(ink: object) -> np.ndarray:
    from inkmix.colour.colorimetry import xyz100_to_lab

    return xyz100_to_lab(ink.solid_xyz100)  # type: ignore[attr-defined]


def test_mixtures_without_the_swapped_ink_stay_measured() -> None:
    # The swatches hold all overprints of the five inks: those of the other four still count.
    old, other = (
        resolve_condition(book) for book in (ferry(), with_swapped(ferry(), {"Rowan": "Rust"}))
    )
    assert old.patches is not None
    assert other.patches is not None
    held = (other.patches.tone_pct > 0).any(axis=0)
    assert held.tolist() == [True, True, False, True, True]
    without = np.array([100.0, 100.0, 0.0, 0.0, 0.0])
    assert other.lab(without) == pytest.approx(old.lab(without), abs=0.5)
    with_it = np.array([100.0, 0.0, 100.0, 0.0, 0.0])
    assert other.expected_error(with_it).de00 > 3 * old.expected_error(with_it).de00


def test_measured_mixtures_of_a_chart_do_not_go_with_the_new_ink(tmp_path: Path) -> None:
    # A chart names its columns after the inks of the book: "Rowan" there is not Rust.
    source = swatches_folder() / "night-ferry" / "uncoated-overprints.txt"
    shutil.copy(source, tmp_path / "mixes.txt")
    press = PressSpec(process="sheet-fed offset", overprints="mixes.txt")
    book = ferry(folder=tmp_path, path=tmp_path / "book.toml", press=press)
    swapped = resolve_condition(with_swapped(book, {"Rowan": "Rust"}))
    assert swapped.patches is not None
    assert not (swapped.patches.tone_pct[:, 2] > 0).any()
    two = replace(book, inks=book.inks[1:3])
    assert resolve_condition(with_swapped(two, {"Rowan": "Rust"})).patches is None


def test_what_was_said_of_the_old_ink_does_not_hold_for_the_new() -> None:
    told = InkSpec(
        name="Rowan", swatch="night-ferry/Rowan", opacity=0.8, tone_value_increase_pct=30,
        character=frozenset({"metallic"}), guessed=True, polarity="dark is ink", channel=2,
        angle_deg=75, ruling_lpi=133, press_pass=2,
    )  # fmt: skip
    book = ferry(inks=(ferry().inks[0], told))
    new = with_swapped(book, {"Rowan": "Rust"}).inks[1]
    assert (new.opacity, new.tone_value_increase_pct, new.guessed) == (None, None, False)
    assert new.character == frozenset()
    assert (new.polarity, new.channel, new.angle_deg) == ("dark is ink", 2, 75)
    assert (new.ruling_lpi, new.press_pass) == (133, 2)


def test_a_screen_colour_is_taken_as_a_hint() -> None:
    condition = resolve_condition(with_swapped(ferry(), {"Fog": "#A0C0D8"}))
    assert condition.hints == ("Fog",)


def test_two_inks_change_places() -> None:
    swaps = {"Rowan": "Brass", "Brass": "Rowan"}
    old, new = resolve_condition(ferry()), resolve_condition(with_swapped(ferry(), swaps))
    assert solid(new, "Rowan") == pytest.approx(solid(old, "Brass"), abs=0.05)
    assert solid(new, "Brass") == pytest.approx(solid(old, "Rowan"), abs=0.05)
    assert named_as_printed(with_swapped(ferry(), swaps), swaps).ink_names == (
        "Soot", "Fjord", "Rowan", "Brass", "Fog",
    )  # fmt: skip
    # Rowan is still printed before Brass, as the book has it, and so their mixtures were measured.
    assert new.patches is not None
    assert (new.patches.tone_pct > 0).any(axis=0).all()


def test_a_second_hit_follows_its_plate_and_one_that_arises_is_known() -> None:
    twice = replace(ferry().inks[0], name="Soot 2", plate="Soot", hit_of="Soot")
    book = ferry(inks=(*ferry().inks, twice))
    swaps = {"Soot": "Mussel"}
    swapped = with_swapped(book, swaps)
    assert [ink.swatch for ink in swapped.inks if ink.plate or ink.name == "Soot"] == [
        "night-ferry/Mussel"
    ] * 2
    assert swapped.inks[-1].hit_of == "Soot"
    named = named_as_printed(swapped, swaps)
    # A green, lighter than Fjord, comes after it; the second hit stays last.
    assert named.ink_names == ("Fjord", "Mussel", "Rowan", "Brass", "Fog", "Mussel 2")
    note, hue = swapped.notes
    assert hue.startswith("Mussel comes with inkmix and is invented")
    assert note.startswith("Mussel is laid down where it usually is, not in the place of Soot: ")
    assert (named.inks[-1].plate, named.inks[-1].hit_of) == ("Mussel", "Mussel")
    doubled = with_swapped(ferry(), {"Fog": "Soot"})
    # The ink is there already: both its hits come where it is printed.
    assert doubled.ink_names == ("Soot", "Fog", "Fjord", "Rowan", "Brass")
    assert doubled.inks[1].hit_of == "Soot"
    assert named_as_printed(doubled, {"Fog": "Soot"}).ink_names[:2] == ("Soot", "Soot 2")


def test_tones_of_a_book_as_it_prints_are_mixes_of_what_prints() -> None:
    tone = NamedTone(name="lamp", mix_pct={"Rowan": 60, "Fjord": 80}, intended_srgb="#5a3a40")
    book = book_as_printed(ferry(sections={"tones": (tone,)}), swaps={"Rowan": "Rust"})
    assert "Rust" in book.ink_names
    assert book.tones[0].mix_pct == {"Rust": 60, "Fjord": 80}


def test_inks_of_overridden_spreads_are_swapped_as_well() -> None:
    cover = ferry("Soot", "Rowan", paper=PaperSpec(swatch="night-ferry/coated"))
    book = ferry(overrides=(Override(spreads=("cover",), book=cover),))
    swapped = with_swapped(book, {"Rowan": "Rust"})
    assert swapped.for_spread("cover").inks[1].swatch == "night-ferry/Rust"
    assert swapped.for_spread("p1").inks[2].swatch == "night-ferry/Rust"


def test_an_ink_of_ours_is_said_to_be_a_hue_and_of_another_paper() -> None:
    """Rust is invented, and was never printed on a paper that is told by its Lab."""
    own = ferry(paper=PaperSpec(lab=(94, 0, 2), paper_class="uncoated"))
    hue, guess = with_swapped(own, {"Rowan": "Rust"}).notes
    assert hue.startswith("Rust comes with inkmix and is invented: a hue to ask your printer for")
    assert guess.startswith("Rust is known on night-ferry/coated, night-ferry/newsprint and")
    assert [note for note in with_swapped(ferry(), {"Rowan": "Rust"}).notes if "Rust" in note] == [
        hue
    ]
    assert with_swapped(ferry(), {"Rowan": "#a04030"}).notes == ()


def test_nothing_swapped_is_the_same_book() -> None:
    book = ferry(sections={"tones": (NamedTone(name="x", mix_pct={"Rowan": 50}),)})
    assert with_swapped(book, {}) is book


# --- what is refused -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("swaps", "words"),
    [
        ({"Rowen": "Rust"}, 'the book has no ink Rowen; did you mean "Rowan"?'),
        ({"Rowan": "Rusty"}, 'there is no ink Rusty; did you mean "Rust"?'),
        ({"Rowan": "night-fery/Rust"}, 'did you mean "night-ferry/Rust"?'),
        ({"Rowan": "Rowan"}, "Rowan is printed in that ink already"),
        ({"Rowan": "night-ferry/Rowan"}, "Rowan is printed in that ink already"),
        ({"Rowan": "fogra39l/M"}, "was not printed on night-ferry/uncoated, but its inks are Soot"),
        ({"Rowan": "K"}, "K was not printed on night-ferry/uncoated"),
        ({"Rowan": "#12345"}, "six hex digits"),
    ],
)
def test_wrong_swaps_are_told(swaps: dict[str, str], words: str) -> None:
    with pytest.raises(UsageError) as caught:
        with_swapped(ferry(), swaps)
    assert words in str(caught.value)
    assert f"ink {next(iter(swaps))}" in str(caught.value)


@pytest.mark.parametrize("swaps", [{"rowan": "rust"}, {"ROWAN": "Night-Ferry/RUST"}])
def test_names_count_in_any_letter_case(swaps: dict[str, str]) -> None:
    given = {"Rowan": "Rust"}
    book = with_swapped(ferry(), swaps)
    assert book == with_swapped(ferry(), given)
    assert named_as_printed(book, swaps) == named_as_printed(book, given)
    assert "Rust" in named_as_printed(book, swaps).ink_names


def test_an_ink_is_not_swapped_twice_by_its_letter_case() -> None:
    with pytest.raises(UsageError, match='no ink rowan; did you mean "Rowan"'):
        with_swapped(ferry(), {"rowan": "Rust", "Rowan": "Gull"})


def test_all_wrong_swaps_are_told_at_once() -> None:
    with pytest.raises(UsageError) as caught:
        with_swapped(ferry(), {"Rowen": "Rust", "Soot": "Soot", "Fog": "K"})
    assert len(caught.value.faults) == 3


def test_a_name_of_several_sets_is_asked_for_in_full() -> None:
    book = ferry("Soot", "Rowan", paper=PaperSpec(lab=(94.0, 0.0, 0.0), paper_class="uncoated"))
    with pytest.raises(UsageError, match="K is in several sets; write one of fogra"):
        with_swapped(book, {"Rowan": "K"})
    assert with_swapped(book, {"Rowan": "fogra39l/K"}).inks[1].swatch == "fogra39l/K"


def test_a_second_hit_alone_is_not_swapped() -> None:
    twice = replace(ferry().inks[0], name="Soot 2", plate="Soot", hit_of="Soot")
    with pytest.raises(UsageError, match="prints the plate of Soot once more; swap Soot"):
        with_swapped(ferry(inks=(*ferry().inks, twice)), {"Soot 2": "Mussel"})


@pytest.mark.parametrize(
    ("texts", "words"),
    [
        (["Rowan"], "OLD=NEW is needed"),
        (["=Rust"], "OLD=NEW is needed"),
        (["Rowan="], "OLD=NEW is needed"),
        (["Rowan=Rust", "Rowan=Rust"], "Rowan is swapped twice"),
        (["Rowan=Rust", " Rowan = Gull"], "for Rust and for Gull; choose one"),
    ],
)
def test_texts_that_say_no_swap(texts: list[str], words: str) -> None:
    with pytest.raises(UsageError, match=words):
        ink_pairs(texts, words=SWAPS)
    assert ink_pairs(["Rowan=Rust", " Fog = night-ferry/Gull "], words=SWAPS) == {
        "Rowan": "Rust",
        "Fog": "night-ferry/Gull",
    }


# --- on the command line -------------------------------------------------------------------------


BOOK = """\
format = 1
title = "Two inks"
[paper]
swatch = "night-ferry/uncoated"
[[inks]]
name = "Soot"
swatch = "night-ferry/Soot"
[[inks]]
name = "Rowan"
swatch = "night-ferry/Rowan"
[press]
process = "sheet-fed offset"
[plates]
pattern = "plates/{spread}/{ink}.tif"
"""


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two plates of the demo, so that the table of colours is small."""
    whole = tmp_path_factory.mktemp("whole") / "night-ferry"
    write_demo(whole, ppi=25, fault="none")
    folder = tmp_path_factory.mktemp("swap")
    (folder / "plates" / "night-ferry").mkdir(parents=True)
    for ink in ("Soot", "Rowan"):
        plate = Path("plates") / "night-ferry" / f"{ink}.tif"
        shutil.copy(whole / plate, folder / plate)
    (folder / "book.toml").write_text(BOOK, encoding="utf-8")
    return folder


def test_predict_prints_the_old_plate_in_the_new_ink(demo: Path, tmp_path: Path) -> None:
    plain, swapped = tmp_path / "plain.png", tmp_path / "swapped.png"
    only = ["--inks", "Rowan", "--adapt-to-paper"]
    assert run(["predict", str(demo), *only, "--to", str(plain)]) == 0
    assert run(["predict", str(demo), *only, "--to", str(swapped), "--ink", "Rowan=Samphire"]) == 0
    red, green = (np.asarray(Image.open(path), dtype=float) for path in (plain, swapped))
    inked = red.sum(axis=2) < red.sum(axis=2).max() - 60
    assert inked.any()
    assert (red[inked][:, 0] > red[inked][:, 1]).mean() > 0.99  # Rowan is red
    assert (green[inked][:, 1] > green[inked][:, 0]).mean() > 0.99  # Samphire is green
    assert (np.abs(green - red)[~inked] < 40).all()


def test_predict_refuses_a_wrong_swap(demo: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["predict", str(demo), "--ink", "Rowan=Rowan"]) == 2
    assert "printed in that ink already" in capsys.readouterr().err


def test_plates_are_found_under_their_old_names(demo: Path) -> None:
    from inkmix.jobs.books import read_book

    book = with_swapped(read_book(demo / "book.toml"), {"Rowan": "Rust"})
    sources = spread_sources(book, find_spread(book, "night-ferry"))
    assert sources["Rowan"] is not None
    assert sources["Rowan"].path.name == "Rowan.tif"


# --- inks of a shade card -------------------------------------------------------------------------


def card(folder: Path, text: str) -> str:
    (folder / "card.csv").write_text(text, encoding="utf-8")
    return str(folder / "card.csv")


def test_candidates_without_a_plate_that_prints_in_one_are_refused():
    with pytest.raises(UsageError, match="say which does: --ink INK=NAME"):
        swapped(ferry(), {}, ["rust.csv"])


def test_an_ink_of_a_shade_card_prints_a_plate(tmp_path: Path) -> None:
    """Its Lab is that of the card, on the very paper of the book; its name is that of the card."""
    L, a, b = xyz100_to_lab(load_paper("night-ferry/uncoated").xyz100)
    names = card(tmp_path, f"paper, {L}, {a}, {b}\nRust, 56, 49, 39\n")
    done = swapped(ferry(), {"Rowan": "Rust"}, [names])
    assert solid(resolve_condition(done), "Rowan") == pytest.approx((56, 49, 39), abs=0.05)
    assert [note for note in done.notes if "another paper" in note or "guess" in note] == []
    assert "Rust" in book_as_printed(ferry(), swaps={"Rowan": "Rust"}, candidates=names).ink_names


def test_every_caution_of_a_shade_card_is_repeated(tmp_path: Path) -> None:
    told = card(tmp_path, "coated paper, 95, 0, -2\nEmber, 56, 49, 39\n")
    (note,) = swapped(ferry(), {"Rowan": "Ember"}, [told]).notes
    assert note.startswith("Ember is known on the paper of card.csv only")
    untold = card(tmp_path, "Ember, #e0503a\n")
    done = swapped(ferry(), {"Rowan": "Ember"}, [untold])
    assert any("does not say which paper" in note for note in done.notes)
    assert resolve_condition(done).hints == ("Rowan",)


def test_two_inks_of_a_card_are_no_double_hit_and_one_twice_is(tmp_path: Path) -> None:
    names = [card(tmp_path, "Ember, 56, 49, 39\nMoss, 50, -28, 24\n")]
    other = swapped(ferry(), {"Rowan": "Ember", "Brass": "Moss"}, names)
    assert {ink.hit_of for ink in other.inks} == {None}
    same = swapped(ferry(), {"Rowan": "Ember", "Brass": "Ember"}, names)
    assert len([ink for ink in same.inks if ink.hit_of is not None]) == 1


def test_a_name_that_no_card_and_no_set_has_is_refused_with_the_nearest(tmp_path: Path) -> None:
    names = [card(tmp_path, "Ember, 56, 49, 39\n")]
    with pytest.raises(UsageError, match=r"there is no ink Embre; did you mean .Ember."):
        swapped(ferry(), {"Rowan": "Embre"}, names)
    of_ours = swapped(ferry(), {"Rowan": "Rust"}, ["night-ferry"])
    assert [ink.swatch for ink in of_ours.inks if ink.name == "Rowan"] == ["night-ferry/Rust"]
