"""`inkmix score`: how well the press model predicts a measured chart."""

import json
import re
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from inkmix.cli.arguments import Command, InputPath
from inkmix.cli.common import put, put_json

if TYPE_CHECKING:
    from inkmix.colour.measured.table import MeasurementTable

PAPER_CLASSES = ("coated", "light-coated", "supercalendered", "uncoated", "newsprint")
_LIGHTNESS = {
    "coated": (88, 98), "light-coated": (86, 97), "supercalendered": (83, 95),
    "uncoated": (86, 98), "newsprint": (76, 90),
}  # fmt: skip
"""L* of bare papers, wide enough for ISO 12647-2 and -3 on any backing (from memory)."""

_ABOUT_PAPER = ("DESCRIPTOR", "PRINT_CONDITIONS", "PAPER", "SUBSTRATE")
"""Keywords of CGATS files in which charts tell their paper."""

_LEFT = 30  # columns of the names of rows


@click.command(cls=Command)
@click.argument("file", type=InputPath("a chart as CGATS text"))
@click.option(
    "--known",
    type=click.Choice(["solids", "ramps", "pairs", "overprints"]),
    required=True,
    help="What the model is told: the paper and each solid; also the tints of single inks; also "
    "the solids of two inks; also all other solid overprints. The rest is predicted and compared.",
)
@click.option(
    "--extra",
    type=int,
    default=0,
    metavar="N",
    help="Told besides: N mixtures of at most four inks, those that the model learns most from. "
    "They are chosen by their tone values, before their readings are looked at.",
)
@click.option(
    "--paper",
    "paper_class",
    type=click.Choice(PAPER_CLASSES),
    default="coated",
    show_default=True,
    help="Class of the paper that the chart was printed on.",
)
@click.option(
    "--order",
    help="Inks in lay-down order, first printed first: letters, or names parted by commas. "
    "Without it, the order that the chart states, or else a likely one.",
)
@click.option("--json", "as_json", is_flag=True, help="Write the result as JSON to stdout.")
def score(
    file: Path, known: str, extra: int, paper_class: str, order: str | None, as_json: bool
) -> None:
    """Tell the press model part of a measured chart and score what it predicts of the rest.

    FILE is a characterization chart of two to eight inks as CGATS text: tone values, and XYZ or
    Lab at D50, or spectra.
    """
    from inkmix.press.scoring.score import score_table
    from inkmix.press.swatches.by_name import read_measurements

    _check_extra(extra, as_given=_extra_was_given())
    table = read_measurements(file)
    result = score_table(table, known=known, paper_class=paper_class, order=order, extra=extra)
    result["notes"] = [*result["notes"], *_notes_on_paper(table, paper_class)]
    if as_json:
        put_json(json.dumps(result, indent=2))
    else:
        put(_in_words(result))


def _notes_on_paper(table: "MeasurementTable", paper_class: str) -> Iterator[str]:
    """What in the chart speaks against the class of paper that was told, or taken."""
    from inkmix.press.scoring.score import read_chart

    words = " ".join(table.keywords.get(key, "") for key in _ABOUT_PAPER)
    says = _class_in_words(words)
    if says not in (None, paper_class):
        yield f"the chart says {says} paper, {paper_class} was taken: is --paper {says} meant?"
    chart = read_chart(table)
    lightness = float(chart.lab[(chart.tone_pct == 0).all(axis=1), 0].mean())
    low, high = _LIGHTNESS[paper_class]
    if not low <= lightness <= high:
        yield (
            f"the bare paper has L* {lightness:.0f}, where {paper_class} papers have some "
            f"{low} to {high}: is --paper right?"
        )


def _class_in_words(text: str) -> str | None:
    """The class of paper that a chart's description names; the longest name counts."""
    words = text.lower()
    named = [name for name in PAPER_CLASSES if re.search(rf"(?<![a-z]){name}(?![a-z])", words)]
    return max(named, key=len, default=None)


def _extra_was_given() -> bool:
    """Whether --extra stands on the command line."""
    source = click.get_current_context().get_parameter_source("extra")
    return source is click.core.ParameterSource.COMMANDLINE


def _check_extra(extra: int, *, as_given: bool) -> None:
    """Nobody asks for none of something: --extra 0 is a slip."""
    from inkmix.base.errors import Fault, UsageError
    from inkmix.press.scoring.score import MAX_EXTRA

    if as_given and not 1 <= extra <= MAX_EXTRA:
        raise UsageError(
            Fault(
                where="--extra",
                found=f"{extra}",
                expected=f"1 to {MAX_EXTRA} mixtures can be told besides",
                do="leave it out to tell none",
            )
        )


def _in_words(result: Mapping[str, Any]) -> str:
    blocks = (_told(result), _table(result), _inside(result), _worst(result), _notes(result))
    return "\n\n".join("\n".join(block) for block in blocks if block)


def _told(result: Mapping[str, Any]) -> Iterable[str]:
    """What the model was told, and what it took the inks for."""
    extra = f" and {result['extra']} of its mixtures besides" if result["extra"] else ""
    yield (
        f"{result['data_set']}: told {result['known']}{extra} on {result['paper']} paper, "
        f"{result['patches']} patches of two or more inks predicted"
    )
    says = {
        "told": "as told",
        "chart": "as the chart states",
        "proposed": "proposed, as nobody told it; the printer knows",
    }[result["order_by"]]
    yield f"Lay-down order: {', '.join(result['order'])} ({says})"
    process = [ink for ink in result["inks"] if ink["process_ink"]]
    if process:
        names = ", ".join(
            ink["name"] if ink["name"] == ink["process_ink"]
            else f"{ink['name']} as {ink['process_ink']}"
            for ink in process
        )  # fmt: skip
        yield f"Process inks by their colour: {names}"
    for ink in result["inks"]:
        if ink["opacity"]:
            opacity = ink["opacity"]
            yield f"Spot ink {ink['name']}: opacity {opacity['value']:.3f} ({opacity['why']})"


def _table(result: Mapping[str, Any]) -> Iterable[str]:
    """The differences, in rows."""
    dark, screen = result["dark"], result["screen_multiply"]
    yield _line("colour difference dE00", ("patches", "mean", "median", "95 %", "worst"))
    yield _line("all", (result["patches"], *_figures(result["de00"])))
    for part in result["by_inks"]:
        yield _line(f"  of {part['inks']} inks", (part["patches"], *_figures(part)))
    yield _line("layers multiplied on screen", ("", *_figures(screen["de00"])))
    yield ""
    yield _line("error of L*, darkest fifth", (dark["patches"], *_dark_figures(dark)))
    yield _line("layers multiplied on screen", ("", *_dark_figures(screen["dark"])))
    yield f"  (the darkest fifth are patches of L* {dark['lightest_L']:.1f} and below)"


def _inside(result: Mapping[str, Any]) -> Iterable[str]:
    """How often the stated error held."""
    inside = result["inside"]
    yield (
        "Within the stated error, which is meant to hold for 95 of 100 patches: "
        f"dE00 {inside['de00']:.0%},"
    )
    yield f"L* {inside['L']:.0%}, L* of the darkest fifth {inside['dark_L']:.0%}"


def _worst(result: Mapping[str, Any]) -> Iterable[str]:
    """The mixtures farthest off."""
    yield "Farthest off:"
    yield f"{'dE00':>6}{'stated':>8}   {'L* a* b* measured':<21}{'predicted':<21}tone values, %"
    for one in result["worst"]:
        recipe = ", ".join(f"{name} {tone:g}" for name, tone in one["tone_pct"].items())
        yield (
            f"{one['de00']:6.2f}{one['expected_de00']:8.2f}   "
            f"{_lab(one['lab_measured'])}{_lab(one['lab_predicted'])}{recipe}"
        )


def _notes(result: Mapping[str, Any]) -> Iterable[str]:
    return [f"Note: {note}" for note in result["notes"]]


def _lab(lab: Iterable[float]) -> str:
    return "".join(f"{value:6.1f}" for value in lab) + "   "


def _figures(part: Mapping[str, float]) -> tuple[float, ...]:
    return tuple(part[name] for name in ("mean", "median", "p95", "max"))


def _dark_figures(dark: Mapping[str, float]) -> tuple[float | str, ...]:
    return dark["mean_abs_dL"], "", dark["p95_abs_dL"], ""


def _line(name: str, cells: Iterable[float | int | str]) -> str:
    """A row of the table: counts whole, differences to two places."""
    shown = (f"{cell:.2f}" if isinstance(cell, float) else f"{cell}" for cell in cells)
    return (f"{name:<{_LEFT}}" + "".join(f"{cell:>9}" for cell in shown)).rstrip()
