"""`inkmix testform`: plates of a form to print and to measure, with its list of patches."""

from pathlib import Path

import click

from inkmix.base.errors import Fault, UsageError
from inkmix.base.quoting import quoted
from inkmix.cli.arguments import BOOK_NEEDED, Command, InputPath, OutputPath, within
from inkmix.cli.common import say_all
from inkmix.cli.progress import told_progress
from inkmix.jobs.ranges import FORM_REPEATS, FORM_SEED

SEED = 1


def sheet_size(ctx: object, param: object, text: str | None) -> tuple[float, float] | None:
    """Width and height out of "297x210".

    Raises
    ------
    UsageError
        For any other text.
    """
    if text is None:
        return None
    try:
        width, height = (float(side) for side in text.lower().replace("×", "x").split("x"))
    except ValueError:
        expected = "width and height in mm are needed, as in 297x210"
        raise UsageError(Fault(where="--sheet", found=quoted(text), expected=expected)) from None
    return width, height


@click.command(cls=Command)
@click.argument("book", type=InputPath(BOOK_NEEDED), default=".")
@click.option(
    "--to",
    "folder",
    type=OutputPath(folder=True),
    required=True,
    help="Folder for the form.",
)
@click.option(
    "--sheet",
    "sheet_mm",
    metavar="WxH",
    callback=sheet_size,
    help="Size of the form in mm; else that of the book's strip or plates.",
)
@click.option(
    "--random",
    "seed",
    type=int,
    is_flag=False,
    flag_value=SEED,
    metavar="[SEED]",
    callback=within(FORM_SEED),
    help="Patches in random order; a number gives the same order again.",
)
@click.option(
    "--repeats",
    type=int,
    default=2,
    show_default=True,
    callback=within(FORM_REPEATS),
    help="How often paper, solids and some mixes are printed, to measure the press's noise.",
)
@click.option(
    "--small",
    type=click.Choice(["10", "20", "40"]),
    help="A strip for the sheet's edge: ramps, and so many patches that tell most.",
)
@click.option(
    "--replace",
    is_flag=True,
    help="Write over another form in the folder, one that was never printed.",
)
def testform(
    book: Path,
    folder: Path,
    sheet_mm: tuple[float, float] | None,
    seed: int | None,
    repeats: int,
    small: str | None,
    replace: bool,
) -> None:
    """Write a test form: plates to print, a picture, and the list of patches to measure.

    Ramps of every ink, solids over each other, darks, tints that tell most, lines and gaps, within
    the ink limit. BOOK is a book.toml, or the folder that holds one; no plates are needed. What you
    measure on it makes every prediction for this press surer.
    """
    from inkmix.jobs.books import read_book
    from inkmix.pages.testform.text import form_lines
    from inkmix.pages.testform.write import write_testform

    read = read_book(book)
    with told_progress() as tell:
        tell("choosing patches", 0.0)
        form = write_testform(
            read,
            folder,
            sheet_mm=sheet_mm,
            seed=seed,
            repeats=repeats,
            small=None if small is None else int(small),
            replace=replace,
        )
    say_all(form_lines(form, folder, book=book))
