"""Papers, inks and measured overprints taken out of a measured table.

Here belongs what a chart says about the things a press condition is made of; where the table came
from, a file of the user's or a swatch, must not matter. Repeated patches are averaged.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from inkmix.base.arrays import FloatArray
from inkmix.base.errors import COUNTED_FAULTS, Fault, MeasurementError, capped
from inkmix.base.quoting import clipped
from inkmix.colour.measured.table import (
    MeasurementTable,
    colours_xyz100,
    overprint_rows,
    paper_rows,
    ramp_rows,
)
from inkmix.press.inks import Ink, Paper, ink_from_density, ink_from_ramp
from inkmix.press.patches import Patches
from inkmix.press.scoring.keywords import no_such_ink, stated_opacity, words_of

_DESCRIBED = 300  # characters of what a chart calls itself; published ones take up to 200


def has_paper(table: MeasurementTable) -> bool:
    """Whether the chart has a patch of bare paper whose colour was measured."""
    return table.has_colour and len(paper_rows(table)) > 0


def paper_from_table(table: MeasurementTable, *, name: str, paper_class: str = "") -> Paper:
    """The bare paper of a chart.

    Parameters
    ----------
    paper_class : str
        As the caller knows it; else the chart's own keyword PAPER_CLASS.

    Raises
    ------
    MeasurementError
        No patch without ink, or nobody says which class of paper it is.
    """
    kind = paper_class or table.keywords.get("PAPER_CLASS", "")
    if not kind:
        raise MeasurementError(_no_class(table))
    if not has_paper(table):
        raise MeasurementError(_no_paper(table))
    rows = paper_rows(table)
    return Paper(
        name=name,
        paper_class=kind,
        xyz100=colours_xyz100(table)[rows].mean(axis=0),
        reflectance=None if table.reflectance is None else table.reflectance[rows].mean(axis=0),
        source=described(table),
    )


def ink_from_table(table: MeasurementTable, column: str, *, paper: Paper, name: str = "") -> Ink:
    """One ink of a chart: its ramp, its solid alone, or densities of its solid.

    Parameters
    ----------
    column : str
        Name of the ink in the chart: C, M, Y, K, 1, 2 ..., or its own name.
    paper : Paper
        Used if the chart has no bare paper of its own, and for the class of that.
    name : str
        Name of the ink from here on; empty for the chart's.

    Raises
    ------
    MeasurementError
        The chart has no such ink, or not its solid.
    """
    if column not in table.plates:
        raise MeasurementError(no_such_ink(table, "", column))
    rows = ramp_rows(table, column)
    tones = table.tone_pct[rows, table.plates.index(column)]
    if not len(rows) or tones[-1] != 100:
        raise MeasurementError(_no_solid(table, column))
    if not table.has_colour:
        dense = _ink_from_densities(table, int(rows[-1]), name=name or column, paper=paper)
        return _with_keywords(dense, table, column)
    own = paper
    if has_paper(table):
        own = paper_from_table(table, name=paper.name, paper_class=paper.paper_class)
    steps, group = np.unique(tones, return_inverse=True)
    ink = ink_from_ramp(
        name or column,
        tone_pct=steps,
        xyz100=_means(colours_xyz100(table)[rows], group),
        reflectance=None if table.reflectance is None else _means(table.reflectance[rows], group),
        paper=own,
        source=described(table),
    )
    return _with_keywords(ink, table, column)


def patches_from_table(
    table: MeasurementTable, columns: Sequence[str | None], *, noise: str = "single sheet"
) -> Patches | None:
    """The chart's mixtures of these inks, if they were printed in this order.

    Parameters
    ----------
    columns : sequence of str or None
        For each plate, in lay-down order, the ink's name in the chart; None where the chart does
        not hold it. Of an ink printed twice the second hit counts as not held.

    Returns
    -------
    Patches or None
        Rows with two or more of the inks and no other; None if there are none, or if the chart
        says that it was printed in another order.
    """
    held = {name: at for at, name in reversed(list(enumerate(columns))) if name in table.plates}
    order = sorted(held, key=held.__getitem__)
    if len(held) < 2 or not table.has_colour or not _in_order(table, [str(n) for n in order]):
        return None
    here = [table.plates.index(str(name)) for name in order]
    others = np.delete(table.tone_pct, here, axis=1)
    mixed = overprint_rows(table)
    rows = mixed[(others[mixed] == 0).all(axis=1)]
    if not len(rows):
        return None
    tones = np.zeros((len(rows), len(columns)))
    tones[:, [held[name] for name in order]] = table.tone_pct[np.ix_(rows, here)]
    return Patches(tone_pct=tones, xyz100=colours_xyz100(table)[rows], noise=noise)


def described(table: MeasurementTable) -> str:
    """What the chart calls itself, of a long story the beginning."""
    text = table.descriptor or table.originator or table.source
    if table.descriptor and table.descriptor in table.originator:
        text = table.originator  # which says more
    text = clipped(text, _DESCRIBED)
    return f"{text} (invented)" if table.keywords.get("INVENTED") == "yes" else text


def _means(values: FloatArray, group: npt.NDArray[np.intp]) -> FloatArray:
    """Means of the rows of each group, in the order of the groups."""
    return np.stack([values[group == k].mean(axis=0) for k in range(int(group.max()) + 1)])


def _in_order(table: MeasurementTable, columns: list[str]) -> bool:
    """False if the chart names its lay-down order and it is another one."""
    told = [name for name in words_of(table, "LAY_DOWN_ORDER") if name in columns]
    return not told or told == columns


def _with_keywords(ink: Ink, table: MeasurementTable, column: str) -> Ink:
    """The ink with its character and its opacity, if the chart tells.

    The solid over the black says more of an opaque ink than a number does, so it takes its place.
    """
    marks = ("fluorescent", "metallic")
    character = {mark for mark in marks if column in words_of(table, mark.upper())}
    ink = replace(ink, character=frozenset(character))
    opacity = opacities_of(table).get(column)
    over = _over_black(table, column) if opacity else None
    if over is None:
        return replace(ink, opacity=opacity)
    black = _solid(table, table.keywords["BLACK"])
    return replace(ink, over_black_xyz100=over, black_xyz100=black)


def opacities_of(table: MeasurementTable) -> dict[str, float]:
    """What the keyword OPACITY of a chart says of each ink that it names.

    Raises
    ------
    MeasurementError
        All that is wrong with it.
    """
    told, faults, strangers = stated_opacity(table)
    faults += [no_such_ink(table, "OPACITY", name) for name in strangers[:COUNTED_FAULTS]]
    black = table.keywords.get("BLACK", "")
    if told and black and black not in table.plates:
        faults.append(no_such_ink(table, "BLACK", black))
    if faults:
        raise MeasurementError(capped(faults, where=table.source))
    return dict(told)


def _over_black(table: MeasurementTable, column: str) -> FloatArray | None:
    """XYZ (3,) of an ink's solid over the solid of the chart's black, or None."""
    black = table.keywords.get("BLACK", "")
    if black in ("", column) or not table.has_colour or not _in_order(table, [black, column]):
        return None
    return _solid(table, black, column)


def _solid(table: MeasurementTable, *columns: str) -> FloatArray | None:
    """Mean XYZ of the patches with just these inks at 100 %, or None."""
    wanted = [100.0 if plate in columns else 0.0 for plate in table.plates]
    rows = np.flatnonzero((table.tone_pct == wanted).all(axis=1))
    return colours_xyz100(table)[rows].mean(axis=0) if len(rows) else None


def _ink_from_densities(table: MeasurementTable, row: int, *, name: str, paper: Paper) -> Ink:
    """An ink of which only densities of the solid are known; zeroed on paper if that reads 0."""
    held = dict(zip(table.density_channels, range(len(table.density_channels)), strict=True))
    if table.density is None or not {"red", "green", "blue"} <= set(held):
        found = f"densities of {', '.join(held)}"
        expected = "D_RED, D_GREEN and D_BLUE are needed"
        raise MeasurementError(Fault(where=table.source, found=found, expected=expected))
    red, green, blue = (float(table.density[row, held[key]]) for key in ("red", "green", "blue"))
    bare = table.density[paper_rows(table)]
    return ink_from_density(
        name,
        red=red,
        green=green,
        blue=blue,
        status=table.density_status or "T",
        relative=bool(len(bare)) and float(np.abs(bare).max()) < 0.02,
        paper=paper,
        source=described(table),
    )


def _no_class(table: MeasurementTable) -> Fault:
    return Fault(
        where=table.source,
        found="the class of the paper is not given",
        do="say which: coated, light-coated, supercalendered, uncoated or newsprint",
    )


def _no_paper(table: MeasurementTable) -> Fault:
    return Fault(
        where=table.source,
        found="no patch of bare paper",
        expected="one row with every ink at 0 and its colour is needed",
        do="measure the unprinted paper, or name the paper's colour in the book",
    )


def _no_solid(table: MeasurementTable, column: str) -> Fault:
    return Fault(
        where=table.source,
        found=f"no patch of {clipped(column)} alone at 100 %",
        expected="the solid of an ink is needed",
        do="measure it, or give the ink another way",
    )
