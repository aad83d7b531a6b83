"""Text of others on a terminal: what is obeyed or hides is shown, all else stays."""

import json
import unicodedata

import pytest
from drawn_book import BOOK, command, draw_book
from hypothesis import given
from hypothesis import strategies as st

from inkmix.base.plain_text import plain_json, plain_line, plain_text


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("\x1b[31mred\x07", "\\x1b[31mred\\x07"),
        ("\x9b2J", "\\x9b2J"),  # the same in one character: ECMA-48, 8-bit form of CSI
        ("night\rpass", "night\\x0dpass"),
        ("fail\u202essap", "fail\\u202essap"),  # reads "fail" and "pass" backwards
        ("\u2066a\u2069\u200f", "\\u2066a\\u2069\\u200f"),
        ("a\u200bb\ufeff", "a\\u200bb\\ufeff"),
        ("\udcff.tif", "\\xff.tif"),
        ("\ud83d", "\\ud83d"),
        ("\U000e0041", "\\U000e0041"),
    ],
)
def test_what_is_obeyed_or_hides_is_shown(text, shown):
    assert plain_text(text) == shown


UNSEEN = (
    *(0x061C, 0x200B, 0x200E, 0x200F, 0xFEFF),
    *(*range(0x2028, 0x202F), *range(0x2060, 0x2070), *range(0xFFF9, 0xFFFC)),
    *(0xE0000, 0xE0001, 0xE007F, 0xE0FFF),
)
"""Unicode: marks of direction (UAX 9, section 2), and what is shown as nothing."""


@pytest.mark.parametrize("point", UNSEEN, ids=hex)
def test_each_sign_that_is_not_seen_is_shown_as_its_number(point):
    number = f"\\u{point:04x}" if point < 0x10000 else f"\\U{point:08x}"
    assert plain_text(f"a{chr(point)}b") == f"a{number}b"
    assert plain_text(f"\x1b[1m{chr(point)}", colour=True) == f"\x1b[1m{number}"
    document = json.dumps(f"a{chr(point)}b", ensure_ascii=False)
    assert plain_json(document).isascii()
    assert json.loads(plain_json(document)) == f"a{chr(point)}b"


@pytest.mark.parametrize("point", [0x200C, 0x200D, 0x2010, 0x202F, 0x205F, 0x2070, 0xFFFC])
def test_the_neighbours_of_such_signs_stay(point):
    """Joiners, a hyphen, narrow spaces, a raised 0, and the sign for a picture in a text."""
    assert plain_text(f"a{chr(point)}b") == plain_json(f"a{chr(point)}b") == f"a{chr(point)}b"


def test_json_means_the_same_after_what_is_obeyed_was_taken_out():
    said = {"name": "\x1b[2J\x7f\x9b1m\ud83d\u202e", "tab": "\t", "letters": "夜é"}
    document = json.dumps(said, ensure_ascii=False, indent=1)
    shown = plain_json(document)
    assert json.loads(shown) == said
    assert shown.count("\n") == document.count("\n")
    assert '"\\u001b[2J\\u007f\\u009b1m\\ud83d\\u202e"' in shown
    assert '"夜é"' in shown


@pytest.mark.parametrize(
    "text",
    [
        "Die Nachtfähre, 40\N{NO-BREAK SPACE}% ± 2 — “so”",
        "夜のフェリー",
        "العبارة الليلية",
        "रात की नौका",
        "\N{MAN}\N{ZERO WIDTH JOINER}\N{ROCKET}",
        "e\N{COMBINING ACUTE ACCENT}",
        "two\nlines\tand a tab",
    ],
)
def test_what_people_write_stays(text):
    assert plain_text(text) == text


@given(st.text(alphabet=st.characters(codec=None, exclude_categories=())))
def test_nothing_of_any_text_is_obeyed(text):
    line = plain_line(text)
    line.encode("utf-8")
    assert not {unicodedata.category(sign) for sign in line} & {"Cc", "Cs", "Zl", "Zp"}
    assert not {unicodedata.bidirectional(sign) for sign in line} & {
        *("LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI"),
    }
    assert len(line) >= len(text)


EVIL = "\x1b[2Jnight\u202e\nindex: all pass"


def test_a_batch_prints_no_control_character(tmp_path, capfd):
    """Neither of a spread that fails nor of one that cannot be read; nobody forges a line."""
    text = BOOK.replace("ink_limit_pct = 260", "ink_limit_pct = 120")
    folder = draw_book(tmp_path / "book", text, spreads=(EVIL, f"b{EVIL}"))
    (folder / "plates" / f"b{EVIL}" / "Fjord.tif").write_bytes(b"no plate")
    ran = command(capfd, "batch", folder, "--engine", "threads")
    assert ran.code == 3
    assert "  \\x1b[2Jnight\\u202e\\x0aindex: all pass: fail: " in ran.err
    assert plain_text(ran.err) == ran.err
    assert not [line for line in ran.err.splitlines() if line.startswith("index: all")]
    page = (folder / "reports" / "index.html").read_text(encoding="utf-8")
    assert plain_text(page) == page
