"""Names that lie in a folder but cannot stand in a book, told as what lies there.

Names only; no file is opened.
"""

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from pathlib import Path, PurePosixPath

from inkmix.base.errors import BookError, Fault, PlateError
from inkmix.base.names import folded
from inkmix.book.first.layout import Layout, file_of
from inkmix.book.names import UNFIT_SIGNS, fits_files
from inkmix.book.paths import path_fault
from inkmix.plates.found.pattern import ENDINGS
from inkmix.press.values import MAX_INKS

MAX_NAME = 100  # characters of a name in a book
_FIELDS = ("{spread}", "{ink}")
_SHOWN = 5
_RENAME = "rename the file, or the folder that it lies in"


def unwritable(path: str) -> Fault | None:
    """Why no text of a book can hold the path of a file, or None."""
    if not _is_text(path):
        return Fault(where=path, found="its name is not UTF-8 text", do=_RENAME)
    if "\\" in path or not path.isprintable():
        found = "its name holds a backslash or a character that cannot be seen"
        return Fault(where=path, found=found, do=_RENAME)
    if any(field in path for field in _FIELDS):
        found = "its name holds {ink} or {spread}, which stand for names in a book"
        return Fault(where=path, found=found, do=_RENAME)
    return None


def unnameable_picture(path: str, *, folder: Path) -> Fault | None:
    """Why a mask or a reference picture cannot be named, or None; {spread} may stand in it."""
    fault = path_fault(path, folder=folder.resolve(), where=path, allowed=("spread",))
    if fault is not None:
        return Fault(where=path, found="no book can name this file", do=_RENAME)
    return None


def refuse_layout(layout: Layout, *, folder: Path) -> None:
    """What can be said against the names of plates and inks that were found.

    Raises
    ------
    PlateError
        With all that a book cannot hold.
    """
    faults = [*_pattern_faults(layout, folder), *_ink_faults(layout)]
    if faults:
        raise PlateError(faults)


def too_many(layout: Layout) -> Fault:
    """More inks than a book takes."""
    found = f"{len(layout.inks)} inks, by their names: {', '.join(sorted(layout.inks))}"
    return Fault(
        where="folder",
        found=found,
        expected=f"a book takes up to {MAX_INKS}",
        do="move everything that is not a plate into another folder",
    )


def left_out(
    layout: Layout, paths: Iterable[str], *, in_colours: Collection[str] = ()
) -> tuple[str, ...]:
    """What looks like a plate but is not one of the book, in a few lines."""
    taken = {_stem(path): path for path in layout.files}
    others = [path for path in paths if path not in layout.files]
    lines = [
        f"{path}: is a picture in colours, and plates are grey"
        if path in in_colours
        else _left_out(path, taken.get(_stem(path)), layout.pattern)
        for path in others[:_SHOWN]
    ]
    more = len(others) - len(lines)
    return (*lines, *([f"and {more} more such files"] if more else []))


def among_plates(layout: Layout, paths: Iterable[str]) -> tuple[str, ...]:
    """What lies in the folders of the plates and is none, in a few lines."""
    folders = {PurePosixPath(path).parent for path in layout.files}
    others = [path for path in paths if PurePosixPath(path).parent in folders]
    lines = [f"{path}: is no plate by its {_by_what(path)}" for path in others[:_SHOWN]]
    more = len(others) - len(lines)
    return (*lines, *([f"and {more} more files that are no plates"] if more else []))


def _by_what(path: str) -> str:
    """What tells that a file is no plate; a word like mask or old, or that it is no picture."""
    is_picture = PurePosixPath(path).suffix.lower() in ENDINGS
    return "name" if is_picture else "ending; plates are TIFF or PNG files"


def told_as_folder(error: BookError, folder: Path) -> PlateError:
    """What is wrong with a book that was never written, as what lies in the folder."""
    do = "rename what is meant, or write the book by hand"
    return PlateError(
        Fault(
            where=str(folder),
            found=f"no book can be written for what lies here: {fault.found}",
            expected=fault.expected,
            do=do,
        )
        for fault in error.faults
    )


def distinct(names: Mapping[str, str]) -> dict[str, str]:
    """Names by path, each once: those that are alike say their folder, or are counted.

    >>> distinct({"a/masks/sky.png": "sky", "b/masks/sky.png": "sky", "sea.png": "sea"})
    {'a/masks/sky.png': 'sky (a/masks)', 'b/masks/sky.png': 'sky (b/masks)', 'sea.png': 'sea'}
    """
    named = _parted(names, lambda path, name, at: f"{name} ({PurePosixPath(path).parent})")
    return _parted(named, lambda path, name, at: f"{name} {at}")


def _parted(names: Mapping[str, str], told: Callable[[str, str, int], str]) -> dict[str, str]:
    groups: dict[str, list[str]] = {}
    for path, name in names.items():
        groups.setdefault(folded(name), []).append(path)
    return {
        path: name
        if len(groups[folded(name)]) == 1
        else told(path, name, groups[folded(name)].index(path) + 1)
        for path, name in names.items()
    }


def _pattern_faults(layout: Layout, folder: Path) -> Iterator[Fault]:
    allowed = ("spread", "ink")
    if path_fault(layout.pattern, folder=folder.resolve(), where="", allowed=allowed):
        where = layout.files[0]
        yield Fault(where=where, found="no book can name files that lie here", do=_RENAME)


def _ink_faults(layout: Layout) -> Iterator[Fault]:
    seen: dict[str, str] = {}
    for ink in layout.inks:
        where = _file_of(layout, ink)
        if not fits_files(ink) or len(ink) > MAX_NAME:
            expected = (
                f"names of inks have 1 to {MAX_NAME} characters, none of {UNFIT_SIGNS}, and no "
                "dot or blank in front"
            )
            yield Fault(
                where=where, found="is not a name for an ink", expected=expected, do=_RENAME
            )
        elif folded(ink) in seen:
            found = f"differs from {seen[folded(ink)]} in case only, or in how accents are stored"
            yield Fault(where=where, found=found, expected="inks need names of their own",
                        do="rename one of them")  # fmt: skip
        seen[folded(ink)] = where


def _file_of(layout: Layout, ink: str) -> str:
    """A file of an ink, for a message."""
    return file_of(layout, ink) or f"{layout.files[0]}, ink {ink}"


def _left_out(path: str, twin: str | None, pattern: str) -> str:
    if twin is not None:
        return f"{path}: {twin} has the same name and was taken; keep the one that is meant"
    return f"{path}: may be a plate, but is not named as the others are, {pattern}"


def _stem(path: str) -> str:
    return folded(PurePosixPath(path).with_suffix("").as_posix())


def _is_text(name: str) -> bool:
    try:
        name.encode()
    except UnicodeEncodeError:
        return False
    return True


def text_of(name: str) -> str:
    """A name of the system's as text that any file can hold."""
    return name.encode("utf-8", "surrogateescape").decode("utf-8", "replace")


def all_named(paths: Sequence[str]) -> tuple[list[str], list[Fault]]:
    """Paths that a book can hold, and what is wrong with the others."""
    faults = {path: fault for path in paths if (fault := unwritable(path))}
    return [path for path in paths if path not in faults], list(faults.values())
