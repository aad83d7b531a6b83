"""Which records are this user's own: the digest of each, by key, in the user's cache.

A folder of reports may come from anybody, and be written to by anybody who shares it. What lies in
it counts without a new check only if a run of this user wrote it, byte for byte; so whoever wants a
verdict changed there would have to write into the user's cache as well. Nothing else is kept here:
without the folder, what is in the cache answers nothing.
"""

import logging
from hashlib import sha256
from pathlib import Path

from inkmix.base.cache import mark_used, private_folder, read_own_file, write_file
from inkmix.base.canonical import pieces
from inkmix.batch.rows import Fared

KIND, SUFFIX = "records", ".sha256"
MOST_BYTES = 8192
"""Of digests in one of 256 folders: 128 in each, 32,768 in all; those used last stay."""

_LOG = logging.getLogger(__name__)


class Vouchers:
    """Digests of records by the key of their spread; threads may ask at once.

    What cannot be put into the cache is known as long as this object lives.
    """

    def __init__(self) -> None:
        self._known: dict[str, str] = {}

    def vouch(self, key: str, digest: str) -> None:
        """Remember the record that was written for a key."""
        self._known[key] = digest
        try:
            write_file(_path(key), digest.encode("ascii"), most_bytes=MOST_BYTES)
        except OSError as error:
            _LOG.info("the next run checks all again: nothing can be kept (%s)", error)

    def is_own(self, key: str, digest: str) -> bool:
        """Whether just this record was written for the key."""
        if key not in self._known:
            self._known[key] = _kept(key)
        return self._known[key] == digest


def faults_digest(how: Fared) -> str:
    """SHA-256, hex, of what is told of a spread that cannot be checked."""
    sha = sha256()
    for piece in pieces((how.faults, how.exit_code)):
        sha.update(piece)
    return sha.hexdigest()


def _path(key: str) -> Path:
    """Many folders with few files each: who writes one looks through its folder."""
    return private_folder(KIND) / key[:2] / f"{key}{SUFFIX}"


def _kept(key: str) -> str:
    """What the cache holds for a key; empty where it holds nothing."""
    try:
        path = _path(key)
        digest = read_own_file(path).decode("ascii")
    except (OSError, ValueError):
        return ""
    mark_used(path)
    return digest
