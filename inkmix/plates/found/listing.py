"""What lies in a folder, as many levels deep as is asked for, where names fit level by level.

Looks at names and kinds only; nothing is opened. What cannot be looked into is told beside what
can: one folder without rights, one link that leads nowhere, must not hide the others.
"""

import errno
import os
import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path, PurePath

Fits = Callable[[str], bool]

_LITTER = frozenset(
    (
        *("thumbs.db", "ehthumbs.db", "desktop.ini", "__macosx", "@eadir", "thumbnails"),
        *("lost+found", "$recycle.bin", "system volume information"),
    )
)
_THUMBNAIL = re.compile(r"(^|[-_. ])(thumb|thumbnail)s?([-_. ]|$)", re.IGNORECASE)
_NAMED = 6  # of what lies in a folder; it may hold thousands
_FILE, _FOLDER, _OTHER = "file", "folder", "other"
FOLDER_INSTEAD = "is a folder, not a plate file"
_NO_FILE = {_FOLDER: FOLDER_INSTEAD, _OTHER: "is not a plate file"}
_NOWHERE = "is a link that leads nowhere"
_REASONS = {errno.ELOOP: "is a link that leads back to itself", errno.ENOENT: _NOWHERE}


@dataclass(frozen=True, slots=True, kw_only=True)
class Listed:
    """A file as deep as was asked for, or what stands in its place or in the way.

    Parameters
    ----------
    parts : tuple of str
        Names from the folder down, as the system gives them.
    trouble : str
        Empty for a file; else what it is instead, or why a folder above cannot be listed.
    is_stray : bool
        Its name does not fit, or it is a file where folders are, among those that are looked for.
    """

    parts: tuple[str, ...]
    trouble: str = ""
    is_stray: bool = False


def listed(
    folder: Path, fits: Sequence[Fits], *, strays_from: int | None = None
) -> Iterator[Listed]:
    """Files whose names fit on every level, without litter, in no order.

    Parameters
    ----------
    fits : sequence of callable
        One a level: whether a name on it may be looked at.
    strays_from : int or None
        From which level on whatever else lies there is told too; None: never. In the folder itself
        other folders are not.
    """
    of = _Looked(fits=fits, strays_from=len(fits) if strays_from is None else strays_from)
    yield from _level(str(folder), (), of)


def printable(name: str) -> str:
    """A name fit for a message: line ends, bytes that are no UTF-8 and the like as escapes."""
    return "".join(c if c.isprintable() else _escaped(c) for c in name)


def contents(folder: Path) -> str:
    """What lies in a folder, in words: some names, folders with a slash, and how many more."""
    try:
        with os.scandir(folder) as entries:
            here = [entry for entry in entries if not _is_litter_name(entry.name)]
            names = sorted(f"{entry.name}/" if entry.is_dir() else entry.name for entry in here)
    except FileNotFoundError:
        return "is not there"
    except OSError as error:
        return f"cannot be listed: {error.strerror or error}"
    return f"holds {some_of(names)}" if names else "is empty"


def some_of(names: Sequence[str]) -> str:
    """A few names fit for a message, and how many more there are."""
    more = f" and {len(names) - _NAMED} more" if len(names) > _NAMED else ""
    return ", ".join(map(printable, names[:_NAMED])) + more


def is_litter(path: PurePath) -> bool:
    """Hidden files, resource forks (._x), what systems leave in folders, thumbnails."""
    return any(map(_is_litter_name, path.parts)) or _is_thumbnail(path.name)


def _escaped(sign: str) -> str:
    if "\udc80" <= sign <= "\udcff":  # how Python holds a byte that is no UTF-8
        return f"\\x{ord(sign) - 0xDC00:02x}"
    return sign.encode("unicode_escape").decode("ascii")


def _is_litter_name(name: str) -> bool:
    return name.startswith((".", "~$")) or name.lower() in _LITTER


def _is_thumbnail(name: str) -> bool:
    return bool(_THUMBNAIL.search(PurePath(name).stem))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Looked:
    """What is looked for: names that fit on each level, and from which one strays are told."""

    fits: Sequence[Fits]
    strays_from: int


def _level(folder: str, above: tuple[str, ...], of: _Looked) -> Iterator[Listed]:
    try:
        with os.scandir(folder) as entries:
            here = [entry for entry in entries if not _is_litter_name(entry.name)]
    except OSError as error:
        yield Listed(parts=above, trouble=f"cannot be listed: {error.strerror or error}")
        return
    fits, tells_strays = of.fits[len(above)], len(above) >= of.strays_from
    for entry in here:
        if fits(entry.name):
            yield from _entry(entry, (*above, entry.name), of, tells_strays=tells_strays)
        elif tells_strays:
            yield from _stray(entry, (*above, entry.name))


def _entry(
    entry: "os.DirEntry[str]", parts: tuple[str, ...], of: _Looked, *, tells_strays: bool
) -> Iterator[Listed]:
    kind, is_above = _kind(entry), len(parts) < len(of.fits)
    if is_above and kind == _FOLDER:
        yield from _level(entry.path, parts, of)
    elif kind not in (_FILE, _FOLDER, _OTHER):
        yield Listed(parts=parts, trouble=kind)
    elif is_above and tells_strays:
        yield from _stray(entry, parts)
    elif not is_above and not _is_thumbnail(entry.name):
        yield Listed(parts=parts, trouble=_NO_FILE.get(kind, ""))


def _stray(entry: "os.DirEntry[str]", parts: tuple[str, ...]) -> Iterator[Listed]:
    kind = _kind(entry)
    if (kind == _FILE and not _is_thumbnail(entry.name)) or (kind == _FOLDER and len(parts) > 1):
        yield Listed(parts=parts, is_stray=True)


def _kind(entry: "os.DirEntry[str]") -> str:
    """File, folder or other; for a link that leads to neither, why."""
    try:
        if entry.is_file():
            return _FILE
        if entry.is_dir():
            return _FOLDER
        return _NOWHERE if entry.is_symlink() else _OTHER
    except OSError as error:
        return _REASONS.get(error.errno or 0, f"cannot be looked at: {error.strerror or error}")
