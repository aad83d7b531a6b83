"""`inkmix palette`: choose inks that are to print together."""

import json
from pathlib import Path

import click

from inkmix.base.errors import Fault, UsageError
from inkmix.base.quoting import quoted
from inkmix.cli.arguments import BOOK_NEEDED, Command, InputPath, OutputPath, names_in
from inkmix.cli.common import put, put_json, say
from inkmix.cli.progress import told_counts

USUAL = "palette.html"

WEIGHTS = {
    "tones": "tones_de00",
    "worst": "tones_worst_de00",
    "dark": "darkest_L",
    "neutral": "darkest_chroma",
    "bright": "solids_chroma",
    "grey": "grey_steps",
    "mixes": "different_mixes",
    "room": "gamut_volume",
    "sure": "error_de00",
}
"""Short names of the measures."""

_DOING = {
    "mixes": "mixes of few inks",
    "palettes": "palettes",
    "best palettes": "the best, in full",
    "plates": "plates in palettes",
}


def _refuse_inks(ctx: object, param: click.Parameter, text: str | None) -> None:
    """Elsewhere --inks names inks; here nobody knows yet which they will be."""
    if text is None:
        return
    from inkmix.jobs.refusals import refuse_counts

    names = names_in(ctx, param, text)
    refuse_counts(names, known=())
    expected = "palette finds out which inks to print in"
    do = "name those that must be there with --fix, those to choose from with --candidates"
    raise UsageError(Fault(where="--inks", found=quoted(text), expected=expected, do=do))


def _weights(ctx: object, param: click.Parameter, texts: tuple[str, ...]) -> dict[str, float]:
    """Weights by measure, of texts like tones=3."""
    weights: dict[str, float] = {}
    for text in (part for told in texts for part in told.split(",")):
        name, sign, amount = (part.strip() for part in text.partition("="))
        try:
            value = float(amount)
        except ValueError:
            value = -1.0
        if name not in WEIGHTS or not sign or not 0 <= value < float("inf"):
            known = ", ".join(WEIGHTS)
            raise click.BadParameter(
                f"{quoted(text)}: a measure and its weight, 0 or more, are needed, as tones=3; "
                f"measures: {known}"
            )
        if WEIGHTS[name] in weights:
            raise click.BadParameter(f"{name} is weighed twice; give it one weight")
        weights[WEIGHTS[name]] = value
    return weights


class _Needed(click.Option):
    """An option that has to be given; whoever leaves it out is told how."""

    def process_value(self, ctx: click.Context, value: object) -> object:
        """The value.

        Raises
        ------
        MissingParameter
            With an example.
        """
        try:
            return super().process_value(ctx, value)
        except click.MissingParameter:
            raise click.MissingParameter("For example --choose 1.", ctx, self) from None


@click.command(cls=Command)
@click.argument("book", type=InputPath(BOOK_NEEDED), default=".")
@click.option(
    "--choose",
    type=int,
    cls=_Needed,
    required=True,
    help="How many inks to choose, 1-6, beside the fixed ones.",
)
@click.option("--inks", hidden=True, callback=_refuse_inks, expose_value=False, is_eager=True)
@click.option("--fix", "fixed", callback=names_in, help="Inks that must be there: Soot,Fjord.")
@click.option("--without", "excluded", callback=names_in, help="Inks that must not be there.")
@click.option(
    "--candidates",
    callback=names_in,
    help="Ink sets (night-ferry), or CGATS files of inks; else the sets of the book's inks.",
)
@click.option(
    "--tones",
    "tones_file",
    type=InputPath("a file of colours, one a line,"),
    help="Intended colours from a file, one a line, instead of the book's named tones.",
)
@click.option(
    "--picture",
    type=InputPath("a picture"),
    help="A picture whose main colours are the intended tones.",
)
@click.option(
    "--weight",
    "weights",
    multiple=True,
    callback=_weights,
    metavar="MEASURE=W",
    help=f"How much each measure counts: {', '.join(WEIGHTS)}.",
)
@click.option("--limit", type=float, help="Greatest total ink, %, instead of the book's.")
@click.option("--spread", help="The spread that is meant, where the book has several.")
@click.option("--no-plates", is_flag=True, help="Do not look at the plates.")
@click.option(
    "--to",
    "target",
    type=OutputPath(),
    help="Page to write, .html; else palette.html beside the book.",
)
@click.option("--json", "as_json", is_flag=True, help="Write JSON to stdout.")
def palette(
    book: Path,
    choose: int,
    fixed: tuple[str, ...],
    excluded: tuple[str, ...],
    candidates: tuple[str, ...],
    tones_file: Path | None,
    picture: Path | None,
    weights: dict[str, float],
    limit: float | None,
    spread: str | None,
    no_plates: bool,
    target: Path | None,
    as_json: bool,
) -> None:
    """Choose inks: the best palettes for a book, side by side on a page.

    BOOK is a book.toml, or the folder that holds one; it gives paper, process, ink limit and named
    tones, which count by the area they fill where its plates are at hand. The page shows each
    palette as a small overprint sheet, what it gives and what not, and the plates printed in it.
    """
    from inkmix.jobs.books import book_of_spread, read_book
    from inkmix.jobs.colour_lists import colours_in
    from inkmix.jobs.palettes.choose import PaletteRequest, choose_inks
    from inkmix.pages.palettes.document import palette_document
    from inkmix.pages.palettes.page import refuse_page, write_page
    from inkmix.pages.palettes.text import as_text
    from inkmix.plates.files.scratch.room import ScratchRoom

    if tones_file is not None and picture is not None:
        found = "tones from a file and from a picture"
        raise UsageError(Fault(where="--tones, --picture", found=found, do="give one of them"))
    read = read_book(book)
    if no_plates:  # the spread says more than its plates: its inks, its paper, its limit
        read, spread = book_of_spread(read, spread), None
    if target is None and not as_json:
        target = read.folder / USUAL
    if target is not None:
        refuse_page(target)
    asked = PaletteRequest(
        choose=choose,
        fixed=fixed,
        excluded=excluded,
        candidates=candidates,
        colours=() if tones_file is None else colours_in(tones_file),
        colours_from="" if tones_file is None else tones_file.name,
        picture=picture,
        weights=weights,
        limit_pct=limit,
        spread=spread,
        with_plates=not no_plates,
    )
    room = ScratchRoom(folder=read.folder if target is None else target.parent, announce=say)
    with told_counts(_DOING) as progress:
        facts = choose_inks(
            read, asked, book_words=str(book), room=room, say=say, progress=progress
        )
    if target is not None:
        write_page(target, facts)
    if as_json:
        put_json(json.dumps(palette_document(facts), ensure_ascii=False, indent=2))
    else:
        put(as_text(facts))
    if target is not None:
        say(f"written: {target}")
