"""How patches were read: mode, backing, light and observer, wet or dry, as far as a file says it.

Here belong the keywords and words that say so in files, and the sentences on what is not said.
Nothing is guessed: what a file leaves open, or says in two ways, is unknown.
"""

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from inkmix.base.quoting import listed, quoted
from inkmix.base.words import either


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingConditions:
    """How patches were read; empty where the file does not say it.

    Parameters
    ----------
    mode : str
        "M0" to "M3" of ISO 13655.
    backing : str
        What lay under the sheet: "white", "black" or "own stock".
    illuminant : str
        The light that XYZ and Lab are computed for, such as "D50".
    observer : str
        "2" or "10", degrees.
    ink : str
        "wet" or "dry".
    contradictions : tuple of str
        What the file says in two ways, as sentences.
    not_understood : mapping of str to str
        For a condition that is left empty, such as "ink", the line that was meant to say it.
    """

    mode: str = ""
    backing: str = ""
    illuminant: str = ""
    observer: str = ""
    ink: str = ""
    contradictions: tuple[str, ...] = ()

    @staticmethod
    def named() -> tuple[str, ...]:
        """Names of the conditions that a file may tell."""
        return tuple(_SOUGHT)

    not_understood: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenCondition:
    """One that nobody told: what it is, and the line at the head of a file that tells it."""

    called: str
    line: str


@dataclass(frozen=True, slots=True)
class _Sought:
    """One condition: the keyword it is written with, where else it is told, and by which words."""

    keyword: str
    others: tuple[str, ...]
    words: Mapping[str, str]  # what it is, by a pattern
    alone: Mapping[str, str] = field(default_factory=dict)  # under the keyword of its own

    def told_in(self, keywords: Mapping[str, str]) -> list[str]:
        """Every value that the header tells; the keyword of its own goes before all others."""
        own = self._found([keywords.get(self.keyword, "")], {**self.words, **self.alone})
        return own or self._found((keywords.get(name, "") for name in self.others), self.words)

    def _found(self, texts: Iterable[str], words: Mapping[str, str]) -> list[str]:
        said = [text for text in texts if text]
        return [
            value
            for value, pattern in words.items()
            if any(re.search(pattern, text, re.IGNORECASE) for text in said)
        ]


# Keywords of ISO 28178 and those that programs of instruments write; published sets put most of it
# into one sentence under INSTRUMENTATION.
_PROSE = ("MEASUREMENT_SOURCE", "INSTRUMENTATION", "MEASUREMENT_CONDITIONS", "PRINT_CONDITIONS")
_LIGHTS = ("D50", "D55", "D65", "D75", "F2", "F7", "F11")
_SOUGHT = {
    "mode": _Sought(
        "MEASUREMENT_MODE",
        ("MEASUREMENT_CONDITION", "FILTER", *_PROSE),
        {  # capitals: papers have g/m2
            "M0": r"(?-i:\bM0\b)",
            "M1": r"(?-i:\bM1\b)",
            "M2": r"(?-i:\bM2\b)|\bUV[ _-]?(?:cut|excluded)\b",  # ISO 13655: M2 is without UV
            "M3": r"(?-i:\bM3\b)|\bFilter=Pol",
        },
    ),
    "backing": _Sought(
        "SAMPLE_BACKING",
        _PROSE,
        {
            "white": r"\bwhite[ -]back(?:ing|ed)\b",
            "black": r"\bblack[ -]back(?:ing|ed)\b",
            "own stock": r"\b(?:self|substrate|stock|own)[ -]back(?:ing|ed)\b",
        },
        alone={
            "white": r"\bwhite\b",
            "black": r"\bblack\b",
            "own stock": r"\b(?:own|self|substrate|stock)\b",
        },
    ),
    "illuminant": _Sought(
        "ILLUMINANT",
        ("ILLUMINATION_NAME", "WEIGHTING_FUNCTION", *_PROSE),
        {"A": r"^\W*A\W*$", **{light: rf"\b{light}\b" for light in _LIGHTS}},
    ),
    "observer": _Sought(
        "OBSERVER",
        ("OBSERVER_ANGLE", "WEIGHTING_FUNCTION", *_PROSE),
        {
            angle: rf"^\W*{angle}\W*$|\bObserverAngle={angle}\b|\b{angle} ?(?:°|_?deg)"
            for angle in ("2", "10")
        },
    ),
    # No keyword of a standard says it. Nothing but the word: "not dry" and "semi-dry" are not dry.
    "ink": _Sought("INK_STATE", (), {state: rf"^\W*{state}\W*$" for state in ("wet", "dry")}),
}

_CALLED = {
    "mode": "the readings are M0, M1, M2 or M3",
    "backing": "the sheet lay on white, on black or on its own stock",
    "illuminant": "colours are computed for D50 or another light",
    "observer": "colours are for the observer of 2 or of 10 degrees",
    "ink": "the ink was wet or dry",
}
_MATTERS = {
    "mode": "papers with brightener read bluer in M1 than in M0, and M2 leaves the brightener out",
    "backing": "a thin sheet reads darker over black than over white",
    "illuminant": "D50 is taken",
    "observer": "2 degrees are taken",
    "ink": "ink reads darker and more glossy before it has dried",
}
_ANSWERS = {
    "mode": ("M0", "M1", "M2", "M3"),
    "backing": ("white", "black", "own stock"),
    "illuminant": ("D50",),
    "observer": ("2", "10"),
    "ink": ("dry", "wet"),
}


def conditions_of(keywords: Mapping[str, str]) -> ReadingConditions:
    """The conditions that the keywords of a table tell.

    Examples
    --------
    >>> told = conditions_of({"INSTRUMENTATION": "D50, 2 degree, white backing, ISO 13655 M1"})
    >>> told.mode, told.backing, told.illuminant, told.observer, told.ink
    ('M1', 'white', 'D50', '2', '')
    """
    told = {name: sought.told_in(keywords) for name, sought in _SOUGHT.items()}
    sure = {name: values[0] for name, values in told.items() if len(values) == 1}
    return ReadingConditions(
        **sure,
        contradictions=tuple(_contradictions(told)),
        not_understood=dict(_not_understood(told, keywords)),
    )


def _not_understood(
    told: Mapping[str, list[str]], keywords: Mapping[str, str]
) -> Iterator[tuple[str, str]]:
    for name, values in told.items():
        keyword = _SOUGHT[name].keyword
        if not values and keywords.get(keyword, "").strip():
            yield name, f"{keyword} {quoted(keywords[keyword])}"


def _contradictions(told: Mapping[str, list[str]]) -> Iterator[str]:
    for name, values in told.items():
        if len(values) > 1:
            yield f"The file says in several ways whether {_CALLED[name]}: {listed(values)}."


def with_conditions(keywords: Mapping[str, str], **told: str) -> dict[str, str]:
    """The keywords, in which these conditions (`mode`, `backing` ...) are told from now on.

    Examples
    --------
    >>> with_conditions({"FILTER": "M0"}, mode="M1")
    {'FILTER': 'M0', 'MEASUREMENT_MODE': 'M1'}
    """
    words = {_SOUGHT[name].keyword: value for name, value in told.items() if value}
    return {**keywords, **words}


def sentences_on_unknown(
    conditions: ReadingConditions, *, has_spectra: bool, has_colour: bool
) -> tuple[str, ...]:
    """What whoever measured should be asked, as sentences: of each open condition that matters.

    Light and observer matter where colours are not made of spectra, and not for densities.
    """
    asked = ["mode", "backing", "ink"]
    if has_colour and not has_spectra:
        asked[2:2] = ["illuminant", "observer"]
    twice = {name for name in asked if any(_CALLED[name] in s for s in conditions.contradictions)}
    return (
        *conditions.contradictions,
        *(
            _on_unknown(name, conditions.not_understood.get(name, ""))
            for name in asked
            if not getattr(conditions, name) and name not in twice
        ),
    )


def _on_unknown(name: str, not_understood: str) -> str:
    if not_understood:
        says = f"The file says {not_understood}, which does not tell whether {_CALLED[name]}"
    else:
        says = f"The file does not say whether {_CALLED[name]}"
    return f"{says}; {_MATTERS[name]}."


def left_open(sentences: Iterable[str]) -> tuple[OpenCondition, ...]:
    """The conditions that some sentences of `sentences_on_unknown` are about, each once.

    Examples
    --------
    >>> said = sentences_on_unknown(ReadingConditions(), has_spectra=True, has_colour=True)
    >>> left_open(said)[-1]
    OpenCondition(called='the ink was wet or dry', line='INK_STATE "dry" or "wet"')
    """
    said = tuple(sentences)
    return tuple(
        OpenCondition(
            called=called,
            line=f"{_SOUGHT[name].keyword} {either([quoted(one) for one in _ANSWERS[name]])}",
        )
        for name, called in _CALLED.items()
        if any(called in sentence for sentence in said)
    )
