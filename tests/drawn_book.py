"""A small book drawn for tests of the command line: a folded sheet of 60 × 40 mm in three inks."""

import hashlib
import json
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from plate_files import write_png, write_tiff
from schemas import refuse_unlike

from inkmix.batch.document import batch_schema
from inkmix.cli.main import run

INKS = ("Soot", "Fjord", "Rowan")
PPI = 100
WIDTH_PX, HEIGHT_PX = 236, 157  # 60 x 40 mm at 100 ppi, with 3 mm of bleed

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

[strip]
panels = 2
panel_mm = [27, 34]
bleed_mm = 3
"""

NIGHT = """
[[night]]
name = "cellar"
mask = "masks/cellar.png"
lightest_L = 40
"""

DARK_ENOUGH = NIGHT.replace("lightest_L = 40", "lightest_L = 90")  # no remedy is searched for

MEASURED = BOOK.replace("lab = [52, 58, 40]", 'measurements = "rowan.txt"')

CGATS = """\
CGATS.17
ORIGINATOR "drawn for a test"
NUMBER_OF_FIELDS 5
BEGIN_DATA_FORMAT
SAMPLE_ID Rowan XYZ_X XYZ_Y XYZ_Z
END_DATA_FORMAT
NUMBER_OF_SETS 4
BEGIN_DATA
1 0 81.0 84.0 66.0
2 40 56.0 49.0 30.0
3 70 42.0 31.0 15.0
4 100 34.0 21.0 7.0
END_DATA
"""


def plates() -> dict[str, NDArray[np.uint8]]:
    """Numbers of the three plates, 0 is full ink: a dark cellar at the left, sky and brick."""
    rows = np.linspace(0, 1, HEIGHT_PX)[:, None] * np.ones(WIDTH_PX)
    cols = np.ones(HEIGHT_PX)[:, None] * np.linspace(0, 1, WIDTH_PX)
    cellar = cols < 0.4
    tone_pct = {
        "Soot": np.where(cellar, 92, 30 * rows),
        "Fjord": np.where(cellar, 70, 60 * (1 - rows)),
        "Rowan": np.where(cellar, 20, 80 * rows * cols),
    }
    return {
        name: np.round(255 * (1 - tone / 100)).astype(np.uint8) for name, tone in tone_pct.items()
    }


def cellar() -> NDArray[np.uint8]:
    """The mask of the dark part, white is night."""
    mask = np.zeros((HEIGHT_PX, WIDTH_PX), np.uint8)
    mask[10:-10, 10:80] = 255
    return mask


def draw_book(folder: Path, text: str = BOOK, *, spreads: tuple[str, ...] = ("front",)) -> Path:
    """Write the plates, the mask, a measured ramp and the book; the folder."""
    for spread in spreads:
        (folder / "plates" / spread).mkdir(parents=True)
        for name, numbers in plates().items():
            write_tiff(plate_of(folder, name, spread), numbers, PPI)
    (folder / "masks").mkdir()
    write_png(folder / "masks" / "cellar.png", cellar(), PPI)
    (folder / "rowan.txt").write_text(CGATS, encoding="utf-8")
    (folder / "book.toml").write_text(text, encoding="utf-8")
    return folder


def plate_of(folder: Path, ink: str, spread: str = "front") -> Path:
    """Where a plate lies."""
    return folder / "plates" / spread / f"{ink}.tif"


def changed(old: str, new: str, text: str = BOOK) -> str:
    """The book with one place changed, which must be there."""
    assert text.count(old) == 1, old
    return text.replace(old, new)


@dataclass(frozen=True, kw_only=True)
class Ran:
    """What a run of the command left: exit code, stdout and stderr."""

    code: int
    out: str
    err: str

    @property
    def messages(self) -> list[str]:
        """The messages by which it refused."""
        return [line for line in self.err.splitlines() if line.startswith("inkmix: ")]


def command(capfd: pytest.CaptureFixture[str], *arguments: str | Path) -> Ran:
    """Run inkmix in this process; the words for people never hold a traceback."""
    capfd.readouterr()
    code = run([str(argument) for argument in arguments])
    out, err = capfd.readouterr()
    assert "Traceback" not in err
    assert "inkmix: unexpected" not in err
    return Ran(code=code, out=out, err=err)


def batched(
    folder: Path, capfd: pytest.CaptureFixture[str], *options: str | Path
) -> dict[str, Any]:
    """What a run that could be made says, as its data do; threads, because they start at once."""
    ran = command(capfd, "batch", folder, "--json", "--engine", "threads", *options)
    assert ran.messages == []
    document = json.loads(ran.out)
    refuse_unlike(batch_schema, document)
    assert document["complete"]
    assert ran.code == document["exit_code"]
    return {"err": ran.err, **document}


def states(document: dict[str, Any]) -> dict[str, str]:
    """The state of each spread."""
    return {row["name"]: row["state"] for row in document["rows"]}


def digests(folder: Path) -> dict[str, str]:
    """Digest of every file below a folder; folders too, so that none appears."""
    return {
        path.relative_to(folder).as_posix(): (
            hashlib.sha256(path.read_bytes()).hexdigest() if path.is_file() else "folder"
        )
        for path in sorted(folder.rglob("*"))
    }


@contextmanager
def untouched(folder: Path) -> Iterator[None]:
    """Nothing below the folder is changed, added or taken away."""
    before = digests(folder)
    yield
    assert digests(folder) == before
