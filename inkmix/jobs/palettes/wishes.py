"""From a book, and what is asked beside it, to a wish: candidates, tones, limits.

Where inks and colours come from is decided here; what can be done with them is the search's.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from types import MappingProxyType

from inkmix.base.errors import Fault, UsageError
from inkmix.base.quoting import quoted
from inkmix.base.words import count, listing
from inkmix.book.meant.collected_faults import all_of
from inkmix.book.meant.condition import resolve_inks, resolve_limits, resolve_paper
from inkmix.book.values import Book, Told
from inkmix.mixes.palettes.values import Wish, WishedTone
from inkmix.press.inks import Ink, Paper
from inkmix.press.processes import find_process
from inkmix.press.swatches.by_name import list_inks, load_ink, read_measurements
from inkmix.press.swatches.charts import ink_from_table

ASKED = "asked"
"""Whose word a limit is that was given for this choice only."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidates:
    """Inks to choose from.

    Parameters
    ----------
    inks : tuple of Ink
        As they print on the book's paper; no two of one name.
    words : str
        Where they come from.
    invented : bool
    swatch : mapping of str to str
        Full names of those that are swatches.
    """

    inks: tuple[Ink, ...]
    words: str
    invented: bool
    swatch: Mapping[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Tones:
    """Intended tones, and where they come from."""

    tones: tuple[WishedTone, ...]
    words: str
    screen: Mapping[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Ground:
    """What the book says of paper, process, inks and limit."""

    book: Book
    paper: Paper
    own: tuple[Ink, ...]
    limit: Told | None


def ground_of(book: Book, *, limit_pct: float | None = None) -> Ground:
    """What a book says that holds for every palette.

    Parameters
    ----------
    limit_pct : float or None
        An ink limit instead of the book's.

    Raises
    ------
    InkmixError
        With the faults of paper and inks.
    """
    paper = replace(resolve_paper(book), guessed=book.paper.guessed)
    inks = resolve_inks(book, paper)
    pairs = zip(inks, book.inks, strict=True)
    own = tuple(ink for ink, spec in pairs if spec.plate is None and spec.hit_of is None)
    limit = resolve_limits(book, paper).ink_limit_pct
    if limit_pct is not None:
        limit = Told(value=limit_pct, whose=ASKED)
    return Ground(book=book, paper=paper, own=own, limit=limit)


def swatch_candidates(ground: Ground, names: tuple[str, ...] = ()) -> Candidates:
    """The book's own inks and those of ink sets that were printed on its paper.

    Parameters
    ----------
    names : tuple of str
        Ink sets ("night-ferry"); none: the sets of the book's inks.

    Raises
    ------
    UsageError
        No set of that name was printed on the paper.
    """
    used = {spec.swatch for spec in ground.book.inks if spec.swatch}
    sets = names or tuple(dict.fromkeys(name.rpartition("/")[0] for name in used))
    paper = ground.book.paper.swatch
    listed = [i for i in list_inks() if paper is None or paper in i.papers]
    known = tuple(dict.fromkeys(i.name.rpartition("/")[0] for i in listed))
    if missing := [name for name in sets if name not in known]:
        do = f"sets on {ground.paper.name}: {', '.join(known) or 'none'}"
        raise UsageError(
            Fault(where="candidates", found=f"no ink set {quoted(name)} on this paper", do=do)
            for name in missing
        )
    full = [i.name for i in listed if i.name.rpartition("/")[0] in sets and i.name not in used]
    taken = {ink.name for ink in ground.own}
    swatch = {name.rpartition("/")[2]: name for name in full}
    more = [load_ink(name, paper=ground.paper) for key, name in swatch.items() if key not in taken]
    own = {spec.name: spec.swatch for spec in ground.book.inks if spec.swatch}
    return Candidates(
        inks=(*ground.own, *more),
        words=f"the inks of {listing(sets)}" if sets else "the book’s own inks",
        invented=any(i.invented for i in listed if i.name in full or i.name in used),
        swatch=MappingProxyType(swatch | own),
    )


def file_candidates(ground: Ground, path: Path, *, beside: Candidates | None) -> Candidates:
    """The inks of a CGATS file, with the book's own and others that were found before.

    A relative path is looked for here, then beside the book.
    An ink of a name that is there already is left out: the book's word comes first.

    Raises
    ------
    InkmixError
        If the file cannot be read, or an ink in it has no solid.
    """
    beside_book = ground.book.folder / path
    table = read_measurements(beside_book if beside_book.exists() and not path.exists() else path)
    before = ground.own if beside is None else beside.inks
    taken = {ink.name for ink in before}
    more = all_of(
        partial(ink_from_table, table, column, paper=ground.paper)
        for column in table.plates
        if column not in taken
    )
    if not more:
        found = "holds no ink that is not there already"
        raise UsageError(Fault(where=str(path), found=found, do="name another file"))
    words = f"the {count(len(more), 'ink')} of {path.name}"
    own = {spec.name: spec.swatch for spec in ground.book.inks if spec.swatch}
    return Candidates(
        inks=(*before, *more),
        words=f"{words} and the book’s own" if beside is None else f"{beside.words}, {words}",
        invented=_is_invented(ground) if beside is None else beside.invented,
        swatch=MappingProxyType(own) if beside is None else beside.swatch,
    )


def _is_invented(ground: Ground) -> bool:
    used = {spec.swatch for spec in ground.book.inks}
    return any(ink.invented for ink in list_inks() if ink.name in used)


def wish_of(
    ground: Ground,
    candidates: Candidates,
    tones: Tones,
    *,
    k: int,
    fixed: tuple[str, ...],
    excluded: tuple[str, ...],
    weights: Mapping[str, float],
) -> Wish:
    """What to search for; `task_of` says what is wrong with it."""
    return Wish(
        k=k,
        candidates=candidates.inks,
        paper=ground.paper,
        process=find_process(ground.book.press.process),
        ink_limit_pct=None if ground.limit is None else ground.limit.value,
        fixed=fixed,
        excluded=excluded,
        ordered=tuple(ink.name for ink in ground.own),
        tones=tones.tones,
        weights=weights,
    )
