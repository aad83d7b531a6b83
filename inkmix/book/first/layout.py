"""How plates are named in a folder: which part of a path is the spread and which the ink.

Paths only; no file is opened and no ink is known by colour here. Who calls says which words are
names of inks.
"""

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import PurePosixPath

from inkmix.book.values import MAX_INKS
from inkmix.plates.found.pattern import ENDINGS, ONLY_SPREAD

MASK_WORDS = ("mask", "masks", "maske", "masken", "masque", "masques")
REFERENCE_WORDS = ("reference", "ref", "original", "composite", "preview", "vorlage")
_OTHER_WORDS = ("report", "predicted", "prediction", "proof", "old", "backup")
_SEPARATORS = ("_", "-", " ", ".")
_UNKNOWN = 0.5  # weight of a layout none of whose inks is known, against 1.5 where all are
_FEWEST = 0.5  # of the plates that spreads times inks would make
_INK_FOLDER = "{ink}/"  # a folder for each ink, where most people keep one for each spread


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """A pattern and what it finds.

    Parameters
    ----------
    pattern : str
        With {spread}, {ink} or both.
    inks, spreads : tuple of str
        In the order of the paths.
    files : tuple of str
        Paths that fit, relative, with forward slashes.
    """

    pattern: str
    inks: tuple[str, ...]
    spreads: tuple[str, ...]
    files: tuple[str, ...]


def is_plate_path(path: str) -> bool:
    """Whether a path may be a plate: a picture that is not named as something else."""
    return PurePosixPath(path).suffix.lower() in ENDINGS and not has_word(
        path, (*MASK_WORDS, *REFERENCE_WORDS, *_OTHER_WORDS)
    )


def has_word(path: str, words: Sequence[str]) -> bool:
    """Whether a folder or file name holds one of the words."""
    return any(word in words for word in re.split(r"[^\w]+|_|\d+", path.lower()))


def find_layout(paths: Iterable[str], *, is_ink: Callable[[str], bool]) -> Layout | None:
    """The likeliest layout of single-ink plates, or None.

    The one that explains most files wins, if its ink names are known and few plates are missing.
    """
    paths = sorted(path for path in paths if is_plate_path(path))
    candidates = [c for pattern in _patterns(paths) if (c := _matched(pattern, paths))]
    return max(candidates, key=lambda layout: _likeliness(layout, is_ink), default=None)


def crowded_layout(paths: Iterable[str], *, is_ink: Callable[[str], bool]) -> Layout | None:
    """The layout of more inks than a book takes, where no other one is any likelier.

    Spreads may well be called by colours; so another one counts unless its inks are mere numbers.
    """
    paths = sorted(path for path in paths if is_plate_path(path))
    usual = find_layout(paths, is_ink=is_ink)
    if usual is not None and _likeliness(usual, is_ink)[0] > 0:
        return None
    candidates = [c for p in _patterns(paths) if (c := _matched(p, paths, most=len(paths)))]
    best = max(candidates, key=lambda layout: _likeliness(layout, is_ink), default=None)
    return best if best is not None and len(best.inks) > MAX_INKS else None


def layout_of_multi_ink(paths: Iterable[str], inks: Sequence[str]) -> Layout | None:
    """The layout of files that hold all inks; the fullest folder if they lie in several."""
    paths = sorted(paths)
    candidates = []
    for folder, ending in sorted({_folder_and_ending(path) for path in paths}):
        pattern = f"{folder}{{spread}}{ending}"
        matched = [m["spread"] for path in paths if (m := _expression(pattern).fullmatch(path))]
        files = tuple(p for p in paths if _folder_and_ending(p) == (folder, ending))
        candidates.append(
            Layout(pattern=pattern, inks=tuple(inks), spreads=tuple(matched), files=files)
        )
    return max(candidates, key=lambda layout: len(layout.files), default=None)


def spread_pattern(paths: Sequence[str], spreads: Sequence[str]) -> str | None:
    """One pattern with {spread} for pictures of which each spread has its own, or None."""
    for path in paths:
        for spread in spreads:
            if spread == ONLY_SPREAD or spread not in path:
                continue
            pattern = path.replace(spread, "{spread}")
            if {pattern.replace("{spread}", other) for other in spreads} <= set(paths):
                return pattern
    return None


def _patterns(paths: Sequence[str]) -> Iterator[str]:
    """Every pattern that some path suggests, the commonest ways first."""
    seen = dict.fromkeys(_folder_and_ending(path) for path in paths)
    for folder, ending in seen:
        above = folder.rstrip("/").rpartition("/")
        prefix = f"{above[0]}/" if above[0] else ""
        if folder:
            yield f"{prefix}{{spread}}/{{ink}}{ending}"
        yield f"{folder}{{ink}}{ending}"
        for separator in _SEPARATORS:
            yield f"{folder}{{spread}}{separator}{{ink}}{ending}"
            yield f"{folder}{{ink}}{separator}{{spread}}{ending}"
        if folder:
            yield f"{prefix}{{ink}}/{{spread}}{ending}"


def _folder_and_ending(path: str) -> tuple[str, str]:
    pure = PurePosixPath(path)
    folder = pure.parent.as_posix()
    return ("" if folder == "." else f"{folder}/"), pure.suffix


def file_of(layout: Layout, ink: str) -> str | None:
    """A file that the pattern takes for this ink's."""
    if "{ink}" not in layout.pattern:
        return None
    expression = _expression(layout.pattern)
    matched = ((path, expression.fullmatch(path)) for path in layout.files)
    return next((path for path, match in matched if match and match["ink"] == ink), None)


def _matched(pattern: str, paths: Sequence[str], *, most: int = MAX_INKS) -> Layout | None:
    expression = _expression(pattern)
    found = {path: match.groupdict() for path in paths if (match := expression.fullmatch(path))}
    inks = tuple(dict.fromkeys(parts["ink"] for parts in found.values()))
    spreads = tuple(dict.fromkeys(parts.get("spread", ONLY_SPREAD) for parts in found.values()))
    fewest = 2 if _INK_FOLDER in pattern else 1  # a single folder is where all plates lie
    if not fewest <= len(inks) <= most or len(found) < _FEWEST * len(inks) * len(spreads):
        return None
    return Layout(pattern=pattern, inks=inks, spreads=spreads, files=tuple(found))


def _expression(pattern: str) -> "re.Pattern[str]":
    """Spread and ink in a path; where a sign parts them, the ink's name does not hold it."""
    parted = re.search(r"\}([^/])\{", pattern)
    ink = f"(?P<ink>[^/{re.escape(parted[1])}]+)" if parted else "(?P<ink>[^/]+)"
    text = re.escape(pattern).replace(r"\{spread\}", "(?P<spread>[^/]+)")
    return re.compile(text.replace(r"\{ink\}", ink))


def _likeliness(layout: Layout, is_ink: Callable[[str], bool]) -> tuple[float, bool, int]:
    """Files times how full and how well known; of equals no folder an ink, then fewer inks."""
    known = sum(is_ink(ink) for ink in layout.inks) / len(layout.inks)
    numbered = sum(ink[0].isdigit() for ink in layout.inks) / len(layout.inks)
    full = len(layout.files) / (len(layout.inks) * len(layout.spreads))
    weight = len(layout.files) * full * (_UNKNOWN + known - numbered)
    return weight, _INK_FOLDER not in layout.pattern, -len(layout.inks)
