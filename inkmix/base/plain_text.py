r"""Text that somebody else wrote, made safe to be shown: nothing in it moves a cursor or hides.

Names of files and folders, titles, and words out of files may hold anything. A terminal obeys
control characters, Unicode's marks of direction let a line read other than it is, and some
characters are not seen at all. Such ones are shown as escapes, \x1b or \u202e. Letters of every
script, accents, joiners and spaces of every width stay as they are.
"""

import json
import re

# Signs that act on a screen, by what they are called; the first that fits counts.
_ACTING = (
    ("a line break", "\n\r\x0b\x0c\x85\u2028\u2029"),
    ("a tab", "\t"),
    ("a control character", "\x00-\x1f\x7f-\x9f"),  # C0 and C1 (Unicode: Cc)
    (
        "a character that changes the direction of writing",
        "\u202a-\u202e\u2066-\u2069",
    ),  # UAX 9
)
_HIDDEN = (
    "\u061c\u200e\u200f"  # marks of direction (UAX 9, section 2)
    "\u200b\u2060-\u2065\u206a-\u206f\ufeff\ufff9-\ufffb\U000e0000-\U000e0fff"  # not seen
    "\ud800-\udfff"  # halves of characters: bytes of names that are no UTF-8 are held as such
)
ACTING = re.compile(f"[{''.join(signs for _, signs in _ACTING)}]")
"""What is refused where a name or a word is expected."""
_UNSAFE = re.compile(f"{ACTING.pattern[:-1]}{_HIDDEN}]")
_UNSAFE_IN_COLOUR = re.compile(rf"(?!\x1b\[[0-9;]*m){_UNSAFE.pattern}")


def plain_text(text: str, *, keep: str = "\n\t", colour: bool = False) -> str:
    r"""Text in which what would be obeyed, or would not be seen, stands as escapes.

    Parameters
    ----------
    keep : str
        Characters that may stay.
    colour : bool
        Whether changes of colour (SGR of ISO/IEC 6429) may stay, too.

    Examples
    --------
    >>> print(plain_text("night\x1b[2J"))
    night\x1b[2J
    """
    unsafe = _UNSAFE_IN_COLOUR if colour else _UNSAFE
    return unsafe.sub(lambda found: found[0] if found[0] in keep else _escaped(found[0]), text)


def plain_line(text: str) -> str:
    """The same in one line, whatever was in it."""
    return plain_text(text, keep="")


def kind_of_sign(sign: str) -> str:
    """What a sign that acts is called."""
    return next(kind for kind, signs in _ACTING if re.match(f"[{signs}]", sign))


def plain_json(text: str) -> str:
    r"""JSON that any terminal and any encoding takes; it means the same as before.

    Examples
    --------
    >>> print(plain_json('"\x9b1m\udcff"'))
    "\u009b1m\udcff"
    """
    return _UNSAFE.sub(_in_json, text)


def _in_json(found: "re.Match[str]") -> str:
    """Line ends stay, for outside of strings there may be some; in them JSON holds none."""
    sign = found[0]
    return sign if sign == "\n" else json.dumps(sign)[1:-1]


def _escaped(sign: str) -> str:
    r"""A character as \x1b, \u202e or \U000e0001; a byte that is no UTF-8 as \xff."""
    point = ord(sign)
    if 0xDC80 <= point <= 0xDCFF:  # how Python holds such a byte in a file's name
        point -= 0xDC00
    if point <= 0xFF:
        return f"\\x{point:02x}"
    return f"\\u{point:04x}" if point <= 0xFFFF else f"\\U{point:08x}"
