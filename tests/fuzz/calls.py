"""What is done with the files of a case inside a forked child: readers called as commands do.

Each call takes words and the folder for its answer, prints what a command would print, and returns
an exit code. The answer is for fuzz.referees.
"""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

from inkmix.base.errors import InkmixError
from inkmix.cli.common import say

MOST_PX = 2**20
"""Read whole; of larger pictures the first rows only: how fast readers are is tried elsewhere."""


def command(words: tuple[str, ...], answer: Path) -> int:
    """The command line."""
    from inkmix.cli.main import run

    return run(list(words))


def plate(words: tuple[str, ...], answer: Path) -> int:
    """A plate read whole, as ink amount."""
    from inkmix.plates.plate import PlateSource, open_raster, plate_of

    source = PlateSource(path=Path(words[0]))
    opened = plate_of(open_raster(source.path), source, ink="Soot")
    head = opened.header
    _say(head.notes)
    rows = min(head.height_px, max(1, MOST_PX // head.width_px))
    amount = opened.read(slice(0, rows), slice(0, head.width_px))
    np.savez(answer / "plate.npz", amount=amount, channel=head.channel, bits=head.bits)
    return 0


def mask(words: tuple[str, ...], answer: Path) -> int:
    """A mask of the sheet that the generator draws for."""
    from fuzz.pictures import MASK_PX
    from inkmix.plates.masks.picture import open_mask
    from inkmix.sheet.geometry import Sheet

    opened = open_mask(words[0], Sheet(width_px=MASK_PX[0], height_px=MASK_PX[1], ppi=200))
    _say(opened.notes)
    np.savez(answer / "mask.npz", share=opened.share)
    return 0


def reference(words: tuple[str, ...], answer: Path) -> int:
    """A reference picture as sRGB."""
    from inkmix.plates.reference.picture import open_reference

    opened = open_reference(words[0], None)
    _say(opened.notes)
    rows = min(opened.height_px, max(1, MOST_PX // opened.width_px))
    srgb8 = opened.read(slice(0, rows), slice(0, opened.width_px))
    np.savez(answer / "reference.npz", srgb8=srgb8, notes=np.array(opened.notes, dtype=str))
    return 0


def measurements(words: tuple[str, ...], answer: Path) -> int:
    """A table of measurements."""
    from inkmix.press.swatches.by_name import read_measurements

    table = read_measurements(words[0])
    _say(table.notes)
    kinds = {"tone": table.tone_pct, "XYZ": table.xyz100, "LAB": table.lab}
    np.savez(answer / "table.npz", **{k: v for k, v in kinds.items() if v is not None})
    return 0


def book(words: tuple[str, ...], answer: Path) -> int:
    """A book: first its text alone, then what it says."""
    from inkmix.book.text import parse_book_text
    from inkmix.jobs.books import book_at

    path, found = Path(words[0]), {"is_toml": True, "why": ""}
    try:
        parse_book_text(path.read_bytes(), name=path.name)
    except InkmixError as error:
        found = {"is_toml": False, "why": str(error)}
    (answer / "book.json").write_text(json.dumps(found))
    _say(book_at(path).notes)
    return 0


def colours(words: tuple[str, ...], answer: Path) -> int:
    """Colours of a file on a paper, as Lab, and how far the first is from each."""
    from inkmix.book.meant.colours import absolute_labs
    from inkmix.colour.colorimetry import delta_e00
    from inkmix.colour.written import told_colours
    from inkmix.press.swatches.by_name import load_paper

    told = told_colours(Path(words[0]).read_bytes(), where=words[0])
    paper = load_paper("night-ferry/uncoated")
    labs = absolute_labs(told, paper)
    screens = np.array([one.screen or "" for one in told], dtype=str)
    de00 = delta_e00(labs[:1], labs)
    np.savez(answer / "labs.npz", labs=labs, screens=screens, de00=de00, paper=paper.xyz100)
    return 0


CALLS: dict[str, Callable[[tuple[str, ...], Path], int]] = {
    "command": command,
    "plate": plate,
    "mask": mask,
    "reference": reference,
    "measurements": measurements,
    "book": book,
    "colours": colours,
}


def called(name: str, words: tuple[str, ...], answer: Path) -> int:
    """The exit code of a call; errors become words as they do on the command line."""
    try:
        return CALLS[name](words, answer)
    except InkmixError as error:
        for fault in error.faults:
            say(f"inkmix: {fault}")
        return error.exit_code
    except Exception as error:
        say(f"inkmix: unexpected {type(error).__name__}: {error}")
        return 3


def as_command(call: str, words: tuple[str, ...]) -> tuple[str, ...]:
    """Words of the command line that reads the same file; `@book` is the small book beside it."""
    file = words[0] if words else ""
    return {
        "command": words,
        "plate": ("predict", file, "--ink", "Soot=night-ferry/Soot", "--to", "out/print.png"),
        "mask": ("predict", file, "--ink", "picture=night-ferry/Soot", "--to", "out/print.png"),
        "reference": ("mix", f"{file}@0,0", "--book", "@book", "--json"),
        "measurements": ("score", file, "--known", "solids"),
        "book": ("mix", "--darkest", "--json"),
        "colours": ("mix", "--from", file, "--book", "@book", "--json"),
    }[call]


def _say(notes: Any) -> None:
    for note in notes:
        say(f"note: {note}")
