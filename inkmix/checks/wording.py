"""What the checks say alike: whose word the ink limit is, and what unsure means.

How numbers, mixes and lists are said stands in `base/words.py`, places in `sheet/places.py`.
"""

from inkmix.base.words import percent

UNSURE_MEANS = (
    "“unsure” means: nobody can tell before printing. The value lies so near its limit that the "
    "print may come out on either side of it, or it rests on an ink or a process without "
    "measurements. Move away from the limit by more than the expected error, or ask your printer "
    "for a test strip or measured inks."
)

_WHOSE = {
    "printer": "the printer allows {limit}",
    "user": "the book allows {limit}",
    "process default": "up to {limit} is usual for this process and paper (ask your printer)",
    "guessed": "up to {limit} is usual for the process and the paper that were guessed",
    "asked": "at most {limit}, as asked",
}


def allowed_ink(limit_pct: float | None, whose: str) -> str:
    """The ink limit and whose word it is."""
    if limit_pct is None:
        return "no ink limit is given"
    return _WHOSE.get(whose, _WHOSE["user"]).format(limit=percent(limit_pct))
