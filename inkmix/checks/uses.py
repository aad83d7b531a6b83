"""Where a colour that the book names is used on a spread, and what it looks like there.

A check that traces colours gives these; a batch compares those of one name from spread to spread.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from inkmix.sheet.geometry import Place


@dataclass(frozen=True, slots=True, kw_only=True)
class ColourUse:
    """One named colour on one spread.

    Parameters
    ----------
    within_de00 : float
        So near to its mix a pixel counts as a use, if no other named colour and not bare paper is
        nearer.
    area_mm2, area_pct : float
        All such pixels, and their share of the plates; 0 where it is not used.
    areas : int
        Connected areas that are no specks.
    places : tuple of Place
        The largest of them, largest first.
    mean_tone_pct : mapping of ink to float
        Mean tone values of its pixels.
    lab, srgb8 : triples or None
        Mean predicted colour of its pixels; None where it is not used.
    from_mix_de00, from_intended_de00 : float or None
        How far that is from what the mix of the book predicts, and from what was intended.
    out_of_srgb : bool
        Its pixels are compared as a screen can show them.
    picture : str or None
        Key of the picture that shows where it is used.
    limit_de00 : float or None
        The tolerance that the book gives it.
    same_mix_as : str
        The colour named before it that has the very same mix, for which all is counted; else empty.
    """

    name: str
    within_de00: float
    area_mm2: float
    area_pct: float
    areas: int
    places: tuple[Place, ...]
    mean_tone_pct: Mapping[str, float]
    lab: tuple[float, float, float] | None
    srgb8: tuple[int, int, int] | None
    from_mix_de00: float | None
    from_intended_de00: float | None
    out_of_srgb: bool
    picture: str | None = None
    limit_de00: float | None = None
    same_mix_as: str = ""

    @property
    def is_far_from_mix(self) -> bool:
        """Whether it is drawn, on average, farther from its mix than its own limit allows."""
        if self.limit_de00 is None or self.from_mix_de00 is None:
            return False
        return self.from_mix_de00 > self.limit_de00

    @property
    def is_used(self) -> bool:
        """Whether it covers at least one area that is no speck."""
        return self.areas > 0
