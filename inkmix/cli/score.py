"""`inkmix score`: how well the press model predicts a measured chart."""

import json
from pathlib import Path
from typing import Any

import click

PAPER_CLASSES = ("coated", "light-coated", "supercalendered", "uncoated", "newsprint")


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--known",
    type=click.Choice(["solids", "ramps", "overprints"]),
    required=True,
    help="What the model is told; everything else is predicted and compared.",
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
    default="KCMY",
    show_default=True,
    help="Inks in lay-down order, first printed first; letters, or names parted by commas.",
)
@click.option("--json", "as_json", is_flag=True, help="Write the result as JSON to stdout.")
def score(file: Path, known: str, paper_class: str, order: str, as_json: bool) -> None:
    """Tell the press model part of a measured chart and score what it predicts of the rest.

    FILE is a characterization chart as CGATS text: tone values of the inks, and XYZ at D50.
    """
    from inkmix.press.score import score_table
    from inkmix.swatches import read_measurements

    table = read_measurements(file)
    result = score_table(table, known=known, paper_class=paper_class, order=order)
    click.echo(json.dumps(result, indent=2) if as_json else _in_words(result))


def _in_words(result: dict[str, Any]) -> str:
    ours, screen = result["de00"], result["screen_multiply"]["de00"]
    dark, screen_dark = result["dark"], result["screen_multiply"]["dark"]
    return "\n".join(
        (
            f"{result['data_set']}: told {result['known']} on {result['paper']} paper, "
            f"{result['patches']} patches of two or more inks predicted",
            "",
            "                               mean  median     95 %     max",
            f"colour difference dE00      {_row(ours)}",
            f"  layers multiplied on screen{_row(screen)[1:]}",
            "",
            f"darkest fifth ({dark['patches']} patches, L* {dark['lightest_L']:.1f} and darker):",
            f"  off by {dark['mean_abs_dL']:.2f} L* on average, "
            f"95 % within {dark['p95_abs_dL']:.2f}",
            f"  layers multiplied on screen: {screen_dark['mean_abs_dL']:.2f}, "
            f"95 % within {screen_dark['p95_abs_dL']:.2f}",
        )
    )


def _row(figures: dict[str, float]) -> str:
    return "".join(f"{figures[name]:8.2f}" for name in ("mean", "median", "p95", "max"))
