"""What bears the name of one spread, held against its inks: files, faults, notes.

Names only: no file is opened. What matched in another spelling, and what nearly matched, is said.
"""

import unicodedata
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from inkmix.base.errors import Fault
from inkmix.base.names import composed, folded
from inkmix.base.quoting import nearest
from inkmix.plates.found.listing import printable
from inkmix.plates.found.pattern import InkNames, Match

_NEAR = 0.6
"""Likeness of names from which one is taken for a slip of the other (Fiord for Fjord: 0.8)."""
_TOLD = 10  # files of no ink that are named one by one; a folder may hold thousands


@dataclass(frozen=True, slots=True, kw_only=True)
class SpreadFiles:
    """The files of one spread.

    Parameters
    ----------
    name : str
        As its folder or most of its files write it, composed.
    files : mapping of ink to Path or None
        In lay-down order; None where there is none.
    faults : tuple of Fault
        Several files for one ink, names that are nearly right where an ink lacks its file, what
        stands where a file should, folders that cannot be listed, two folders for one spread.
    notes : tuple of str
        Matches by another case or Unicode form, and files beside them that belong to no ink.
    """

    name: str
    files: Mapping[str, Path | None]
    faults: tuple[Fault, ...] = ()
    notes: tuple[str, ...] = ()


def label(folder: Path, path: Path) -> str:
    """A path from the book's folder down, fit for a message."""
    return printable(path.relative_to(folder).as_posix())


class NamedSpread:
    """The matches that bear the name of one spread, held against its inks."""

    def __init__(self, folder: Path, here: Sequence[Match], inks: InkNames) -> None:
        spread = here[0].spread or ""
        ink_names, self._whose = inks.on(spread), inks.whose(spread)
        self._folder = folder
        known = {folded(ink): ink for ink in ink_names}
        of_inks = [match for match in here if not match.ink or folded(match.ink) in known]
        self._strangers = [m for m in here if m.ink and folded(m.ink) not in known]
        self.name = _usual([match.spread or "" for match in of_inks or here])
        self._troubled = [match for match in of_inks if match.trouble]
        self._files = [match for match in of_inks if not match.trouble]
        self._by_ink: dict[str, list[Match]] = {ink: [] for ink in ink_names}
        for match in self._files:
            for ink in (known[folded(match.ink)],) if match.ink else ink_names:
                self._by_ink[ink].append(match)
        self._set_aside()

    def _set_aside(self) -> None:
        """Where a plate lies there twice, the one with the pattern's ending counts."""
        self._aside: dict[str, list[Match]] = {}
        for ink, here in self._by_ink.items():
            told = [match for match in here if match.is_as_told]
            if told and len(told) < len(here):
                self._aside[ink] = [match for match in here if not match.is_as_told]
                self._by_ink[ink] = told

    def is_of_book(self) -> bool:
        """Whether any file is one of an ink; a folder of masks or pictures has none."""
        return bool(self._files or self._troubled)

    def told(self, barred: Iterable[Fault]) -> SpreadFiles:
        """Files, faults and notes."""
        near = list(self._near_misses())
        return SpreadFiles(
            name=self.name,
            files={ink: here[0].path if here else None for ink, here in self._by_ink.items()},
            faults=(*self._faults(), *(self._slip(*miss) for miss in near), *barred),
            notes=(*self._notes(), *self.left_out(but=[match for match, _ in near])),
        )

    def left_out(self, but: Sequence[Match] = ()) -> Iterator[str]:
        """Files of no ink, but for some; not each of very many."""
        passed = {id(match) for match in but}
        rest = [m for m in self._strangers if id(m) not in passed and not m.trouble]
        for match in rest[:_TOLD]:
            ink = printable(match.ink)
            yield f"{self._named(match)}: {ink} is not an ink of {self._whose}, left out"
        if len(rest) > _TOLD:
            more, place = len(rest) - _TOLD, printable(self.name)
            yield f"{place}: {more} more files are of no ink of {self._whose}, left out"

    def _faults(self) -> Iterator[Fault]:
        for match in self._troubled:
            yield Fault(where=self._named(match), found=match.trouble)
        if claims := self._claims():
            yield claims
            return
        for where, here in self._rivals():
            found = f"has {len(here)} files: {', '.join(map(self._named, here))}"
            expected, do = "an ink has one plate in a spread", "leave only one"
            yield Fault(where=where, found=found, expected=expected, do=do)

    def _claims(self) -> Fault | None:
        """Two folders that bear the name of this spread."""
        folders: dict[str, set[str]] = {}
        for match in (*self._files, *self._troubled):
            folder, ink = match.claims
            folders.setdefault(folded(ink), set()).add(folder)
        rivals = next((sorted(f) for f in folders.values() if len(f) > 1), [])
        if not rivals:
            return None
        return Fault(
            where=f"spread {printable(self.name)}",
            found=f"{len(rivals)} folders claim this name: {', '.join(_told_apart(rivals))}",
            expected="names of spreads differ by more than case or Unicode form",
            do="rename one, or bring all plates into one",
        )

    def _rivals(self) -> Iterator[tuple[str, Sequence[Match]]]:
        """Where several files are of the same ink, or of all inks."""
        name = printable(self.name)
        whole = [match for match in self._files if not match.ink]
        if len(whole) > 1:
            yield name, whole
            return
        for ink, here in self._by_ink.items():
            if len(here) > 1:
                yield f"{name}, {ink}", here

    def _near_misses(self) -> Iterator[tuple[Match, str]]:
        """Files of no ink whose names nearly are those of inks without a file."""
        waiting = {folded(match.ink) for match in self._troubled}
        lacking = {folded(ink): ink for ink, here in self._by_ink.items() if not here}
        missing = {} if "" in waiting else {f: i for f, i in lacking.items() if f not in waiting}
        for match in self._strangers if missing else ():
            near = nearest(folded(match.ink), missing, cutoff=_NEAR)
            if near:
                yield match, missing[near]

    def _slip(self, match: Match, ink: str) -> Fault:
        written = printable(match.ink)
        return Fault(
            where=self._named(match),
            found=f"{written} is not an ink of {self._whose}",
            expected=f"{ink} has no plate in this spread",
            do=f"did you mean {ink}? Rename one",
        )

    def _notes(self) -> Iterator[str]:
        """Matches in another spelling."""
        for ink, here in self._by_ink.items():
            for match in here:
                if match.ink not in ("", ink):
                    yield f"{self._named(match)}: taken for {ink}, though written differently"
        for ink, aside in self._aside.items():
            taken = self._named(self._by_ink[ink][0])
            for match in aside:
                yield f"{self._named(match)}: left out, for {taken} has the ending of the pattern"
        for match in self._files:
            if match.spread != self.name:
                name = printable(self.name)
                yield f"{self._named(match)}: taken for {name}, though written differently"

    def _named(self, match: Match) -> str:
        return label(self._folder, match.path)


def _usual(spellings: Sequence[str]) -> str:
    """The commonest; the first in order where several are."""
    counts = Counter(spellings)
    return min(counts, key=lambda name: (-counts[name], name))


def _told_apart(folders: Sequence[str]) -> Iterator[str]:
    """Names of folders; with their Unicode form where they would look the same."""
    alike = len({composed(name) for name in folders}) < len(folders)
    for name in folders:
        form = "composed" if unicodedata.is_normalized("NFC", name) else "decomposed"
        yield f"{printable(name)} ({form} letters)" if alike else printable(name)
