"""Wishes for the tests of palettes: shipped inks, tones at random, more inks by mixing."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from inkmix.base import loops
from inkmix.mixes.palettes.values import Wish, WishedTone
from inkmix.press.processes import find_process
from inkmix.press.swatches.by_name import list_inks, load_ink, load_paper

LIMIT_PCT = 300.0

compiled_only = pytest.mark.skipif(not loops.are_compiled(), reason="nothing is compiled here")


@cache
def paper():
    return load_paper("night-ferry/uncoated")


@cache
def shipped(count=24):
    """The first of the shipped inks, as printed on the paper; the black is the first."""
    names = [ink.name for ink in list_inks() if ink.name.startswith("night-ferry/")]
    return tuple(load_ink(name, paper=paper()) for name in names[:count])


@cache
def many(count):
    """The shipped inks, and as many more as are wanted between two of them each (silver)."""
    inks, first = list(shipped()), shipped()
    pairs = [
        (one, other)
        for gap in range(1, 24)
        for one, other in zip(first[:-gap], first[gap:], strict=True)
    ]
    for number in range(count - len(inks)):
        inks.append(between(*pairs[number], name=f"Mid {number + 1}"))
    return tuple(inks[:count])


def between(one, other, *, name):
    """An ink whose densities are the mean of two."""
    mixed = np.sqrt(one.reflectance * other.reflectance)
    xyz100 = np.sqrt(one.xyz100 * other.xyz100)
    plain = {"opacity": 0.0, "over_black_xyz100": None, "character": frozenset()}
    return replace(one, name=name, reflectance=mixed, xyz100=xyz100, **plain)


def tones(count, *, seed):
    """Colours that prints hold, at random, with weights."""
    random = np.random.default_rng(seed)
    low, high = (25, -25, -35), (85, 45, 45)
    return tuple(
        WishedTone(
            name=f"tone {number + 1}",
            lab=tuple(random.uniform(low, high).round(1).tolist()),
            weight=float(random.integers(1, 6)),
        )
        for number in range(count)
    )


def wish(candidates, *, k, **more):
    """Choose k beside the black in sheet-fed offset."""
    told = {
        "paper": paper(), "process": find_process("sheet-fed offset"), "ink_limit_pct": LIMIT_PCT,
        "fixed": ("Soot",),
    }  # fmt: skip
    return Wish(k=k, candidates=candidates, **{**told, **more})
