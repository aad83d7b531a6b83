"""The Night Ferry drawn small, and a choice among few inks: for the tests of the page."""

import atexit
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

from inkmix.demo.write import write_demo
from inkmix.jobs.books import read_book
from inkmix.jobs.palettes.choose import PaletteRequest, choose_inks

KEPT = ("Soot", "Fjord", "Brass", "Fog")
FEW = ("Flare", "Tide", "Samphire")
_FOLDER = TemporaryDirectory()
atexit.register(_FOLDER.cleanup)


def draw(folder: Path) -> Path:
    """The book of the demo at 20 ppi, in a folder."""
    write_demo(folder, ppi=20)
    return folder


@cache
def book():
    """The same, read; drawn once a process."""
    return read_book(draw(Path(_FOLDER.name)) / "book.toml")


def without_all_but(few):
    """The candidates of the set that are to be left out."""
    from inkmix.press.swatches.by_name import list_inks

    names = [ink.name.split("/")[1] for ink in list_inks() if ink.name.startswith("night-ferry")]
    return tuple(name for name in names if name not in (*KEPT, "Rowan", *few))


@cache
def facts():
    """One ink beside the four: Rowan, or one of three others."""
    asked = PaletteRequest(choose=1, fixed=KEPT, excluded=without_all_but(FEW))
    return choose_inks(book(), asked, book_words="night-ferry")
