"""`inkmix mix`: the mixes that come nearest to colours, or go darkest."""

import re
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from inkmix.base.errors import Fault, UsageError
from inkmix.base.quoting import nearest
from inkmix.cli.arguments import (
    BOOK_NEEDED,
    Command,
    InputPath,
    names_in,
    refuse_beside,
    was_given,
)
from inkmix.cli.common import may_be_coloured, put, put_json, say_all
from inkmix.cli.progress import told_count
from inkmix.colour.written import FORMS, HUES
from inkmix.jobs.ranges import MIXES

if TYPE_CHECKING:
    from inkmix.book.values import Book
    from inkmix.colour.written import ToldColour
    from inkmix.jobs.mix import Answer, MixGround, NearestMixes


@click.command(cls=Command, context_settings={"ignore_unknown_options": True})
@click.argument("colours", nargs=-1, metavar="[COLOUR]...", type=click.UNPROCESSED)
@click.option(
    "--book",
    "book_path",
    type=InputPath(BOOK_NEEDED),
    default=Path("."),
    help="The book, or its folder, whose inks, paper and press are meant.  [default: here]",
)
@click.option(
    "--from",
    "file",
    type=InputPath("a file of colours, one a line,", allow_dash=True),
    help="Colours from a file, one a line, or from - (stdin).",
)
@click.option("--step", type=float, default=5, show_default=True, help="Steps of tones, %.")
@click.option("--limit", type=float, help="Greatest total ink, %, instead of the book's.")
@click.option("--inks", callback=names_in, help="Only these inks, separated by commas.")
@click.option(
    "--most",
    type=click.IntRange(int(MIXES.low), int(MIXES.high)),
    help="Mixes a colour.  [default: 5; of more than 6 colours the best]",
)
@click.option(
    "--darkest", is_flag=True, help="Find the darkest mixes, instead of the nearest to colours."
)
@click.option(
    "--cast",
    metavar="CAST",
    help=f"Of the darkest: neutral, {', '.join(HUES)}, a hue of 0-360 degrees, or A,B.",
)
@click.option(
    "--double-hit", is_flag=True, help="Let the darkest ink print twice in the darkest mixes."
)
@click.option("--json", "as_json", is_flag=True, help="Write JSON to stdout.")
@click.pass_context
def mix(
    ctx: click.Context,
    colours: tuple[str, ...],
    book_path: Path,
    file: Path | None,
    step: float,
    limit: float | None,
    inks: tuple[str, ...],
    most: int | None,
    darkest: bool,
    cast: str | None,
    double_hit: bool,
    as_json: bool,
) -> None:
    """Find the best mixes of a book's inks for colours, under the ink limit.

    COLOUR is #rrggbb, #rgb or rgb(r, g, b), as on a screen whose white is the paper; Lab(L, a, b)
    or three numbers, absolute under D50; or a pixel, picture.png@x,y. A file holds one a line,
    "name = colour" if it has a name.

    The exact mix is shown first, then mixes in steps, of differing inks: nearest first, fewer inks
    where mixes come equally near (within dE00 0.3).
    """
    from inkmix.jobs.mix import mix_ground

    _refuse_unknown_options(colours)
    told = _colours(ctx, colours, file)
    ground = mix_ground(_book(book_path), step_pct=step, limit_pct=limit, inks=inks)
    if darkest:
        _darkest(ground, cast, double_hit=double_hit, most=most, as_json=as_json)
    else:
        _nearest(ground, told, most=most, as_json=as_json)


def _refuse_unknown_options(arguments: tuple[str, ...]) -> None:
    """Numbers below 0 look like options to the parser, so all that do get here."""
    for text in arguments:
        if re.match(r"--?[A-Za-z]", text):
            options = [name for option in mix.params for name in option.opts]
            near = nearest(text.partition("=")[0], options)
            raise click.NoSuchOption(text, possibilities=[near] if near else [])


def _colours(
    ctx: click.Context, texts: tuple[str, ...], file: Path | None
) -> "tuple[ToldColour, ...]":
    """The colours asked for; none beside --darkest, which takes options of its own instead."""
    from inkmix.jobs.colour_lists import listed_colours

    if ctx.params["darkest"]:
        reason = "the darkest mixes are looked for without a colour"
        given = {"file": reason} | ({"colours": reason} if texts else {})
        refuse_beside(ctx, given, beside="--darkest", do="leave one of them out")
        return ()
    alone = [name for name in ("cast", "double_hit") if was_given(ctx, name)]
    if alone:
        found, do = "is given without --darkest", "add --darkest, or leave it out"
        raise UsageError(
            Fault(where=f"--{name.replace('_', '-')}", found=found, do=do) for name in alone
        )
    told = listed_colours(texts, file)
    if not told:
        expected = f"a colour is needed, written {FORMS}; a file with --from; or --darkest"
        raise UsageError(Fault(where="mix", found="nothing is asked for", expected=expected))
    return told


def _book(path: Path) -> "Book":
    from inkmix.book.values import BOOK_NAME
    from inkmix.jobs.books import is_book, read_book

    if not is_book(path):
        where = path / BOOK_NAME if path.is_dir() else path
        do = "name a book with --book, or write one with `inkmix start FOLDER`"
        raise UsageError(Fault(where=str(where), found="there is not a book file", do=do))
    return read_book(path)


def _nearest(
    ground: "MixGround", told: "tuple[ToldColour, ...]", *, most: int | None, as_json: bool
) -> None:
    from inkmix.jobs.mix import FEW, mix_colours
    from inkmix.pages.mixes.document import nearest_json
    from inkmix.pages.mixes.text import nearest_head, nearest_table

    found = mix_colours(ground, told, most=most)
    if not as_json:
        say_all(nearest_head(found))
    with _counted(found) as found:
        if as_json:
            for piece in nearest_json(found):
                put_json(piece, whole=False)
            return
        in_full = len(told) <= FEW or most is not None
        for line in nearest_table(found, in_full=in_full, fields=may_be_coloured()):
            put(line, colour=True)


@contextmanager
def _counted(found: "NearestMixes") -> Iterator["NearestMixes"]:
    """The same, told as it comes, unless rows on the terminal are progress enough."""
    if sys.stdout.isatty():
        yield found
        return
    of = len(found.colours)
    with told_count("colours") as tell:

        def counted() -> Iterator["Answer"]:
            for done, answer in enumerate(found.answers, start=1):
                yield answer
                tell(done, of)

        yield replace(found, answers=counted())


def _darkest(
    ground: "MixGround", cast: str | None, *, double_hit: bool, most: int | None, as_json: bool
) -> None:
    from inkmix.jobs.mix import MOST, mix_darkest
    from inkmix.pages.mixes.document import darkest_json
    from inkmix.pages.mixes.text import darkest_head, darkest_table

    found = mix_darkest(ground, cast=cast, most=most or MOST, double_hit=double_hit)
    if as_json:
        put_json(darkest_json(found, cast=cast, double_hit=double_hit))
        return
    say_all(darkest_head(found, double_hit=double_hit))
    for line in darkest_table(found, fields=may_be_coloured()):
        put(line, colour=True)
