"""What is kept of the correction of a night, to be made again on fresh exports of the plates.

Plain values only; what follows from the plates as they are (lights, fading) is found anew.
"""

from dataclasses import dataclass, replace

from inkmix.base.words import listing
from inkmix.checks.mending.curve import ToneCurve


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What a night must become.

    Parameters
    ----------
    area : str
        Name of the night area.
    limit_L : float
        Lighter pixels count as too light: the limit, less the expected error where that may be
        gone by.
    lightest_L : float
        What curves come down to, a little darker where a first try was not enough.
    share_pct : float
        Share of the area that must reach it.
    ink_limit_pct : float or None
        Total ink that curves are held to.
    allowed_L : float or None
        Limit of the book by then; None where a recipe does not say.
    """

    area: str
    limit_L: float
    lightest_L: float
    share_pct: float
    ink_limit_pct: float | None
    allowed_L: float | None = None

    def at_most(self, *, allowed_L: float, share_pct: float) -> "Wanted":
        """The same, but no darker, and on no larger share, than a book asks now."""
        lighter_L = 0.0 if self.allowed_L is None else max(0.0, allowed_L - self.allowed_L)
        return replace(
            self,
            limit_L=self.limit_L + lighter_L,
            lightest_L=self.lightest_L + lighter_L,
            share_pct=min(share_pct, self.share_pct),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class NightRecipe:
    """Curves for one night area.

    Parameters
    ----------
    wanted : Wanted
        What they were made for.
    curves : tuple of ToneCurve
        One for each plate that changes.
    lights_pct : float
        So much of what may stay light is kept for lights, 0-100; the rest is for what fades.
    """

    wanted: Wanted
    curves: tuple[ToneCurve, ...]
    lights_pct: float

    def __post_init__(self) -> None:
        plates = [curve.plate for curve in self.curves]
        if twice := [plate for plate in dict.fromkeys(plates) if plates.count(plate) > 1]:
            raise ValueError(f"has several curves for {listing(twice)}; a plate has one")

    @property
    def area(self) -> str:
        """Name of the night area."""
        return self.wanted.area


@dataclass(frozen=True, slots=True, kw_only=True)
class Unfit:
    """Why a recipe cannot be made again.

    Parameters
    ----------
    area : str
        Name of the night area.
    plates : tuple of str
        Plates of its curves that are missing, or made of dots now.
    is_empty : bool
        Whether the area has no pixels any more.
    """

    area: str
    plates: tuple[str, ...] = ()
    is_empty: bool = False
