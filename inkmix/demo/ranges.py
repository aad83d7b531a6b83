"""The numbers that the demo takes."""

from inkmix.base.arguments import Range

PPI = Range(what="ppi", low=20, high=1200, unit="ppi")
"""At 900 a plate has 173 million pixels."""

SEED = Range(what="seed", low=0, high=2**32 - 1, whole=True)
"""More places than there are pixels."""
