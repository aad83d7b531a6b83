"""Take paper, ramps and solid overprints out of the published reference sets in tests/reference/.

Run it to write the three files in swatches/ anew; the same bytes come out each time.
"""

from dataclasses import replace
from pathlib import Path

import numpy as np

from inkmix.colour.measured.cgats import parse_cgats
from inkmix.colour.measured.written_cgats import cgats_text

ROOT = Path(__file__).parents[2]
PAPER_CLASSES = {"fogra39l": "coated", "fogra29l": "uncoated", "tr002": "newsprint"}

NOTICE = (
    "Altered source version: a selection (paper, solids, ramps, solid overprints) of published",
    "characterization data, re-tabulated from a zlib-licensed open collection; every number stands",
    "as published. CMYK in percent, XYZ with Y = 100 for the perfect diffuser, Lab D50 2 degree.",
    "LAY_DOWN_ORDER is presumed (the usual order of offset presses), the sets do not state it.",
)


def chosen(tones):
    """Rows with at most one ink, or with every ink at 0 or 100 %; the first of equal ones."""
    single = (tones > 0).sum(axis=1) <= 1
    solid = np.isin(tones, (0, 100)).all(axis=1)
    rows = np.flatnonzero(single | solid)
    _, first = np.unique(tones[rows], axis=0, return_index=True)
    return rows[np.sort(first)]


def selection(name):
    """The text of one swatch file."""
    table = parse_cgats((ROOT / "tests" / "reference" / f"{name}.txt").read_bytes(), where=name)
    rows = chosen(table.tone_pct)
    words = {
        **table.keywords,
        "PAPER_CLASS": PAPER_CLASSES[name],
        "BLACK": "K",
        "LAY_DOWN_ORDER": "K; C; M; Y",
    }
    small = replace(
        table,
        sample_names=tuple(table.sample_names[row] for row in rows),
        tone_pct=table.tone_pct[rows],
        xyz100=table.xyz100[rows],
        lab=table.lab[rows],
        keywords=words,
    )
    return cgats_text(small, comments=NOTICE)


if __name__ == "__main__":
    for set_name in PAPER_CLASSES:
        path = ROOT / "swatches" / f"{set_name}.txt"
        path.write_text(selection(set_name), encoding="utf-8", newline="\n")
