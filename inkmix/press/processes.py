"""Printing processes: their usual limits, which a printer may always overrule.

Only figures of a process as a whole belong here, out of constants.toml; what an ink or a paper does
is measured. A limit nobody can state is None, never a guess.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from inkmix.base.errors import Fault, ModelError
from inkmix.base.quoting import quoted
from inkmix.press.constants import MODEL


@dataclass(frozen=True, slots=True, kw_only=True)
class Process:
    """What a process usually holds.

    Parameters
    ----------
    name : str
    ink_limit_pct : mapping of str to float, or None
        Greatest total ink by paper class, %; None where no limit is known. A paper class that is
        missing has none either.
    edge_growth_mm : float
        By how much the edge of a dot of a finished bitmap grows on the sheet.
    register_mm : float
        How far two plates may lie apart.
    min_tone_pct, max_tone_pct : float
        Tone values that hold; below the dots are lost, above they close.
    min_line_mm : float
        Thinnest positive line of one ink.
    dries_between : bool
        Whether an ink is dry when the next is printed.
    proven : bool
        Whether the model was tried on prints of this process.
    """

    name: str
    ink_limit_pct: Mapping[str, float] | None
    edge_growth_mm: float
    register_mm: float
    min_tone_pct: float
    max_tone_pct: float
    min_line_mm: float
    dries_between: bool
    proven: bool


PROCESSES: Mapping[str, Process] = MappingProxyType(
    {
        name: Process(**{"name": name, "ink_limit_pct": None, **told})
        for name, told in MODEL.process.items()
    }
)


def find_process(name: str) -> Process:
    """The process of that name.

    Raises
    ------
    ModelError
        If there is none.
    """
    if name not in PROCESSES:
        choices = ", ".join(PROCESSES)
        raise ModelError(
            Fault(
                where="process", found=f"is {quoted(name)}", expected=f"it must be one of {choices}"
            )
        )
    return PROCESSES[name]
