"""Look at a folder, draft its book, write it; nothing that exists is ever overwritten."""

import json
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from inkmix.base.errors import BookError, Fault, PlateError
from inkmix.base.output_files import Output, refuse_outputs, write_together
from inkmix.book.first.draft import GUESSED, Draft, draft_text, guessed_lines
from inkmix.book.first.inkwords import guess_inks, is_ink_word
from inkmix.book.first.layout import (
    MASK_WORDS,
    REFERENCE_WORDS,
    Layout,
    crowded_layout,
    find_layout,
    has_word,
    is_plate_path,
    layout_of_multi_ink,
    spread_pattern,
)
from inkmix.book.first.names import (
    all_named,
    left_out,
    refuse_layout,
    text_of,
    told_as_folder,
    too_many,
    unnameable_picture,
)
from inkmix.book.first.order import ON_TOP
from inkmix.book.first.sizes import PlateSize, guess_strip
from inkmix.book.form import Form
from inkmix.book.models import schema_of
from inkmix.book.read import parse_book
from inkmix.plates.files.raster import RasterFacts
from inkmix.plates.found.listing import is_litter
from inkmix.plates.found.pattern import ENDINGS
from inkmix.plates.plate import open_raster

BOOK = "book.toml"
SCHEMA = "book.schema.json"
MAX_DEPTH = 4
_CMYK = ("Cyan", "Magenta", "Yellow", "Black")  # TIFF 6.0, section 16: the order of InkSet 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Started:
    """A book that was written.

    Parameters
    ----------
    path : Path
        The book.
    guesses : tuple of str
        What is guessed in it.
    notes : tuple of str
        What was seen and left out.
    next_steps : tuple of str
        What to do now.
    """

    path: Path
    guesses: tuple[str, ...]
    notes: tuple[str, ...]
    next_steps: tuple[str, ...]


def write_first_book(folder: Path, *, form: Form) -> Started:
    """Write a commented book.toml from the plates that lie in a folder; what is guessed is marked.

    Raises
    ------
    OutputError
        There is a book already, or the folder cannot be written.
    PlateError
        There are no plates, or none that can be read.
    """
    paths, unnamed = all_named(list_files(folder))
    target = Output(path=folder / BOOK)
    refuse_outputs([target])
    headers, unread = read_headers(folder, [path for path in paths if is_plate_path(path)])
    faults = [*(fault for fault in unnamed if _is_picture(fault.where)), *unread]
    pictures, unmasked = _nameable(folder, paths)
    try:
        draft = draft_book(text_of(folder.resolve().name), pictures, headers)
    except PlateError as error:
        raise PlateError([*error.faults, *faults]) from None
    refuse_layout(draft.layout, folder=folder)
    text = draft_text(draft, form)
    try:  # what is written can be read
        parse_book(text.encode(), path=target.path.resolve(), form=form)
    except BookError as error:
        raise told_as_folder(error, folder) from error
    write_together({target: text.encode()})
    others = [path for path in headers if path not in draft.layout.files]
    notes = (*map(str, (*faults, *unmasked)), *left_out(draft.layout, others))
    return Started(
        path=target.path,
        guesses=guessed_lines(text),
        notes=notes,
        next_steps=_next_steps(draft, folder),
    )


def write_schema(folder: Path, *, form: Form) -> Path:
    """Write the JSON Schema of book.toml beside it, for editors.

    Raises
    ------
    OutputError
        There is such a file already, or the folder cannot be written.
    PlateError
        There is no such folder.
    """
    _refuse_no_folder(folder)
    target = Output(path=folder / SCHEMA)
    text = json.dumps(schema_of(form), indent=2, ensure_ascii=False) + "\n"
    write_together({target: text.encode()})
    return target.path


def list_files(folder: Path) -> list[str]:
    """Relative paths of the files below a folder, without litter and links, sorted."""
    _refuse_no_folder(folder)
    return sorted(_walk(folder, folder))


def read_headers(
    folder: Path, paths: Sequence[str]
) -> tuple[dict[str, RasterFacts], tuple[Fault, ...]]:
    """Headers of the plates that can be read, and what is wrong with the others."""
    headers: dict[str, RasterFacts] = {}
    faults: list[Fault] = []
    for path in paths:
        try:
            headers[path] = open_raster(folder / path).facts
        except PlateError as error:
            faults += error.faults
    return headers, tuple(faults)


def _nameable(folder: Path, paths: Sequence[str]) -> tuple[list[str], list[Fault]]:
    """Paths without pictures that no book can name, and what is said of those."""
    faults = {
        path: fault
        for path in paths
        if _is_picture(path) and has_word(path, (*MASK_WORDS, *REFERENCE_WORDS))
        if (fault := unnameable_picture(path, folder=folder))
    }
    return [path for path in paths if path not in faults], list(faults.values())


def draft_book(title: str, paths: Sequence[str], headers: Mapping[str, RasterFacts]) -> Draft:
    """The draft for files of these paths, with the headers of those that may be plates.

    Raises
    ------
    PlateError
        If no layout of plates can be made out.
    """
    multi = {path: facts for path, facts in headers.items() if _holds_inks(facts)}
    single = [path for path in headers if path not in multi]
    layout = find_layout(single, is_ink=is_ink_word)
    crowded = crowded_layout(single, is_ink=is_ink_word) if not multi else None
    if crowded is not None:
        raise PlateError(too_many(crowded))
    channels: tuple[str, ...] = ()
    if multi and (layout is None or not any(map(is_ink_word, layout.inks))):
        names, channels = _inks_of(next(iter(multi.values())))
        layout = layout_of_multi_ink(multi, names)
    if layout is None:
        raise PlateError(_no_plates(paths))
    size = _commonest_size([headers[path] for path in layout.files])
    masks = [path for path in paths if has_word(path, MASK_WORDS) and _is_picture(path)]
    inks, order = guess_inks(layout.inks)
    return Draft(
        title=title.replace("_", " ").strip() or "untitled",
        layout=layout,
        inks=inks,
        order=order,
        channels=channels,
        size=size,
        strip=guess_strip(size) if size else None,
        absent=bool(channels == () and not multi and _lacks_some(layout)),
        masks=_by_spread(masks, layout),
        reference=_reference(paths, layout),
    )


def _walk(folder: Path, here: Path, depth: int = 0) -> Iterator[str]:
    for path in sorted(here.iterdir()):
        inside = path.relative_to(folder)
        if is_litter(inside) or path.is_symlink():
            continue
        if path.is_dir() and depth + 1 < MAX_DEPTH:
            yield from _walk(folder, path, depth + 1)
        elif path.is_file():
            yield inside.as_posix()


def _holds_inks(facts: RasterFacts) -> bool:
    return facts.kind in ("separated", "channels") and facts.samples > 1


def _inks_of(facts: RasterFacts) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Ink names of a multi-ink file, and its channel list where the file names none itself."""
    if facts.names:
        return facts.names, ()
    if facts.kind == "separated" and facts.samples == len(_CMYK):
        return _CMYK, _CMYK
    numbered = tuple(f"Ink {number + 1}" for number in range(facts.samples))
    return numbered, numbered


def _commonest_size(facts: Sequence[RasterFacts]) -> PlateSize | None:
    sizes = Counter(
        PlateSize(width_px=one.width_px, height_px=one.height_px, ppi=one.ppi) for one in facts
    )
    return sizes.most_common(1)[0][0] if sizes else None


def _lacks_some(layout: Layout) -> bool:
    return len(layout.files) < len(layout.inks) * len(layout.spreads)


def _is_picture(path: str) -> bool:
    return path.lower().endswith(ENDINGS)


def _by_spread(paths: Sequence[str], layout: Layout) -> tuple[str, ...]:
    """Pictures, those that come once for each spread as one pattern."""
    pattern = spread_pattern(paths, layout.spreads)
    if pattern is None:
        return tuple(paths)
    covered = {pattern.replace("{spread}", spread) for spread in layout.spreads}
    return (pattern, *(path for path in paths if path not in covered))


def _reference(paths: Sequence[str], layout: Layout) -> str | None:
    here = [path for path in paths if has_word(path, REFERENCE_WORDS) and _is_picture(path)]
    found = _by_spread(here, layout)
    return found[0] if len(found) == 1 else None


def _no_plates(paths: Sequence[str]) -> Fault:
    pdf = any(path.lower().endswith(".pdf") for path in paths)
    do = "export one grey TIFF or PNG for each ink, named after the ink"
    found = "holds PDF files, which this version does not read" if pdf else "no plates were found"
    expected = "grey TIFF or PNG files are looked for"
    return Fault(where="folder", found=found, expected=expected, do=do)


def _next_steps(draft: Draft, folder: Path) -> tuple[str, ...]:
    steps = [f"Read {BOOK} and correct what is marked `{GUESSED}`."]
    if draft.size is not None and draft.size.ppi is None:
        steps.append("Write the plates' resolution: [plates] ppi = ...; the files do not say it.")
    hints = [ink.name for ink in draft.inks if ink.srgb]
    if hints:
        steps.append(
            f"Give {', '.join(hints)} a swatch or a measurement; a screen colour is only a hint."
        )
    if len(draft.inks) > 1:
        steps.append(f"Ask your printer in which order the inks are printed. {ON_TOP}")
    command = "batch" if len(draft.layout.spreads) > 1 else "check"
    return (*steps, f"Then: inkmix {command} {folder}")


def _refuse_no_folder(folder: Path) -> None:
    if not folder.is_dir():
        found = "is not a folder" if folder.exists() else "is not there"
        raise PlateError(Fault(where=str(folder), found=found, do="name the folder of the plates"))
