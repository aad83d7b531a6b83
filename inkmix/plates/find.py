"""Finding the plates of spreads: which file is which ink of which spread.

Names only: no file is opened. What matched in another spelling, and what nearly matched, is said.
"""

import difflib
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from inkmix.errors import Fault, PlateError
from inkmix.plates.channels import folded
from inkmix.plates.pattern import Match, matches, natural_key, pattern_faults

_NEAR = 0.6
"""Likeness of names from which one is taken for a slip of the other (Fiord for Fjord: 0.8)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundSpreads:
    """What lies in a folder.

    Parameters
    ----------
    spreads : dict
        For each spread, in natural order, the file of each ink; None where there is none.
    faults : tuple of Fault
        Several files for one ink, and names that are nearly right where an ink lacks its file.
    notes : tuple of str
        Matches by another case or Unicode form, and files that belong to no ink.
    """

    spreads: dict[str, dict[str, Path | None]]
    faults: tuple[Fault, ...] = ()
    notes: tuple[str, ...] = ()


def find_spreads(
    folder: Path | str, pattern: str, ink_names: Sequence[str]
) -> dict[str, dict[str, Path | None]]:
    """For each spread the file of each ink, or None.

    Raises
    ------
    PlateError
        With every fault that `look_for_spreads` finds.
    """
    found = look_for_spreads(folder, pattern, ink_names)
    if found.faults:
        raise PlateError(found.faults)
    return found.spreads


def look_for_spreads(folder: Path | str, pattern: str, ink_names: Sequence[str]) -> FoundSpreads:
    """Spreads, faults and notes; nothing is raised."""
    folder = Path(folder)
    if faults := tuple(pattern_faults(pattern)):
        return FoundSpreads(spreads={}, faults=faults)
    fitting = list(matches(folder, pattern, ink_names))
    if not fitting:
        return FoundSpreads(spreads={}, faults=(_nothing(folder, pattern),))
    names = {folded(match.spread): match.spread for match in reversed(fitting)}
    groups = [
        _Spread(folder, name, fitting, ink_names)
        for name in sorted(names.values(), key=natural_key)
    ]
    parts = [group for group in groups if group.is_of_book()] or groups
    others = [group for group in groups if group not in parts]
    return FoundSpreads(
        spreads={part.name: part.files() for part in parts},
        faults=tuple(fault for part in parts for fault in part.faults()),
        notes=(
            *(note for part in parts for note in part.notes()),
            *(note for other in others for note in other.left_out()),
        ),
    )


def _nothing(folder: Path, pattern: str) -> Fault:
    return Fault(
        where=folder.name or ".",
        found="no plate was found",
        expected=f"files named like {pattern} are looked for",
        do="check the pattern and the folder",
    )


class _Spread:
    """The files of one spread held against the inks."""

    def __init__(
        self, folder: Path, name: str, fitting: Iterable[Match], ink_names: Sequence[str]
    ) -> None:
        self.name, self._folder = name, folder
        self._here = [match for match in fitting if folded(match.spread) == folded(name)]
        self._by_ink = {ink: [m for m in self._here if _is_of(m, ink)] for ink in ink_names}

    def files(self) -> dict[str, Path | None]:
        """The file of each ink."""
        return {ink: here[0].path if here else None for ink, here in self._by_ink.items()}

    def is_of_book(self) -> bool:
        """Whether any file is one of an ink; a folder of masks or pictures has none."""
        return any(self._by_ink.values())

    def faults(self) -> Iterator[Fault]:
        """Several files for an ink; names that are nearly those of an ink without file."""
        for ink, here in self._by_ink.items():
            if len(here) > 1:
                found = f"has {len(here)} files: {', '.join(map(self._label, here))}"
                expected, do = "an ink has one plate in a spread", "leave only one"
                yield Fault(where=f"{self.name}, {ink}", found=found, expected=expected, do=do)
        for match, ink in self._near_misses():
            found, do = f"{match.ink} is no ink of the book", f"did you mean {ink}? Rename one"
            expected = f"{ink} has no plate in this spread"
            yield Fault(where=self._label(match), found=found, expected=expected, do=do)

    def notes(self) -> Iterator[str]:
        """Matches in another spelling; files of no ink."""
        for ink, here in self._by_ink.items():
            for match in here:
                if match.ink not in ("", ink):
                    yield f"{self._label(match)}: taken for {ink}, though written differently"
        near = [match for match, _ in self._near_misses()]
        yield from self.left_out(but=near)

    def left_out(self, but: Sequence[Match] = ()) -> Iterator[str]:
        """Files of no ink, but for some."""
        for match in self._strangers():
            if match not in but:
                yield f"{self._label(match)}: {match.ink} is no ink of the book, left out"

    def _strangers(self) -> list[Match]:
        return [m for m in self._here if not any(_is_of(m, ink) for ink in self._by_ink)]

    def _near_misses(self) -> Iterator[tuple[Match, str]]:
        missing = {folded(ink): ink for ink, here in self._by_ink.items() if not here}
        for match in self._strangers():
            near = difflib.get_close_matches(folded(match.ink), missing, n=1, cutoff=_NEAR)
            if near:
                yield match, missing[near[0]]

    def _label(self, match: Match) -> str:
        return match.path.relative_to(self._folder).as_posix()


def _is_of(match: Match, ink: str) -> bool:
    """Whether a file is of an ink; where the pattern has no {ink}, it is of all."""
    return not match.ink or folded(match.ink) == folded(ink)
