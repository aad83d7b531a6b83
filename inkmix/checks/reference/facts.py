"""How far the print is from a reference picture, as plain values."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class ReferencePixels:
    """Comparison pixel by pixel with a reference picture of the plates' size."""

    ppi: float
    mean_de00: float
    p95_de00: float
    max_de00: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ReferenceFacts:
    """Comparison with a reference picture of the whole, at the size of the map."""

    file: str
    mean_de00: float
    p95_de00: float
    max_de00: float
    map_ppi: float
    picture: str
    pixels: ReferencePixels | None = None
