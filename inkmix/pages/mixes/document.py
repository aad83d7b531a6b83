"""Mixes as plain values for scripts; README.md and `inkmix mix --help` say what the keys mean.

As JSON they come in pieces: thousands of colours are written as they are found.
"""

import json
from collections.abc import Iterator
from typing import Any

from inkmix.jobs.mix import Answer, DarkestMixes, NearestMixes, Terms
from inkmix.mixes.choose import EQUAL_DE00
from inkmix.mixes.helping import Help
from inkmix.mixes.values import REACH_DE00, Mix

FORMAT = 1


def nearest_json(found: NearestMixes) -> Iterator[str]:
    """One document, a colour a line."""
    opening = _text(_terms(found.terms))
    yield f'{opening[:-1]}, "colours": [\n'
    comma = ""
    for answer in found.answers:
        yield comma + _text(_answer(answer))
        comma = ",\n"
    yield "\n]}\n"


def darkest_json(found: DarkestMixes, *, cast: str | None, double_hit: bool) -> str:
    """One document: the terms, what was asked, and the mixes."""
    document = {
        **_terms(found.terms),
        "cast": cast,
        "double_hit": double_hit,
        "darkest": [mix_document(one) for one in found.mixes],
    }
    return _text(document, indent=2)


def _terms(terms: Terms) -> dict[str, Any]:
    """The terms, under the keys that open every document."""
    limit = {"pct": terms.ink_limit_pct, "whose": terms.whose}
    return {
        "format": FORMAT,
        "paper": terms.paper,
        "process": terms.process,
        "inks": list(terms.inks),
        "ink_limit": None if terms.ink_limit_pct is None else limit,
        "step_pct": terms.step_pct,
        "smallest_dot_pct": terms.least_pct,
        "in_reach_de00": REACH_DE00,
        "equally_near_de00": EQUAL_DE00,
        "doubts": list(terms.doubts),
    }


def _answer(answer: Answer) -> dict[str, Any]:
    """One colour: how it was told, whether it is in reach, its mixes and what would help."""
    found = answer.found
    return {
        "told": answer.text,
        "name": answer.name,
        "where": answer.where,
        "lab": list(found.lab),
        "in_reach": found.in_reach,
        "exact": mix_document(found.nearest),
        "mixes": [mix_document(mix) for mix in found.mixes],
        "inks_tried": answer.inks_tried,
        "help": None if answer.helps is None else [_help_document(one) for one in answer.helps],
    }


def mix_document(mix: Mix) -> dict[str, Any]:
    """One mix: tone values by ink, prediction, dE00 left, expected errors."""
    return {
        "tone_pct": dict(mix.tone_pct),
        "total_pct": mix.total_pct,
        "lab": list(mix.lab),
        "de00": mix.de00,
        "expected_error": {"de00": mix.error_de00, "L": mix.error_L},
    }


def _help_document(one: Help) -> dict[str, Any]:
    return {
        "ink": one.ink,
        "nearer_by_de00": one.nearer_by_de00,
        "in_reach": one.in_reach,
        "printed_after": one.after,
        "mix": mix_document(one.mix),
    }


def _text(document: object, indent: int | None = None) -> str:
    return json.dumps(document, ensure_ascii=False, indent=indent)
