"""A TIFF again, with other numbers in some of its pages; pages, tags and the rest are kept.

Strips and tiles come first, in the order in which they are ready; when all are there, directories
are copied one after another, each behind what it refers to. Bytes only; files: copies.py.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import BinaryIO

from inkmix.base.errors import PlateError
from inkmix.export.plates.directories import (
    Directory,
    Entry,
    directory_at,
    first_directory,
    form_of,
    is_inside,
    whole_numbers,
)
from inkmix.export.plates.stale import LAYERS, RESOURCES, XMP, without_thumbnails
from inkmix.export.plates.tiff_out import TiffOut, Written
from inkmix.export.plates.tiff_page import PackedBlock, PageSegments
from inkmix.plates.files.raster import label
from inkmix.plates.files.source import SourceFile, damaged
from inkmix.plates.files.tiff.layout import Layout

_SUBFILE, _OLD_SUBFILE, _SUB_DIRECTORIES = 254, 255, 330
_REDUCED, _OLD_REDUCED = 1, 2
_STRIPS, _TILES, _JPEG = (273, 279), (324, 325), (513, 514)
_ROWS_PER_STRIP, _TILE_SIDES = 278, (322, 323)
_POINTERS = (_SUB_DIRECTORIES, 34665, 34853, 40965)
"""Tags of further directories: pictures, EXIF, GPS, interoperability."""
_DIRECTORY_KINDS = (13, 18)
_GONE = (288, 289, 519, 520, 521)
"""Where in the file nothing is, and tables of an old way to pack colour: places that are not true
of a copy."""
_MOST_DEPTH = 8
_MOST_TAKEN_APART_BYTES = 2**26
_LONG = 4
_OLD_PICTURE = "it would show the picture as it was"
_SHOWS_OLD = "shows the picture as it was"
_OLD_LAYERS = "they would show the picture as it was"


class TiffCopy:
    """Writes one TIFF; its changed pages are made with `page`, then all is put in place.

    Parameters
    ----------
    file : BinaryIO
        To write to.
    source : SourceFile
        The TIFF as it is.
    """

    def __init__(self, file: BinaryIO, source: SourceFile) -> None:
        self._source, self._form = source, form_of(source)
        self._out = TiffOut(file, source, self._form)
        self._pages: dict[int, TiffPageCopy] = {}
        self._seen: set[int] = set()
        self.notes: list[str] = []

    def page(self, number: int, *, source: Layout, segments: PageSegments) -> "TiffPageCopy":
        """Where the strips or tiles of a page, counted from 1, go."""
        page = self._pages[number] = TiffPageCopy(self._out, source=source, segments=segments)
        return page

    def finish(self) -> None:
        """Write everything else."""
        first = self._chain(first_directory(self._source, self._form), pages=self._pages)
        self._out.begin_with(first)

    def _chain(self, place: int, *, pages: Mapping[int, "TiffPageCopy"], depth: int = 0) -> int:
        """Copy a directory and those that follow it; where the first is now, 0 if there is none."""
        directories = list(self._directories(place))
        first, link = 0, 0
        for number, directory in self._kept(directories, pages):
            written = list(self._entries(directory, pages.get(number), depth))
            new, following = self._out.put_directory(written)
            first = first or new
            if link:
                self._out.link(link, new)
            link = following
        return first

    def _directories(self, place: int) -> Iterator[tuple[int, Directory]]:
        """Each directory of a chain with its number, from 1; up to one that was there before."""
        number = 0
        while place and place not in self._seen:
            self._seen.add(place)
            try:
                directory = directory_at(self._source, self._form, place)
            except PlateError:
                self._say("what it says of a further page cannot be read, and is left out")
                return
            number, place = number + 1, directory.following
            yield number, directory

    def _kept(
        self, chain: Sequence[tuple[int, Directory]], pages: Mapping[int, "TiffPageCopy"]
    ) -> Iterator[tuple[int, Directory]]:
        """Without reduced pictures of changed pages at the end; pages keep their numbers."""
        last_full = max(
            (n for n, page in chain if n in pages or not self._is_reduced(page)), default=0
        )
        for number, directory in chain:
            is_old = bool(pages) and number > min(pages) and number not in pages
            if not (is_old and self._is_reduced(directory)):
                yield number, directory
            elif number > last_full:
                self._say(f"page {number}, a reduced picture, is left out: {_OLD_PICTURE}")
            else:
                self._say(f"page {number}, a reduced picture, still {_SHOWS_OLD}")
                yield number, directory

    def _is_reduced(self, directory: Directory) -> bool:
        """Whether it is a smaller picture of another one (TIFF 6.0, section 8)."""
        kind, old_kind = (
            whole_numbers(self._source, self._form, directory.get(code)).tolist() or [0]
            for code in (_SUBFILE, _OLD_SUBFILE)
        )
        return bool(kind[0] & _REDUCED) or old_kind[0] == _OLD_REDUCED

    def _entries(
        self, directory: Directory, page: "TiffPageCopy | None", depth: int
    ) -> Iterator[Written]:
        """Everything that a directory holds, in its new place."""
        own = page.codes if page else frozenset()
        moved = {} if page else self._segments(directory)
        for entry in directory.entries:
            if entry.code in own or entry.code in _GONE:
                continue
            if entry.code in moved:
                yield moved[entry.code]
            elif entry.code in _POINTERS or entry.kind in _DIRECTORY_KINDS:
                yield from self._pointer(entry, is_changed=page is not None, depth=depth + 1)
            elif page and entry.code in (*LAYERS, RESOURCES, XMP):
                yield from self._stale(entry)
            else:
                yield from self._kept_entry(entry)
        if page:
            yield from page.entries()

    def _segments(self, directory: Directory) -> dict[int, Written]:
        """Entries that say where the picture of a page is, after it was copied."""
        moved: dict[int, Written] = {}
        for at, lengths in (_STRIPS, _TILES, _JPEG):
            places, counts = (
                whole_numbers(self._source, self._form, directory.get(code)).tolist()
                for code in (at, lengths)
            )
            if len(places) != len(counts):
                raise damaged(self._source.path, "it does not say how long its strips are")
            if places:
                new = [self._out.move(*span) for span in zip(places, counts, strict=True)]
                moved |= {at: self._out.places(at, new), lengths: self._out.places(lengths, counts)}
        return moved

    def _pointer(self, entry: Entry, *, is_changed: bool, depth: int) -> Iterator[Written]:
        """An entry that leads to further directories, and these."""
        new = []
        for place in whole_numbers(self._source, self._form, entry).tolist():
            if depth > _MOST_DEPTH or not 0 < place < self._source.size or place in self._seen:
                self._say(f"tag {entry.code} leads nowhere, and is left out")
            elif is_changed and entry.code == _SUB_DIRECTORIES and self._leads_to_reduced(place):
                self._say(f"a reduced picture inside it (tag 330) is left out: {_OLD_PICTURE}")
            elif copied := self._chain(place, pages={}, depth=depth):
                new.append(copied)
        if new:
            letter = "Q" if entry.kind in (16, 18) else "I"
            kind = entry.kind if entry.kind in (*_DIRECTORY_KINDS, 16) else _LONG
            data = self._form.packed(f"{len(new)}{letter}", *new)
            yield self._out.stored(entry.code, kind, len(new), data)

    def _leads_to_reduced(self, place: int) -> bool:
        try:
            return self._is_reduced(directory_at(self._source, self._form, place))
        except PlateError:  # said when it is to be copied
            return False

    def _stale(self, entry: Entry) -> Iterator[Written]:
        """What shows the picture as it was goes; the rest of such an entry stays."""
        if entry.code in LAYERS:
            self._say(f"layers of an editor (tag {entry.code}) are left out: {_OLD_LAYERS}")
            return
        is_bytes = is_inside(self._source, entry) and entry.size == entry.count
        is_short = is_bytes and entry.size <= _MOST_TAKEN_APART_BYTES
        data = self._source.read(entry.place, entry.size) if is_short else b""
        kept = without_thumbnails(entry.code, data) if is_short else None
        if kept is None:
            self._say(f"tag {entry.code} cannot be taken apart, and is left out: {_OLD_PICTURE}")
        elif kept == data:
            yield from self._kept_entry(entry)
        else:
            self._say(f"a small picture in it (tag {entry.code}) is left out: {_OLD_PICTURE}")
            if kept:
                yield self._out.stored(entry.code, entry.kind, len(kept), kept)

    def _kept_entry(self, entry: Entry) -> Iterator[Written]:
        """An entry as it is; one that is damaged goes."""
        if not is_inside(self._source, entry):
            self._say(f"tag {entry.code} is damaged, and is left out")
        else:
            tag = (entry.code, entry.kind, entry.count)
            yield self._out.copied(*tag, place=entry.place, size=entry.size)

    def _say(self, sentence: str) -> None:
        self.notes.append(f"{label(self._source.path)}: {sentence}")


class TiffPageCopy:
    """One page that gets other numbers.

    Parameters
    ----------
    out : TiffOut
        What it is written to.
    source : Layout
        How the page lies in its file.
    segments : PageSegments
        Its strips or tiles.
    """

    def __init__(self, out: TiffOut, *, source: Layout, segments: PageSegments) -> None:
        self._out, self._source, self._segments = out, source, segments
        self._spans: list[tuple[int, int] | None] = [None] * segments.layout.count

    def append(self, block: PackedBlock) -> None:
        """Write the strips or tiles that are whole with this block."""
        for index, data in (*block.whole.items(), *self._segments.joined(block.pieces)):
            self._spans[index] = (self._out.put((data,)), len(data))

    @property
    def codes(self) -> frozenset[int]:
        """Tags that `entries` gives."""
        sides = _TILE_SIDES if self._source.tiled else (_ROWS_PER_STRIP,)
        cut = sides if self._segments.is_cut_anew else ()
        return frozenset((*_STRIPS, *_TILES, *_JPEG, *cut))

    def entries(self) -> Iterator[Written]:
        """Where strips or tiles are now; planes that nobody packed are as in the source."""
        layout = self._segments.layout
        spans = [span or self._moved(index) for index, span in enumerate(self._spans)]
        places, counts = _TILES if layout.tiled else _STRIPS
        yield self._out.places(places, [place for place, _ in spans])
        yield self._out.places(counts, [count for _, count in spans])
        if self._segments.is_cut_anew and layout.tiled:
            yield self._out.long(_TILE_SIDES[0], layout.segment_cols)
            yield self._out.long(_TILE_SIDES[1], layout.segment_rows)
        elif self._segments.is_cut_anew:
            yield self._out.long(_ROWS_PER_STRIP, layout.segment_rows)

    def _moved(self, index: int) -> tuple[int, int]:
        count = self._source.byte_counts[index]
        return self._out.move(self._source.offsets[index], count), count
