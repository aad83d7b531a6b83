"""Digests of a book's files from one run to the next, in the user's cache.

Large books are not read over and over to see that nothing changed. Where nothing can be kept, or
what is there cannot be understood, files are read again; nobody has to be told.
"""

import json
import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from hashlib import sha256
from pathlib import Path

from inkmix.base import file_state as filestate
from inkmix.base.cache import mark_used, private_folder, read_own_file, write_file
from inkmix.base.file_state import state_of
from inkmix.batch.digests import FileDigests, FileRead

KIND, SUFFIX = "digests", ".json"
FORMAT = 1
MOST_BYTES = 64 << 20  # some 300,000 files

_STATE_NUMBERS, _DIGEST_DIGITS = 5, 64


@contextmanager
def recalled(folder: Path) -> Iterator[FileDigests]:
    """Digests of a book's folder as the last run knew them; what is learnt meanwhile is kept."""
    digests = FileDigests()
    path = _path(folder) if filestate.TELLS_CHANGES else None
    if path is None:
        yield digests
        return
    with suppress(OSError, ValueError, TypeError, KeyError, AttributeError, RecursionError):
        digests.learn(_known(read_own_file(path), folder))
        mark_used(path)
    before = dict(digests.known)
    try:
        yield digests
    finally:
        if digests.known != before:
            with suppress(OSError):
                write_file(path, _bytes(digests, folder), most_bytes=MOST_BYTES)


def _path(folder: Path) -> Path | None:
    """One file for each book, whatever folder its reports go to."""
    try:
        return private_folder(KIND) / f"{sha256(os.fsencode(folder)).hexdigest()}{SUFFIX}"
    except OSError:
        return None


def _bytes(digests: FileDigests, folder: Path) -> bytes:
    """What is known of files that are still the same; others would never be asked for."""
    files = {
        str(path): [*read.state, read.digest]
        for path, read in digests.known.items()
        if state_of(path) == read.state
    }
    document = {"format": FORMAT, "folder": str(folder), "files": files}
    return json.dumps(document, indent=0).encode("ascii")


def _known(data: bytes, folder: Path) -> dict[Path, FileRead]:
    """What is said of files; anything but what was written raises one of many errors."""
    document = json.loads(data)
    if (document["format"], document["folder"]) != (FORMAT, str(folder)):
        return {}
    return {Path(name): _file_read(*said) for name, said in document["files"].items()}


def _file_read(*said: object) -> FileRead:
    *state, digest = said
    numbers = tuple(number for number in state if isinstance(number, int))
    if len(numbers) != _STATE_NUMBERS or not isinstance(digest, str):
        raise ValueError("no state of a file")
    if len(digest) != _DIGEST_DIGITS or not set(digest) <= set("0123456789abcdef"):
        raise ValueError("no SHA-256")
    return FileRead(numbers, digest)
