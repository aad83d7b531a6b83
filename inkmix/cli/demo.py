"""`inkmix demo`: the invented strip, drawn and checked, as a first look at everything."""

from pathlib import Path

import click

from inkmix.cli.arguments import Command, OutputPath, refuse_beside, within
from inkmix.cli.common import say, say_all
from inkmix.demo.ranges import PPI, SEED


@click.command(cls=Command)
@click.argument("folder", type=OutputPath(folder=True))
@click.option(
    "--fault",
    default="all",
    show_default=True,
    help="What is planted: pale-night, thin-sea, heavy-ink, wrong-tone, all, or none.",
)
@click.option(
    "--seed",
    type=click.IntRange(int(SEED.low), int(SEED.high)),
    default=0,
    show_default=True,
    help="Where the faults lie.",
)
@click.option(
    "--ppi",
    type=float,
    callback=within(PPI),
    default=200,
    show_default=True,
    help="Resolution of the plates.",
)
@click.pass_context
def demo(ctx: click.Context, folder: Path, fault: str, seed: int, ppi: float) -> int:
    """Draw The Night Ferry into FOLDER and check it.

    A folded strip of eight panels in five invented inks on an invented paper, with two night
    areas, named tones, and faults planted for the check to find.
    """
    from inkmix.cli.check import checked
    from inkmix.demo.write import write_demo
    from inkmix.pages.report.text import result_lines

    if fault == "none":
        refuse_beside(ctx, {"seed": "no fault is planted"}, beside="--fault none")
    say(f"Drawing The Night Ferry into {folder} ...")
    planted = write_demo(folder, ppi=ppi, seed=seed, fault=fault)
    for one in planted:
        say(f"planted: {one.name} ({one.check}{f', {one.area}' if one.area else ''})")
    say("Checking it ...")
    result, page, _ = checked(folder, spread=None, folder=None)
    say_all(result_lines(result, page))
    say("")
    say(f"Open {page} in a browser.")
    say(f"Next: inkmix check {folder}, or inkmix predict {folder} --pair")
    return 0
