"""Whatever happens to a book's text, it is read or refused in words; it never breaks the reader."""

import random
import string
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inkmix.base.errors import BookError
from inkmix.book.read import parse_book
from inkmix.checks import table

GOOD = """\
format = 1
title = "The Night Ferry"
[paper]
class = "uncoated"
lab = [93, 0, 4]
[[inks]]
name = "Soot"
lab = [30, 1, 2]
[[inks]]
name = "Rowan"
density = { red = 0.2, green = 1.1, blue = 1.3, status = "E", relative = true }
character = ["fluorescent"]
channel = 2
[press]
process = "sheet-fed offset"
ink_limit_pct = 280
confirmed_by_printer = ["ink_limit_pct", "inks.Soot"]
[plates]
pattern = "plates/{spread}.tif"
channels = ["Soot", "Rowan"]
[strip]
panels = 8
panel_mm = [110, 150]
[[night]]
name = "sea"
rule = [{ plate = "Soot", at_least_pct = 40 }]
[[night]]
name = "sky"
rect_mm = [0, 0, 100, 50]
[[tones]]
name = "dusk"
mix = { Rowan = 60 }
intended = "#3a2c4d"
[[waive]]
spread = "03"
check = "total ink"
name = "area 1"
rests_on = "5f0c2a91d3be"
reason = "the printer agreed"
by = "M. Quill"
[[override]]
spreads = ["cover", "back"]
paper = { lab = [95, 0, -2], class = "coated" }
[override.press]
ink_limit_pct = 300
[[override]]
spreads = ["flap"]
tones = []
[[override.inks]]
name = "Soot"
lab = [30, 1, 2]
[[override.inks]]
name = "Rowan"
srgb = "#aa3300"
[[override.night]]
name = "sea"
rule = [{ plate = "Soot", at_least_pct = 30 }]
spreads = ["flap"]
"""
VALUES = (
    '""', '"x"', "0", "-1", "1e400", "nan", "inf", "true", "[]", "[[]]", "{}", "[{}]", "[1, 2]",
    "1979-05-27", "07:32:00", '["x", 1]', "{ x = 1 }", "[nan, 1, 2]", '"../x"', '"a\\u0000b"',
    "9" * 5000, "[" * 3000 + "]" * 3000, "0x1F", '"""x\ny"""',
)  # fmt: skip


def refused_or_read(text: str | bytes) -> bool:
    """True if it was read."""
    data = text if isinstance(text, bytes) else text.encode("utf-8", "surrogatepass")
    try:
        parse_book(data, path=Path("/nowhere/book.toml"), form=table.book_form())
    except BookError as error:
        faults = error.faults
    else:
        return True
    assert faults
    assert all(fault.where.startswith("book.toml") for fault in faults)
    assert all(len(str(fault)) < 700 for fault in faults)
    return False


def test_the_text_itself_is_good() -> None:
    assert refused_or_read(GOOD)


@pytest.mark.parametrize("number", [n for n, line in enumerate(GOOD.split("\n")) if "=" in line])
def test_every_value_replaced_by_every_other_kind(number: int) -> None:
    lines = GOOD.split("\n")
    key = lines[number].split(" = ")[0]
    for value in VALUES:
        refused_or_read("\n".join([*lines[:number], f"{key} = {value}", *lines[number + 1 :]]))


@pytest.mark.parametrize("number", range(len(GOOD.split("\n"))))
def test_every_line_left_out_doubled_or_cut(number: int) -> None:
    lines = GOOD.split("\n")
    before, line, after = lines[:number], lines[number], lines[number + 1 :]
    for new in ([], [line, line], [line[: len(line) // 2]], [f"#{line}"], [line.upper()]):
        refused_or_read("\n".join([*before, *new, *after]))


@given(seed=st.integers(0, 2**32 - 1))
@settings(max_examples=150, deadline=None)
def test_random_edits(seed: int) -> None:
    draw = random.Random(seed)
    text = list(GOOD)
    for _ in range(draw.randint(1, 6)):
        at = draw.randrange(len(text))
        text[at : at + draw.randint(0, 3)] = draw.choice(string.printable + "\u201c\u00e4\ufeff\0")
    refused_or_read("".join(text))


@given(data=st.binary(max_size=200))
@settings(max_examples=100, deadline=None)
def test_random_bytes(data: bytes) -> None:
    refused_or_read(data)
    refused_or_read(GOOD.encode() + data)
