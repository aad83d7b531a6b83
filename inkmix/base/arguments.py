"""What a caller hands to a function: paths, names, numbers, looked at where they come in.

Here belongs what is said of a value of the wrong kind or out of range; `where` is what both a
person at the command line and one who writes Python call it.
"""

import os
from collections.abc import Iterable
from dataclasses import dataclass
from numbers import Integral, Real
from pathlib import Path

from inkmix.base.errors import Fault, UsageError
from inkmix.base.quoting import clipped


@dataclass(frozen=True, slots=True, kw_only=True)
class Range:
    """The numbers that something may be, both ends allowed; whole ones only where `whole`."""

    what: str
    low: float
    high: float
    unit: str = ""
    whole: bool = False

    def faults(self, number: object) -> tuple[Fault, ...]:
        """What is wrong with a number; infinite ones and none at all lie in no range."""
        kind = Integral if self.whole else Real
        right = isinstance(number, kind) and not isinstance(number, bool)
        if right and self.low <= number <= self.high:  # type: ignore[operator]
            return ()
        return (Fault(where=self.what, found=f"is {_shown(number)}", expected=self._needed),)

    def refuse(self, number: object) -> None:
        """Refuse what does not lie in it.

        Raises
        ------
        UsageError
            Saying the range.
        """
        if faults := self.faults(number):
            raise UsageError(faults)

    @property
    def _needed(self) -> str:
        kind = "a whole number" if self.whole else "a number"
        return f"it must be {kind} from {self.low:g} to {self.high:g} {self.unit}".rstrip()


def path_of(told: object, *, what: str) -> Path:
    """The path that a text or a path means.

    Raises
    ------
    UsageError
        For anything else.
    """
    if isinstance(told, str | os.PathLike):
        return Path(told)
    raise _wrong(what, told, "a path")


def text_of(told: object, *, what: str) -> str:
    """The text itself.

    Raises
    ------
    UsageError
        For anything else.
    """
    if isinstance(told, str):
        return told
    raise _wrong(what, told, "a text")


def names_of(told: object, *, what: str) -> tuple[str, ...]:
    """Names, of which one may stand alone.

    Raises
    ------
    UsageError
        For what is no text.
    """
    if isinstance(told, str):
        return (told,)
    if isinstance(told, Iterable):
        return tuple(text_of(one, what=what) for one in told)
    raise _wrong(what, told, "a name, or a list of names,")


def one_of(told: object, words: Iterable[str], *, what: str) -> None:
    """Refuse what is none of these words.

    Raises
    ------
    UsageError
        Saying them all.
    """
    if told not in (known := tuple(words)):
        expected = f"it must be one of {', '.join(known)}"
        raise UsageError(Fault(where=what, found=f"is {_shown(told)}", expected=expected))


def _wrong(what: str, told: object, needed: str) -> UsageError:
    expected = f"{needed} is needed"
    return UsageError(Fault(where=what, found=f"is {_shown(told)}", expected=expected))


def _shown(told: object) -> str:
    """As a person would write it: text in double quotes, so that "1" is not taken for 1."""
    if isinstance(told, float):
        return f"{told:g}"
    return f'"{clipped(told)}"' if isinstance(told, str) else clipped(repr(told))
