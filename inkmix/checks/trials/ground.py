"""What remedies are tried on: the plates by name, the sheet, the ink limit."""

from dataclasses import dataclass

from inkmix.sheet.geometry import Sheet


@dataclass(frozen=True, slots=True, kw_only=True)
class TrialGround:
    """The plates by name in the order of the planes, the sheet, the limit.

    Parameters
    ----------
    printed_from : tuple of int
        For each plane, the first one that is printed from the same plate; empty: each its own.
    """

    plates: tuple[str, ...]
    sheet: Sheet
    ink_limit_pct: float | None
    printed_from: tuple[int, ...] = ()
