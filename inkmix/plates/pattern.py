"""Names of plate files against a pattern such as "plates/{spread}/{ink}.tif".

Only names are looked at. Unicode form and case do not count, and litter that systems and viewers
leave in folders is passed over.
"""

import re
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from inkmix.errors import Fault

ONLY_SPREAD = "sheet"
"""Name of the spread where a pattern has no {spread}."""

_LITTER = frozenset({"thumbs.db", "ehthumbs.db", "desktop.ini", "__macosx", "@eadir", "thumbnails"})
_THUMBNAIL = re.compile(r"(^|[-_. ])(thumb|thumbnail)s?([-_. ]|$)", re.IGNORECASE)
_FIELD = re.compile(r"\{(\w*)\}")
_ENDING = re.compile(r"\.tiff?$", re.IGNORECASE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Match:
    """A file that fits the pattern; spread and ink as its name writes them, ink maybe empty."""

    path: Path
    spread: str
    ink: str


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


def matches(folder: Path, pattern: str, ink_names: Sequence[str]) -> Iterator[Match]:
    """Files under the folder that fit, in natural order; names of known inks are tried first."""
    known = "|".join(re.escape(_composed(ink)) for ink in ink_names) or "(?!)"
    expressions = (_expression(pattern, known, spread=".+?"), _expression(pattern, "[^/]+"))
    for path in _files(folder, depth=len(PurePosixPath(pattern).parts)):
        name = _one_ending(_composed(path.relative_to(folder).as_posix()))
        fit = next(filter(None, (expression.fullmatch(name) for expression in expressions)), None)
        if fit:
            parts = fit.groupdict()
            spread, ink = parts.get("spread", ONLY_SPREAD), parts.get("ink", "")
            yield Match(path=path, spread=spread, ink=ink)


def natural_key(name: str) -> tuple[tuple[int, int | str], ...]:
    """Key that sorts 2 before 10."""
    pieces = re.split(r"(\d+)", _composed(name).casefold())
    return tuple((0, int(p)) if p.isdecimal() else (1, p) for p in pieces if p)


def _expression(pattern: str, ink: str, *, spread: str = ".+") -> "re.Pattern[str]":
    """The pattern as an expression; a field that comes twice must hold the same twice."""
    holes = {"spread": spread.replace(".", "[^/]"), "ink": ink}
    text, seen = "", set[str]()
    for index, piece in enumerate(_FIELD.split(_one_ending(_composed(pattern)))):
        if index % 2 == 0:
            text += re.escape(piece)
        else:
            text += f"(?P={piece})" if piece in seen else f"(?P<{piece}>{holes[piece]})"
            seen.add(piece)
    return re.compile(text, re.IGNORECASE)


def _files(folder: Path, *, depth: int) -> list[Path]:
    """Files that lie `depth` deep, without litter, in natural order."""
    found = [path for path in folder.glob("/".join("*" * depth)) if path.is_file()]
    kept = [path for path in found if not _is_litter(path.relative_to(folder))]
    return sorted(kept, key=lambda path: natural_key(path.relative_to(folder).as_posix()))


def _is_litter(path: Path) -> bool:
    """Hidden files, resource forks (._x), folder views, thumbnails."""
    return any(
        part.startswith((".", "~$")) or part.lower() in _LITTER for part in path.parts
    ) or bool(_THUMBNAIL.search(path.stem))


def _composed(name: str) -> str:
    return unicodedata.normalize("NFC", name)


def _one_ending(name: str) -> str:
    """.tiff and .tif are the same ending."""
    return _ENDING.sub(".tif", name)
