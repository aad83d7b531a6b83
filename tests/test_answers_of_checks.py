"""What the checks hand on to a spread: what another order would move, limits that remedies heed."""

import pytest
from drawn_book import NIGHT, changed, draw_book

from inkmix.jobs.books import read_book
from inkmix.jobs.check import check_spread

VEILING = changed("lab = [52, 58, 40]", "lab = [52, 58, 40]\nopacity = 0.7")
TONE = """
[[tones]]
name = "ember"
mix = {Soot = 80, Rowan = 80}
lab = [24, 12, 4]
tolerance_de00 = 3
"""


def checked(folder, text):
    return check_spread(read_book(draw_book(folder / "book", text)), "front")


def test_a_veil_that_another_order_lays_over_the_night_is_told_and_asked_about(tmp_path):
    result = checked(tmp_path, VEILING + NIGHT)
    assert [order.name for order in result.night_orders] == ["cellar"]
    assert any(asked.what == "lay-down order" for asked in result.ask_printer)


def test_a_named_tone_that_another_order_moves_is_told(tmp_path):
    result = checked(tmp_path, VEILING + TONE)
    assert result.orders_of_tones
    assert [order.name for order in result.tone_orders] == ["ember"]


@pytest.mark.parametrize("limit_pct", [110, 260])
def test_a_better_mix_of_a_tone_stays_within_the_ink_limit(tmp_path, limit_pct):
    text = TONE.replace("mix = {Soot = 80, Rowan = 80}", "mix = {Soot = 10, Rowan = 10}")
    result = checked(tmp_path, changed("limit_pct = 260", f"limit_pct = {limit_pct}") + text)
    (finding,) = [one for one in result.findings if one.check == "named tones"]
    used = sum(step.amount_pct for step in finding.remedies[0].steps)
    assert (used > 110) == (limit_pct == 260)
    assert used <= limit_pct
