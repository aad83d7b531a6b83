"""Names of plate files against a pattern such as "plates/{spread}/{ink}.tif".

Only names are looked at. Unicode form and case do not count. Which names are those of inks may
differ from spread to spread.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath

from inkmix.base.errors import Fault
from inkmix.base.names import composed, folded
from inkmix.plates.found.listing import Fits, Listed, listed

ENDINGS = (".tif", ".tiff", ".png")
"""Of files that may be plates."""
ONLY_SPREAD = "sheet"
"""Name of the spread where a pattern has no {spread}."""

_FIELD = re.compile(r"\{(\w*)\}")
_TIFF = re.compile(r"\.tiff?\Z", re.IGNORECASE)
_PNG = re.compile(r"\.png\Z", re.IGNORECASE)
_ANY = "[^/]+"


@dataclass(frozen=True, slots=True, kw_only=True)
class InkNames:
    """The names that inks have.

    Parameters
    ----------
    usual : tuple of str
    elsewhere : mapping of folded name of a spread to tuple of str
        Spreads with inks of their own.
    """

    usual: tuple[str, ...]
    elsewhere: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    def on(self, spread: str) -> tuple[str, ...]:
        """The inks of a spread."""
        return self.elsewhere.get(folded(spread), self.usual)

    def whose(self, spread: str) -> str:
        """Of what an ink is one there, in words."""
        return "the book" if self.on(spread) == self.usual else "this spread"

    def sets(self) -> tuple[tuple[str, ...], ...]:
        """Every set of inks once, the usual one last."""
        return (*(dict.fromkeys(n for n in self.elsewhere.values() if n != self.usual)), self.usual)


@dataclass(frozen=True, slots=True, kw_only=True)
class Match:
    """A file that fits the pattern, or what stands in its place or in the way.

    Parameters
    ----------
    spread : str or None
        As its name writes it, composed; None where the way ends above the spread.
    ink : str
        As its name writes it; empty where the name says none.
    claims : (str, str)
        The folder that bears the spread's name, empty where files do; and the ink that its path
        names. Two folders with one ink are two that claim a spread.
    trouble : str
        Why it is no file; mostly empty.
    is_as_told : bool
        Whether its ending is the pattern's; .tif and .tiff are the same.
    """

    path: Path
    spread: str | None
    ink: str
    claims: tuple[str, str] = ("", "")
    trouble: str = ""
    is_as_told: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Matches:
    """What fits a pattern, in natural order, and what lies beside it and does not."""

    fitting: tuple[Match, ...]
    strays: tuple[Path, ...]


def pattern_faults(pattern: str) -> Iterator[Fault]:
    """What is wrong with a pattern."""
    where = f'pattern "{pattern}"'
    fields = _FIELD.findall(pattern)
    if unknown := [field for field in fields if field not in ("spread", "ink")]:
        known = "{spread} and {ink} are known"
        yield Fault(where=where, found=f"{{{unknown[0]}}} is not known", expected=known)
    if not fields:
        example = 'write for example "plates/{spread}/{ink}.tif"'
        yield Fault(where=where, found="names neither {spread} nor {ink}", do=example)
    leaves = pattern.startswith(("/", "~")) or ".." in PurePosixPath(pattern).parts
    if leaves or "\\" in pattern or ":" in pattern:
        inside = "plates lie in the book's folder, parts of a path are joined by /"
        yield Fault(where=where, found="leaves the folder", expected=inside)


def matches(folder: Path, pattern: str, inks: InkNames) -> Matches:
    """What fits under the folder, in natural order; names of known inks are tried first."""
    parts = PurePosixPath(pattern).parts
    readers = [_Reader(parts[: depth + 1], whole=pattern, inks=inks) for depth in range(len(parts))]
    lying = next((depth for depth, part in enumerate(parts) if "{" in part), len(parts) - 1)
    found = list(listed(folder, [_fits(part, pattern) for part in parts], strays_from=lying))
    ordered = sorted(found, key=lambda item: in_natural_order("/".join(item.parts)))
    made = [
        readers[max(len(item.parts), 1) - 1].match(folder, item)
        for item in ordered
        if not item.is_stray
    ]
    return Matches(
        fitting=tuple(match for match in made if match is not None),
        strays=tuple(folder.joinpath(*item.parts) for item in ordered if item.is_stray),
    )


def natural_key(name: str) -> tuple[tuple[int, int | str], ...]:
    """Key that sorts 2 before 10."""
    pieces = re.split(r"(\d+)", composed(name).casefold())
    return tuple((0, int(p)) if p.isdecimal() else (1, p) for p in pieces if p)


def in_natural_order(name: str) -> tuple[tuple[tuple[int, int | str], ...], str]:
    """Natural key that tells all names apart, 1 and 01 too."""
    return natural_key(name), name


class _Reader:
    """Reads spread and ink out of the names that fit the first parts of a pattern."""

    def __init__(self, parts: tuple[str, ...], *, whole: str, inks: InkNames) -> None:
        text = "/".join(parts)
        self._inks = inks
        self._by_set = [
            (names, _expression(text, whole, ink=_one_of(names), spread="[^/]+?"))
            for names in inks.sets()
        ]
        self._any = _expression(text, whole)
        self._whole = whole
        self._spread = None if "{spread}" in whole else ONLY_SPREAD
        bearing = next((n for n, part in enumerate(parts) if "{spread}" in part), len(parts))
        self._bearing = bearing + 1 if bearing + 1 < len(PurePosixPath(whole).parts) else 0
        self._told_as = PurePosixPath(_one_tiff(whole)).suffix.lower()
        self._ink_above = "{ink}" in "/".join(parts[: self._bearing])

    def match(self, folder: Path, item: Listed) -> Match | None:
        """What a name says; None where it says nothing."""
        if not item.parts:
            return Match(path=folder, spread=None, ink="", trouble=item.trouble)
        groups = self._groups(_one_ending("/".join(item.parts), self._whole))
        if groups is None:
            return None
        ink = groups.get("ink", "")
        return Match(
            path=folder.joinpath(*item.parts),
            spread=groups.get("spread", self._spread),
            ink=ink,
            claims=("/".join(item.parts[: self._bearing]), ink if self._ink_above else ""),
            trouble=item.trouble,
            is_as_told=_one_tiff(item.parts[-1]).lower().endswith(self._told_as),
        )

    def _groups(self, name: str) -> dict[str, str] | None:
        """Fields of a name by its spread's own inks; else by the usual ones, else by any."""
        fits = [(names, expression.fullmatch(name)) for names, expression in self._by_set]
        found = [(names, fit.groupdict()) for names, fit in fits if fit]
        for names, groups in found:
            if self._inks.on(groups.get("spread", ONLY_SPREAD)) == names:
                return groups
        if fits[-1][1]:
            return found[-1][1]
        fit = self._any.fullmatch(name)
        return fit.groupdict() if fit else None


def _fits(part: str, whole: str) -> Fits:
    """Whether a name fits one part of a pattern by itself."""
    expression = _expression(part, whole)
    return lambda name: expression.fullmatch(_one_ending(name, whole)) is not None


def _one_of(names: tuple[str, ...]) -> str:
    return "|".join(re.escape(composed(name)) for name in names) or "(?!)"


def _expression(part: str, whole: str, *, ink: str = _ANY, spread: str = _ANY) -> "re.Pattern[str]":
    """Part of a pattern as an expression; a field that comes twice must hold the same twice."""
    holes = {"spread": spread, "ink": ink}
    text, seen = "", set[str]()
    for index, piece in enumerate(_FIELD.split(_one_ending(part, whole))):
        if index % 2 == 0:
            text += re.escape(piece)
        else:
            text += f"(?P={piece})" if piece in seen else f"(?P<{piece}>{holes[piece]})"
            seen.add(piece)
    return re.compile(text, re.IGNORECASE)


def _one_ending(name: str, pattern: str) -> str:
    """A name composed, its ending as any of those that count alike.

    A plate of one ink may be a TIFF or a PNG, whatever the pattern says; a file of several inks is
    a TIFF, and a PNG beside it a picture.
    """
    name = _one_tiff(composed(name))
    return _PNG.sub(".tif", name) if "{ink}" in pattern else name


def _one_tiff(name: str) -> str:
    """.tiff and .tif are the same ending."""
    return _TIFF.sub(".tif", name)
