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

FORM_SHEET_MM = Range(what="sheet", low=20, high=2000, unit="mm")
"""Side of the sheet of a test form."""

FORM_SEED = Range(what="random", low=0, high=2**32 - 1, whole=True)

FORM_REPEATS = Range(what="repeats", low=1, high=6, whole=True)
"""More of one patch tell nothing new of the press."""
