"""Names as people compare them: whatever their case, and however their accents are stored.

Disks and shells hand out composed letters or decomposed ones (Unicode Standard Annex 15).
"""

import unicodedata
from collections.abc import Iterable


def composed(name: str) -> str:
    """The name in the form that is kept: letters with their accents, NFC."""
    return unicodedata.normalize("NFC", name)


def folded(name: str) -> str:
    """The form in which names are compared, without case.

    Examples
    --------
    >>> folded("Straße") == folded("STRASSE")
    True
    """
    return composed(composed(name).casefold())


def spelling(name: str, known: Iterable[str]) -> str:
    """How a name is spelt among those that are known, whatever its case; itself where it is not.

    >>> spelling("coral", ["Moss", "Coral"]), spelling("Brick", [])
    ('Coral', 'Brick')
    """
    known = tuple(known)
    return name if name in known else next((one for one in known if same_name(one, name)), name)


def same_name(first: str, second: str) -> bool:
    """Whether two names are the same to a person."""
    return folded(first) == folded(second)
