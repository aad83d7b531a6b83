"""Mixes as JSON, in pieces: thousands of colours are written as they are found."""

import json
from collections.abc import Iterator

from inkmix.jobs.mix import DarkestMixes, NearestMixes
from inkmix.pages.mixes.document import answer_document, mix_document, terms_document


def nearest_json(found: NearestMixes) -> Iterator[str]:
    """One document, a colour a line."""
    opening = _text(terms_document(found.terms))
    yield f'{opening[:-1]}, "colours": [\n'
    comma = ""
    for answer in found.answers:
        yield comma + _text(answer_document(answer))
        comma = ",\n"
    yield "\n]}\n"


def darkest_json(found: DarkestMixes, *, cast: str | None, double_hit: bool) -> str:
    """One document: the terms, what was asked, and the mixes."""
    document = {
        **terms_document(found.terms),
        "cast": cast,
        "double_hit": double_hit,
        "darkest": [mix_document(one) for one in found.mixes],
    }
    return _text(document, indent=2)


def _text(document: object, indent: int | None = None) -> str:
    return json.dumps(document, ensure_ascii=False, indent=indent)
