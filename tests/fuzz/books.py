"""Books: TOML whose tables, keys and values are spoilt, by meaning and by grammar."""

import random
from dataclasses import dataclass, field
from pathlib import Path

from fuzz import texts
from fuzz.cases import Asked, moved
from fuzz.small_book import write_spread

NAME = "books"

_PAPERS = (
    ["lab = [94, 0, 3]", 'class = "uncoated"'],
    ['swatch = "night-ferry/uncoated"'],
    ['srgb = "#f4f0e6"', 'class = "coated"', "guessed = true"],
    ["xyz = [81.0, 84.0, 66.0]", 'class = "newsprint"', "gsm = 45"],
)
_INKS = (
    ["lab = [26, 1, 1]"],
    ['srgb = "#c04030"', "guessed = true"],
    ['swatch = "night-ferry/Rowan"'],
    ['density = { red = 1.2, green = 0.4, blue = 0.2, status = "E", relative = true }'],
    ["lab = [52, 58, 40]", "tone_value_increase_pct = 18", 'opacity = "slightly opaque"'],
    ["lab = [33, 6, -34]", "opacity = 0.2", "angle_deg = 45", "ruling_lpi = 150"],
)
_FURTHER = (
    ("[[night]]", ['name = "cellar"', "rect_mm = [0, 0, 2, 1]", "lightest_L = 40"]),
    (
        "[[night]]",
        ['name = "sky"', 'rule = [{ plate = "Soot", at_least_pct = 40 }]', "lightest_L = 30"],
    ),
    ("[[tones]]", ['name = "lamp"', "mix = { Soot = 26, Fjord = 80 }", 'intended = "#445566"']),
    (
        "[[tones]]",
        ['name = "fog"', "mix = { Fjord = 40 }", "lab = [60, 0, -10]", "tolerance_de00 = 5"],
    ),
    ("[total_ink]", ["min_area_mm2 = 0.5"]),
    ("[[override]]", ['spreads = ["front"]', "press = { ink_limit_pct = 300 }"]),
    (
        "[[waive]]",
        ['check = "total ink"', 'rests_on = "5f0c2a91d3be"', 'reason = "small"', 'by = "M. Quill"'],
    ),
)
_KEYS = (
    *(
        "format",
        "title",
        "lab",
        "xyz",
        "srgb",
        "class",
        "swatch",
        "measurements",
        "guessed",
        "name",
    ),
    *(
        "process",
        "ink_limit_pct",
        "pattern",
        "ppi",
        "absent",
        "page",
        "mask",
        "rect_mm",
        "rule",
        "mix",
    ),
    *(
        "tolerance_de00",
        "opacity",
        "plate",
        "channel",
        "polarity",
        "pass",
        "spreads",
        "reason",
        "Lab",
    ),
)
_VALUES = (
    *(
        "[]",
        "{}",
        "[[[]]]",
        "[1, 2]",
        "[1, 2, 3, 4]",
        '""',
        '"x"',
        "'''\n'''",
        '"""a\\\nb"""',
        "true",
    ),
    *(
        '"\\u202e"',
        '"\\u001b[31m"',
        '"\\ud800"',
        '"\\x00"',
        '"C:\\plates"',
        "{ a = 1, a = 2 }",
        "0o17",
    ),
    *('["front", "front"]', "{ Soot = 1e400 }", "1979-05-27T07:32:00Z", '"<img src=x onerror=y>"'),
)


@dataclass(slots=True, kw_only=True)
class BookDocument:
    """Tables with their lines, and what is done to the text at last."""

    tables: list[tuple[str, list[str]]]
    text_changes: list[int] = field(default_factory=list)
    byte_changes: list[int] = field(default_factory=list)


def build(rng: random.Random) -> BookDocument:
    """A sound book of two or three inks."""
    names = ("Soot", "Fjord", "Rowan")[: rng.randint(2, 3)]
    inks = [("[[inks]]", [f'name = "{name}"', *rng.choice(_INKS)]) for name in names]
    process = rng.choice(("sheet-fed offset", "newsprint", "web offset", "screen print"))
    tables = [
        ("", ["format = 1", 'title = "Two panels"']),
        ("[paper]", list(rng.choice(_PAPERS))),
        *inks,
        ("[press]", [f'process = "{process}"', "ink_limit_pct = 260"]),
        ("[plates]", ['pattern = "plates/{spread}/{ink}.tif"']),
    ]
    further = rng.sample(_FURTHER, rng.randint(0, 4))
    return BookDocument(tables=[*tables, *((head, list(lines)) for head, lines in further)])


# --- damages -------------------------------------------------------------------------------------


def table_moved(document: BookDocument, rng: random.Random) -> None:
    """A table removed, doubled, swapped."""
    moved(document.tables, rng)


def key_moved(document: BookDocument, rng: random.Random) -> None:
    """A key removed, doubled, swapped."""
    moved(rng.choice(document.tables)[1] if document.tables else [], rng)


def key_strayed(document: BookDocument, rng: random.Random) -> None:
    """A key of one table in another, or one that there is not."""
    if document.tables:
        lines = rng.choice(document.tables)[1]
        lines.append(f"{rng.choice(_KEYS)} = {rng.choice((*_VALUES, *texts.NUMBERS))}")


def value_changed(document: BookDocument, rng: random.Random) -> None:
    """A value of another kind, or out of range."""
    lines = rng.choice(document.tables)[1] if document.tables else []
    if lines:
        at = rng.randrange(len(lines))
        key = lines[at].partition("=")[0]
        lines[at] = f"{key}= {rng.choice((*_VALUES, *texts.NUMBERS))}"


def text_value_changed(document: BookDocument, rng: random.Random) -> None:
    """A name that is none, or one with odd letters."""
    lines = [lines for _, lines in document.tables if lines]
    if lines:
        chosen = rng.choice(lines)
        at = rng.randrange(len(chosen))
        word = rng.choice(texts.WORDS).replace("\\", "\\\\").replace('"', '\\"')
        chosen[at] = f'{chosen[at].partition("=")[0]}= "{word}"'


def header_changed(document: BookDocument, rng: random.Random) -> None:
    """A header of another form."""
    if document.tables:
        at = rng.randrange(len(document.tables))
        heads = (
            "[inks]",
            "[[paper]]",
            "[a.b.c]",
            "[[night.rule]]",
            "[]",
            "[",
            '["x y"]',
            "[press.x]",
            "[[ inks ]]",
        )
        document.tables[at] = (rng.choice(heads), document.tables[at][1])


def nested(document: BookDocument, rng: random.Random) -> None:
    """Brackets, tables, keys and escapes, many in one another."""
    depth = rng.choice((10, 100, 900, 2000))
    deep = (
        "a = " + "[" * depth + "]" * depth,
        "a = " + "[" * depth,
        "a = " + "{ b = " * depth + "1" + " }" * depth,
        ".".join(["a"] * depth) + " = 1",
        "[" + ".".join(["a"] * depth) + "]",
        "[" + "a " * depth,
        'a = "' + "\\" * depth * 4 + '"',
        'a = "' + '\\"' * depth * 4,
        "# " + "[" * depth + '"' * depth,
        "a = " + '"' * depth,
    )
    document.tables.insert(rng.randint(0, len(document.tables)), ("", [rng.choice(deep)]))


def very_many(document: BookDocument, rng: random.Random) -> None:
    """Thousands of keys, tables or letters."""
    match rng.randrange(4):
        case 0:
            document.tables.append(("", [f"k{number} = 1" for number in range(3000)]))
        case 1:
            document.tables += [("[[tones]]", ['name = "x"'])] * 400
        case 2:
            document.tables.append(("", ['k = "' + "x" * 300_000 + '"']))
        case _:
            document.tables.append(("", ["#" + "y " * 100_000]))


def text_changed(document: BookDocument, rng: random.Random) -> None:
    """Anything that befalls text."""
    document.text_changes.append(rng.getrandbits(32))


def bytes_changed(document: BookDocument, rng: random.Random) -> None:
    """Other line ends, encodings, ends."""
    document.byte_changes.append(rng.getrandbits(32))


DAMAGES = (
    *(table_moved, key_moved, key_strayed, value_changed, value_changed, text_value_changed),
    *(text_value_changed, header_changed, nested, very_many, text_changed, bytes_changed),
)


def write(document: BookDocument, folder: Path, rng: random.Random) -> Asked:
    """The book: read, or with small plates beside it checked, or its inks put to some use."""
    text = "\n\n".join("\n".join((head, *lines)) for head, lines in document.tables) + "\n"
    for seed in document.text_changes:
        text = texts.spoilt(text, random.Random(seed))
    data = text.encode("utf-8", "surrogatepass")
    for seed in document.byte_changes:
        data = texts.bytes_spoilt(data, random.Random(seed))
    (folder / "book.toml").write_bytes(data)
    if rng.random() < 0.45:
        return Asked(call="book", words=("book.toml",))
    write_spread(folder, ("Soot", "Fjord", "Rowan"))
    words = rng.choice(
        (
            ("check", ".", "--to", "out/report"),
            ("check", ".", "--to", "out/report", "--json"),
            ("predict", ".", "--to", "out/print.png"),
            ("mix", "#345", "--json"),
            ("batch", ".", "--engine", "threads", "--workers", "1", "--to", "out/reports"),
            ("sheet", ".", "--to", "out/sheet.csv"),
        )
    )
    return Asked(call="command", words=words, cpu_s=6)
