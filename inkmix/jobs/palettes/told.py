"""Intended tones: the book's named tones, a list of colours, or the main colours of a picture."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from types import MappingProxyType

import numpy as np

from inkmix.base.arrays import FloatArray
from inkmix.base.words import count, percent
from inkmix.book.meant.colours import absolute_labs
from inkmix.book.meant.tones import intended_lab
from inkmix.colour.named import colour_name
from inkmix.colour.whites import PAPER
from inkmix.colour.written import ToldColour
from inkmix.jobs.palettes.main_colours import main_colours
from inkmix.jobs.palettes.wishes import Ground, Tones
from inkmix.mixes.assigned.plates import SampledPlates, shares_of
from inkmix.mixes.palettes.values import WishedTone
from inkmix.plates.reference.picture import open_reference

NEAR_PCT = 12.0
"""A pixel is of a named tone where every plate is so near to its mix: as much as a brush leaves."""

LEAST_SHARE = 0.01
"""A tone that fills nothing, or less than this, still counts so much."""


def tones_of_book(ground: Ground, sampled: SampledPlates | None) -> Tones:
    """The named tones with an intended colour, weighted by the area they fill where plates are."""
    named = [
        (tone, lab)
        for tone in ground.book.tones
        if (lab := intended_lab(tone, ground.paper)) is not None
    ]
    weights = np.ones(len(named))
    words = f"the book’s {count(len(named), 'named tone')}" if named else "none are given"
    if sampled is not None and named:
        mixes = [[tone.mix_pct.get(name, 0.0) for name in sampled.names] for tone, _ in named]
        share = shares_of(sampled, mixes, near_pct=NEAR_PCT)
        weights = np.maximum(share, LEAST_SHARE)
        words += f", weighted by the area they fill ({percent(100 * share.sum())} of the picture)"
    return Tones(
        tones=tuple(
            WishedTone(name=tone.name, lab=lab, weight=float(weight))
            for (tone, lab), weight in zip(named, weights, strict=True)
        ),
        words=words,
        screen=MappingProxyType({t.name: t.intended_srgb for t, _ in named if t.intended_srgb}),
    )


def tones_of_colours(told: Sequence[ToldColour], ground: Ground, *, file: str) -> Tones:
    """Colours of a list, each counting as much as the others.

    Raises
    ------
    UsageError
        Where a pixel cannot be looked up.
    """
    labs: FloatArray = absolute_labs(told, ground.paper, else_white=PAPER)
    names = _names(told)
    return Tones(
        tones=tuple(
            WishedTone(name=name, lab=(float(lab[0]), float(lab[1]), float(lab[2])))
            for name, lab in zip(names, labs, strict=True)
        ),
        words=f"the {count(len(told), 'colour')} of {file}",
        screen=MappingProxyType({
            name: one.screen for name, one in zip(names, told, strict=True) if one.screen
        }),
    )  # fmt: skip


def tones_of_picture(path: Path, ground: Ground) -> Tones:
    """The main colours of a picture, each by the share that it fills, with the paper as its white.

    Raises
    ------
    PictureError
        If it cannot be read.
    """
    colours = main_colours(open_reference(path, None), ground.paper)
    tones = tuple(
        WishedTone(name=colour_name(colour.lab), lab=colour.lab, weight=colour.share)
        for colour in colours
    )
    what = "the one colour" if len(colours) == 1 else f"the {len(colours)} main colours"
    only = ": palettes are judged by how near they come to it" if len(colours) == 1 else ""
    return Tones(
        tones=_told_apart(tones),
        words=f"{what} of {path.name}, by the area they fill{only}",
        screen=MappingProxyType({}),
    )


def _told_apart(tones: tuple[WishedTone, ...]) -> tuple[WishedTone, ...]:
    """The same with a number at names that come twice."""
    seen: dict[str, int] = {}
    named = []
    for tone in tones:
        seen[tone.name] = seen.get(tone.name, 0) + 1
        number = seen[tone.name]
        named.append(tone if number == 1 else replace(tone, name=f"{tone.name} {number}"))
    return tuple(named)


def _names(told: Sequence[ToldColour]) -> list[str]:
    """A name for each colour, none twice."""
    names: list[str] = []
    for number, one in enumerate(told, start=1):
        name = one.name or one.text
        names.append(name if name not in names else f"{name} ({number})")
    return names
