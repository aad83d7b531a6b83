"""The mixes of a press condition that come nearest to a colour, or go darkest."""

from inkmix.mixes.darkest import darkest_mix, darkest_mixes
from inkmix.mixes.nearest import exact_mix, found_for_all, nearest_mix, nearest_mixes, reach
from inkmix.mixes.values import Aims, Found, Mix, Reached, mix_of

__all__ = [
    "Aims",
    "Found",
    "Mix",
    "Reached",
    "darkest_mix",
    "darkest_mixes",
    "exact_mix",
    "found_for_all",
    "mix_of",
    "nearest_mix",
    "nearest_mixes",
    "reach",
]
