"""Every exception of the package.

One root, builtin parents, and the data that went wrong. A fault says where, what was found, what
was expected and what to do; all faults of one set travel together. Verdicts about a picture are
findings (inkmix.checks), never exceptions.
"""

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One thing that is wrong with an input.

    Parameters
    ----------
    where : str
        File, or file and key path, line or column.
    found : str
        What is there now.
    expected : str
        What should be there; may be empty where `found` says it all.
    do : str
        What the person can do about it; may be empty.
    """

    where: str
    found: str
    expected: str = ""
    do: str = ""

    def __str__(self) -> str:
        text = f"{self.where}: {self.found}"
        if self.expected:
            text += f", but {self.expected}"
        if self.do:
            text += f"; {self.do}"
        return text


@dataclass(frozen=True, slots=True, kw_only=True)
class PassingFault(Fault):
    """It may be gone another time though no file changed: no room, no answer from a disk."""


SAID_FAULTS = 20
"""Of one file; beyond that it is wrong as a whole, and a person has seen enough."""

COUNTED_FAULTS = 1_000
"""Of one file; then reading gives up, and their number is said to be at least that."""


def capped(faults: list[Fault], *, where: str) -> list[Fault]:
    """The first SAID_FAULTS, and the count of the rest as one more."""
    more = len(faults) - SAID_FAULTS
    if more <= 0:
        return faults
    said = f"at least {COUNTED_FAULTS - SAID_FAULTS:,}" if len(faults) >= COUNTED_FAULTS else more
    return [*faults[:SAID_FAULTS], Fault(where=where, found=f"and {said} more")]


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangedFault(PassingFault):
    """A file was not what it was before; another try may find it at rest."""


class InkmixError(Exception):
    """Root of all errors; carries every fault found, and the exit code of the command line."""

    exit_code = 2

    def __init__(self, faults: Fault | Iterable[Fault]) -> None:
        self.faults: tuple[Fault, ...] = (faults,) if isinstance(faults, Fault) else tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))


class UsageError(InkmixError, ValueError):
    """The command was asked for something it cannot do."""


class BookError(InkmixError, ValueError):
    """The book file is wrong."""


class SwatchError(InkmixError, LookupError):
    """No swatch of that name."""


class ModelError(InkmixError, ValueError):
    """Inks, paper or process cannot be put together into a press condition."""


class OutputError(InkmixError, OSError):
    """A result cannot be written."""


class MeasurementError(InkmixError, ValueError):
    """A measurement file cannot be read."""

    exit_code = 3


class PlateError(InkmixError, ValueError):
    """A plate, or a set of plates, cannot be used."""

    exit_code = 3


class PictureError(InkmixError, ValueError):
    """A mask or a reference picture cannot be used."""

    exit_code = 3
