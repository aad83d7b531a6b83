"""`inkmix inks`: the inks and papers at hand, and what an earlier book knows of them."""

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from inkmix.base.errors import Fault, UsageError
from inkmix.cli.arguments import (
    ADOPTED,
    BOOK_NEEDED,
    Command,
    InputPath,
    OutputPath,
    ink_pairs,
    refuse_beside,
)
from inkmix.cli.common import may_be_coloured, put, put_json, say, say_all

if TYPE_CHECKING:
    from inkmix.jobs.inks.entries import PaperEntry


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
@click.option(
    "--adopt",
    type=InputPath(BOOK_NEEDED),
    metavar="OTHERBOOK",
    help="Take over what this earlier book knows of the inks of BOOK; needs --to.",
)
@click.option(
    "--adopt-ink",
    "adopted",
    multiple=True,
    metavar="OURS=THEIRS",
    help="An ink that the earlier book calls otherwise, or that is taken over in any case.",
)
@click.option(
    "--to",
    "target",
    type=OutputPath(folder=True),
    help="With --adopt: the new book, NAME.toml beside the old one, or a new folder for a copy.",
)
@click.pass_context
def inks(
    ctx: click.Context,
    names: tuple[str, ...],
    paper: str | None,
    status: str,
    as_json: bool,
    page: Path | None,
    adopt: Path | None,
    adopted: tuple[str, ...],
    target: Path | None,
) -> None:
    """List inks and papers: colour, how known, density curve and tone value increase.

    NAME is an ink (Soot, night-ferry/Soot) or a whole set (night-ferry); without one all are
    listed. A book, or its folder (.), as the first NAME lists the book's own inks on its paper.
    Three inks or fewer are listed with every step of their curves.

    With --adopt a new file of the book is written, in which it knows what an earlier book knows of
    its inks. Neither of the two books is changed.
    """
    if adopt is not None:
        _refuse_list_options(ctx)
        _adopt(names, adopt, ink_pairs(adopted, words=ADOPTED, option="--adopt-ink"), target,
               as_json=as_json)  # fmt: skip
        return
    why = "it belongs to --adopt OTHERBOOK"
    refuse_beside(ctx, {"adopted": why, "target": why}, beside="no --adopt")
    from inkmix.pages.inks.page import write_page
    from inkmix.pages.inks.words import as_document, as_text

    papers = _papers(names, paper, status)
    if page is not None:
        write_page(page, papers, status=status)
        say(f"written: {page}")
    if as_json:
        document = as_document(papers, status=status)
        put_json(json.dumps(document, indent=2, ensure_ascii=False))
    elif page is None:
        colours = may_be_coloured()
        put(as_text(papers, colours=colours), colour=colours)


def _papers(names: tuple[str, ...], paper: str | None, status: str) -> "tuple[PaperEntry, ...]":
    from inkmix.jobs.books import is_book, read_book
    from inkmix.jobs.inks.entries import inks_at_hand, inks_of_book, is_ink_name

    if not names or is_ink_name(names[0]) or not is_book(Path(names[0])):
        return inks_at_hand(names, paper=paper, status=status)
    if paper is not None:
        found, do = "is given beside a book", "leave it out: the book says its paper"
        raise UsageError(Fault(where="--paper", found=found, do=do))
    return inks_of_book(read_book(names[0]), names[1:], status=status)


def _refuse_list_options(ctx: click.Context) -> None:
    why = "it is for the list of inks"
    refuse_beside(ctx, {"paper": why, "status": why, "page": why}, beside="--adopt")


def _adopt(
    names: tuple[str, ...],
    other: Path,
    inks: dict[str, str],
    target: Path | None,
    *,
    as_json: bool,
) -> None:
    """Write a new file of the book, and say what came over."""
    from inkmix.jobs.adopting.adopt import adopt_inks
    from inkmix.jobs.books import read_book, read_other_book
    from inkmix.pages.inks.adopted import adopted_document, adopted_lines

    if len(names) != 1:
        found = "names no book" if not names else f"stands beside {len(names)} names"
        expected = "one book is needed that takes over, `inkmix inks BOOK --adopt OTHERBOOK`"
        raise UsageError(Fault(where="--adopt", found=found, expected=expected))
    if target is None:
        expected = "the new book needs a place"
        do = "add --to NAME.toml, a file beside the book, or --to FOLDER for a copy of the whole"
        raise UsageError(Fault(where="--adopt", found="without --to", expected=expected, do=do))
    adopted = adopt_inks(read_book(names[0]), read_other_book(other), target, inks=inks)
    if as_json:
        put_json(json.dumps(adopted_document(adopted), indent=2, ensure_ascii=False))
    else:
        say_all(adopted_lines(adopted))
