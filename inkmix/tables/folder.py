"""The folder of tables: where it is, what may be in it, how a file gets there.

Files are written aside and renamed, so that several programs may read and write at once. Nothing
here knows what is in a file. Every function may raise OSError.
"""

import os
from contextlib import suppress
from pathlib import Path

import numpy as np
import platformdirs
from numpy.typing import NDArray

from inkmix.parts import BusyError, part_of

#: Environment variable that names the folder for whatever is kept between runs.
SWITCH = "INKMIX_CACHE"
MOST_BYTES = 512 << 20  # some eighty tables of five inks; those not used for longest go first
SUFFIX = ".table"


def table_folder() -> Path:
    """The folder that tables are kept in; it need not be there yet.

    Raises
    ------
    OSError
        If there is no home to keep anything in.
    """
    told = os.environ.get(SWITCH)
    return (Path(told) if told else _users_cache()) / "tables"


def _users_cache() -> Path:
    """Without a home some versions of platformdirs raise, others leave "~" as it is."""
    try:
        folder = Path(platformdirs.user_cache_dir("inkmix", appauthor=False))
    except RuntimeError:
        folder = Path()
    if not folder.is_absolute():
        raise FileNotFoundError("there is no home folder")
    return folder


def read_file(path: Path, *, size: int) -> NDArray[np.uint8] | None:
    """The bytes of a file of this size, which counts as used now; None if it has another."""
    if path.stat().st_size != size:
        return None
    data = np.fromfile(path, np.uint8, count=size)
    with suppress(OSError):  # a folder that may be read only
        os.utime(path)
    return data


def write_file(path: Path, data: bytes) -> None:
    """Put a file in place whole, unless another run is doing so, and make room for it."""
    path.parent.mkdir(parents=True, exist_ok=True)
    try:
        with part_of(path) as part:
            part.file.write(data)
            part.file.flush()
            part.take_place()
    except BusyError:  # what another run puts there is the same
        return
    make_room(path.parent)


def make_room(folder: Path) -> None:
    """Remove the tables not used for longest beyond the bound."""
    room = MOST_BYTES
    for path, _, size in _by_last_use(folder, SUFFIX):
        room -= size
        if room < 0:
            _remove(path)


def _by_last_use(folder: Path, suffix: str) -> list[tuple[Path, float, int]]:
    """Files of ours with the time of their last use and their size, latest first."""
    found = []
    for path in folder.glob(f"*{suffix}"):
        with suppress(OSError):  # gone meanwhile
            status = path.stat()
            found.append((path, status.st_mtime, status.st_size))
    return sorted(found, key=lambda file: file[1], reverse=True)


def _remove(path: Path) -> None:
    with suppress(OSError):  # another program may hold it, or be quicker
        path.unlink()
