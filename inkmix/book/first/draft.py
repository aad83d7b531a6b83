"""The text of a first book: commented TOML, each guess marked.

Values in, text out; what lies in the folder was found before.
"""

import json
import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from textwrap import wrap
from typing import Any

from inkmix.base.words import listing, opening
from inkmix.book.first.inkwords import GUESS_PAPER, InkGuess
from inkmix.book.first.layout import Layout
from inkmix.book.first.names import distinct
from inkmix.book.first.order import ON_TOP, PRINTER_DECIDES
from inkmix.book.first.sizes import PlateSize, StripGuess
from inkmix.book.form import Form
from inkmix.book.keys import MERGED, REPLACED, Key, Section, keys_of
from inkmix.book.values import (
    NIGHT,
    REFERENCE,
    TONES,
    InkSpec,
    NightArea,
    PaperSpec,
    PressSpec,
)
from inkmix.plates.found.pattern import natural_key

GUESSED = "# guessed"
GUESS_PROCESS = keys_of(PressSpec)["process"].words[0]
COLOURS_GUESSED = "it rests on inks that are themselves guessed by name"
_COLUMNS = 88


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """Everything a first book is made of.

    Parameters
    ----------
    inks : tuple of InkGuess
        In lay-down order.
    order : str
        What that order rests on.
    channels : tuple of str
        Inks in channel order, for files that hold several inks without naming them.
    size : PlateSize or None
        The commonest of the plates; None where no header could be read.
    absent : bool
        Whether some spread lacks a plate that others have.
    masks : tuple of str
        Pictures that seem to show night areas; may hold {spread}.
    reference : str or None
        A picture of the whole; may hold {spread}.
    """

    title: str
    layout: Layout
    inks: tuple[InkGuess, ...]
    order: str
    channels: tuple[str, ...] = ()
    size: PlateSize | None = None
    strip: StripGuess | None = None
    absent: bool = False
    masks: tuple[str, ...] = ()
    reference: str | None = None

    def shows(self, path: str) -> bool:
        """Whether a path is one of its masks or reference pictures."""
        named = (*self.masks, *filter(None, (self.reference,)))
        spreads = self.layout.spreads
        return any(path == one.replace("{spread}", name) for one in named for name in spreads)


def draft_text(draft: Draft, form: Form) -> str:
    """The book file of a draft, with the tables that checks bring."""
    parts = [part(draft) for part in (_head, _paper, _inks, _press)]
    parts += [_measured(draft)] if len(draft.inks) > 1 else []
    parts += [part(draft) for part in (_plates, _strip)]
    parts += [_section(section, draft) for section in form.sections if not _holds_unsaid(section)]
    parts += [_exceptions(draft, form)] if len(draft.layout.spreads) > 1 else []
    return "\n".join("\n".join(part) + "\n" for part in parts)


def guessed_lines(text: str) -> tuple[str, ...]:
    """What is guessed in a book, each with the table it belongs to."""
    table, found = "", []
    for line in text.splitlines():
        setting, mark, why = line.partition(GUESSED)
        setting, why = setting.strip(), why.strip(" :;")
        if line.startswith("["):
            table = line
        if mark and why != "likewise" and not setting.startswith("#"):
            found.append(f"{table} {setting} ({why})".strip() if setting else why)
        if line.startswith("name = "):
            table = f"{table} {setting.removeprefix('name = ')}"
    return tuple(found)


def quoted(text: str) -> str:
    """Text as a TOML string; the escapes of JSON are among those of TOML."""
    return json.dumps(text, ensure_ascii=False)


def _listed(names: Sequence[str]) -> str:
    return "[" + ", ".join(quoted(name) for name in names) + "]"


def _head(draft: Draft) -> Iterator[str]:
    yield "# What is to be printed, for inkmix. Values marked as guessed are not known: correct"
    yield "# them. A line `guessed` repeats the value above it; as long as both say the same,"
    yield "# nothing that rests on it is judged. Write what is right above it or, where the guess"
    yield "# is right, delete the line `guessed`. Settings behind a # are off; remove the # to use"
    yield "# them."
    yield "# `inkmix start --schema` writes every key and what it means into book.schema.json."
    yield ""
    yield "format = 1"
    yield f"title = {quoted(draft.title)}  {GUESSED} from the folder's name"
    if len(draft.inks) > 1:
        yield "# As long as the inks below stand in just this order, it is a guess. Once your"
        yield "# printer has told it, put them in that order; if it is this one, delete this line:"
        yield f"guessed_order = {_listed([ink.name for ink in draft.inks])}"


def _paper(draft: Draft) -> Iterator[str]:
    yield "[paper]"
    yield "# Ask your printer for the stock and its class. `inkmix inks` lists the shipped papers."
    yield f"swatch = {quoted(GUESS_PAPER)}  {GUESSED}: an invented paper, a stand-in for yours"
    yield f"guessed = {quoted(GUESS_PAPER)}"
    yield "# Measured instead of swatch (L*, a*, b* at D50), with one of the classes"
    yield f"# {', '.join(keys_of(PaperSpec)['class'].words)}:"
    yield "# lab = [95, 0, -2]"
    yield '# measurements = "paper.txt"           # CGATS file that holds the bare paper'
    yield '# class = "uncoated"'


def _inks(draft: Draft) -> Iterator[str]:
    yield "# Inks in lay-down order, the first printed first."
    yield from _order(draft)
    for ink in draft.inks:
        yield ""
        yield from _ink(ink)
    yield ""
    yield "# An ink is given by one of swatch, lab, xyz, density, srgb and measurements. The better"
    yield "# it is known, the smaller the expected error:"
    yield "# lab = [31.9, 2.0, 2.1]               # its solid, measured on this paper"
    yield '# measurements = "inks/ramp.txt"       # CGATS file with a ramp of tints'
    yield f"# density = {keys_of(InkSpec)['density'].example}"
    yield "#                                      # relative: zeroed on the paper"
    yield f"# measured_on = {keys_of(InkSpec)['measured_on'].example}  # if not on this paper"
    yield "# tone_value_increase_pct = 18         # at 50 %"
    yield '# opacity = "slightly opaque"          # or "transparent", "opaque", or a number: the'
    yield "#                                      # share of its colour that a solid adds to what"
    yield "#                                      # lies under it, 0.03 an orange, 0.9 a good white"
    yield '# polarity = "light is ink"            # where black in its file means no ink'
    yield f"# plate = {quoted(draft.inks[0].name)}  # a double hit: prints that plate once more"


def _order(draft: Draft) -> Iterator[str]:
    if len(draft.inks) < 2:
        return
    yield f"{GUESSED}: the order of the inks ({draft.order}); {COLOURS_GUESSED}"
    for sentence in (ON_TOP, PRINTER_DECIDES):
        yield from (f"# {line}" for line in wrap(sentence, width=_COLUMNS))


def _ink(ink: InkGuess) -> Iterator[str]:
    yield "[[inks]]"
    yield f"name = {quoted(ink.name)}"
    key, value = ("swatch", ink.swatch) if ink.swatch else ("srgb", ink.srgb)
    yield f"{key} = {quoted(str(value))}  {GUESSED}: {ink.why}"
    yield f"guessed = {quoted(str(value))}"
    if ink.character:
        yield f"character = {_listed(ink.character)}  {GUESSED} by its name"


def _press(draft: Draft) -> Iterator[str]:
    yield "[press]"
    yield f"process = {quoted(GUESS_PROCESS)}  {GUESSED}; {keys_of(PressSpec)['process'].about}"
    yield f"guessed = {quoted(GUESS_PROCESS)}"
    yield "# Most total ink the sheet can carry. Without it the usual limit of the process holds;"
    yield "# ask your printer, write the answer here and list the key as confirmed:"
    yield "# ink_limit_pct = 280"
    yield '# confirmed_by_printer = ["ink_limit_pct"]'
    yield '# condition = "press/readings.toml"    # measured on this press, by `inkmix calibrate`'


def _measured(draft: Draft) -> Iterator[str]:
    """A mix takes two inks."""
    mix = ", ".join(f"{quoted(ink.name)} = 60" for ink in draft.inks[:2])
    yield "# A mix as this press printed it: from a proof, a wet print or an earlier book."
    yield "# [[measured]]"
    yield f"# mix = {{ {mix} }}"
    yield '# lab = [24, 2, -9]  # or xyz, density, or looks_like = "#2b2e3a" beside bare paper'


def _plates(draft: Draft) -> Iterator[str]:
    yield "[plates]"
    yield f"pattern = {quoted(draft.layout.pattern)}  {GUESSED} from {_counted(draft)}"
    if draft.channels:
        yield f"channels = {_listed(draft.channels)}  {GUESSED}: what each channel holds"
    else:
        yield "# Where one file holds all plates, the ink of each channel:"
        yield f"# channels = {_listed([ink.name for ink in draft.inks])}"
    if draft.absent:
        yield f'absent = "empty"  {GUESSED}: some spreads lack a plate; "refuse" makes that a fault'
    else:
        yield '# absent = "empty"  # where a spread may lack a plate'
    if draft.size is not None:
        yield f"# The plates: {draft.size}."
    if draft.size is not None and draft.size.ppi is None:
        yield "# Their resolution is needed; write what they were drawn at:"
        yield "# ppi = 400"


def _counted(draft: Draft) -> str:
    files, spreads = len(draft.layout.files), len(draft.layout.spreads)
    return f"{files} file{'s' * (files != 1)}, {spreads} spread{'s' * (spreads != 1)}"


def _strip(draft: Draft) -> Iterator[str]:
    strip = draft.strip
    if strip is not None:
        yield "[strip]"
        yield f"panels = {strip.panels}  {GUESSED}: {strip.format} leaves fill the plates exactly"
        yield f"panel_mm = [{strip.panel_mm[0]:g}, {strip.panel_mm[1]:g}]  {GUESSED} likewise"
        yield f"bleed_mm = {strip.bleed_mm:g}  {GUESSED} likewise"
        return
    yield "# A folded strip: equal panels side by side, so that places can be named by panel."
    yield "# [strip]"
    yield "# panels = 8"
    yield "# panel_mm = [110, 150]"
    yield "# bleed_mm = 3"


def _holds_unsaid(section: Section[Any]) -> bool:
    """Whether a table holds with its defaults where the book has none."""
    return section.absent is not None and section.absent != ()


def _section(section: Section[Any], draft: Draft) -> Iterator[str]:
    """What a check is told: in words of its own, or key by key."""
    own = _IN_OWN_WORDS.get(section.table)
    return _key_by_key(section) if own is None else own(draft)


def _key_by_key(section: Section[Any]) -> Iterator[str]:
    yield f"# {opening(section.about)}."
    yield f"# [[{section.table}]]" if section.key.is_tables else f"# [{section.table}]"
    for one in keys_of(section.kind).values():
        about = ", ".join(filter(None, (one.about, one.range_words)))
        yield f"# {one.name} = {_example(one)}  # {about}"


def _example(one: Key) -> str:
    """How a key may be written; its default, or where there is none, the first of its words."""
    given = one.words[0] if one.default is None and one.words else one.default
    return one.example or (json.dumps(given) if isinstance(given, str | int | float) else "...")


def _night(draft: Draft) -> Iterator[str]:
    yield "# Areas that must be really dark."
    for mask, name in distinct({mask: _night_name(mask) for mask in draft.masks}).items():
        yield ""
        yield "[[night]]"
        yield f"name = {quoted(name)}  {GUESSED} from the file's name"
        yield from _mask_lines(mask, draft.layout.spreads)
        yield '# mask_shows = "white"  # which end of the mask is night, white or black'
        yield "# lightest_L = 25  # lightest L* allowed; until it is given there is no verdict"
    if not draft.masks:
        yield "# [[night]]"
        yield '# name = "open sea"'
        yield f"# rect_mm = [10, 20, 100, 50]  # {keys_of(NightArea)['rect_mm'].about}"
        yield "# lightest_L = 25"
        example, more = "masks/sea.png", ""
        if len(draft.layout.spreads) > 1:
            example, more = "masks/{spread}.png", "; one for each spread"
        yield f"# mask = {quoted(example)}  # or, instead of rect_mm: white marks the area{more}"
        plate = quoted(draft.inks[0].name)
        yield f"# rule = [{{ plate = {plate}, at_least_pct = 60 }}]  # or: where plates hold this"


def _mask_lines(mask: str, spreads: Sequence[str]) -> Iterator[str]:
    """The mask of an area, and on which of several spreads it is."""
    if len(spreads) == 1 or "{spread}" in mask:
        yield f"mask = {quoted(mask)}  {GUESSED} by its place"
        return
    whose = max((one for one in spreads if _bears(mask, one)), key=len, default=None)
    if whose is not None:
        yield f"mask = {quoted(mask)}  {GUESSED} by its place"
        yield f"spreads = {_listed([whose])}  {GUESSED} from the file's name"
        return
    all_of_them = f"taken for all {len(spreads)} spreads: say on which it is, spreads = [...]"
    yield f"mask = {quoted(mask)}  {GUESSED} by its place, {all_of_them}"


def _bears(path: str, spread: str) -> bool:
    """Whether the name of a spread stands in a path, not as a part of another word or number."""
    return bool(re.search(rf"(?<![^\W_]){re.escape(spread)}(?![^\W_])", path, re.IGNORECASE))


def _night_name(mask: str) -> str:
    stem = mask.rpartition("/")[2].rpartition(".")[0]
    words = stem.replace("{spread}", " ").replace("_", " ").replace("-", " ").split()
    named = [word for word in words if word.lower() not in ("mask", "maske", "masque")]
    return " ".join(named) or "night"


def _tones(draft: Draft) -> Iterator[str]:
    first = draft.inks[0].name
    yield "# Mixes that are meant to look a certain way; the colour is seen against paper white."
    yield "# [[tones]]"
    yield '# name = "dusk"'
    yield f"# mix = {{ {quoted(first)} = 60 }}"
    yield '# intended = "#3a2c4d"'
    yield "# tolerance_de00 = 4"


def _reference(draft: Draft) -> Iterator[str]:
    if draft.reference is None:
        yield "# [reference]"
        yield '# picture = "reference.png"  # what the whole should look like'
        return
    yield "[reference]"
    yield f"picture = {quoted(draft.reference)}  {GUESSED} by its name"


_IN_OWN_WORDS: dict[str, Callable[[Draft], Iterator[str]]] = {
    NIGHT.table: _night,
    TONES.table: _tones,
    REFERENCE.table: _reference,
}


def _exceptions(draft: Draft, form: Form) -> Iterator[str]:
    key_by_key, whole = (listing(form.overridden(how)) for how in (MERGED, REPLACED))
    setting = "# press = { ink_limit_pct = 300 }  # "
    first, *more = wrap(f"{key_by_key} key by key; {whole} as wholes", _COLUMNS - len(setting))
    last = quoted(sorted(draft.layout.spreads, key=natural_key)[-1])
    yield "# Where something else holds for some spreads, such as a cover on another stock:"
    yield "# [[override]]"
    yield f"# spreads = [{last}]"
    yield f"{setting}{first}"
    yield from (f"{'#':<{len(setting) - 2}}# {line}" for line in more)
    yield "# A finding that somebody accepts is waived by a [[waive]] block; the index page that"
    yield "# `inkmix batch` writes has it ready to copy."
