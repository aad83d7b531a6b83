"""What spoils text of any grammar: bytes, line ends, odd letters, numbers beyond all measure."""

import random

from fuzz.cases import cut, flipped

NUMBERS = (
    *("0", "-0", "-1", "100", "100.0001", "101", "1e3", "1e308", "1e309", "-1e309", "5e-324"),
    *("nan", "inf", "-inf", "1,5", "1.", ".5", "+3", "1_000", "0x10", "1e", "", "٣", "１２", "--1"),
    *("9" * 30, "9" * 5000, "0." + "3" * 3000, "true", "1979-05-27", "%s", "{}", "$(id)"),
)
"""Numbers, and what is taken for one."""

WORDS = (
    *(
        "",
        " ",
        "\t",
        "é",
        "e\u0301",
        "ﬁ",
        "İ",
        "ß",
        "\u200b",
        "\u202e",
        "\ufeff",
        "😀",
        "𝔖",
        "\x1b[31m",
    ),
    *(
        "\x00",
        "\x07",
        "\x7f",
        "\x85",
        "\u2028",
        "<script>alert(1)</script>",
        "&amp;",
        "a" * 99,
        "a" * 4000,
    ),
    *(
        "../..",
        "/dev/zero",
        "CON",
        "a/b",
        "a\\b",
        "{spread}",
        "{ink}",
        "%n",
        "'; DROP",
        "Soot",
        "soot",
    ),
)
"""Names, and what is none."""


def spoilt(text: str, rng: random.Random) -> str:
    """One change that any text may suffer."""
    return rng.choice((_line_moved, _letter_in, _piece_away, _piece_doubled, _number_in))(text, rng)


def _line_moved(text: str, rng: random.Random) -> str:
    lines = text.split("\n")
    at, other = rng.randrange(len(lines)), rng.randrange(len(lines))
    match rng.randrange(3):
        case 0:
            del lines[at]
        case 1:
            lines.insert(other, lines[at])
        case _:
            lines[at], lines[other] = lines[other], lines[at]
    return "\n".join(lines)


def _letter_in(text: str, rng: random.Random) -> str:
    at = rng.randint(0, len(text))
    signs = rng.choice((*WORDS, *"\"'[]{}()=,.#\\\n\r\t;:-+@"))
    return text[:at] + signs + text[at:]


def _piece_away(text: str, rng: random.Random) -> str:
    at = rng.randint(0, len(text))
    return text[:at] + text[at + rng.choice((1, 2, 10, 100)) :]


def _piece_doubled(text: str, rng: random.Random) -> str:
    at, size = rng.randint(0, len(text)), rng.choice((1, 5, 50))
    return text[:at] + text[at : at + size] * rng.choice((2, 2, 50, 3000)) + text[at + size :]


def _number_in(text: str, rng: random.Random) -> str:
    places = [at for at, sign in enumerate(text) if sign.isdigit()]
    if not places:
        return text
    at = rng.choice(places)
    return text[:at] + rng.choice(NUMBERS) + text[at + 1 :]


def bytes_spoilt(data: bytes, rng: random.Random) -> bytes:
    """One change of how the text is stored."""
    match rng.randrange(8):
        case 0:
            return flipped(data, rng)
        case 1:
            return cut(data, rng)
        case 2:
            return b"\xef\xbb\xbf" + data
        case 3:
            return data.replace(b"\n", b"\r\n")
        case 4:
            return data.replace(b"\n", b"\r")
        case 5:
            return data.decode("utf-8", "replace").encode("utf-16")
        case 6:
            return data.decode("utf-8", "replace").encode("latin-1", "replace")
        case _:
            return data + rng.choice((b"\0", b"\x1a", b"\xff\xfe", b"\xed\xa0\x80", b"\n" * 2000))
