"""Opening the files of a set, each once; inks without a plate. What fits together: agreement.py."""

from collections.abc import Mapping
from pathlib import Path

from inkmix.base.errors import Fault, PlateError
from inkmix.plates.files.raster import Raster
from inkmix.plates.files.scratch.room import TEMPORARY, ScratchRoom
from inkmix.plates.plate import (
    EmptyPlate,
    FilePlate,
    PlateHeader,
    PlateSource,
    open_raster,
    plate_of,
)

Files = Mapping[str, PlateSource | None]
ABSENT = ("refuse", "empty")


def opened(files: Files, *, room: ScratchRoom = TEMPORARY) -> tuple[list[FilePlate], list[Fault]]:
    """Plates that could be opened, and the faults of the others; a shared file is opened once."""
    rasters: dict[tuple[Path, int], Raster] = {}
    plates: list[FilePlate] = []
    faults: list[Fault] = []
    for ink, source in files.items():
        if source is None:
            continue
        try:
            key = (source.path, source.page)
            if key not in rasters:
                rasters[key] = open_raster(source.path, page=source.page, room=room)
            plates.append(plate_of(rasters[key], source, ink=ink, ppi=None))
        except PlateError as error:
            faults += [fault for fault in error.faults if fault not in faults]
    return plates, faults


def absent_faults(files: Files, absent: str) -> list[Fault]:
    """Faults of inks without a plate; none where that is allowed and one plate is there."""
    if absent not in ABSENT:
        return [Fault(where="absent", found=repr(absent), expected='it is "refuse" or "empty"')]
    missing = [ink for ink, source in files.items() if source is None]
    if len(missing) == len(files):
        return [Fault(where="plates", found="none was found", do="check folder and pattern")]
    if absent == "empty":
        return []
    do = 'add it, or write absent = "empty" in the book'
    expected = "every ink needs a plate"
    return [Fault(where=ink, found="has no plate", expected=expected, do=do) for ink in missing]


def absent_notes(files: Files) -> tuple[str, ...]:
    """What has to be said about inks without a plate."""
    return tuple(
        f"{ink}: no plate in this spread, it prints nothing"
        for ink, source in files.items()
        if source is None
    )


def empty_plate(ink: str, *, width_px: int, height_px: int, ppi: float) -> EmptyPlate:
    """The plate of an ink that the spread lacks."""
    header = PlateHeader(
        path=None, ink=ink, width_px=width_px, height_px=height_px, bits=8, ppi=ppi
    )
    return EmptyPlate(header=header)
