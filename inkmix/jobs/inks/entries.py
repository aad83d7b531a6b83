"""What is told of each paper and each ink on it, as values; and which of them were asked for."""

from collections.abc import Sequence
from dataclasses import dataclass

from inkmix.base.arguments import names_of, one_of, text_of
from inkmix.base.arrays import FloatArray
from inkmix.base.errors import Fault, SwatchError
from inkmix.base.quoting import nearest, quoted
from inkmix.colour.colorimetry import xyz100_to_lab, xyz100_to_srgb8
from inkmix.jobs.inks.curves import DensityCurve, density_curve
from inkmix.press.inks import Ink, Paper
from inkmix.press.solids.opacity import Opacity
from inkmix.press.solids.primaries import solids_of
from inkmix.press.swatches.by_name import is_invented, list_inks, list_papers, load_ink


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Field:
    """A colour as a screen shows it, and as it was measured."""

    lab: FloatArray
    hex: str
    in_srgb: bool


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class InkEntry:
    """One ink on one paper."""

    name: str
    paper: str
    known: str
    invented: bool
    solid: Field
    tints: tuple[Field, ...]
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
    return PaperEntry(
        name=paper.name,
        paper_class=paper.paper_class,
        known="XYZ" if paper.reflectance is None else "spectrum",
        invented=is_invented(paper.name),
        colour=field_of(paper.xyz100),
        source=paper.source,
        inks=tuple(_ink_entry(name, load_ink(name, paper=paper), status) for name in names),
    )


def _ink_entry(name: str, ink: Ink, status: str) -> InkEntry:
    return InkEntry(
        name=name,
        paper=ink.measured_on.name,
        known=f"{ink.known} of {'XYZ' if ink.reflectance is None else 'spectra'}",
        invented=is_invented(ink.measured_on.name),
        solid=field_of(ink.solid_xyz100),
        tints=tuple(field_of(xyz100) for xyz100 in ink.xyz100),
        curve=density_curve(ink, status=status),
        opacity=solids_of((ink,), ink.measured_on)[0].opacity,
        character=tuple(sorted(ink.character)),
        source=ink.source,
    )
