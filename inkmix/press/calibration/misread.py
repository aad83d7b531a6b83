"""Forms that were not read as they were printed: another sheet, rows or columns that moved.

Each is refused in words. What is wrong with single readings is told in `suspects.py`.
"""

from collections.abc import Iterator, Sequence

import numpy as np

from inkmix.base.arrays import FloatArray
from inkmix.base.errors import Fault, MeasurementError
from inkmix.base.words import difference, lightness, whole
from inkmix.colour.colorimetry import delta_e00, xyz100_to_lab
from inkmix.press.calibration.crossed import Predicted
from inkmix.press.calibration.readings import Readings
from inkmix.press.condition import PressCondition
from inkmix.press.papers import USUAL_L

# ISO 12647-2 allows papers of one kind dL* 3, da* 2, db* 2; ISO 12647-7 a proof's dE00 3 (both from
# memory). Whiteners in a stock move its white by dE00 5 and more, but hardly its L*.
_SAME_PAPER_DE00, _ANOTHER_PAPER_DE00, _ANOTHER_PAPER_L = 3.0, 10.0, 5.0
_ANOTHER_INK_DE00 = 10.0  # from its colour in the book: no ink of that name
_TIMES_ANOTHER = 2.0  # as far off as from the other ink
_FEWEST_MIXED_UP = 2
_COLOURED_CHROMA, _GREY_CHROMA = 20.0, 4.0
_PAIR = 2
_FEW_INSIDE = 0.5  # of mixes within a bound of 95 %
_UNLIKE = 1.0  # of the variance of L*, left unexplained by patches as they stand
_FITS, _BETTER = 0.3, 0.25  # left unexplained otherwise, and as a share of that as they stand
_MOST_SLIPPED = 3  # rows
_MOST_SCATTER_DE00 = 3.0  # of repeats from their mean: a press on its worst day does half of it
_MOST_OFF_DE00 = 5.0  # of mixes foretold from each other; published prints: 0.4 to 1.5
_MOST_LEFT_OUT, _FEW = 0.25, 5


def refuse_another_paper(readings: Readings, expected: PressCondition) -> None:
    """Refuse readings whose bare paper is not the book's, as where the instrument's scale is off.

    All else is relative to it: half the light of everything looks like a press that prints darker.

    Parameters
    ----------
    expected : PressCondition
        Of the book before anything was measured, its inks those of the chart.
    """
    paper = expected.paper
    read, told, apart = _papers(readings, expected)
    low, high = USUAL_L[paper.paper_class]
    is_near = apart <= _ANOTHER_PAPER_DE00 and abs(read[0] - told[0]) <= _ANOTHER_PAPER_L
    if not paper.guessed and not is_near:
        usual = f"the paper of the book has {lightness(told[0])}"
        if abs(read[0] - told[0]) <= _ANOTHER_PAPER_L:
            usual = f"at most {difference(_ANOTHER_PAPER_DE00)} from the paper of the book"
    elif paper.guessed and not low <= read[0] <= high:
        usual = f"{paper.paper_class} papers have some L* {low} to {high}"
    else:
        return
    raise MeasurementError(
        Fault(
            where=readings.chart.source,
            found=f"bare paper of {lightness(read[0])}, {difference(apart)} from the book’s",
            expected=usual,
            do="see that the instrument was set on its white tile and that the readings are per "
            "cent; if it really is this paper, tell the book so: class and lab under [paper]",
        )
    )


def paper_in_doubt(readings: Readings, expected: PressCondition) -> str:
    """What to say where the bare paper is not quite the book's; else empty."""
    read, told, apart = _papers(readings, expected)
    if apart <= _SAME_PAPER_DE00 or expected.paper.guessed:
        return ""
    return (
        f"the bare paper was read as {lightness(read[0])}, {difference(apart)} from the book’s "
        f"({lightness(told[0])}): if it is the same paper, the instrument was not set on its white "
        "tile, and every colour is off by as much"
    )


def _papers(readings: Readings, expected: PressCondition) -> tuple[FloatArray, FloatArray, float]:
    """The bare paper as read and as told, Lab (3,), and their dE00."""
    read = xyz100_to_lab(readings.chart.mean_of(readings.chart.bare)[0])
    told = xyz100_to_lab(expected.paper.xyz100)
    return read, told, float(delta_e00(read, told))


def refuse_misplaced(readings: Readings, expected: PressCondition) -> None:
    """Refuse a form whose rows are not those of its patches: read upside down, or slipped.

    Told by the order of lightness alone, so that it does not hang on how well inks were known.

    Parameters
    ----------
    expected : PressCondition
        As for `refuse_another_paper`.
    """
    chart = readings.chart
    if len(readings) < _FEW:
        return
    foretold_L, read_L = expected.lab(chart.tone_pct)[:, 0], chart.lab[:, 0]
    ranked_L = np.sort(foretold_L)[np.argsort(np.argsort(read_L, kind="stable"), kind="stable")]
    misfit = _misfit(foretold_L, ranked_L)
    least, said = min(_other_ways(foretold_L, ranked_L, readings.patches))
    if least > min(_FITS, _BETTER * misfit):
        said = ""
    if said or misfit > _UNLIKE:
        raise MeasurementError(
            Fault(
                where=chart.source,
                found="patches that should be light are dark, and dark ones light"
                + (f"; {said}" if said else ""),
                expected="readings of the form of this book, in the order of its list",
                do="read the form again, or export the readings with the names of their patches",
            )
        )


def _other_ways(
    foretold_L: FloatArray, read_L: FloatArray, patches: Sequence[str]
) -> Iterator[tuple[float, str]]:
    """How the readings would fit otherwise: what is left unexplained, and how to say it."""
    yield (
        _misfit(foretold_L, read_L[::-1]),
        "read backwards they fit: the form was read upside down, or from the last patch",
    )
    variance, count = foretold_L.var(), len(foretold_L)
    straight = np.concatenate([[0], np.cumsum((foretold_L - read_L) ** 2)])
    for rows in range(1, min(_MOST_SLIPPED, count - 1) + 1):
        many = f"are {rows} readings" if rows > 1 else "is a reading"
        said = {1: f"there {many} missing", -1: f"there {many} too many"}
        for way in said:
            moved = (foretold_L - np.roll(read_L, way * rows)) ** 2
            moved[: rows if way > 0 else 0] = 0  # comes from the other end
            moved[count - rows if way < 0 else count :] = 0
            slipped = moved.sum() - np.concatenate([[0], np.cumsum(moved)])
            unexplained = straight + slipped
            at = int(unexplained[:-1].argmin())
            since = f"from {patches[at]} on they" if at else "they"
            amount = "one row" if rows == 1 else f"{rows} rows"
            yield (
                float(unexplained[at] / count / max(variance, 1e-9)),
                f"{since} fit {amount} further {'down' if way > 0 else 'up'}: {said[way]}",
            )


def _misfit(foretold_L: FloatArray, read_L: FloatArray) -> float:
    """Share of the variance that is left unexplained."""
    return float(((foretold_L - read_L) ** 2).mean() / max(foretold_L.var(), 1e-9))


def refuse_swapped_inks(readings: Readings, expected: PressCondition) -> None:
    """Refuse a form in which inks have each other's colours, or none: columns are mixed up.

    Parameters
    ----------
    expected : PressCondition
        As for `refuse_another_paper`.
    """
    from scipy.optimize import linear_sum_assignment

    chart, names = readings.chart, readings.chart.plates
    told = expected.lab(np.eye(len(names)) * 100)
    read = np.stack([chart.lab[chart.solids_of(k)].mean(axis=0) for k in range(len(names))])
    apart = delta_e00(told[:, None], read[None])
    rows, others = linear_sum_assignment(apart)  # each ink by the solid that it looks like
    own, best = apart.diagonal(), apart[rows, others]
    far = (own > _ANOTHER_INK_DE00) & (own > _TIMES_ANOTHER * best)
    mixed_up = np.flatnonzero(far & (rows != others)).tolist()
    faults = [
        Fault(
            where=chart.source,
            found=f"{names[k]} was read with the colour of {names[int(others[k])]}",
            expected="each ink with its own colour",
            do="the columns of the readings are mixed up, or the inks were on the press, or the "
            "colours are in the book: set right which it is",
        )
        for k in mixed_up
    ]
    if len(faults) < _FEWEST_MIXED_UP:
        faults = list(_colourless(chart.source, told, read, expected))
    if faults:
        raise MeasurementError(faults)


def _colourless(
    source: str, told: FloatArray, read: FloatArray, expected: PressCondition
) -> Iterator[Fault]:
    """A fault where coloured inks were read, and no solid has any colour."""
    known = np.array([not ink.guessed for ink in expected.inks])
    chroma = np.hypot(*told[:, 1:].T)
    if (chroma[known] > _COLOURED_CHROMA).any() and np.hypot(*read[:, 1:].T).max() < _GREY_CHROMA:
        yield Fault(
            where=source,
            found="no solid has any colour: a* and b* are next to nothing",
            expected="the inks of the book have colours",
            do="export the readings with all of XYZ, Lab or spectra; a picture has to be in colour",
        )


def refuse_contradicting_basics(readings: Readings) -> None:
    """Refuse two readings of the paper or of a solid that cannot both be right.

    All else rests on these, and which of two is wrong nobody can tell but who looks at the sheet;
    of three or more the odd one is left out.
    """
    chart = readings.chart
    basics = [("bare paper", chart.bare)]
    basics += [(f"{name}, solid", chart.solids_of(k)) for k, name in enumerate(chart.plates)]
    pairs = [(what, np.flatnonzero(rows)) for what, rows in basics if rows.sum() == _PAIR]
    faults = []
    for what, (one, other) in pairs:
        apart = float(delta_e00(chart.lab[one], chart.lab[other]))
        if apart > _PAIR * _MOST_SCATTER_DE00:
            patches = f"patches {readings.patches[one]} and {readings.patches[other]}"
            faults.append(
                Fault(
                    where=chart.source,
                    found=f"{what}: {patches} were read {difference(apart)} apart",
                    expected="two readings of one colour",
                    do="read both again, and take out the reading that is wrong",
                )
            )
    if faults:
        raise MeasurementError(faults)


def is_contradicted(foretold: Predicted | None) -> bool:
    """Whether hardly a mix is what the book expected of it, its bounds being of 95 %."""
    if foretold is None or len(foretold.de00) < _FEW:
        return False
    return foretold.inside < _FEW_INSIDE


def refuse_scattered(readings: Readings) -> None:
    """Refuse readings of which those of one mix are not alike: of two presses, or two scales."""
    apart = readings.apart_from_repeats()
    if not len(apart) or float(apart.mean()) <= _MOST_SCATTER_DE00:
        return
    raise MeasurementError(
        Fault(
            where=readings.chart.source,
            found=f"readings of one and the same mix lie {difference(float(apart.mean()))} from "
            "their mean on average",
            expected=f"at most {difference(_MOST_SCATTER_DE00)}, on a bad day of a press",
            do="readings of two presses or papers, or of an instrument set in two ways, are mixed: "
            "calibrate from each by itself",
        )
    )


def refuse_unfit(readings: Readings, left_out: int, foretold: Predicted | None) -> None:
    """Refuse readings that tell nothing of each other, whatever was left out of them.

    Parameters
    ----------
    readings : Readings
        All of them.
    left_out : int
        How many were left out.
    foretold : Predicted or None
        The rest, each foretold from the others.
    """
    off = None if foretold is None else foretold.mean_de00
    if left_out > max(_FEW, _MOST_LEFT_OUT * len(readings)):
        found = f"{whole(left_out)} of {whole(len(readings))} readings do not fit the others"
    elif off is not None and off > _MOST_OFF_DE00:
        found = f"mixes foretold from each other are {difference(off)} off on average"
    else:
        return
    raise MeasurementError(
        Fault(
            where=readings.chart.source,
            found=found,
            expected="readings of one form, each of the patch that it is said to be",
            do="rows may have slipped, or another form or sheet was read: see that the list is "
            "that of the form, and read it again",
        )
    )
