"""What is told of each paper and each ink on it, as values: those at hand, or those of a book."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from inkmix.base.arguments import names_of, one_of, text_of
from inkmix.base.arrays import FloatArray
from inkmix.base.errors import Fault, SwatchError
from inkmix.base.quoting import nearest, quoted
from inkmix.book.meant.condition import resolve_inks, resolve_paper
from inkmix.book.values import Book
from inkmix.colour.colorimetry import xyz100_to_lab, xyz100_to_srgb8
from inkmix.jobs.refusals import refuse_inks, refuse_no_book
from inkmix.press.condition import press_condition
from inkmix.press.figures.density_curve import DensityCurve, density_curve
from inkmix.press.inks import Ink, Paper
from inkmix.press.paper_change import is_same_paper, put_on_paper
from inkmix.press.processes import find_process
from inkmix.press.solids.opacity import Opacity
from inkmix.press.solids.primaries import solids_of
from inkmix.press.swatches.by_name import is_invented, list_inks, list_papers, load_ink

_STEPS_PCT = np.linspace(0.0, 100.0, 11)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Field:
    """A colour as a screen shows it, and as it was measured."""

    lab: FloatArray
    hex: str
    in_srgb: bool


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class InkEntry:
    """One ink on one paper.

    Parameters
    ----------
    tints : tuple of Field
        As they were told, from bare paper to the solid.
    ramp : tuple of Field
        In steps of 10 %, as they should print.
    """

    name: str
    paper: str
    known: str
    invented: bool
    solid: Field
    tints: tuple[Field, ...]
    ramp: tuple[Field, ...]
    curve: DensityCurve
    opacity: Opacity
    character: tuple[str, ...]
    source: str

    @property
    def short_name(self) -> str:
        """The name without its set."""
        return self.name.rpartition("/")[2]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PaperEntry:
    """One paper and the inks that were printed on it."""

    name: str
    paper_class: str
    known: str
    invented: bool
    colour: Field
    source: str
    inks: tuple[InkEntry, ...]


def field_of(xyz100: FloatArray) -> Field:
    """The nearest sRGB of a colour (3,), under D50, and whether it is that colour."""
    srgb8, outside = xyz100_to_srgb8(xyz100)
    digits = "".join(f"{value:02x}" for value in srgb8.tolist())
    return Field(lab=xyz100_to_lab(xyz100), hex=f"#{digits}", in_srgb=not outside)


def inks_at_hand(
    names: str | Sequence[str] = (), *, paper: str | None = None, status: str = "E"
) -> tuple[PaperEntry, ...]:
    """The papers that inkmix brings along, each with its inks: colours, densities, opacity.

    Parameters
    ----------
    names : str or sequence of str
        Inks by full or short name, or whole sets (`night-ferry`); none means all.
    paper : str or None
        A paper by full or short name, or a class of paper.
    status : {"E", "T"}
        Filters of the densities, ISO 5-3.

    Raises
    ------
    SwatchError
        A name that means nothing, each with the nearest that does.

    Examples
    --------
    ::

        (paper,) = inkmix.inks_at_hand(["Rowan"], paper="night-ferry/uncoated")
        (ink,) = paper.inks
        assert ink.name == "night-ferry/Rowan" and ink.solid.lab.shape == (3,)  # D50, 2 degree
        assert ink.curve.tone_pct[-1] == 100 and ink.curve.increase_50_pct > 0
    """
    one_of(status, ("E", "T"), what="status")
    papers = _chosen_papers(None if paper is None else text_of(paper, what="paper"))
    inks = _chosen_inks(names_of(names, what="inks"))
    entries = (_paper_entry(one, inks, status) for one in papers)
    return tuple(entry for entry in entries if entry.inks)


def inks_of_book(
    book: Book, names: str | Sequence[str] = (), *, status: str = "E"
) -> tuple[PaperEntry, ...]:
    """The inks of a book on its paper, as `inks_at_hand` tells those that come with inkmix.

    Parameters
    ----------
    names : str or sequence of str
        Inks of the book; none means all.
    status : {"E", "T"}
        Filters of the densities, ISO 5-3.

    Raises
    ------
    InkmixError
        Where paper or inks cannot be made out, or the book has no ink of a name.

    Examples
    --------
    ::

        (paper,) = inkmix.inks_of_book(inkmix.read_book("night-ferry"), ["Rowan"])
        (ink,) = paper.inks
        assert ink.name == "Rowan" and len(ink.ramp) == 11  # bare paper to solid in steps of 10 %
    """
    refuse_no_book(book)
    one_of(status, ("E", "T"), what="status")
    wanted = names_of(names, what="inks")
    refuse_inks(book, wanted)
    paper = resolve_paper(book)
    inks = [ink for ink in resolve_inks(book, paper) if not wanted or ink.name in wanted]
    as_lab = {spec.name for spec in book.inks if spec.lab is not None}
    entries = tuple(
        _entry_of(put_on_paper(ink, paper), ink, paper, status, as_lab=ink.name in as_lab)
        for ink in inks
    )
    return (_entry_of_paper(paper, entries, as_lab=book.paper.lab is not None),)


def _chosen_papers(name: str | None) -> tuple[Paper, ...]:
    papers = list_papers()
    if name is None:
        return papers
    chosen = tuple(p for p in papers if name.lower() in (*_names(p.name), p.paper_class))
    if not chosen:
        words = [w for p in papers for w in (p.name, p.paper_class)]
        raise SwatchError(_unknown("paper", name, words))
    return chosen


def _chosen_inks(names: Sequence[str]) -> dict[str, tuple[str, ...]]:
    """Ink name to its papers, for all names that were given."""
    inks = {ink.name: ink.papers for ink in list_inks()}
    wanted = [name.lower() for name in names]
    words = {word for ink in inks for word in _names(ink)}
    faults = [
        _unknown("ink", name, [*inks, *sorted({i.rpartition("/")[0] for i in inks})])
        for name in names
        if name.lower() not in words
    ]
    if faults:
        raise SwatchError(faults)
    return {name: on for name, on in inks.items() if not wanted or set(_names(name)) & set(wanted)}


def is_ink_name(word: str) -> bool:
    """Whether a word means an ink or a set that comes with inkmix."""
    return any(word.lower() in _names(ink.name) for ink in list_inks())


def _names(full: str) -> tuple[str, str, str]:
    """The ways to name one thing, in lower case: in full, its set, its last part."""
    ink_set, _, last = full.lower().rpartition("/")
    return full.lower(), ink_set or last, last


def _unknown(what: str, name: str, words: Sequence[str]) -> Fault:
    by_word = {short: word for word in words for short in (word.lower(), _names(word)[2])}
    near = nearest(name, by_word)
    do = f"did you mean {by_word[near]}?" if near else "`inkmix inks` lists them all"
    return Fault(where="swatches", found=f"no {what} {quoted(name)}", do=do)


def _paper_entry(paper: Paper, inks: dict[str, tuple[str, ...]], status: str) -> PaperEntry:
    names = [name for name, papers in inks.items() if paper.name in papers]
    loaded = ((name, load_ink(name, paper=paper)) for name in names)
    entries = (_entry_of(replace(ink, name=name), ink, paper, status) for name, ink in loaded)
    return _entry_of_paper(paper, tuple(entries))


def _entry_of_paper(
    paper: Paper, inks: tuple[InkEntry, ...], *, as_lab: bool = False
) -> PaperEntry:
    return PaperEntry(
        name=paper.name,
        paper_class=paper.paper_class,
        known=_told_as(as_lab) if paper.reflectance is None else "spectrum",
        invented=is_invented(paper.name),
        colour=field_of(paper.xyz100),
        source=paper.source,
        inks=inks,
    )


def _told_as(lab: bool) -> str:
    return "Lab" if lab else "XYZ"


def _entry_of(ink: Ink, told: Ink, paper: Paper, status: str, *, as_lab: bool = False) -> InkEntry:
    """An ink as it prints on a paper, and how it was told."""
    spectra = _told_as(as_lab) if ink.reflectance is None else "spectra"
    known = f"{told.known} of {spectra}" if told.known in ("solid", "ramp") else told.known
    elsewhere = "" if is_same_paper(told.measured_on, paper) else f", on {told.measured_on.name}"
    return InkEntry(
        name=ink.name,
        paper=paper.name,
        known=known + elsewhere,
        invented=is_invented(told.measured_on.name),
        solid=field_of(ink.solid_xyz100),
        tints=tuple(field_of(xyz100) for xyz100 in ink.xyz100),
        ramp=tuple(field_of(xyz100) for xyz100 in _ramp_xyz100(ink, paper)),
        curve=density_curve(ink.tone_pct, ink.xyz100, ink.reflectance, status=status),
        opacity=solids_of((ink,), paper)[0].opacity,
        character=tuple(sorted(ink.character)),
        source=ink.source,
    )


def _ramp_xyz100(ink: Ink, paper: Paper) -> FloatArray:
    """XYZ (11, 3) of paper, tints and solid: those that were read, else as they should print."""
    if len(ink.tone_pct) == len(_STEPS_PCT) and np.array_equal(ink.tone_pct, _STEPS_PCT):
        return ink.xyz100
    alone = press_condition(paper, (ink,), process=find_process("sheet-fed offset"))
    return alone.xyz100(_STEPS_PCT[:, None])
