"""`inkmix inks`: the inks and papers at hand."""

import json
from pathlib import Path

import click

from inkmix.cli.arguments import Command, OutputPath
from inkmix.cli.common import may_be_coloured, put, put_json, say


@click.command(cls=Command)
@click.argument("names", nargs=-1, metavar="[NAME]...")
@click.option("--paper", help="Only this paper (night-ferry/uncoated) or class (uncoated).")
@click.option(
    "--status",
    type=click.Choice(["E", "T"]),
    default="E",
    show_default=True,
    help="Density filters of ISO 5-3; E and T differ in blue.",
)
@click.option("--json", "as_json", is_flag=True, help="Write the list as JSON to stdout.")
@click.option(
    "--page",
    type=OutputPath(),
    help="Write a page with colour fields and density curves to this HTML file.",
)
def inks(
    names: tuple[str, ...], paper: str | None, status: str, as_json: bool, page: Path | None
) -> None:
    """List inks and papers: colour, how known, density curve and tone value increase.

    NAME is an ink (Soot, night-ferry/Soot) or a whole set (night-ferry); without one all are
    listed. Three inks or fewer are listed with every step of their curves.
    """
    from inkmix.jobs.inks.entries import inks_at_hand
    from inkmix.pages.inks.page import write_page
    from inkmix.pages.inks.words import as_document, as_text

    papers = inks_at_hand(names, paper=paper, status=status)
    if page is not None:
        write_page(page, papers, status=status)
        say(f"written: {page}")
    if as_json:
        document = as_document(papers, status=status)
        put_json(json.dumps(document, indent=2, ensure_ascii=False))
    elif page is None:
        colours = may_be_coloured()
        put(as_text(papers, colours=colours), colour=colours)
