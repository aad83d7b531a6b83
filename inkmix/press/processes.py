"""Printing processes: their usual limits, which a printer may always overrule.

Only figures of a process as a whole belong here, each with how certain it is; what an ink or a
paper does is measured. A limit nobody can state is None, never a guess.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from inkmix.base.errors import Fault, ModelError


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


# Ink limits. Sheet-fed and web offset: published separation aims of 330 or 300 % for FOGRA39 and
# 300 % for FOGRA51, 52 and 47; trade averages of 300-320 % heat-set and 240-260 % coldset.
# Newsprint: ISO 12647-3, at most 240 %. Stencil: no standard exists. Screen print dries between
# colours, so the sum of tone values says little. Register: ISO 12647-2 asks 0.08 mm of one pass,
# 0.12 mm on large sheets (from memory), newsprint 0.2-0.3 mm; the rest is common practice without
# a source, as is every edge growth. Tones 3-97 %: ISO 12647-2:2004.
PROCESSES: Mapping[str, Process] = MappingProxyType({
    "sheet-fed offset": Process(
        name="sheet-fed offset",
        ink_limit_pct=MappingProxyType({
            "coated": 330, "light-coated": 300, "supercalendered": 300, "uncoated": 300,
            "newsprint": 240,
        }),
        edge_growth_mm=0.010, register_mm=0.12, min_tone_pct=3, max_tone_pct=97, min_line_mm=0.09,
        dries_between=False, proven=True,
    ),
    "web offset": Process(
        name="web offset",
        ink_limit_pct=MappingProxyType({
            "coated": 300, "light-coated": 300, "supercalendered": 270, "uncoated": 260,
            "newsprint": 240,
        }),
        edge_growth_mm=0.012, register_mm=0.15, min_tone_pct=3, max_tone_pct=97, min_line_mm=0.09,
        dries_between=False, proven=True,
    ),
    "newsprint": Process(
        name="newsprint",
        ink_limit_pct=MappingProxyType({
            "coated": 240, "light-coated": 240, "supercalendered": 240, "uncoated": 240,
            "newsprint": 240,
        }),
        edge_growth_mm=0.020, register_mm=0.30, min_tone_pct=3, max_tone_pct=97, min_line_mm=0.15,
        dries_between=False, proven=True,
    ),
    "stencil duplicator": Process(
        name="stencil duplicator",
        ink_limit_pct=None,
        edge_growth_mm=0.030, register_mm=1.0, min_tone_pct=5, max_tone_pct=85, min_line_mm=0.18,
        dries_between=False, proven=False,
    ),
    "screen print": Process(
        name="screen print",
        ink_limit_pct=None,
        edge_growth_mm=0.050, register_mm=0.5, min_tone_pct=6, max_tone_pct=90, min_line_mm=0.18,
        dries_between=True, proven=False,
    ),
})  # fmt: skip


def find_process(name: str) -> Process:
    """The process of that name.

    Raises
    ------
    ModelError
        If there is none.
    """
    if name not in PROCESSES:
        choices = ", ".join(PROCESSES)
        raise ModelError(Fault(where="process", found=repr(name), expected=f"one of {choices}"))
    return PROCESSES[name]
