"""What other people wrote, shown in messages."""

import pytest

from inkmix.base.quoting import acting_sign, clipped, harmless, listed, nearest, quoted


def test_a_text_is_cut_and_shown_on_one_line() -> None:
    assert clipped("Night\tFerry\n") == "Night Ferry "
    assert clipped("k" * 5_000_000) == "k" * 57 + "..."
    assert len(clipped("\x1b" * 500)) == 60
    assert quoted("So\u202eot") == '"So\\u202eot"'
    assert harmless("a\n\x00b\u00a0c\u200cd") == "a \\x00b\u00a0c\u200cd"


def test_names_are_counted_where_they_are_many() -> None:
    assert listed(["Soot", "Rowan"]) == "Soot, Rowan"
    assert listed(["k"] * 1_100, 2) == "k, k and 1,098 more"


def test_the_nearest_name_whatever_its_case() -> None:
    assert nearest("roan", ["Soot", "Rowan"]) == "Rowan"
    assert nearest("sky", ["Soot", "Rowan"]) is None
    assert nearest("k" * 101, ["k" * 101]) is None


@pytest.mark.parametrize(
    "text", ["Ru\u00df", "\u58a8", "\u0633\u200c\u062e", "a\u00a0b", "\u05d0\u200f"]
)
def test_what_languages_need_does_not_act(text: str) -> None:
    assert acting_sign(text) == ""


@pytest.mark.parametrize("sign", ["\x00", "\x1b", "\x7f", "\x85", "\x9b", "\u2029", "\u2067", "\n"])
def test_what_acts_on_a_screen(sign: str) -> None:
    assert f"(U+{ord(sign):04X})" in acting_sign(f"Soot{sign}")
    assert acting_sign(sign, allowed=sign) == ""
