"""How well the press model predicts a measured chart, and what speaks against the paper told."""

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from inkmix.colour.measured.table import MeasurementTable
from inkmix.press.constants import PAPER_CLASSES
from inkmix.press.papers import USUAL_L
from inkmix.press.scoring.chart import read_chart
from inkmix.press.scoring.score import score_table
from inkmix.press.swatches.files import read_measurements

_ABOUT_PAPER = ("DESCRIPTOR", "PRINT_CONDITIONS", "PAPER", "SUBSTRATE")
"""Keywords of CGATS files in which charts tell their paper."""


def score_chart(
    file: str | Path,
    *,
    known: str,
    paper_class: str = "coated",
    order: str | None = None,
    extra: int = 0,
) -> dict[str, Any]:
    """Tell the press model part of a measured chart, and score what it predicts of the rest.

    Parameters
    ----------
    file : path
        A characterization chart of two to eight inks as CGATS text: tone values, and XYZ or Lab at
        D50, or spectra.
    known : {"solids", "ramps", "pairs", "overprints"}
        What the model is told: the paper and each solid; also the tints of single inks; also the
        solids of two inks; also all other solid overprints.
    paper_class : str
        "coated", "light-coated", "supercalendered", "uncoated" or "newsprint".
    order : str or None
        Inks in lay-down order: letters, or names separated by commas. None: as the chart states it,
        or else a likely one.
    extra : int
        Mixtures told besides, 0-300: those that the model learns most from.

    Returns
    -------
    dict
        "data_set"; what was told: "known", "extra", "paper", "order", "order_told", "order_by",
        "inks", "told_besides"; "patches", how many were predicted; how far off these are: "de00"
        and "dark" (the darkest fifth) by "mean", "p95" and the like, "by_inks" for each number of
        inks, "inside" (shares 0-1 within the stated error), "worst"; "screen_multiply", the same of
        layers multiplied on a screen; and "notes", sentences on what is odd.

    Raises
    ------
    MeasurementError
        A chart that cannot be read or scored.
    UsageError
        What cannot be told of it.

    Examples
    --------
    ::

        score = inkmix.score_chart("chart.txt", known="ramps")
        assert score["de00"]["mean"] < score["screen_multiply"]["de00"]["mean"]
    """
    table = read_measurements(file)
    result = score_table(table, known=known, paper_class=paper_class, order=order, extra=extra)
    return result | {"notes": [*result["notes"], *notes_on_paper(table, paper_class)]}


def notes_on_paper(table: MeasurementTable, paper_class: str) -> Iterator[str]:
    """What in the chart speaks against the class of paper that was told, or taken."""
    words = " ".join(table.keywords.get(key, "") for key in _ABOUT_PAPER)
    says = _class_in_words(words)
    if says not in (None, paper_class):
        yield f"the chart says {says} paper, {paper_class} was taken: is --paper {says} meant?"
    chart = read_chart(table)
    lightness = float(chart.lab[(chart.tone_pct == 0).all(axis=1), 0].mean())
    low, high = USUAL_L[paper_class]
    if not low <= lightness <= high:
        yield (
            f"the bare paper has L* {lightness:.0f}, where {paper_class} papers have some "
            f"{low} to {high}: is --paper right?"
        )


def _class_in_words(text: str) -> str | None:
    """The class of paper that a chart's description names; the longest name counts."""
    words = text.lower()
    named = [name for name in PAPER_CLASSES if re.search(rf"(?<![a-z]){name}(?![a-z])", words)]
    return max(named, key=len, default=None)
