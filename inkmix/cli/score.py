"""`inkmix score`: how well the press model predicts a measured chart."""

import json
from pathlib import Path

import click

from inkmix.base.errors import Fault, UsageError
from inkmix.cli.arguments import Command, InputPath, was_given
from inkmix.cli.common import put, put_json

PAPER_CLASSES = ("coated", "light-coated", "supercalendered", "uncoated", "newsprint")


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
    help="Also tell the model N mixtures of at most four inks, those that it learns most from. "
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
    help="Inks in lay-down order, first printed first: letters, or names separated by commas. "
    "Without it, the order that the chart states, or else a likely one.",
)
@click.option("--json", "as_json", is_flag=True, help="Write the result as JSON to stdout.")
@click.pass_context
def score(
    ctx: click.Context,
    file: Path,
    known: str,
    extra: int,
    paper_class: str,
    order: str | None,
    as_json: bool,
) -> None:
    """Tell the press model part of a measured chart and score what it predicts of the rest.

    FILE is a characterization chart of two to eight inks as CGATS text: tone values, and XYZ or
    Lab at D50, or spectra.
    """
    from inkmix.jobs.score import score_chart
    from inkmix.pages.score.text import as_text

    if was_given(ctx, "extra"):
        _check_extra(extra)
    result = score_chart(file, known=known, paper_class=paper_class, order=order, extra=extra)
    if as_json:
        put_json(json.dumps(result, indent=2))
    else:
        put(as_text(result))


def _check_extra(extra: int) -> None:
    """Nobody asks for none of something: --extra 0 is a slip."""
    from inkmix.press.scoring.known_part import MAX_EXTRA

    if not 1 <= extra <= MAX_EXTRA:
        expected = f"1 to {MAX_EXTRA} mixtures can be told besides"
        do = "leave it out to tell none"
        raise UsageError(Fault(where="--extra", found=f"{extra}", expected=expected, do=do))
