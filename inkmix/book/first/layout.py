"""How plates are named in a folder: which part of a path is the spread and which the ink.

Paths only; no file is opened and no ink is known by colour here. Who calls says which words are
names of inks.
"""

import re
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import PurePosixPath

from inkmix.base.names import folded
from inkmix.plates.found.pattern import ENDINGS, ONLY_SPREAD
from inkmix.press.values import MAX_INKS

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
    for folder, ending in _folders(paths):
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


def _folders(paths: Sequence[str]) -> Iterator[tuple[str, str]]:
    """Each folder once, with the ending that most of its plates have, the usual spelling first."""
    endings: dict[str, Counter[str]] = {}
    for folder, ending in map(_folder_and_ending, paths):
        endings.setdefault(folder, Counter())[ending] += 1
    for folder, counts in endings.items():
        yield folder, _usual_ending(counts)


def _usual_ending(counts: Counter[str]) -> str:
    """The commonest; of equals .tif, .tiff, .png, then such in capitals."""

    def rank(ending: str) -> tuple[int, bool, bool, int]:
        return counts[ending], ending.islower(), ending.lower() != ".png", -len(ending)

    return max(counts, key=rank)


def _folder_and_ending(path: str) -> tuple[str, str]:
    pure = PurePosixPath(path)
    folder = pure.parent.as_posix()
    return ("" if folder == "." else f"{folder}/"), pure.suffix


def file_of(layout: Layout, ink: str) -> str | None:
    """A file that the pattern takes for this ink's."""
    if "{ink}" not in layout.pattern:
        return None
    expression = _expression(layout.pattern)
    named = [(path, m["ink"]) for path in layout.files if (m := expression.fullmatch(path))]
    alike = [path for path, name in named if folded(name) == folded(ink)]
    return next((path for path, name in named if name == ink), next(iter(alike), None))


def _matched(pattern: str, paths: Sequence[str], *, most: int = MAX_INKS) -> Layout | None:
    """What a pattern finds; names that differ in case only are one, as are endings of plates."""
    found = _without_twins(pattern, paths)
    places = Counter((folded(spread), folded(ink)) for _, spread, ink in found)
    is_one = max(places.values(), default=1) == 1  # else two files claim one place: both are told
    names = _usual_spelling if is_one else _each
    spreads, inks = (names(one[k] for one in found) for k in (1, 2))
    fewest = 2 if _INK_FOLDER in pattern else 1  # a single folder is where all plates lie
    if not fewest <= len(inks) <= most or len(found) < _FEWEST * len(inks) * len(spreads):
        return None
    files = tuple(path for path, _, _ in found)
    return Layout(pattern=pattern, inks=inks, spreads=spreads, files=files)


def _without_twins(pattern: str, paths: Sequence[str]) -> list[tuple[str, str, str]]:
    """Path, spread and ink of each plate; of one in two formats, that with the pattern's ending."""
    expression, ending = _expression(pattern), PurePosixPath(pattern).suffix.lower()
    found = []
    for path in paths:
        if match := expression.fullmatch(path):
            found.append((path, match.groupdict().get("spread", ONLY_SPREAD), match["ink"]))
    told = {_bare(path) for path, _, _ in found if path.lower().endswith(ending)}
    return [one for one in found if one[0].lower().endswith(ending) or _bare(one[0]) not in told]


def _bare(path: str) -> str:
    """A path without its ending, in any case."""
    return folded(PurePosixPath(path).with_suffix("").as_posix())


def _each(names: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(names))


def _usual_spelling(names: Iterable[str]) -> tuple[str, ...]:
    """Names that differ in more than case, each as it is written most often."""
    spellings: dict[str, Counter[str]] = {}
    for name in names:
        spellings.setdefault(folded(name), Counter())[name] += 1
    return tuple(counts.most_common(1)[0][0] for counts in spellings.values())


def _expression(pattern: str) -> "re.Pattern[str]":
    """Spread and ink in a path; where a sign parts them, the ink's name does not hold it.

    A plate of one ink may have any ending that plates have.
    """
    parted = re.search(r"\}([^/])\{", pattern)
    ink = f"(?P<ink>[^/{re.escape(parted[1])}]+)" if parted else "(?P<ink>[^/]+)"
    suffix = PurePosixPath(pattern).suffix
    text = re.escape(pattern.removesuffix(suffix)).replace(r"\{spread\}", "(?P<spread>[^/]+)")
    endings = "|".join(map(re.escape, ENDINGS if "{ink}" in pattern else (suffix,)))
    return re.compile(text.replace(r"\{ink\}", ink) + f"(?i:{endings})")


def _likeliness(layout: Layout, is_ink: Callable[[str], bool]) -> tuple[float, bool, int]:
    """Files times how full and how well known; of equals no folder an ink, then fewer inks."""
    known = sum(is_ink(ink) for ink in layout.inks) / len(layout.inks)
    numbered = sum(ink[0].isdigit() for ink in layout.inks) / len(layout.inks)
    full = len(layout.files) / (len(layout.inks) * len(layout.spreads))
    weight = len(layout.files) * full * (_UNKNOWN + known - numbered)
    return weight, _INK_FOLDER not in layout.pattern, -len(layout.inks)
