"""What a report says beside its figures: whom to ask, what was not looked at, how sure it is.

Spreads are stood in for by their few values that count here; sentences are the program's own.
"""

import io
from types import SimpleNamespace

import numpy as np
import pytest
from PIL import Image
from press_for_checks import press

from inkmix.book.values import PRINTER, PROCESS_DEFAULT, USER, Told
from inkmix.checks.night.entry import Night
from inkmix.checks.tones.entry import NamedTones
from inkmix.export.srgb_profile import srgb_profile
from inkmix.jobs.checking import facts
from inkmix.jobs.checking.notes import ask_printer, not_checked, screen_difference
from inkmix.jobs.checking.sampled import OnScreen, OnScreenPart
from inkmix.jobs.printing.pictures import jpeg_bytes, marked_jpeg_bytes
from inkmix.plates.overview import BlockPart
from inkmix.press.solids.opacity import Opacity


def spread(
    *, confirmed=(), ink_limit=None, growth=None, screened=False, origins=(), guessed=(),
    on_guess=False,
):  # fmt: skip
    """What `ask_printer` looks at, of a spread in two inks."""
    inks = [SimpleNamespace(name=name, place_guessed=on_guess) for name in ("Soot", "Flare")]
    solids = [
        SimpleNamespace(
            opacity=Opacity(value=0.03, sd=0.1, why="guessed", by="its name")
            if ink.name in guessed
            else Opacity(value=0.0, sd=0.0, why="told")
        )
        for ink in inks
    ]
    return SimpleNamespace(
        book=SimpleNamespace(press=SimpleNamespace(confirmed_by_printer=frozenset(confirmed))),
        condition=SimpleNamespace(
            inks=inks, origins=origins,
            process=SimpleNamespace(name="sheet-fed offset", guessed=on_guess),
            model=SimpleNamespace(solids=solids),
        ),
        limits=SimpleNamespace(
            ink_limit_pct=ink_limit,
            edge_growth_mm=growth or Told(value=0.01, whose=PROCESS_DEFAULT),
        ),
        plates=SimpleNamespace(screened=(screened, False)),
    )  # fmt: skip


def asked(**said) -> dict[str, str]:
    return {one.what: one.value for one in ask_printer(spread(**said))}


ALWAYS = {"lay-down order": "Soot, Flare"}


def test_what_the_printer_said_is_not_asked_again():
    limit = Told(value=280.0, whose=PRINTER)
    assert asked(confirmed=["process"], ink_limit=limit) == ALWAYS


@pytest.mark.parametrize("whose", [USER, PROCESS_DEFAULT])
def test_what_anybody_else_said_is_asked(whose):
    limit = Told(value=280.0, whose=whose)
    assert asked(ink_limit=limit) == {
        "process": "sheet-fed offset", "ink limit": "280 %", **ALWAYS,
    }  # fmt: skip
    questions = ask_printer(spread(ink_limit=limit))
    assert [one.whose for one in questions if one.what == "ink limit"] == [whose]


def test_a_limit_that_nobody_knows_is_asked():
    assert asked(confirmed=["process"])["ink limit"] == "none known for this process"


def test_growth_at_edges_is_asked_where_a_plate_is_made_of_dots():
    what = "growth at edges of line work"
    assert what not in asked()
    assert asked(screened=True)[what] == "0.01 mm"
    assert what not in asked(screened=True, growth=Told(value=0.02, whose=PRINTER))


def test_guesses_and_hints_are_asked_and_what_was_measured_is_not():
    said = asked(
        origins=[
            SimpleNamespace(what="Soot, gain", value=18, unit="%", whose="process default"),
            SimpleNamespace(what="Flare, solid", value="#ff6600", unit="", whose="screen hint"),
            SimpleNamespace(what="Soot, solid", value="Lab", unit="", whose="measured"),
        ],
        guessed=["Flare"],
    )
    assert said["Soot, gain"] == "18 %"
    assert said["Flare, solid"] == "#ff6600"
    assert said["Flare, opacity"].startswith("0.03 (")
    assert not {"Soot, solid", "Soot, opacity"} & said.keys()


@pytest.mark.parametrize("on_guess", [False, True])
def test_a_guessed_process_or_order_is_not_said_to_be_the_users_word(on_guess):
    whose = {one.what: one.whose for one in ask_printer(spread(on_guess=on_guess))}
    said = "guessed" if on_guess else "user"
    assert (whose["process"], whose["lay-down order"]) == (said, said)


@pytest.mark.parametrize(
    ("nights", "tones", "reference", "lacking"),
    [
        (0, (), None, ["night", "named tones", "a reference picture"]),
        (1, (), None, ["named tones", "a reference picture"]),
        (0, ("dusk",), None, ["night", "a reference picture"]),
        (0, (), "whole.png", ["night", "named tones"]),
        (2, ("dusk",), "whole.png", []),
    ],
)
def test_what_the_book_does_not_name_was_not_looked_at(nights, tones, reference, lacking):
    book = SimpleNamespace(reference=reference)
    answers = [
        one.not_asked() for one, asked in ((Night(), nights), (NamedTones(), tones)) if not asked
    ]
    said = [line.partition(":")[0] for line in not_checked(book, answers)]
    assert said == [*lacking, *(line.partition(":")[0] for line in not_checked(FULL, ()))]


FULL = SimpleNamespace(reference="whole.png")


@pytest.mark.parametrize(
    ("miss_L", "said"),
    [
        (0.4, "about as dark as"), (-0.4, "about as dark as"), (0.6, "L* 0.6 darker"),
        (-0.6, "L* 0.6 lighter"), (4.2, "L* 4.2 darker"),
    ],
)  # fmt: skip
def test_how_far_the_screen_is_off(miss_L, said):
    """The print's L* less the screen's: where the print is lighter, the screen looks darker."""
    assert said in screen_difference(miss_L)


def test_the_mean_difference_of_the_screen_is_over_all_samples():
    plates = SimpleNamespace(width_px=40, height_px=30)
    stand_in = SimpleNamespace(plates=plates, as_on_screen=lambda: SimpleNamespace(plates=plates))
    screen = OnScreen(stand_in, None, longest_px=100)
    nothing = BlockPart(row=0, col=0, sums=np.zeros((0, 0, 3), np.int64))
    for pixels, miss in ((100, 500), (300, 300)):
        screen.take(OnScreenPart(blocks=nothing, pixels=pixels, lightness_miss=miss))
    assert screen.mean_lightness_miss() == pytest.approx(2.0)


def test_pictures_of_the_report_say_that_they_are_srgb():
    grey = np.full((40, 60, 3), 128, np.uint8)
    for data in (jpeg_bytes(grey), marked_jpeg_bytes(grey, rows=(10, 20), cols=(10, 20))):
        assert Image.open(io.BytesIO(data)).info["icc_profile"] == srgb_profile()


def test_the_expected_error_of_a_sheet_is_that_of_its_mixes():
    """Not of bare paper and single tints, which are surer and most of what a sheet holds."""
    condition = press("Soot", "Fjord", "Rowan")
    tones = np.zeros((10, 10, 3))
    tones[3:6, :, 0] = 40.0
    tones[6:, :5] = (30.0, 50.0, 0.0)
    tones[6:, 5:] = (0.0, 60.0, 70.0)
    said = facts.condition(SimpleNamespace(condition=condition), tones)
    error = condition.expected_error(tones[6:].reshape(-1, 3))
    assert said.error_de00 == pytest.approx(np.median(error.de00))
    assert said.error_L == pytest.approx(np.median(error.L))
    assert said.error_de00 != pytest.approx(said.error_L, abs=0.2)
    tints = condition.expected_error(tones[:6].reshape(-1, 3))
    alone = facts.condition(SimpleNamespace(condition=condition), tones[:6])
    assert alone.error_de00 == pytest.approx(np.median(tints.de00))  # where there are no others
