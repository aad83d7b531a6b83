"""The list of files written into a folder, with their digests: by it they are known again.

Corrected plates keep all their tags, and untouched ones all their bytes, so no mark could stand in
them. A file that somebody changed since is no longer as listed, and is never replaced.
"""

import json
from collections.abc import Collection, Mapping
from pathlib import Path, PurePosixPath

from inkmix import __version__
from inkmix.base.inputs import read_input
from inkmix.base.output_files import Output

LIST_NAME = "written-by-inkmix.json"
_MARK = b'"program": {"name": "inkmix"'
_FORMAT = 1
_MOST_BYTES = 2**24
"""Of a list: a book of 200 spreads in eight inks takes 1 MB."""
_DIGEST_LETTERS = 64


def list_file(folder: Path) -> Output:
    """The list itself."""
    return Output(path=folder / LIST_NAME, mark=_MARK)


def list_text(digests: Mapping[str, str], *, undoubted: Collection[str] = ()) -> bytes:
    """The list as it is written: path in the folder, with slashes, and SHA-256 of each file.

    `undoubted` are copies of plates of which none looked inverted, alone or beside the others.
    """
    head = f'{{\n {_MARK.decode("ascii")}, "version": {json.dumps(__version__)}}},\n'
    files = json.dumps(dict(sorted(digests.items())), ensure_ascii=False, indent=1)
    sound = json.dumps(sorted(undoubted), ensure_ascii=False)
    return f'{head} "format": {_FORMAT},\n "undoubted": {sound},\n "files": {files}\n}}\n'.encode()


def listed_digests(folder: Path) -> dict[str, str]:
    """What the list of a folder says; nothing where there is none, or none of ours."""
    said = _said(folder).get("files")
    if not isinstance(said, dict):
        return {}
    return {name: digest for name, digest in said.items() if _is_sound(name, digest)}


def undoubted_files(folder: Path) -> frozenset[str]:
    """Copies of plates of which none looked inverted."""
    said = _said(folder).get("undoubted")
    return frozenset(map(str, said)) if isinstance(said, list) else frozenset()


def _said(folder: Path) -> dict[str, object]:
    try:
        data = read_input(folder / LIST_NAME, most_bytes=_MOST_BYTES)
        said = json.loads(data) if _MARK in data[:1024] else None
    except (OSError, ValueError, RecursionError):
        return {}
    return said if isinstance(said, dict) else {}


def _is_sound(name: str, digest: object) -> bool:
    """Whether an entry names a file inside the folder."""
    path = PurePosixPath(name)
    is_inside = not path.is_absolute() and ".." not in path.parts
    return is_inside and isinstance(digest, str) and len(digest) == _DIGEST_LETTERS
