"""Corrected copies of plate files, never in place: written together, or not at all.

A file of which no plate changes is copied byte by byte. Beside the copies lie, in folders of their
own, grey pictures of the ink that was added and removed. What is to change is told by ink amounts;
nothing is decided here.
"""

import os
from collections.abc import Collection, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from inkmix.base.errors import Fault, OutputError
from inkmix.base.inputs import input_digest
from inkmix.base.listed_files import list_file, list_text, listed_digests, undoubted_files
from inkmix.base.output_files import Output, opened_together, refuse_outputs
from inkmix.export.plates.ink_pictures import InkBlock, InkPicture, added, removed
from inkmix.export.plates.page_writers import FileCopy, PackedPage, PageWriter
from inkmix.export.shape import PictureShape
from inkmix.plates.files.limits import UNKNOWN_PPI
from inkmix.plates.files.raster import Samples
from inkmix.plates.files.source import source_of
from inkmix.plates.plate import FilePlate
from inkmix.plates.set import PlateSet

ADDED, REMOVED = "added", "removed"
"""Folders beside the copies, for the ink that a correction adds and takes off."""
_PIECE_BYTES = 2**20


@dataclass(frozen=True, slots=True, kw_only=True)
class PlateCopy:
    """Plates of one page of one file that change, and where the copy goes.

    Parameters
    ----------
    plates : tuple of FilePlate
        As read; of one file and page. Two hits of one plate are one plate.
    to : Path
        The copy. Several pages of one file go to one copy.
    block_rows, block_cols : int
        Size of the blocks in which the plates come, in their own pixels.
    """

    plates: tuple[FilePlate, ...]
    to: Path
    block_rows: int
    block_cols: int

    @property
    def source(self) -> Path:
        """The file of the plates."""
        return self.plates[0].raster.facts.path

    @property
    def shape(self) -> PictureShape:
        """Size, and blocks, of one plate."""
        header = self.plates[0].header
        return PictureShape(
            width_px=header.width_px,
            height_px=header.height_px,
            block_rows=self.block_rows,
            block_cols=self.block_cols,
            channels=1,
            bits=header.bits,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class PackedPlates:
    """A block of the plates of one page, ready to be written."""

    pixels: int
    page: PackedPage
    ink: tuple[InkBlock, ...]


class PlateWriter:
    """Takes blocks of changed plates in raster order: a band from left to right, then the next."""

    def __init__(self, copy: PlateCopy, page: PageWriter, pictures: Sequence[InkPicture]) -> None:
        self._copy, self._page, self._pictures = copy, page, pictures
        self._left = copy.shape.width_px * copy.shape.height_px

    def pack(self, before: Samples, after: Samples, *, row: int, col: int = 0) -> PackedPlates:
        """A block whose first pixel is given; any thread may ask.

        Parameters
        ----------
        before, after : (plates, rows, cols) uint8, or uint16 at 16 bits
            Ink amount of the plates of the copy, as read and as it becomes; 0 is none.

        Raises
        ------
        ValueError
            If it is no block of the plates.
        """
        self._refuse_misfit(before, row, col)
        self._refuse_misfit(after, row, col)
        pairs = [pair for both in zip(before, after, strict=True) for pair in _both_ways(*both)]
        ink = zip(self._pictures, pairs, strict=True)
        return PackedPlates(
            pixels=before[0].size,
            page=self._page.pack(before, after, row=row, col=col),
            ink=tuple(picture.pack(amounts, row=row, col=col) for picture, amounts in ink),
        )

    def _refuse_misfit(self, amounts: Samples, row: int, col: int) -> None:
        shape, size = self._copy.shape, self._copy.shape.block_at(row, col)
        wanted = None if size is None else (len(self._copy.plates), *size)
        if amounts.shape != wanted or amounts.dtype != shape.dtype:
            found = f"{amounts.shape} {amounts.dtype} at {row}, {col}"
            raise ValueError(f"{found} is no block of {shape}")

    def append(self, block: PackedPlates) -> None:
        """Write the next block."""
        self._page.append(block.page)
        for picture, part in zip(self._pictures, block.ink, strict=True):
            picture.append(part)
        self._left -= block.pixels

    def finish(self) -> None:
        """All blocks must be there."""
        if self._left:
            raise ValueError(f"{self._left} pixels are missing")
        for picture in self._pictures:
            picture.finish()


class PlateCopies:
    """What is being written; `notes` and `digests` are whole when all is.

    Parameters
    ----------
    writers : tuple of PlateWriter
        One for each copy that was asked for.
    beside : tuple of BinaryIO
        Files that the caller writes.
    """

    def __init__(self, writers: tuple[PlateWriter, ...], beside: tuple[BinaryIO, ...]) -> None:
        self.writers, self.beside = writers, beside
        self.notes: tuple[str, ...] = ()
        self.digests: dict[str, str] = {}


def copies_of(
    plates: PlateSet, inks: Collection[str], *, to: Mapping[Path, Path]
) -> tuple[tuple[PlateCopy, ...], dict[Path, Path]]:
    """Copies for the plates of a set that change, and the files in which none does.

    A later hit of an ink that is the very same channel comes with the first one.

    Parameters
    ----------
    inks : collection of str
        Whose plates change.
    to : mapping of Path to Path
        For each file of the set, where its copy goes.

    Returns
    -------
    tuple of PlateCopy, and dict of Path to Path
        In the order of the set; blocks are the set's windows, in the pixels of the plate. What is
        copied as it is, and where to.
    """
    grid = plates.windows()
    pages: dict[tuple[Path, int], dict[int, FilePlate]] = {}
    factors: dict[tuple[Path, int], int] = {}
    for plate, factor in zip(plates.plates, plates.factors, strict=True):
        if isinstance(plate, FilePlate) and plate.header.ink in inks:
            page = (plate.raster.facts.path, plate.header.page)
            pages.setdefault(page, {}).setdefault(plate.header.channel, plate)
            factors[page] = factor
    copies = tuple(
        PlateCopy(
            plates=tuple(some.values()),
            to=to[page[0]],
            block_rows=grid.rows * factors[page],
            block_cols=grid.cols * factors[page],
        )
        for page, some in pages.items()
    )
    changed = {page[0] for page in pages}
    return copies, {source: copy for source, copy in to.items() if source not in changed}


@contextmanager
def plate_copies(
    folder: Path,
    copies: Sequence[PlateCopy],
    *,
    untouched: Mapping[Path, Path],
    beside: Sequence[Output] = (),
    gone: Sequence[Output] = (),
    undoubted: Collection[Path] = (),
) -> Iterator[PlateCopies]:
    """Writers for corrected plates; all files appear in the end, the list of them last.

    Parameters
    ----------
    folder : Path
        Everything is written into it; its list of files is there. A file that it lists and that
        is as listed is replaced.
    copies : sequence of PlateCopy
        Plates that change.
    untouched : mapping of Path to Path
        Files that are copied as they are, and where to; all in the folder.
    beside : sequence of Output
        Further files of the caller, who writes them before the end.
    gone : sequence of Output
        Files of earlier runs that go just before.
    undoubted : collection of Path
        Those that are made of plates of which none looked inverted: the list says so.

    Raises
    ------
    OutputError
        If a copy would take the place of an input, two would have one name, or a file is there
        that inkmix did not write, or that was changed since: then nothing is made. Also if the disk
        is full, or a TIFF would be larger than its kind can.
    PlateError
        If a file is damaged, or is not what it was.
    """
    outputs = _Outputs(folder, copies, untouched, beside, gone)
    _refuse(outputs)
    with opened_together(outputs.all, gone=outputs.gone) as files:
        opened = dict(zip((output.path for output in outputs.all), files, strict=True))
        made = {to: FileCopy(opened[to], source) for to, source in outputs.sources.items()}
        writers = tuple(
            _writer(copy, made[copy.to], [opened[path] for path in paths])
            for copy, paths in zip(copies, outputs.pictures, strict=True)
        )
        yielded = PlateCopies(writers, tuple(opened[output.path] for output in beside))
        yield yielded
        for writer in writers:
            writer.finish()
        for copy in made.values():
            copy.finish()
        for source, to in untouched.items():
            _copy_bytes(source, opened[to])
        yielded.notes = tuple(note for copy in made.values() for note in copy.notes)
        yielded.digests = outputs.digests(opened)
        files[-1].write(list_text(yielded.digests, undoubted=outputs.undoubted(undoubted)))


class _Outputs:
    """Files that are written: copies, pictures of ink, untouched files, further ones, the list."""

    def __init__(
        self,
        folder: Path,
        copies: Sequence[PlateCopy],
        untouched: Mapping[Path, Path],
        beside: Sequence[Output],
        gone: Sequence[Output],
    ) -> None:
        self._folder, self._listed = folder, listed_digests(folder)
        self.sources = {copy.to: copy.source for copy in copies}
        self.inputs = {*self.sources.values(), *untouched}
        self.pictures = [picture_paths(copy, copies) for copy in copies]
        pictures = [path for paths in self.pictures for path in paths]
        targets = (*self.sources, *untouched.values())
        known = [self._known(path, optional=path in pictures) for path in (*targets, *pictures)]
        self.all = (*known, *beside, list_file(folder))
        self.gone = *self._stale({*targets}, {*pictures}), *gone

    def _known(self, path: Path, *, optional: bool = False) -> Output:
        """A file that is known by the list alone."""
        digest = self._listed.get(self._name(path))
        known = frozenset() if digest is None else frozenset({digest})
        return Output(path=path, known=known, optional=optional)

    def _stale(self, targets: set[Path], pictures: set[Path]) -> Iterator[Output]:
        """Pictures of ink by an earlier run over these plates that nobody changed since."""
        for name, digest in self._listed.items():
            path = self._folder / name
            is_old = path not in pictures and not targets.isdisjoint(copies_beside(path))
            if is_old and path.is_file() and input_digest(path) == digest:
                yield self._known(path)

    def digests(self, opened: Mapping[Path, BinaryIO]) -> dict[str, str]:
        """SHA-256 of each file but the list, by its path in the folder; empty ones are none.

        What earlier runs listed stays in the list where it is still there.
        """
        made = {*opened, *(output.path for output in self.gone)}
        paths = {name: self._folder / name for name in self._listed}
        found = {
            name: self._listed[name]
            for name, path in paths.items()
            if path not in made and path.is_file()
        }
        for path, file in opened.items():
            file.flush()
            if path != self.all[-1].path and file.seek(0, os.SEEK_END):
                found[self._name(path)] = input_digest(Path(file.name))
        return found

    def undoubted(self, now: Collection[Path]) -> set[str]:
        """Names of such copies: those of now, and of earlier runs that are not written anew."""
        made = {self._name(output.path) for output in self.all}
        return {*map(self._name, now), *(undoubted_files(self._folder) - made)}

    def _name(self, path: Path) -> str:
        return path.relative_to(self._folder).as_posix()


def _refuse(outputs: _Outputs) -> None:
    paths = [output.path for output in outputs.all]
    twice = {path for path in paths if paths.count(path) > 1}
    faults = [Fault(where=str(path), found="two files would have this name") for path in twice]
    faults += [
        Fault(
            where=str(path),
            found="is a plate that is read",
            expected="corrected plates are never written in place of those they come from",
            do="choose another folder",
        )
        for path in paths
        if path.exists() and any(path.samefile(source) for source in outputs.inputs)
    ]
    if faults:
        raise OutputError(faults)
    refuse_outputs(outputs.all)


def _writer(copy: PlateCopy, file: FileCopy, pictures: Sequence[BinaryIO]) -> PlateWriter:
    is_png = copy.plates[0].raster.facts.format == "PNG"
    ppi = copy.plates[0].header.ppi or UNKNOWN_PPI
    page = file.page(copy.plates, copy.shape)
    ink = [InkPicture(each, copy.shape, is_png=is_png, ppi=ppi) for each in pictures]
    return PlateWriter(copy, page, ink)


def picture_paths(copy: PlateCopy, copies: Sequence[PlateCopy]) -> tuple[Path, ...]:
    """Pictures of ink added and removed, plate by plate; by ink where a file holds several plates.

    One in which nothing would be is not written.
    """
    to = copy.to
    is_alone = sum(other.to == to for other in copies) == 1 and _is_alone(copy.plates)
    names = [
        to.name if is_alone else f"{to.stem}-{plate.header.ink}{to.suffix}" for plate in copy.plates
    ]
    return tuple(to.parent / way / name for name in names for way in (ADDED, REMOVED))


def _is_alone(plates: Sequence[FilePlate]) -> bool:
    """Whether no other plate is in their page: grey, with alpha or without, or as RGB."""
    facts, first = plates[0].raster.facts, plates[0]
    is_grey = facts.kind == "grey" and first.header.channel == 0
    return len(plates) == 1 and (is_grey or first.alike > 1)


def copies_beside(picture: Path) -> Iterator[Path]:
    """The copies that a file may be a picture of ink of; none where it lies elsewhere."""
    if picture.parent.name in (ADDED, REMOVED):
        parts = picture.stem.split("-")
        for most in range(1, len(parts) + 1):
            yield picture.parent.parent / f"{'-'.join(parts[:most])}{picture.suffix}"


def _both_ways(before: Samples, after: Samples) -> tuple[Samples, Samples]:
    return added(before, after), removed(before, after)


def _copy_bytes(source: Path, file: BinaryIO) -> None:
    found = source_of(source)
    for piece in found.pieces(0, found.size, most=_PIECE_BYTES):
        file.write(piece)
