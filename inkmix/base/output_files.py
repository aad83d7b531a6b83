"""The one way in which files leave the program: together, whole or not at all.

Each is written beside its place under a lock, flushed to the disk, and takes its name when all are
whole, in the order in which they are given, so that nobody finds half a file or halves of two runs.
A file that the program did not write is never replaced: ours are known by a mark in their first
bytes, or by their digest where they have to be like somebody else's. What is in a file is not known
here. `atomic_files` has the single steps.
"""

import errno
import os
import time
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from inkmix.base.atomic_files import BusyError, Part, aside_of, folder_for, part_of
from inkmix.base.errors import Fault, OutputError
from inkmix.base.inputs import input_digest, opened_input, special_kind
from inkmix.base.shutdown import held_together

HEAD_BYTES = 1024  # the mark stands in these
PATIENCE_S = 1.0
"""Another run that puts small files in place needs a moment only, so that is waited for."""

_ELSEWHERE = "choose another name or folder"


@dataclass(frozen=True, slots=True, kw_only=True)
class Output:
    """A file that is to be written.

    Parameters
    ----------
    path : Path
        Where; a missing folder is made.
    mark : bytes
        Stands in the first bytes of every file of this kind that the program writes: such a file,
        and an empty one, is replaced.
    known : frozenset of str
        SHA-256, hex, of files that the program wrote: one of these is replaced, too. Without a mark
        and known files nothing may be there.
    optional : bool
        Where nothing is written to it, there is no file in the end; an older one of ours goes.
    """

    path: Path
    mark: bytes = b""
    known: frozenset[str] = frozenset()
    optional: bool = False

    @property
    def may_replace(self) -> bool:
        """Whether a file of ours can be told."""
        return bool(self.mark or self.known)


def refuse_outputs(outputs: Iterable[Output]) -> None:
    """What can be said against files before there is anything to write; nothing is made.

    Raises
    ------
    OutputError
        With every file that is somebody else's or no file, and every folder that is none or may
        not be written.
    """
    faults = [fault for output in outputs for fault in _faults(output)]
    if faults:
        raise OutputError(dict.fromkeys(faults))


def write_together(contents: Mapping[Output, bytes], *, gone: Sequence[Output] = ()) -> None:
    """Write files of known bytes, or none where none is given; as `opened_together`."""
    with opened_together(tuple(contents), gone=gone) as files:
        for file, data in zip(files, contents.values(), strict=True):
            file.write(data)


@contextmanager
def opened_together(
    outputs: Sequence[Output], *, gone: Sequence[Output] = ()
) -> Iterator[tuple[BinaryIO, ...]]:
    """Files to write to; they take their names at the end, or on an error all is as before.

    Parameters
    ----------
    outputs : sequence of Output
        In the order in which they take their names.
    gone : sequence of Output
        Older files that go just before, as they do not belong to the new ones.

    Raises
    ------
    OutputError
        As `refuse_outputs`; also if another run writes one of them, or the disk is full.
    """
    paths = [output.path for output in outputs]
    _refuse_twice(paths)
    refuse_outputs((*outputs, *gone))
    if not paths:
        yield ()
        return
    with _told(_place(paths), paths), ExitStack() as stack:
        for path in paths:
            stack.enter_context(folder_for(path))
        parts = _parts(paths, stack)
        yield tuple(part.file for part in parts)
        for part in parts:
            part.flush()
        _take_places(parts, outputs, gone)
        for folder in dict.fromkeys(path.parent for path in paths if path.parent.exists()):
            _flush_folder(folder)


@contextmanager
def held(path: Path) -> Iterator[None]:
    """Hold a name so that no other run does; its folder is made where it is missing.

    Raises
    ------
    OutputError
        If another run holds it, or the folder cannot be written.
    """
    with ExitStack() as stack:
        with _told(path.parent, [path]):
            stack.enter_context(folder_for(path))
            stack.enter_context(part_of(path))
        yield


def _refuse_twice(paths: Sequence[Path]) -> None:
    """Refuse a path that is to be written twice, which nobody could lock for himself."""
    times = Counter(path.absolute() for path in paths)
    twice = [path for path in dict.fromkeys(paths) if times[path.absolute()] > 1]
    if twice:
        do = "give each file a name of its own"
        raise OutputError(
            Fault(where=str(path), found="is to be written twice", do=do) for path in twice
        )


def _faults(output: Output) -> Iterator[Fault]:
    try:
        fault = _against_folder(output.path.parent) or _against_file(output)
    except (OSError, RuntimeError) as error:  # a loop of links was a RuntimeError before 3.13
        if isinstance(error, FileNotFoundError) and error.filename is None:
            raise  # the folder that paths begin in is gone, which is no fault of this file
        fault = _unwritable(output.path, error)
    if fault is not None:
        yield fault


def _against_folder(folder: Path) -> Fault | None:
    """What can be said of a folder, there or not, or of the one that it would be made in."""
    there = next(path for path in (folder, *folder.resolve().parents) if path.exists())
    if not there.is_dir():
        expected = "a folder is needed for what is written"
        return Fault(where=str(there), found="is a file", expected=expected, do=_ELSEWHERE)
    if not os.access(there, os.W_OK | os.X_OK):
        return _unwritable(there, PermissionError(errno.EACCES, os.strerror(errno.EACCES)))
    return None


def _against_file(output: Output) -> Fault | None:
    path, where = output.path, str(output.path)
    kind = "a folder" if path.is_dir() else special_kind(path)
    if kind is not None:
        expected = "a file is to be written"
        return Fault(where=where, found=f"is {kind}", expected=expected, do=_ELSEWHERE)
    if not os.path.lexists(path) or (output.may_replace and _is_ours(output)):
        return None
    if not output.may_replace:
        do = f"move it away, or {_ELSEWHERE}; nothing is overwritten"
        return Fault(where=where, found="already exists", do=do)
    return Fault(
        where=where,
        found="already exists and was not written by inkmix",
        expected="other people's files are never overwritten",
        do=f"move it away, or {_ELSEWHERE}",
    )


def _is_ours(output: Output) -> bool:
    """Whether a file may be replaced; so may an empty one, and a link to nowhere."""
    if not output.path.exists():
        return True
    with opened_input(output.path) as file:
        head = file.read(HEAD_BYTES)
    if not head or (output.mark and output.mark in head):
        return True
    return bool(output.known) and input_digest(output.path) in output.known


def _parts(paths: Iterable[Path], stack: ExitStack) -> list[Part]:
    """All of them locked, in this order, so that of two runs one has none."""
    until = time.monotonic() + PATIENCE_S
    while True:
        with ExitStack() as tried:
            try:
                parts = [tried.enter_context(part_of(path)) for path in paths]
            except BusyError:
                if time.monotonic() > until:
                    raise
            else:
                stack.enter_context(tried.pop_all())
                return parts
        time.sleep(PATIENCE_S / 50)


def _take_places(parts: Sequence[Part], outputs: Sequence[Output], gone: Sequence[Output]) -> None:
    """Give all their names in one go; new ones go again where that fails."""
    with held_together(), ExitStack() as undo:
        for older in gone:
            older.path.unlink(missing_ok=True)
        for part, output in zip(parts, outputs, strict=True):
            if output.optional and part.is_empty():
                _leave_out(part, output)
            elif output.may_replace:
                part.take_place()
            else:
                part.take_free_place()
                undo.callback(part.path.unlink, missing_ok=True)
        undo.pop_all()


def _leave_out(part: Part, output: Output) -> None:
    """No file in the end; a folder that was made for it goes where it stays empty."""
    part.discard()
    if output.may_replace:
        output.path.unlink(missing_ok=True)
    with suppress(OSError):
        output.path.parent.rmdir()


def _flush_folder(folder: Path) -> None:
    """Make the renaming itself last, where the system can do that."""
    if os.name == "posix":
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


@contextmanager
def _told(place: Path, paths: Sequence[Path]) -> Iterator[None]:
    """Errors of the system in words; those of files that are not written here stay as they are."""
    try:
        yield
    except BusyError as error:
        found, do = "another run is writing here", f"wait for it, or {_ELSEWHERE}"
        raise OutputError(Fault(where=str(place), found=found, do=do)) from error
    except OSError as error:
        if isinstance(error, OutputError) or _is_of_another(error, paths):
            raise
        raise OutputError(_unwritable(_named(error, paths) or place, error)) from error


def _named(error: OSError, paths: Sequence[Path]) -> Path | None:
    """The one of these files that an error names, where it names one."""
    return next(
        (path for path in paths if error.filename in (str(path), str(aside_of(path)))), None
    )


def _is_of_another(error: OSError, paths: Sequence[Path]) -> bool:
    """Whether an error names a file that has nothing to do with writing these."""
    if not isinstance(error.filename, str):  # those of writing name none
        return False
    return all(Path(error.filename) not in (path, aside_of(path), *path.parents) for path in paths)


def _unwritable(path: Path, error: Exception) -> Fault:
    found = f"cannot be written ({getattr(error, 'strerror', None) or error})"
    return Fault(
        where=str(path),
        found=found,
        do="check permissions and free space, or choose another folder",
    )


def _place(paths: Sequence[Path]) -> Path:
    """The file, or the folder of them all where they have one."""
    try:
        return Path(os.path.commonpath(paths))
    except ValueError:  # on several drives, or told in several ways
        return paths[0]
