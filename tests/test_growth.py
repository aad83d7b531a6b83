"""Texts made to take long: what reading them costs grows no faster than they do.

Each text is read at a size and at four times it. In proportion that takes four times as long, by
the square sixteen times; the bound lies between, and short times are not compared at all.
"""

import time
import tracemalloc
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

import pytest

from inkmix.base.errors import InkmixError
from inkmix.book.read import parse_book
from inkmix.checks import table
from inkmix.colour.measured.cgats import parse_cgats
from inkmix.colour.measured.csv_text import parse_csv
from inkmix.colour.measured.cxf.read import parse_cxf
from inkmix.colour.measured.shade_card import parse_shade_card
from inkmix.colour.written import told_colours

MOST_TIMES = 9  # between 4, in proportion, and 16, by the square
TOO_SHORT_S = 0.06  # where a machine with other work on it can double what is measured
MESSAGE = 15_000  # characters of 21 faults, each of which fills a few lines

Read = Callable[[bytes], object]

BOOK = """\
format = 1
title = "T"
[paper]
swatch = "night-ferry/uncoated"
[[inks]]
name = "Soot"
swatch = "night-ferry/Soot"
[press]
process = "sheet-fed offset"
ink_limit_pct = 280
[plates]
pattern = "{spread}/{ink}.tif"
"""
FORMAT = "BEGIN_DATA_FORMAT\nSAMPLE_ID CMYK_K XYZ_X XYZ_Y XYZ_Z\nEND_DATA_FORMAT\n"
ROWS = "BEGIN_DATA\n1 0 84.48 87.62 74.57\nEND_DATA\n"


@dataclass(frozen=True, slots=True, kw_only=True)
class Made:
    """A text of about any size: something before, a unit again and again, something after it.

    A % in the unit stands for its number.
    """

    size: int
    before: str = ""
    unit: str
    after: str = ""

    def text(self, times: int) -> bytes:
        count = times * self.size // len(self.unit.replace("%", "00000"))
        if "%" not in self.unit:
            return (self.before + self.unit * count + self.after).encode()
        units = "".join(self.unit.replace("%", f"{k:05}") for k in range(count))
        return (self.before + units + self.after).encode()


@dataclass(frozen=True, slots=True, kw_only=True)
class Both:
    """One text after another, of which both grow."""

    first: Made
    second: Made

    def text(self, times: int) -> bytes:
        return self.first.text(times) + self.second.text(times)


PRESS, PLATES = BOOK[: BOOK.index("[plates]")], BOOK[BOOK.index("[plates]") :]
NIGHT = ']\n[[override.night]]\nname = "a"\nrect_mm = [0, 0, 1, 1]\nspreads = ['
TONE = '[[tones]]\nname = "%"\nmix.Soot = 60\nintended = "#3a2c4d"\n'
BOOKS = {
    "blanks after a bracket": Made(size=800, before=f"{BOOK}x = '''\n[", unit=" ", after="z\n'''"),
    "quotes behind backslashes": Made(size=16_000, before=f"{BOOK}x = ", unit='\\"'),
    "escapes of a text that stays open": Made(size=16_000, before=f'{BOOK}x = "', unit='\\"'),
    "backslashes": Made(size=16_000, before=f'{BOOK}x = "a" ', unit="\\q", after="\n="),
    "parts of a key": Made(size=4_000, before=BOOK, unit="a.", after="a = 1"),
    "parts of a header": Made(size=4_000, before=f"{BOOK}[", unit="a.", after="a]"),
    "lists in lists": Made(size=8_000, before=f"{BOOK}x = ", unit="["),
    "tables in tables": Made(size=8_000, before=f"{BOOK}x = ", unit="{a = "),
    "digits": Made(size=16_000, before=f"{BOOK}x = ", unit="9"),
    "digits of base 16": Made(size=16_000, before=f"{BOOK}x = 0x", unit="f"),
    "lists of tables": Made(size=12_000, before=BOOK, unit="[[k%]]\n"),
    "unknown keys": Made(size=10_000, before=PRESS, unit="ink_limit% = 1\n", after=PLATES),
    "inks without names": Made(size=12_000, before=BOOK, unit="[[inks]]\n"),
    "unknown inks": Made(size=10_000, before=BOOK, unit='[[tones]]\nname = "%"\nmix.S% = 9\n'),
    "inks of a mix": Made(
        size=20_000,
        before=f'{BOOK}[[tones]]\nname = "a"\nmix = {{',
        unit="S% = 9, ",
        after="S = 1}",
    ),
    "confirmed": Made(
        size=10_000,
        before=f"{PRESS}confirmed_by_printer = [",
        unit='"ink_limit%", ',
        after=f"]\n{PLATES}",
    ),
    "overrides of many tones": Both(
        first=Made(size=25_000, before=BOOK, unit=TONE),
        second=Made(size=25_000, unit='[[override]]\nspreads = ["%"]\nnight = []\n'),
    ),
    "strangers in an override": Both(
        first=Made(size=8_000, before=f"{BOOK}[[override]]\nspreads = [", unit='"%", '),
        second=Made(size=8_000, before=NIGHT, unit='"x%", ', after="]"),
    ),
    "a name": Made(size=50_000, before=f'{BOOK}[[tones]]\nname = "', unit="k", after='"'),
    "a key": Made(size=50_000, before=BOOK, unit="k", after=" = 1"),
    "colons": Made(size=20_000, before=BOOK, unit="a:\n"),
    "quotes": Made(size=20_000, before=f"{BOOK}x = ", unit='"'),
    "apostrophes": Made(size=12_000, before=BOOK, unit="'\n"),
    "texts of several lines": Made(size=20_000, before=f"{BOOK}x = ", unit="'''\n"),
}
WIDE = "".join(f"INK_{k} " for k in range(900))
CHARTS = {
    "a keyword again": Made(size=200_000, unit="A b\n", after=FORMAT + ROWS),
    "long values of a keyword": Made(size=100_000, unit=f"A {'b' * 98}\n", after=FORMAT + ROWS),
    "a quote that stays open": Made(size=90_000, before=f'{FORMAT}A "', unit="x", after=ROWS),
    "quotes that stay open": Made(size=90_000, unit=f'A "{"x" * 30_000}\n', after=FORMAT + ROWS),
    "doubled quotes": Made(size=20_000, before=f'{FORMAT}A "', unit='""', after=ROWS),
    "columns of a line": Made(size=90_000, before="BEGIN_DATA_FORMAT\n", unit="a "),
    "columns without cells": Made(
        size=10_000,
        before=f"BEGIN_DATA_FORMAT\n{WIDE}XYZ_X XYZ_Y XYZ_Z\nEND_DATA_FORMAT\nBEGIN_DATA\n",
        unit="1\n",
        after="END_DATA\n",
    ),
    "line ends": Made(size=100_000, before="CGATS\n", unit="\n"),
    "wrong cells": Made(size=60_000, before=f"{FORMAT}BEGIN_DATA\n", unit=f"x {'y' * 90} 1 2 3\n"),
    "spaces": Made(size=20_000, before=f"{FORMAT}A", unit=" ", after=f"\n{ROWS}"),
}
COLOURS = {
    "digits": Made(size=2_000, before="rgb(", unit="9", after=", 1, 1)"),
    "blanks": Made(size=20_000, before="rgb(1", unit=" "),
    "at signs": Made(size=20_000, unit="a @ 1 , "),
    "places in a picture": Made(size=2_000, before="a.png@", unit="1", after=",1"),
    "wrong lines": Made(size=100_000, unit="rouge\n"),
    "line ends": Made(size=60_000, unit="\n"),
    "a name": Made(size=50_000, unit="k", after=" = #123456"),
}

CARDS = {
    "blanks in a line": Made(size=50_000, unit="a" + 400 * " " + "b" + 400 * "\t" + "c, 1 1 1\n"),
    "numbers in a line": Made(size=50_000, unit="a" + 450 * " 1" + "\n"),
    "brackets": Made(size=50_000, unit="a" + 150 * " lab(1" + "\n"),
    "signs between": Made(size=50_000, unit="a" + 300 * ",;" + "\n"),
    "digits": Made(size=50_000, unit="a " + 900 * "9" + "\n"),
    "a long line": Made(size=50_000, unit="k", after=", #123456"),
    "shades": Made(size=50_000, unit="ink %, #123456\n"),
    "cells": Made(size=50_000, before="name,colour\n", unit=300 * ',"' + "\n"),
}

TABLES = {
    "cells": Made(size=50_000, before="Soot,L,a,b\n", unit="0,95,0,0\n"),
    "quotes that stay open": Made(size=50_000, before="Soot,L,a,b\n", unit='0,"95,0,0\n'),
    "columns": Made(size=50_000, unit="k,"),
    "ends of cells": Made(size=50_000, before="Soot;L;a;b\n", unit=300 * ";" + "\n"),
    "doubled quotes": Made(size=50_000, before='Soot;L;a;b\n"', unit='""'),
    "decimal commas": Made(size=50_000, before="Soot;L;a;b\n", unit="0;95,5;0;0,1,\n"),
    "blanks": Made(size=50_000, before="Soot,L,a,b\n", unit=900 * " " + "x\n"),
    "blanks in a name": Made(size=20_000, before="Soot,a", unit=" ", after="b,L\n"),
    "blanks after a keyword": Made(size=20_000, before="# a:", unit=" ", after="\nSoot,L\n"),
    "remarks": Made(size=50_000, unit="# a: b\n", after="Soot,L,a,b\n"),
}
DOCUMENTS = {
    "elements": Made(size=50_000, before="<CxF>", unit="<a/>", after="</CxF>"),
    "pieces of text": Made(size=50_000, before="<CxF>", unit="text<a/>", after="</CxF>"),
    "attributes": Made(size=20_000, before="<CxF ", unit='a%="" ', after="/>"),
    "a long name": Made(size=50_000, before="<CxF><", unit="k", after="/></CxF>"),
    "depth": Made(size=50_000, unit="<a>"),
    "comments": Made(size=50_000, before="<CxF>", unit="a<!---->", after="</CxF>"),
    "objects": Made(
        size=100_000,
        before="<CxF><Resources><ObjectCollection>",
        unit='<Object Name="%"><ColorValues><ColorCIELab><L>50</L><A>0</A><B>0</B></ColorCIELab>'
        "</ColorValues></Object>",
        after="</ObjectCollection></Resources></CxF>",
    ),
    "references": Made(
        size=50_000,
        before="<CxF><Resources><ObjectCollection/></Resources><SpotInkCharacterisation "
        'SpotInkName="a">',
        unit='<MeasurementSet Background="Black"><Measurement ObjectRef="%"/></MeasurementSet>',
        after="</SpotInkCharacterisation></CxF>",
    ),
    "inks": Made(
        size=50_000,
        before="<CxF><Resources><ObjectCollection><Object><ColorValues><ColorCIELab><L>5</L><A>0</A>"
        "<B>0</B></ColorCIELab></ColorValues><DeviceColorValues><ColorCustom>",
        unit="<SpotColor><Name>%</Name><Percentage>1</Percentage></SpotColor>",
        after="</ColorCustom></DeviceColorValues></Object></ObjectCollection></Resources></CxF>",
    ),
}


def book(data: bytes) -> object:
    return parse_book(data, path=Path("/nowhere/book.toml"), form=table.book_form())


def chart(data: bytes) -> object:
    return parse_cgats(data, where="chart.txt")


def colours(data: bytes) -> object:
    return told_colours(data, where="colours.txt")


def card(data: bytes) -> object:
    return parse_shade_card(data, where="card.csv")


def csv(data: bytes) -> object:
    return parse_csv(data, where="chart.csv")


def cxf(data: bytes) -> object:
    return parse_cxf(data, where="chart.cxf")


# The last is the memory for each byte of text: a table of nine bytes is a kilobyte of objects.
KINDS: tuple[tuple[Read, Mapping[str, Made | Both], int], ...] = (
    (book, BOOKS, 150),
    (chart, CHARTS, 80),
    (colours, COLOURS, 40),
    (card, CARDS, 60),
    (csv, TABLES, 80),
    (cxf, DOCUMENTS, 150),
)
CASES = [
    pytest.param(read, made, bytes_each, id=f"{read.__name__}: {name}")
    for read, texts, bytes_each in KINDS
    for name, made in texts.items()
]


def said(read: Read, data: bytes) -> str:
    """What is said of a text; empty if it is read."""
    try:
        read(data)
    except InkmixError as error:
        return str(error)
    return ""


def seconds(read: Read, data: bytes) -> float:
    """The least of three times of the processor."""
    times = []
    for _ in range(3):
        began = time.process_time()
        said(read, data)
        times.append(time.process_time() - began)
        if times[-1] < TOO_SHORT_S:
            break
    return min(times)


@pytest.mark.parametrize(("read", "made", "bytes_each"), CASES)
def test_what_reading_takes_is_bounded_by_the_text(
    read: Read, made: Made | Both, bytes_each: int
) -> None:
    four_times = seconds(read, made.text(4))
    if four_times > TOO_SHORT_S:
        assert four_times < MOST_TIMES * seconds(read, made.text(1))
    data = made.text(1)
    tracemalloc.start()
    message = said(read, data)
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert len(message) < MESSAGE
    assert peak < 1_000_000 + bytes_each * len(data)
