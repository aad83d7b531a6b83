"""A small sound book with plates, for cases in which something else is spoilt."""

from pathlib import Path

import numpy as np

from fuzz.tiff_writer import tiff_bytes, tiff_document

INKS = ("Soot", "Fjord", "Rowan")
BOOK = """\
format = 1
title = "Two panels"

[paper]
lab = [94, 0, 3]
class = "uncoated"

[[inks]]
name = "Soot"
lab = [26, 1, 1]

[[inks]]
name = "Fjord"
lab = [33, 6, -34]

[[inks]]
name = "Rowan"
lab = [52, 58, 40]

[press]
process = "sheet-fed offset"
ink_limit_pct = 260

[plates]
pattern = "plates/{spread}/{ink}.tif"

[[tones]]
name = "lamp"
mix = { Rowan = 40, Fjord = 60 }
intended = "#445566"
"""


def write_spread(folder: Path, inks: tuple[str, ...], spread: str = "front") -> None:
    """Plates of 48 × 32 px: each ink a ramp of its own."""
    place = folder / "plates" / spread
    place.mkdir(parents=True)
    steps = np.arange(32 * 48).reshape(32, 48, 1)
    for at, ink in enumerate(inks):
        tones = (steps * (at + 3) % 256).astype(np.uint8)
        tones[:8, :8] = 255
        document = tiff_document(tones, bits=8, photometric=1, compression=5)
        (place / f"{ink}.tif").write_bytes(tiff_bytes(document))


def write_book(folder: Path) -> None:
    """The book with one spread."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "book.toml").write_text(BOOK, encoding="utf-8")
    write_spread(folder, INKS)
