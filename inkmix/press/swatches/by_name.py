"""The inks and papers that come with the package, found by name.

Here belongs what their names are: `night-ferry/uncoated` is a paper, `night-ferry/Soot` an ink
printed on one or more papers of its set. This module, and no lower one, opens measurement files.
What a chart says is taken out of it by charts.py.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from pathlib import Path

from inkmix.base.errors import Fault, MeasurementError, PassingFault, SwatchError
from inkmix.base.inputs import opened_input
from inkmix.base.quoting import clipped, nearest, quoted
from inkmix.base.shipped import swatches_folder
from inkmix.colour.measured.cgats import parse_cgats
from inkmix.colour.measured.table import MeasurementTable
from inkmix.colour.measured.tokens import MAX_BYTES
from inkmix.press.inks import Ink, Paper
from inkmix.press.patches import Patches
from inkmix.press.scoring.keywords import words_of
from inkmix.press.solids.primaries import solids_of
from inkmix.press.swatches.charts import ink_from_table, paper_from_table, patches_from_table


@dataclass(frozen=True, slots=True, kw_only=True)
class SwatchInk:
    """What the list of inks says of one: on which papers it was printed, and how it is known.

    Opacity is None where nobody told or measured it.
    """

    name: str
    papers: tuple[str, ...]
    known: str
    invented: bool
    opacity: float | None
    character: frozenset[str]
    source: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Chart:
    """One swatch file: the paper it describes, or the paper whose overprints it holds."""

    paper_name: str
    ink_set: str
    table: MeasurementTable


def read_measurements(path: Path | str) -> MeasurementTable:
    """The measured table in a file.

    Raises
    ------
    MeasurementError
        The file cannot be opened, or is no sound CGATS text; all faults at once.
    """
    path = Path(path)
    try:
        with opened_input(path) as file:
            data = file.read(MAX_BYTES + 1)
    except OSError as error:
        reason = error.strerror or type(error).__name__
        fault = PassingFault(where=clipped(str(path), 1000), found=f"cannot be read ({reason})")
        raise MeasurementError(fault) from None
    return parse_cgats(data, where=clipped(path.name, 255))


def list_papers() -> tuple[Paper, ...]:
    """All papers, by name."""
    return tuple(_papers().values())


def list_inks() -> tuple[SwatchInk, ...]:
    """All inks, in the order of their charts."""
    papers: dict[str, list[str]] = {}
    for chart in _charts():
        for plate in chart.table.plates:
            papers.setdefault(f"{chart.ink_set}/{plate}", []).append(chart.paper_name)
    return tuple(_listed(name, tuple(on)) for name, on in papers.items())


def _listed(name: str, papers: tuple[str, ...]) -> SwatchInk:
    ink = load_ink(name, paper=papers[0])
    return SwatchInk(
        name=name,
        papers=papers,
        known=ink.known,
        invented=is_invented(papers[0]),
        opacity=_opacity(ink),
        character=ink.character,
        source=ink.source,
    )


def _opacity(ink: Ink) -> float | None:
    """What is told of an ink's opacity, or measured over a black."""
    if ink.over_black_xyz100 is None:
        return ink.opacity
    return solids_of((ink,), ink.measured_on)[0].opacity.value


def is_invented(paper_name: str) -> bool:
    """Whether the chart on this paper was computed and never measured."""
    return any(
        chart.table.keywords.get("INVENTED") == "yes"
        for chart in _charts()
        if chart.paper_name == paper_name
    )


def load_paper(name: str) -> Paper:
    """The paper of that name.

    Raises
    ------
    SwatchError
        There is none; with the nearest name.
    """
    papers = _papers()
    if name not in papers:
        raise SwatchError(_unknown("paper", name, papers))
    return papers[name]


def load_ink(name: str, *, paper: Paper | str) -> Ink:
    """The ink of that name as printed on a paper.

    The chart on that very paper is taken, else one on a paper of the same class, else any; the
    ink's `measured_on` and `source` then say which. The ink is called by the last part of its name.

    Raises
    ------
    SwatchError
        No ink, or no paper, of that name.
    """
    target = load_paper(paper) if isinstance(paper, str) else paper
    ink_set, _, plate = name.rpartition("/")
    charts = [c for c in _charts() if c.ink_set == ink_set and plate in c.table.plates]
    if not charts:
        raise SwatchError(_unknown("ink", name, _ink_names()))
    chart = min(charts, key=lambda chart: _distance(chart, target))
    own, ink = load_paper(chart.paper_name), _printed(chart, plate)
    if own.name == target.name:
        return ink
    return replace(ink, source=f"{ink.source}; as printed on {own.name}, not on {target.name}")


@cache
def _printed(chart: _Chart, plate: str) -> Ink:
    """An ink of a chart, on the chart's paper."""
    return ink_from_table(chart.table, plate, paper=load_paper(chart.paper_name))


def load_overprints(paper: Paper | str, inks: Sequence[str]) -> Patches | None:
    """Measured mixtures of these inks on this paper, or None if there are none in this order.

    Parameters
    ----------
    paper : Paper or str
    inks : sequence of str
        Swatch names in lay-down order, as for `load_ink`; others may be among them, and an ink
        printed twice may come twice.
    """
    name = paper if isinstance(paper, str) else paper.name
    for chart in (*_overprint_charts(), *_charts()):
        if chart.paper_name == name:
            parts = [ink.rpartition("/") for ink in inks]
            columns = [plate if ink_set == chart.ink_set else None for ink_set, _, plate in parts]
            patches = patches_from_table(chart.table, columns, noise="averaged")
            if patches is not None:
                return patches
    return None


def overprints_order(paper: Paper | str, inks: Sequence[str]) -> tuple[int, ...]:
    """Places in `inks` of those whose measured mixtures were printed in a known order, in it.

    Parameters
    ----------
    paper : Paper or str
    inks : sequence of str
        Swatch names in any order; of an ink that comes twice the first counts.
    """
    name = paper if isinstance(paper, str) else paper.name
    for chart in _overprint_charts():
        told = words_of(chart.table, "LAY_DOWN_ORDER") if chart.paper_name == name else ()
        full = [f"{chart.ink_set}/{plate}" for plate in told]
        held = tuple(inks.index(ink) for ink in full if ink in inks)
        if len(held) > 1:
            return held
    return ()


def _distance(chart: _Chart, paper: Paper) -> int:
    """0 on that very paper, 1 on one of its class, 2 on another."""
    if chart.paper_name == paper.name:
        return 0
    return 1 if load_paper(chart.paper_name).paper_class == paper.paper_class else 2


def _ink_names() -> list[str]:
    return [f"{chart.ink_set}/{plate}" for chart in _charts() for plate in chart.table.plates]


def _unknown(what: str, name: str, names: Iterable[str]) -> Fault:
    """No such name; the nearest is found with or without the set before the slash."""
    by_word = {word: full for full in names for word in (full.lower(), _last(full).lower())}
    near = nearest(name.lower(), by_word) or nearest(_last(name).lower(), by_word)
    do = "`inkmix inks` lists them all" if near is None else f"did you mean {by_word[near]}?"
    return Fault(where="swatches", found=f"no {what} {quoted(name)}", do=do)


def _last(name: str) -> str:
    return name.rpartition("/")[2]


@lru_cache(maxsize=1)
def _papers() -> dict[str, Paper]:
    return {
        chart.paper_name: paper_from_table(chart.table, name=chart.paper_name)
        for chart in _charts()
    }


def _charts() -> tuple[_Chart, ...]:
    """Charts of ramps, in the order of the folders."""
    return tuple(c for c in _files() if "OVERPRINTS_ON" not in c.table.keywords)


def _overprint_charts() -> tuple[_Chart, ...]:
    return tuple(c for c in _files() if "OVERPRINTS_ON" in c.table.keywords)


@lru_cache(maxsize=1)
def _files() -> tuple[_Chart, ...]:
    """Every swatch file; the Night Ferry's first."""
    folder = swatches_folder()
    paths = sorted(folder.rglob("*.txt"), key=lambda p: (-len(p.parts), p.as_posix()))
    return tuple(_chart(path, folder) for path in paths)


def _chart(path: Path, folder: Path) -> _Chart:
    table = read_measurements(path)
    name = path.relative_to(folder).with_suffix("").as_posix()
    return _Chart(
        paper_name=table.keywords.get("OVERPRINTS_ON", name),
        ink_set=name.rpartition("/")[0] or name,
        table=table,
    )
