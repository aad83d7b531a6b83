"""Colours as people write them, one by one and in files, with their grammar spoilt."""

import random
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from fuzz import texts
from fuzz.cases import NUMBERS, Asked
from fuzz.png_chunks import png_document
from fuzz.small_book import write_book

NAME = "colours"


@dataclass(slots=True, kw_only=True)
class ColourDocument:
    """Colours, one a line, and what is done to the bytes at last."""

    lines: list[str]
    byte_changes: list[int] = field(default_factory=list)


def build(rng: random.Random) -> ColourDocument:
    """One to five sound colours."""
    return ColourDocument(lines=[_colour(rng) for _ in range(rng.choice((1, 1, 2, 5)))])


def _colour(rng: random.Random) -> str:
    red, green, blue = (
        rng.choice((0, 1, 10, 11, 127, 254, 255, rng.randrange(256))) for _ in "rgb"
    )
    L, a, b = rng.uniform(0, 100), rng.uniform(-60, 60), rng.uniform(-60, 60)
    said = rng.choice(
        (
            f"#{red:02x}{green:02X}{blue:02x}",
            f"#{red // 17:x}{green // 17:x}{blue // 17:x}",
            f"rgb({red}, {green},{blue})",
            f"Lab({L:.2f}, {a:.2f}, {b:.2f})",
            f"{L:.1f} {a:.1f} {b:.1f}",
            f"picture.png@{rng.randrange(6)},{rng.randrange(4)}",
        )
    )
    return f"lamp glow = {said}" if rng.random() < 0.2 else said


def number_changed(document: ColourDocument, rng: random.Random) -> None:
    """A number beyond all measure."""
    at = rng.randrange(len(document.lines))
    digits = [place for place, sign in enumerate(document.lines[at]) if sign.isdigit()]
    if digits:
        place, line = rng.choice(digits), document.lines[at]
        fresh = rng.choice((*texts.NUMBERS, *map(str, NUMBERS)))
        document.lines[at] = line[:place] + fresh + line[place + 1 :]


def form_changed(document: ColourDocument, rng: random.Random) -> None:
    """Of another form, or none."""
    forms = (
        *(
            "#12345",
            "#gggggg",
            "rgb(1,2)",
            "rgb()",
            "rgb(1%,2%,3%)",
            "Lab(50)",
            "lab(50 0 0)",
            "red",
        ),
        *(
            "picture.png@-1,0",
            "picture.png@0,99",
            "none.png@0,0",
            "/dev/zero@0,0",
            ".@1,1",
            "@1,1",
            "=",
        ),
        *(
            "a = b = #123",
            " = #123",
            "#",
            "# 1",
            "50 0",
            "50 0 0 0",
            "CIELab(100,-160,160)",
            "hsl(1,1,1)",
        ),
    )
    document.lines[rng.randrange(len(document.lines))] = rng.choice(forms)


def text_changed(document: ColourDocument, rng: random.Random) -> None:
    """Anything that befalls text."""
    at = rng.randrange(len(document.lines))
    document.lines[at] = texts.spoilt(document.lines[at], rng)


def word_new(document: ColourDocument, rng: random.Random) -> None:
    """A line of odd letters."""
    document.lines.insert(0, rng.choice((*texts.WORDS, *texts.NUMBERS)))


def bytes_changed(document: ColourDocument, rng: random.Random) -> None:
    """Other line ends, encodings, ends."""
    document.byte_changes.append(rng.getrandbits(32))


def very_many(document: ColourDocument, rng: random.Random) -> None:
    """Thousands of lines or letters; none of them a colour, since those take their time."""
    many = (["nothing"] * 5000, ["x" * 100_000], ["rgb(" + "9" * 100_000 + ",1,1)"], ["[" * 30_000])
    document.lines += rng.choice(many)


DAMAGES = (
    number_changed,
    number_changed,
    form_changed,
    text_changed,
    word_new,
    bytes_changed,
    very_many,
)


def write(document: ColourDocument, folder: Path, rng: random.Random) -> Asked:
    """The colours, told one by one, in a file, or to the command that mixes them."""
    pixels = (np.arange(4 * 6 * 3).reshape(4, 6, 3) * 31 % 256).astype(np.uint8)
    (folder / "picture.png").write_bytes(png_document(pixels, bits=8).written())
    data = "\n".join(document.lines).encode("utf-8", "surrogatepass")
    for seed in document.byte_changes:
        data = texts.bytes_spoilt(data, random.Random(seed))
    (folder / "colours.txt").write_bytes(data)
    if rng.random() < 0.75:
        return Asked(call="colours", words=("colours.txt",))
    write_book(folder / "book")
    words = ("mix", "--book", "book", "--from", "colours.txt")
    if rng.random() < 0.5 and not document.byte_changes:
        plain = [line for line in document.lines if "\0" not in line][:3]
        words = ("mix", "--book", "book", "--json", *(line[:3000] for line in plain))
    return Asked(call="command", words=words, cpu_s=8)
