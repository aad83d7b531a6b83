"""How far the uses of a colour that the book names drift apart, from spread to spread."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import product

import numpy as np

from inkmix.base.arrays import FloatArray, IntArray
from inkmix.checks.orders.check import ASK_DE00
from inkmix.checks.uses import ColourUse
from inkmix.colour.colorimetry import delta_e00
from inkmix.jobs.book_answer import Checked, ColourDrift, DriftedUse

ALL_COMPARED = 26
"""Up to so many uses every two are compared; of more, those outermost in any of 26 directions."""

Triple = tuple[float, float, float]

_DIRECTIONS = np.array([way for way in product((-1, 0, 1), repeat=3) if any(way)], np.float64)


def colour_drifts(spreads: Iterable[Checked]) -> tuple[ColourDrift, ...]:
    """Each colour that any spread looked for, in the order in which they come first."""
    used: dict[str, dict[str, ColourUse]] = {}
    same: dict[str, str] = {}
    for checked in spreads:
        for kept in checked.uses:
            same.setdefault(kept.use.name, kept.use.same_mix_as)
            of_name = used.setdefault(kept.use.name, {})
            if kept.use.lab is not None:
                of_name[checked.name] = kept.use
    return tuple(replace(_drift(name, uses), same_mix_as=same[name]) for name, uses in used.items())


def _drift(name: str, uses: Mapping[str, ColourUse]) -> ColourDrift:
    spreads = tuple(uses)
    if len(spreads) < 2:
        return ColourDrift(name=name, spreads=spreads, apart_de00=None, farthest=())
    first, second, apart = _farthest([use.lab for use in uses.values() if use.lab is not None])
    return ColourDrift(
        name=name,
        spreads=spreads,
        apart_de00=apart,
        farthest=(spreads[first], spreads[second]),
        drifted=tuple(_drifted(uses)),
    )


def _drifted(uses: Mapping[str, ColourUse]) -> Iterator[DriftedUse]:
    """Uses that differ from the one nearest to its mix by more than the book allows, or so that it
    is noticed side by side; none where the book allows anything."""
    other, best = min(uses.items(), key=lambda item: item[1].from_mix_de00 or 0.0)
    for spread, use in uses.items():
        apart_de00 = float(delta_e00(np.array(use.lab), np.array(best.lab)))
        if use.limit_de00 is None:
            continue
        if apart_de00 > use.limit_de00 or round(apart_de00, 1) >= ASK_DE00:
            yield DriftedUse(
                spread=spread, other=other, apart_de00=apart_de00, limit_de00=use.limit_de00
            )


def _farthest(colours: Sequence[Triple]) -> tuple[int, int, float]:
    """The two that differ most, the first of equals, and by how much."""
    lab = np.array(colours, dtype=np.float64)
    some = _outermost(lab)
    apart = np.triu(delta_e00(lab[some, None], lab[None, some]))
    first, second = divmod(int(apart.argmax()), len(some))
    one, other = sorted((int(some[first]), int(some[second])))
    if one == other:  # all are equal
        return 0, 1, 0.0
    return one, other, float(apart.flat[apart.argmax()])


def _outermost(lab: FloatArray) -> IntArray:
    if len(lab) <= ALL_COMPARED:
        return np.arange(len(lab))
    return np.unique((lab @ _DIRECTIONS.T).argmax(axis=0))
