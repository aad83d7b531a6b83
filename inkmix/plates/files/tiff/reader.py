"""Reading TIFF pages as numbers and facts. What is refused stands in rules.py."""

import logging
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from tifffile import TiffFile

from inkmix.base.errors import PlateError
from inkmix.plates.files.limits import MAX_SIDE_PX
from inkmix.plates.files.profile import profile_label
from inkmix.plates.files.raster import RasterFacts, Samples, label, refusal
from inkmix.plates.files.resolution import ppi_of
from inkmix.plates.files.scratch.room import ScratchRoom
from inkmix.plates.files.source import SourceFile, source_of
from inkmix.plates.files.tiff.layout import Layout
from inkmix.plates.files.tiff.rules import page_faults, segment_faults
from inkmix.plates.files.tiff.segments import Reader, SegmentReader, page_reader
from inkmix.plates.files.tiff.tags import (
    DOT_RANGE,
    INK_NAMES,
    PROFILE,
    RESOLUTION_UNIT,
    ROWS_PER_STRIP,
    X_RESOLUTION,
    Y_RESOLUTION,
    tag_faults,
)
from inkmix.sheet.geometry import MM_PER_INCH

# The library reports oddities of tags by logging; what matters here becomes a fault or a note.
logging.getLogger("tifffile").addHandler(logging.NullHandler())

_ZERO_IS = {0: "white", 1: "black", 2: "black", 5: "no ink"}
_ALPHA = (1, 2)


@dataclass(frozen=True, slots=True, kw_only=True)
class TiffRaster:
    """One page of a TIFF file."""

    facts: RasterFacts
    layout: Layout
    reader: Reader

    def read(self, rows: slice, cols: slice, sample: int) -> Samples:
        """Numbers in the file, (rows, cols); 1-bit data as 0 and 1."""
        return self.reader.read(rows, cols, sample)


def open_tiff(path: Path, *, page: int = 1, room: ScratchRoom) -> TiffRaster:
    """One page of a TIFF file, counted from 1; `room` is for what cannot be read by windows.

    Raises
    ------
    PlateError
        With every fault of the page.
    """
    try:
        source = source_of(path)
        with TiffFile(path) as file:
            return _open_page(source, file, number=page, room=room)
    except PlateError:
        raise
    except Exception as error:  # a damaged header can make the library raise anything
        raise refusal(
            path,
            "is damaged: its header cannot be read",
            "a whole TIFF file is needed",
            "export or copy it again",
        ) from error


def _open_page(source: SourceFile, file: Any, *, number: int, room: ScratchRoom) -> TiffRaster:
    path = source.path
    count = len(file.pages)
    if not 1 <= number <= count:
        if count == 0:
            found = "is cut off, or not finished being saved: it holds no picture"
            raise refusal(path, found, "", "wait until it is saved, or export or copy it again")
        raise refusal(path, f"has {count} pages", f"page {number} is asked for")
    page = file.pages[number - 1]
    _refuse(tag_faults(page, where=label(path)))
    _refuse(page_faults(page, where=label(path)))
    layout = _layout(page, file.byteorder)
    _refuse(segment_faults(layout, where=label(path), size=source.size))
    notes = (f"page {number} of {count} is read",) if count > 1 else ()
    reader = page_reader(source, layout, general=page.decode, room=room)
    facts = _facts(path, page, layout, notes)
    if not isinstance(reader, SegmentReader):  # any rows are as good as any others
        facts = replace(facts, rows_per_segment=1, cols_per_segment=None)
    return TiffRaster(facts=facts, layout=layout, reader=reader)


def _refuse(faults: tuple[Any, ...]) -> None:
    if faults:
        raise PlateError(faults)


def _layout(page: Any, byteorder: str) -> Layout:
    rows = page.tilelength if page.is_tiled else min(page.rowsperstrip, page.imagelength)
    return Layout(
        width_px=page.imagewidth,
        height_px=page.imagelength,
        samples=page.samplesperpixel,
        bits=page.bitspersample,
        byteorder=byteorder,
        compression=int(page.compression),
        predictor=int(page.predictor),
        fill_order=int(page.fillorder),
        planar=int(page.planarconfig) == 2 and page.samplesperpixel > 1,
        tiled=page.is_tiled,
        segment_rows=rows,
        segment_cols=page.tilewidth if page.is_tiled else page.imagewidth,
        offsets=tuple(page.dataoffsets),
        byte_counts=tuple(page.databytecounts),
        filled_rows=_filled_rows(page),
    )


def _filled_rows(page: Any) -> int:
    """Rows of a strip by tag 278; 0 where the whole picture is meant by that."""
    told = page.tags.valueof(ROWS_PER_STRIP, 0)
    return told if isinstance(told, int) and told <= MAX_SIDE_PX else 0


def _facts(path: Path, page: Any, layout: Layout, notes: tuple[str, ...]) -> RasterFacts:
    ppi, resolution_notes = _ppi(path, page)
    return RasterFacts(
        path=path,
        format="TIFF",
        width_px=layout.width_px,
        height_px=layout.height_px,
        samples=layout.samples,
        bits=layout.bits,
        kind=_kind(page),
        zero_is=_ZERO_IS[int(page.photometric)],
        alpha=_alpha(page),
        names=_ink_names(page),
        dot_range=_dot_range(page, layout),
        ppi=ppi,
        profile=profile_label(_bytes(page.tags.valueof(PROFILE))),
        rows_per_segment=layout.segment_rows,
        cols_per_segment=layout.segment_cols if layout.tiled else None,
        notes=notes + resolution_notes,
    )


def _kind(page: Any) -> str:
    """What the channels are; extra ones without a meaning make a grey file a file of channels."""
    if int(page.photometric) == 5:
        return "separated"
    if int(page.photometric) == 2:
        return "rgb"
    colours = page.samplesperpixel - (0 if _alpha(page) is None else 1)
    return "grey" if colours == 1 else "channels"


def _alpha(page: Any) -> int | None:
    extra = tuple(int(kind) for kind in page.extrasamples)
    colours = int(page.samplesperpixel) - len(extra)
    for index, kind in enumerate(extra):
        if kind in _ALPHA:
            return colours + index
    # A lone unnamed extra channel beside grey or RGB is how many programs store transparency.
    unnamed = len(extra) == 1 and int(page.photometric) in (0, 1, 2) and colours in (1, 3)
    return colours if unnamed else None


def _ink_names(page: Any) -> tuple[str, ...]:
    """Names in tag 333: NUL-terminated, in the order of the channels (TIFF 6.0, section 16)."""
    value = page.tags.valueof(INK_NAMES)
    if not value:
        return ()
    text = value.decode("utf-8", "replace") if isinstance(value, bytes) else str(value)
    return tuple(name.strip() for name in text.rstrip("\0").split("\0"))


def _dot_range(page: Any, layout: Layout) -> tuple[int, int] | None:
    value = page.tags.valueof(DOT_RANGE)
    if not isinstance(value, tuple) or len(value) < 2 or int(page.photometric) != 5:
        return None
    usual = (0, 2**layout.bits - 1)
    return None if tuple(value[:2]) == usual else (int(value[0]), int(value[1]))


def _bytes(value: Any) -> bytes | None:
    return value if isinstance(value, bytes) else None


def _ppi(path: Path, page: Any) -> tuple[float | None, tuple[str, ...]]:
    x, y = page.tags.valueof(X_RESOLUTION), page.tags.valueof(Y_RESOLUTION)
    per_inch = {2: 1.0, 3: MM_PER_INCH / 10}.get(int(page.tags.valueof(RESOLUTION_UNIT, 2)))
    return ppi_of(path, _ratio(x), _ratio(y), per_inch=per_inch)


def _ratio(value: Any) -> float | None:
    if not isinstance(value, tuple) or len(value) != 2 or not value[0] or not value[1]:
        return None
    ratio = float(value[0]) / float(value[1])
    return ratio if ratio > 0 else None
