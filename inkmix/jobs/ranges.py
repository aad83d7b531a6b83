"""The numbers that jobs take: jobs refuse what lies outside, commands show the same in their help.

Nothing is loaded for it, so that --help stays quick.
"""

from inkmix.base.arguments import Range

MIXES = Range(what="most", low=1, high=50, whole=True)
"""Of a colour, or darkest ones: more than anybody compares."""

WORKERS = Range(what="workers", low=1, high=256, whole=True)

PREVIEW_PX = Range(what="longest_px", low=1, high=10_000, whole=True)
"""Larger ones are pictures, which `predict_spread` writes window by window."""

SHEET_PPI = Range(what="ppi", low=36, high=600, unit="ppi")
"""Of an overprint sheet as PNG."""

TRIES = Range(what="tries", low=1, high=100, whole=True)
