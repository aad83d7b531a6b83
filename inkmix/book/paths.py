"""Paths that a book names: relative, with forward slashes, and inside the book's folder.

Says what is wrong with a path; opens nothing.
"""

import os
import re
from dataclasses import replace
from pathlib import Path, PurePosixPath

from inkmix.base.errors import BookError, Fault
from inkmix.base.quoting import quoted

PLACEHOLDER = re.compile(r"\{([^{}]*)\}")
_SHOWN = (
    300  # characters of a path: a folder and a file with the longest names that most disks take
)
_DRIVE = re.compile(r"^[A-Za-z]:")
_STAY = "paths stay inside it"
_COPY = "copy the file into the folder and give the path from there"


def fill(pattern: str, **values: str) -> str:
    """The pattern with {spread} and {ink} replaced; others stay as they are."""
    return PLACEHOLDER.sub(lambda found: values.get(found[1], found[0]), pattern)


def path_fault(
    text: str, *, folder: Path, where: str, allowed: tuple[str, ...] = ()
) -> Fault | None:
    """What is wrong with a path of the book, or None.

    Parameters
    ----------
    text : str
        As written in the book.
    folder : Path
        The book's folder, resolved.
    allowed : tuple of str
        Placeholders that may stand in it, such as "spread".
    """
    return _spelling_fault(text, where, allowed) or _escape_fault(text, folder, where)


def inside(folder: Path, text: str, *, where: str) -> Path:
    """The path below the folder.

    Raises
    ------
    BookError
        Where it leaves the folder, also by a symbolic link.
    """
    if fault := path_fault(text, folder=folder, where=where):
        raise BookError(fault)
    return folder / text


def filled_inside(folder: Path, pattern: str, *, where: str, **values: str) -> Path:
    """The path below the folder that a checked pattern means for these values.

    Values may hold any sign that a file's name can.

    Raises
    ------
    BookError
        Where it leaves the folder, also by a symbolic link.
    """
    text = fill(pattern, **values)
    if fault := _dots_fault(text, where) or outside_fault(
        folder / text, folder=folder, where=where
    ):
        raise BookError(fault)
    return folder / text


def outside_fault(path: Path, *, folder: Path, where: str) -> Fault | None:
    """What is wrong with a path below the folder that a symbolic link leads out of it, or None."""
    # Not Path.resolve, which breaks off at links that lead around in a circle.
    if Path(os.path.realpath(path)).is_relative_to(os.path.realpath(folder)):
        return None
    found = f"{_quoted(path.relative_to(folder).as_posix())} leaves the book's folder"
    return Fault(where=where, found=f"{found} by a symbolic link", expected=_STAY, do=_COPY)


def _spelling_fault(text: str, where: str, allowed: tuple[str, ...]) -> Fault | None:
    found = _quoted(text)
    if not text.strip():
        return Fault(where=where, found="is empty", expected="a path is needed")
    if "\\" in text or any(not c.isprintable() for c in text):
        return Fault(
            where=where,
            found=f"{found} has a backslash, or what TOML made of one",
            expected="paths are written with /, also on Windows",
        )
    unknown = [name for name in PLACEHOLDER.findall(text) if name not in allowed]
    if unknown or set("{}") & set(PLACEHOLDER.sub("", text)):
        words = " and ".join(f"{{{name}}}" for name in allowed) or "no {...}"
        return Fault(where=where, found=f"is {found}", expected=f"{words} may stand in it")
    return None


def _escape_fault(text: str, folder: Path, where: str) -> Fault | None:
    if PurePosixPath(text).is_absolute() or _DRIVE.match(text) or text.startswith("~"):
        expected = "paths are given from the book's folder"
        return Fault(where=where, found=f"{_quoted(text)} is absolute", expected=expected, do=_COPY)
    if fault := _dots_fault(text, where):
        return fault
    fixed = text.split("{")[0].rpartition("/")[0] if "{" in text else text
    if fault := outside_fault(folder / fixed, folder=folder, where=where):
        return replace(fault, found=f"{_quoted(text)} leaves the book's folder by a symbolic link")
    return None


def _dots_fault(text: str, where: str) -> Fault | None:
    if ".." not in PurePosixPath(text).parts:
        return None
    found = f"{_quoted(text)} leaves the book's folder"
    return Fault(where=where, found=found, expected=_STAY, do=_COPY)


def _quoted(text: str) -> str:
    return quoted(text, _SHOWN)
