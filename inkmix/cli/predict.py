"""`inkmix predict`: pictures of what will print."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import click

from inkmix.base.errors import Fault, UsageError
from inkmix.cli.arguments import Command, InputPath, OutputPath, refuse_beside
from inkmix.cli.common import (
    OF_BOOKS,
    OF_LOOSE_FILES,
    PLATE_ENDINGS,
    load_book,
    ppi_between,
    say,
    scratch_room,
    told_inks,
    told_progress,
)

if TYPE_CHECKING:
    from inkmix.jobs.spread import Spread

PREDICTED = "predicted"


@click.command(cls=Command)
@click.argument("paths", nargs=-1, type=InputPath("a book.toml, its folder, or a plate file"))
@click.option("--to", "target", type=OutputPath(), help="Picture: .png or .tif.")
@click.option("--spread", "spread_name", help="Name of the spread, where the book has several.")
@click.option("--inks", help="Only these plates, parted by commas.")
@click.option(
    "--order",
    is_flag=True,
    help="Which named tones another lay-down order would change; --to draws them.",
)
@click.option("--each", is_flag=True, help="One picture a plate, each in its ink.")
@click.option("--pair", is_flag=True, help="Also the layers as a screen multiplies them.")
@click.option("--paper-white", is_flag=True, help="Show the paper as the screen's white.")
@click.option(
    "--ink",
    "swaps",
    multiple=True,
    metavar="NAME=COLOUR",
    help="Of a book: print this ink's plate in another one, Rowan=Ember. Loose files: a swatch, or "
    "#rrggbb as a hint; give in lay-down order.",
)
@click.option("--paper", default="night-ferry/uncoated", help="Loose files: the paper's swatch.")
@click.option("--process", default="sheet-fed offset", help="Loose files: the process.")
@click.option(
    "--ppi",
    type=float,
    callback=ppi_between(20, 5080),  # as in a book
    help="Loose files: resolution, where the files do not say it.",
)
@click.pass_context
def predict(
    ctx: click.Context,
    paths: tuple[Path, ...],
    target: Path | None,
    spread_name: str | None,
    inks: str | None,
    order: bool,
    each: bool,
    pair: bool,
    paper_white: bool,
    swaps: tuple[str, ...],
    paper: str,
    process: str,
    ppi: float | None,
) -> None:
    """Write a picture of what will print, the paper's colour included.

    PATHS is a book.toml, the folder that holds one, or loose plate files, one an ink and named
    after it. A prediction on a screen is not a proof.

    With --order no plates are looked at: of every named tone, or of every two solids where none is
    named, it says what becomes of it if one ink is printed first or last instead of where the book
    has it.
    """
    if order:
        from inkmix.cli.orders import predict_orders

        predict_orders(ctx, paths or (Path("."),))
        return
    if target is not None:
        _refuse_target(target)
    paths, chosen = paths or (Path("."),), _chosen(inks)
    loose = all(map(_is_loose, paths))
    if loose:
        refuse_beside(ctx, OF_BOOKS, beside="loose files")
    else:
        refuse_beside(ctx, OF_LOOSE_FILES, beside="a book")
    folder = None if target is None else target.parent
    if loose:
        told = _Told(inks=swaps, paper=paper, process=process, ppi=ppi)
        spread = _loose(paths, told, chosen, folder)
    else:
        spread = _of_book(paths, spread_name, chosen, folder, swaps)
    target = target or spread.book.folder / PREDICTED / f"{spread.name or 'plates'}.png"
    _write_all(spread, target, chosen, each=each, pair=pair, paper_white=paper_white)


def _is_loose(path: Path) -> bool:
    """Whether a path is meant as a plate: by its ending, or by what the file is."""
    if path.is_dir():
        return False
    if path.suffix.lower() in PLATE_ENDINGS:
        return True
    from inkmix.plates.files.sniff import picture_kind

    return picture_kind(path) is not None


def _refuse_target(path: Path) -> None:
    from inkmix.export.picture import refuse_target

    refuse_target(path)


def _chosen(inks: str | None) -> tuple[str, ...]:
    """Names parted by commas; none where all are meant."""
    if inks is None:
        return ()
    names = tuple(name.strip() for name in inks.split(","))
    if not all(names):
        expected = "names of inks parted by commas are needed"
        raise UsageError(Fault(where="--inks", found=f"{inks!r}", expected=expected))
    return names


def _of_book(
    paths: tuple[Path, ...],
    name: str | None,
    chosen: tuple[str, ...],
    folder: Path | None,
    swaps: tuple[str, ...],
) -> "Spread":
    from inkmix.book.meant.swap import swaps_told, with_swapped
    from inkmix.jobs.spread import choose_spread, open_uncounted
    from inkmix.jobs.targets import refuse_inks

    if len(paths) > 1:
        found = f"{len(paths)} paths that are not all plates"
        expected = "one book or folder, or .tif and .png plates"
        raise UsageError(Fault(where=str(paths[0]), found=found, expected=expected))
    book = with_swapped(load_book(paths[0]), swaps_told(swaps))
    name = choose_spread(book, name)
    refuse_inks(book.for_spread(name), chosen)
    room = scratch_room(folder or book.folder / PREDICTED)
    with told_progress() as progress:
        return open_uncounted(book, name, room=room, progress=progress)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Told:
    """What is told on the command line of plates without a book."""

    inks: tuple[str, ...]
    paper: str
    process: str
    ppi: float | None


def _loose(
    paths: tuple[Path, ...], told: _Told, chosen: tuple[str, ...], folder: Path | None
) -> "Spread":
    from inkmix.book.first.loose import loose_book
    from inkmix.jobs.spread import open_loose
    from inkmix.jobs.targets import refuse_inks

    book, sources, guesses = loose_book(
        paths,
        inks=told_inks(told.inks),
        paper=told.paper,
        process=told.process,
        ppi=told.ppi,
    )
    for guess in guesses:
        say(f"guessed: {guess}")
    refuse_inks(book, chosen)
    return open_loose(book, sources, room=scratch_room(folder or book.folder / PREDICTED))


def _write_all(
    spread: "Spread",
    target: Path,
    chosen: tuple[str, ...],
    *,
    each: bool,
    pair: bool,
    paper_white: bool,
) -> None:
    from inkmix.jobs.predict import OUTSIDE_SRGB, Wanted, write_predictions
    from inkmix.jobs.targets import refuse_targets

    wanted = [
        Wanted(path=path, inks=inks, paper_white=paper_white)
        for path, inks in _targets(spread, target, chosen, each=each)
    ]
    if pair:
        on_screen = _beside(target, "on-screen")
        wanted.append(Wanted(path=on_screen, inks=chosen, on_screen=True, paper_white=paper_white))
    refuse_targets(spread, [picture.path for picture in wanted])
    with told_progress() as progress:
        spread, done = write_predictions(spread, wanted, progress=progress)
    for note in spread.notes:
        say(f"note: {note}")
    for reason in spread.condition.unproven:
        say(f"unproven: {reason}")
    for written in done:
        say(f"written: {written.path}")
        if written.outside_srgb_pct > 0:
            say(f"  {written.outside_srgb_pct:.2f} % {OUTSIDE_SRGB}")


def _targets(
    spread: "Spread", target: Path, chosen: tuple[str, ...], *, each: bool
) -> Iterator[tuple[Path, tuple[str, ...]]]:
    if not each:
        yield target, chosen
        return
    for name in chosen or spread.plates.inks:
        yield _beside(target, name), (name,)


def _beside(target: Path, name: str) -> Path:
    return target.with_name(f"{target.stem}-{name}{target.suffix}")
