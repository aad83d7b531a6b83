"""Finding the spreads of a folder: which files bear the name of which.

Names only: no file is opened. What is wrong with one spread is said of that spread alone.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from inkmix.base.errors import Fault
from inkmix.base.names import folded
from inkmix.plates.found.listing import FOLDER_INSTEAD, contents, is_litter
from inkmix.plates.found.one_spread import NamedSpread, SpreadFiles, label
from inkmix.plates.found.pattern import InkNames, Match, in_natural_order, matches, pattern_faults


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundSpreads:
    """What lies in a folder.

    Parameters
    ----------
    spreads : tuple of SpreadFiles
        In natural order.
    faults : tuple of Fault
        Why there are none; empty where there are any.
    notes : tuple of str
        Files that belong to no spread.
    strays : tuple of Path
        What lies where plates are looked for and is not named as one.
    """

    spreads: tuple[SpreadFiles, ...] = ()
    faults: tuple[Fault, ...] = ()
    notes: tuple[str, ...] = ()
    strays: tuple[Path, ...] = ()


def no_other(path: Path) -> bool:
    """That no file is known to be something else than a plate."""
    return False


def look_for_spreads(
    folder: Path | str,
    pattern: str,
    inks: InkNames,
    is_other: Callable[[Path], bool] = no_other,
) -> FoundSpreads:
    """Spreads, faults and notes; nothing is raised.

    Parameters
    ----------
    is_other : callable
        Whether a file that is of no ink is known to be something else, such as a mask.
    """
    folder = Path(folder)
    if faults := tuple(pattern_faults(pattern)):
        return FoundSpreads(faults=faults)
    all_found = matches(folder, pattern, inks)
    found = [match for match in all_found.fitting if _may_be_told(match, inks, is_other)]
    # Nobody knows which spreads have plates in a folder above them that cannot be listed.
    barred = tuple(_barred(folder, match) for match in found if match.spread is None)
    groups = _grouped(folder, found, inks)
    if not groups:
        return FoundSpreads(faults=barred or (_nothing(folder, pattern),))
    parts = [group for group in groups if group.is_of_book()]
    others = [group for group in groups if not group.is_of_book()]
    if not parts:
        parts, others = others, []
    return FoundSpreads(
        spreads=tuple(part.told(barred) for part in parts),
        notes=tuple(note for other in others for note in other.left_out()),
        strays=tuple(path for path in all_found.strays if not is_other(path)),
    )


def _may_be_told(match: Match, inks: InkNames, is_other: Callable[[Path], bool]) -> bool:
    """Whether it is of an ink, or nobody knows it for anything else."""
    known = {folded(ink) for ink in inks.on(match.spread or "")}
    return not match.ink or folded(match.ink) in known or not is_other(match.path)


def _grouped(folder: Path, found: Iterable[Match], inks: InkNames) -> list[NamedSpread]:
    """The matches of each spread, in natural order."""
    groups: dict[str, list[Match]] = {}
    for match in found:
        if match.spread is not None and (match.ink or match.trouble != FOLDER_INSTEAD):
            groups.setdefault(folded(match.spread), []).append(match)
    named = [NamedSpread(folder, here, inks) for here in groups.values()]
    return sorted(named, key=lambda group: in_natural_order(group.name))


def _nothing(folder: Path, pattern: str) -> Fault:
    place = _nearest_folder(folder, pattern)
    name = "the folder" if place == folder else f"{label(folder, place)}/"
    return Fault(
        where=folder.name or ".",
        found="no plate was found",
        expected=f"files named like {pattern} are looked for",
        do=f"{name} {contents(place)}: check the pattern and the names",
    )


def _nearest_folder(folder: Path, pattern: str) -> Path:
    """The folder where plates should lie; of several, for spreads or inks, the first."""
    place = folder
    for part in PurePosixPath(pattern).parent.parts:
        if "{" not in part:
            place = place / part
            continue
        below = sorted(path for path in place.glob("*/") if not is_litter(Path(path.name)))
        if not below:
            break
        place = below[0]
    return place


def _barred(folder: Path, match: Match) -> Fault:
    where = folder.name if match.path == folder else label(folder, match.path)
    return Fault(where=where, found=match.trouble)
