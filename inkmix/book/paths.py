"""Paths that a book names: relative, with forward slashes, and inside the book's folder.

Says what is wrong with a path; opens nothing.
"""

import re
from pathlib import Path, PurePosixPath

from inkmix.errors import BookError, Fault

PLACEHOLDER = re.compile(r"\{([^{}]*)\}")
_DRIVE = re.compile(r"^[A-Za-z]:")


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


def _spelling_fault(text: str, where: str, allowed: tuple[str, ...]) -> Fault | None:
    found = f'"{"".join(c if c.isprintable() else "?" for c in text)}"'
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
    path = PurePosixPath(text)
    do = "copy the file into the folder and give the path from there"
    if path.is_absolute() or _DRIVE.match(text) or text.startswith("~"):
        expected = "paths are given from the book's folder"
        return Fault(where=where, found=f'"{text}" is absolute', expected=expected, do=do)
    if ".." in path.parts:
        expected = "paths stay inside it"
        return Fault(
            where=where, found=f'"{text}" leaves the book\'s folder', expected=expected, do=do
        )
    fixed = text.split("{")[0].rpartition("/")[0] if "{" in text else text
    if not (folder / fixed).resolve().is_relative_to(folder.resolve()):
        found = f'"{text}" leaves the book\'s folder by a symbolic link'
        return Fault(where=where, found=found, expected="paths stay inside it", do=do)
    return None
