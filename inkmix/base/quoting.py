"""What other people wrote, quoted in messages: on one line, cut short, and without signs that act.

Here belongs how input is shown and guessed at; nothing is read, and nothing is refused here. Every
function looks at a bounded part of what it is given, so that a message costs no more than a line.
"""

from collections.abc import Collection, Iterable
from difflib import get_close_matches
from itertools import islice

from inkmix.base.plain_text import ACTING, kind_of_sign, plain_line

SHOWN = 60
"""Characters of a quoted text: as many as fit beside the rest of a sentence."""

LISTED = 20
"""Names one after the other, before they are counted only."""

_LONGEST_WORD, _MOST_WORDS = 100, 200  # that are compared; a comparison takes their product


def clipped(text: str, most: int = SHOWN) -> str:
    """The text on one line, at most that many characters.

    Blanks of any kind are shown as one blank each, signs that cannot be seen as escapes.

    Examples
    --------
    >>> clipped("Soot\\t\\x1b[31m" + 80 * "x", most=20)
    'Soot \\\\x1b[31mxxxx...'
    """
    first = text[: most + 1]
    shown = first if first.isprintable() else "".join(map(_visible, first))
    return shown if len(shown) <= most else f"{shown[: most - 3]}..."


def harmless(text: str) -> str:
    """The whole text without signs that act on a screen, for what is kept and not only shown."""
    if text.isprintable():
        return text
    return ACTING.sub(lambda found: _visible(found[0]), text)


def quoted(text: str, most: int = SHOWN) -> str:
    """The clipped text in double quotes."""
    return f'"{clipped(text, most)}"'


def listed(names: Collection[str], most: int = LISTED) -> str:
    """Names one after the other, and how many more there are."""
    first = ", ".join(map(clipped, islice(names, most)))
    more = len(names) - most
    return f"{first} and {more:,} more" if more > 0 else first


def nearest(word: str, known: Iterable[str], *, cutoff: float = 0.6) -> str | None:
    """The known name that was probably meant, whatever its case; None where none is near.

    Words of more than 100 characters are near none, and 200 names are compared at most.
    """
    if len(word) > _LONGEST_WORD:
        return None
    names = (name for name in islice(known, _MOST_WORDS) if len(name) <= _LONGEST_WORD)
    by_case = {name.casefold(): name for name in names}
    near = get_close_matches(word.casefold(), by_case, n=1, cutoff=cutoff)
    return by_case[near[0]] if near else None


def acting_sign(text: str, *, allowed: str = "") -> str:
    """The first sign that acts on a screen and is never seen, in words; empty if there is none.

    Such are the control characters C0 and C1, the line and paragraph separators, and those that
    turn the direction of what follows (Unicode Standard Annex 9, section 2). Marks and joiners that
    Hebrew, Arabic or Hindi need are none of them.

    Examples
    --------
    >>> acting_sign("Soot\\n"), acting_sign("Ruß, 墨, سخام")
    ('a line break (U+000A)', '')
    """
    signs = (found[0] for found in ACTING.finditer(text))
    found = next((sign for sign in signs if sign not in allowed), None)
    return "" if found is None else f"{kind_of_sign(found)} (U+{ord(found):04X})"


def _visible(sign: str) -> str:
    return " " if sign.isspace() else plain_line(sign)
