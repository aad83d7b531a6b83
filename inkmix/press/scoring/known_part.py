"""What the model is told of a chart: a part of it as a press condition.

Nothing else of the chart may reach the condition. Equal recipes are copies: what is told of one is
told of all.
"""

from dataclasses import replace

import numpy as np

from inkmix.base.arguments import Range, one_of
from inkmix.base.arrays import BoolArray, FloatArray
from inkmix.base.errors import Fault, MeasurementError, UsageError
from inkmix.press.condition import PressCondition, press_condition
from inkmix.press.inks import Ink, Paper, ink_from_ramp
from inkmix.press.order import lay_down_order
from inkmix.press.patches import Patches, solid_row
from inkmix.press.processes import PROCESSES
from inkmix.press.scoring.chart import Chart
from inkmix.press.scoring.choosing import may_be_told, mixtures_to_tell

#: What the model may be told of a chart, least first.
KNOWN = ("solids", "ramps", "pairs", "overprints")
#: More mixtures told besides are a chart of their own, and take long to choose.
MAX_EXTRA = 300


def tell(
    chart: Chart, *, known: str, paper_class: str, extra: int = 0
) -> tuple[PressCondition, BoolArray]:
    """A press condition that knows only a part of a chart, and which patches (N,) that part is.

    Parameters
    ----------
    known : {"solids", "ramps", "pairs", "overprints"}
        Paper and 100 % solids; also all single-ink tints; also all solids of two inks; also all
        other solid overprints.
    paper_class : str
    extra : int
        Mixtures of at most four inks told besides, chosen by what the model holds uncertain.
    """
    one_of(known, KNOWN, what="known")
    Range(what="extra", low=0, high=MAX_EXTRA, whole=True).refuse(extra)
    told = _told(chart, known)
    paper, inks = paper_of(chart, paper_class), _inks(chart, told, paper_class)
    condition = _condition(chart, told, paper, inks)
    if extra:
        told = told | _chosen(chart, told, condition, count=extra)
        condition = _condition(chart, told, paper, inks)
    return condition, told


def told_besides(chart: Chart, told: BoolArray, *, known: str) -> FloatArray:
    """Recipes (K, I) that were chosen, each once."""
    return np.unique(chart.tone_pct[told & ~_told(chart, known)], axis=0)


def proposed_order(chart: Chart, paper_class: str) -> tuple[str, ...]:
    """The plates in the lay-down order that is taken where nobody told one, by their solids."""
    solids = _told(chart, "solids")
    order = lay_down_order(_inks(chart, solids, paper_class), paper_of(chart, paper_class))
    return tuple(chart.plates[at] for at in order)


def paper_of(chart: Chart, paper_class: str) -> Paper:
    """The bare paper of a chart.

    Raises
    ------
    MeasurementError
        The chart has no bare paper, or of an ink no solid; all that is missing at once.
    """
    faults = _missing(chart)
    if faults:
        raise MeasurementError(faults)
    xyz100, spectrum = chart.mean_of(chart.bare)
    return Paper(
        name=chart.source,
        paper_class=paper_class,
        xyz100=xyz100,
        reflectance=spectrum,
        source=chart.source,
    )


def _missing(chart: Chart) -> list[Fault]:
    """What the model must be told and the chart lacks."""
    faults = []
    if not chart.bare.any():
        faults.append(Fault(where=chart.source, found="no patch of bare paper"))
    for i, name in enumerate(chart.plates):
        if not chart.solids_of(i).any():
            faults.append(Fault(where=chart.source, found=f"no 100 % patch of {name} alone"))
    return faults


def _told(chart: Chart, known: str) -> BoolArray:
    """Which patches (N,) the model is told."""
    solid, _ = solid_row(chart.tone_pct)
    most_inks = {"solids": 1, "ramps": 1, "pairs": 2, "overprints": len(chart.plates)}[known]
    told = solid & (chart.inks_held <= most_inks)
    return told if known == "solids" else told | ~chart.mixed


def _chosen(chart: Chart, told: BoolArray, condition: PressCondition, *, count: int) -> BoolArray:
    """Patches (N,) of the recipes that are told besides."""
    recipes, index = chart.recipes()
    known = np.zeros(len(recipes), dtype=np.bool_)
    known[index[told]] = True
    there = int(may_be_told(recipes, known).sum())
    if count > there:
        raise UsageError(
            Fault(
                where="extra",
                found=f"{count}",
                expected=f"{chart.source} has {there or 'no'} mixtures of two to four inks, tints "
                "among them, that are not told already",
                do="ask for fewer, so that some are left to predict" if there else "ask for none",
            )
        )
    picked = mixtures_to_tell(condition.model, recipes, known, count=count)
    return np.isin(index, picked)


def _condition(
    chart: Chart, told: BoolArray, paper: Paper, inks: tuple[Ink, ...]
) -> PressCondition:
    rows = told & chart.mixed
    patches = None
    if rows.any():
        patches = Patches(tone_pct=chart.tone_pct[rows], xyz100=chart.xyz100[rows])
    return press_condition(paper, inks, process=PROCESSES["sheet-fed offset"], patches=patches)


def _inks(chart: Chart, told: BoolArray, paper_class: str) -> tuple[Ink, ...]:
    paper = paper_of(chart, paper_class)
    return tuple(_ink(chart, told, plate=i, paper=paper) for i in range(len(chart.plates)))


def _ink(chart: Chart, told: BoolArray, *, plate: int, paper: Paper) -> Ink:
    """One ink from its told patches; repeats of a tone value are averaged."""
    rows = told & chart.alone(plate)
    tones = np.unique(chart.tone_pct[rows, plate])
    means = [chart.mean_of(rows & (chart.tone_pct[:, plate] == tone)) for tone in tones]
    spectra = [spectrum for _, spectrum in means if spectrum is not None]
    ink = ink_from_ramp(
        chart.plates[plate],
        tone_pct=tones,
        xyz100=np.stack([xyz100 for xyz100, _ in means]),
        reflectance=np.stack(spectra) if spectra else None,
        paper=paper,
        source=chart.source,
    )
    return replace(ink, opacity=chart.opacity.get(ink.name))
