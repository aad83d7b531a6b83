"""What the white of a picture stands for, and the words by which a picture says it.

A picture of a print holds the colour of its paper, and its white is that of the screen: its
colours are absolute. A drawing's white is the bare paper, whatever that looks like: its colours are
relative to the paper.
"""

ABSOLUTE, PAPER = "absolute", "paper"

WHITES = (PAPER, ABSOLUTE)

DESCRIPTIONS = {
    ABSOLUTE: "Colours of a predicted print, absolute: the paper's own colour is in them.",
    PAPER: "Colours of a predicted print, relative to its paper, which is shown as white.",
}
"""What stands in the pictures that are written here, as their description."""

_WHITE_OF = {description: white for white, description in DESCRIPTIONS.items()}


def told_white(description: object) -> str | None:
    """What a picture's white stands for by its description; None where that does not say it.

    >>> told_white(DESCRIPTIONS[PAPER]), told_white("a boat")
    ('paper', None)
    """
    return _WHITE_OF.get(str(description).strip("\0 "))
