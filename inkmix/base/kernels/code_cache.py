"""Compiled code as files of the user's cache: each under a name that holds all that decides it.

Reading such a file runs what is in it. So they lie in a folder that only its owner may enter, and a
file counts only whole, under its own name and as it was written. What the code is, jit.py knows.
"""

import errno
import hashlib
import os
from contextlib import suppress
from pathlib import Path

from inkmix.base.cache import mark_used, private_folder, read_own_file, write_file

KIND = "loops"
SUFFIX = ".code"
MOST_BYTES = 128 << 20  # all loops of some eight versions; those not used for longest go first

_MARK = b"inkmix compiled loop, form 1    "
_KEY_BYTES = _CHECKSUM_BYTES = 32
_HEAD_BYTES = len(_MARK) + _KEY_BYTES


def code_folder() -> Path:
    """The folder for compiled code.

    Raises
    ------
    OSError
        If there is none that is safe, see `private_folder`, and can be written.
    """
    folder = private_folder(KIND)
    if not os.access(folder, os.R_OK | os.W_OK | os.X_OK):
        raise PermissionError(errno.EACCES, "it may not be written", str(folder))
    return folder


def read_code(folder: Path, name: str, *, key: bytes) -> bytes | None:
    """What was kept of a loop under a key of 32 bytes; None if that is not there, or is spoiled."""
    path = _place(folder, name, key)
    try:
        data = read_own_file(path)
    except OSError:
        return None
    body, checksum = data[:-_CHECKSUM_BYTES], data[-_CHECKSUM_BYTES:]
    if body[:_HEAD_BYTES] != _MARK + key or _checksum(body) != checksum:
        return None
    mark_used(path)
    return body[_HEAD_BYTES:]


def write_code(folder: Path, name: str, code: bytes, *, key: bytes) -> None:
    """Keep what was compiled, if there is room for it."""
    body = _MARK + key + code
    with suppress(OSError):
        write_file(_place(folder, name, key), body + _checksum(body), most_bytes=MOST_BYTES)


def _place(folder: Path, name: str, key: bytes) -> Path:
    return folder / f"{name}-{key.hex()}{SUFFIX}"


def _checksum(body: bytes) -> bytes:
    return hashlib.blake2b(body, digest_size=_CHECKSUM_BYTES).digest()
