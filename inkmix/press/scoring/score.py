"""How well the model predicts a measured chart of which it is told only a part.

What is told goes into a press condition; nothing else of the chart may reach it. Only mixtures of
two or more inks that were not told are counted, nor is any copy of one that was. The parts are in
inkmix.press.scoring.
"""

from typing import Any

import numpy as np

from inkmix.base.arrays import BoolArray, FloatArray
from inkmix.base.errors import Fault, MeasurementError
from inkmix.colour.colorimetry import delta_e00, xyz100_to_lab
from inkmix.colour.measured.table import MeasurementTable
from inkmix.press.condition import PressCondition
from inkmix.press.scoring.agreement import disagreement
from inkmix.press.scoring.chart import Chart, read_chart
from inkmix.press.scoring.figures import by_number_of_inks, compare, share_inside, worst_places
from inkmix.press.scoring.inks_as_modelled import inks_taken, notes_on_inks
from inkmix.press.scoring.keywords import stated_order
from inkmix.press.scoring.known_part import proposed_order, tell, told_besides
from inkmix.press.scoring.orders import plates_in_order
from inkmix.press.screen import screen_multiply_xyz100

_WORST = 10


def score_table(
    table: MeasurementTable,
    *,
    known: str,
    paper_class: str,
    order: str | None = None,
    extra: int = 0,
) -> dict[str, Any]:
    """Tell the model a part of a chart, predict the rest, and compare.

    Parameters
    ----------
    known : {"solids", "ramps", "pairs", "overprints"}
        What is told, as in `tell`.
    paper_class : str
    order : str or None
        Lay-down order: names of the plates separated by commas, or one letter each. None: as the
        chart states it, else one is proposed.
    extra : int
        Mixtures told besides, chosen without looking at them.

    Returns
    -------
    dict
        "data_set"; what was told: "known", "extra", "paper", "order", "order_told", "order_by",
        "inks", "told_besides"; "patches" that were predicted; how far off they are: "de00", "dark",
        "by_inks", "inside", "worst", and "screen_multiply" for layers multiplied on a screen; and
        "notes" on what is odd.

    Raises
    ------
    UsageError
        Unknown `known`, too many or too few `extra`, or an order that does not name every plate
        once.
    MeasurementError
        A chart of one ink or more than eight, without colours, bare paper, a solid, or anything
        left to predict.
    ModelError
        Unknown paper class.
    """
    chart = read_chart(table)
    plates, order_by = _order(table, chart, order, paper_class)
    chart = chart.in_order(plates)
    condition, told = tell(chart, known=known, paper_class=paper_class, extra=extra)
    counted = chart.mixed & ~told
    if not counted.any():
        raise MeasurementError(
            Fault(where=chart.source, found="no mixture of inks that is left to predict")
        )
    besides = told_besides(chart, told, known=known)
    return {
        "data_set": table.descriptor or chart.source,
        "known": known,
        "extra": extra,
        "paper": paper_class,
        "order": list(plates),
        "order_told": order_by != "proposed",
        "order_by": order_by,
        "inks": inks_taken(condition),
        "patches": int(counted.sum()),
        **_off(chart, condition, counted),
        "screen_multiply": _off_on_screen(chart, condition, counted),
        "told_besides": [_recipe(chart, tones) for tones in besides],
        "notes": [*_notes_on_readings(table), *notes_on_inks(condition)],
    }


def _order(
    table: MeasurementTable, chart: Chart, order: str | None, paper_class: str
) -> tuple[tuple[str, ...], str]:
    """The lay-down order, and who says so: "told", "chart" or "proposed"."""
    if order is not None:
        return plates_in_order(table, order), "told"
    stated = stated_order(table)
    if stated is not None:
        return stated, "chart"
    return proposed_order(chart, paper_class), "proposed"


def _off(chart: Chart, condition: PressCondition, counted: BoolArray) -> dict[str, Any]:
    """How far the predictions of the counted patches are off."""
    tones, measured = chart.tone_pct[counted], chart.lab[counted]
    predicted, stated = condition.lab(tones), condition.expected_error(tones)
    de00 = delta_e00(predicted, measured)
    _, recipe = chart.recipes()
    places = worst_places(de00, recipe[counted], count=_WORST)
    return {
        **compare(predicted, measured),
        "by_inks": by_number_of_inks(de00, chart.inks_held[counted]),
        "inside": share_inside(predicted, measured, stated),
        "worst": [
            {
                "tone_pct": _recipe(chart, tones[at]),
                "lab_measured": np.round(measured[at], 2).tolist(),
                "lab_predicted": np.round(predicted[at], 2).tolist(),
                "de00": round(float(de00[at]), 4),
                "expected_de00": round(float(stated.de00[at]), 4),
            }
            for at in places
        ],
    }


def _off_on_screen(
    chart: Chart, condition: PressCondition, counted: BoolArray
) -> dict[str, dict[str, float]]:
    """The same figures for layers multiplied on a screen."""
    on_screen = screen_multiply_xyz100(
        chart.tone_pct[counted],
        solids_xyz100=[ink.solid_xyz100 for ink in condition.inks],
        paper_xyz100=condition.paper.xyz100,
    )
    return compare(xyz100_to_lab(on_screen), chart.lab[counted])


def _recipe(chart: Chart, tone_pct: FloatArray) -> dict[str, float]:
    """Tone values by name of the inks that are there."""
    return {
        name: round(float(tone), 4)
        for name, tone in zip(chart.plates, tone_pct, strict=True)
        if tone > 0
    }


def _notes_on_readings(table: MeasurementTable) -> list[str]:
    found = disagreement(table)
    return [*table.notes, *([] if found is None else [str(found)])]
