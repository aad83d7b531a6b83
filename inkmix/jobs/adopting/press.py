"""The press-condition file of the other book: taken over as a whole, or ink by ink.

As a whole only on the same paper, where its mixes hold too; its inks alone go into a measurement
file, which says what they were printed on.
"""

from typing import Any

import numpy as np

from inkmix.base.names import same_name
from inkmix.base.words import listing
from inkmix.book.values import PaperSpec
from inkmix.colour.measured.table import MeasurementTable
from inkmix.colour.measured.written_cgats import cgats_text
from inkmix.jobs.adopting.files import CopiedFiles
from inkmix.jobs.adopting.pair import OTHER_ORDER, Pair
from inkmix.press.calibration.press_file import PressFile


def against_press(pair: Pair) -> str:
    """Why the press file of the other book cannot be that of this one; empty where it can."""
    if pair.ours.press is not None:
        return "this book has one of its own"
    if pair.ours.book.press.overprints is not None:
        return "this book names measured overprints, and one of the two counts"
    if not pair.is_same_paper:
        return pair.paper_words
    if renamed := [one for one in pair.theirs.items() if not same_name(*one)]:
        return f"{listing([theirs for _, theirs in renamed])} is called otherwise here"
    held = printed_there(pair)
    if not held:
        return "it holds none of these inks"
    if pair.is_other_order({pair.theirs[name]: name for name in held}):
        return OTHER_ORDER
    known = [name for name in held if pair.is_known_here(name) and not pair.is_alike(name)]
    return f"this book knows {listing(known)} as well or better" if known else ""


def printed_there(pair: Pair) -> tuple[str, ...]:
    """Inks of this book that the press file of the other one tells."""
    return tuple(name for name, theirs in pair.theirs.items() if pair.other.is_printed(theirs))


def ramp_of_press(pair: Pair, name: str, files: CopiedFiles) -> dict[str, Any]:
    """How an ink of the press file is told without it: file, column, and the paper under it."""
    press = pair.other.press
    assert press is not None, "only inks of a press file are asked for"
    path = files.made("inks of the press.txt", lambda: cgats_text(_ramps(press)).encode())
    own = next(one for one in press.names if same_name(one, name))
    paper = PaperSpec(measurements=path, paper_class=pair.other.paper.paper_class)
    return {"measurements": path, "column": own, "measured_on": paper}


def _ramps(press: PressFile) -> MeasurementTable:
    """Paper and tints of all inks; spectra where all were read."""
    rows: list[tuple[list[float], Any, Any]] = []
    rows.append(([0.0] * len(press.inks), press.paper.xyz, press.paper.reflectance))
    for at, ink in enumerate(press.inks):
        spectra = ink.reflectance or (None,) * len(ink.xyz)
        for tone, xyz, spectrum in zip(ink.tone_pct, ink.xyz, spectra, strict=True):
            if tone > 0:
                tones = [0.0] * len(press.inks)
                tones[at] = tone
                rows.append((tones, xyz, spectrum))
    tones_pct, colours, read = zip(*rows, strict=True)
    return MeasurementTable(
        sample_names=tuple(map(str, range(1, len(rows) + 1))),
        plates=press.names,
        tone_pct=np.array(tones_pct),
        xyz100=np.array(colours),
        reflectance=None if None in read else np.array(read),
        descriptor=press.source,
    )
