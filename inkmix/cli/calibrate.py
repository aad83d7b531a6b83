"""`inkmix calibrate`: a press as its printed test form shows it."""

from pathlib import Path

import click

from inkmix.cli.arguments import BOOK_NEEDED, Command, InputPath, OutputPath, refuse_beside
from inkmix.cli.common import say_all


@click.command(cls=Command)
@click.pass_context
@click.argument("book", type=InputPath(BOOK_NEEDED))
@click.argument("measurements", nargs=-1, type=InputPath("a file of readings of the form"))
@click.option(
    "--form",
    type=InputPath("the folder of the form, or its list,"),
    help="The form that was read, where the readings tell no more than numbers of patches.",
)
@click.option(
    "--photo",
    type=InputPath("a photograph or scan of the form"),
    help="A photograph of the form in place of MEASUREMENTS: much less sure, and never a pass.",
)
@click.option(
    "--to",
    "folder",
    type=OutputPath(folder=True),
    help="Folder for the press-condition file and its page.  [default: press, beside the book]",
)
@click.option(
    "--averages",
    type=OutputPath(),
    help="Write the readings that were used, each mix once, for the printer or another program: "
    "CGATS text (.txt), CxF (.cxf) or CSV (.csv).",
)
def calibrate(
    ctx: click.Context,
    book: Path,
    measurements: tuple[Path, ...],
    form: Path | None,
    photo: Path | None,
    folder: Path | None,
    averages: Path | None,
) -> None:
    """Learn from readings of a printed test form how this press prints this book's inks.

    BOOK is a book.toml, or the folder that holds one. MEASUREMENTS are files of readings (CGATS,
    CxF or CSV) with the tone values of each patch and its XYZ, Lab or spectrum; several are taken
    together. Without an instrument, --photo reads a photograph of the form. Writes a
    press-condition file, which the book then names: from then on every prediction rests on what
    was measured.
    """
    from inkmix.export.measurements import refuse_target
    from inkmix.jobs.books import read_book
    from inkmix.jobs.calibrating.averages import write_averages
    from inkmix.jobs.calibrating.calibrate import calibrate_book
    from inkmix.pages.calibration.text import calibration_lines
    from inkmix.pages.calibration.write import write_calibration

    if measurements:
        more = "what an instrument reads counts more than what a camera sees"
        refuse_beside(ctx, {"photo": more}, beside="MEASUREMENTS")
    if averages is not None:
        refuse_target(averages)
    if photo is not None:
        why = "what a camera saw would look as if an instrument had read it"
        refuse_beside(ctx, {"averages": why}, beside="--photo")
    read = read_book(book)
    found = calibrate_book(read, measurements, form=form, photo=photo)
    written = write_calibration(found, folder or read.folder / "press")
    if averages is not None:
        written = (*written, write_averages(found, averages))
    say_all(calibration_lines(found, written))
