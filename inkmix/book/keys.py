"""What a key of book.toml is, and how a dataclass tells its own: `keyed` and `key`.

A key stands once, as a field of a dataclass: its type and default are the field's, and `key` adds
what it means, its unit and its range. Reader, messages, schema and comments all ask `keys_of`.
Nothing is read here, and no table of a book is known.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import MISSING, dataclass, field, fields, is_dataclass, replace
from functools import cache
from types import GenericAlias, MappingProxyType
from typing import (
    Annotated,
    Any,
    Generic,
    Optional,
    TypeVar,
    dataclass_transform,
    get_args,
    get_origin,
    get_type_hints,
)

from inkmix.base.names import composed

T = TypeVar("T")
HEX_COLOUR, NOT_BLANK, TWELVE_HEX = r"^#[0-9A-Fa-f]{6}$", r"\S", r"^[0-9a-f]{12}$"
MAX_TEXT = 100  # characters of a name or a path
REPLACED, MERGED = "replaced", "merged"  # an override gives a table anew, or single keys of it


@dataclass(frozen=True, slots=True, kw_only=True)
class Text:
    """How a text of the file is written.

    Parameters
    ----------
    least, most : int or None
        Characters.
    allowed : str or None
        Signs that act on a screen and may stand in it all the same; None: nothing is refused.
    path_holds : tuple of str or None
        Placeholders that a path may hold, such as "spread"; None: it is no path.
    form : callable
        What makes the value of it.
    """

    least: int | None = None
    most: int | None = None
    pattern: str | None = None
    allowed: str | None = None
    path_holds: tuple[str, ...] | None = None
    form: Callable[[str], str] = str


Name = Annotated[str, Text(least=1, most=MAX_TEXT, allowed="")]
"""Stands in file names, on pages and in a terminal."""
SpreadName = Annotated[str, Text(least=1, most=MAX_TEXT, allowed="", form=composed)]
FilePath = Annotated[str, Text(least=1, most=MAX_TEXT, path_holds=())]
SpreadPath = Annotated[str, Text(least=1, most=MAX_TEXT, path_holds=("spread",))]
PlatePath = Annotated[str, Text(least=1, most=MAX_TEXT, path_holds=("spread", "ink"))]
HexColour = Annotated[str, Text(pattern=HEX_COLOUR)]
TwelveHex = Annotated[str, Text(pattern=TWELVE_HEX)]
Person = Annotated[str, Text(least=1, most=MAX_TEXT, pattern=NOT_BLANK, allowed="", form=str.strip)]
Reason = Annotated[str, Text(most=2000, pattern=NOT_BLANK, allowed="\t\r\n", form=str.strip)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """One key: what it means, and for numbers the range (both ends allowed) and the unit.

    Parameters
    ----------
    words : tuple of str
        Those that may be given; beside a range, in place of a number.
    least, most : int or None
        Members of a list.
    example : str
        How its value may be written; a table in one line.
    parts : tuple of str
        Fields that the members of a list fill, one each; the key is told of the first.
    names_inks : bool
        Whether its text, or each name in its mapping, is that of an ink of the book.
    word : str
        What one of a list of tables is called; else as the list.
    override : str or None
        For a table of the book: REPLACED or MERGED where an override may give it.
    name : str
        In the file.
    field, kind, default, is_required
        Name, type and default of the field that holds it.
    table, is_tables, text
        What it holds: the dataclass of a table, or of each in a list of tables; a text.
    """

    about: str
    low: float | None = None
    high: float | None = None
    unit: str = ""
    words: tuple[str, ...] = ()
    least: int | None = None
    most: int | None = None
    example: str = ""
    parts: tuple[str, ...] = ()
    names_inks: bool = False
    word: str = ""
    override: str | None = None
    name: str = ""
    field: str = ""
    kind: Any = None
    default: Any = None
    is_required: bool = False
    table: type | None = None
    is_tables: bool = False
    text: Text | None = None

    @property
    def range_words(self) -> str:
        """The range as a person reads it; empty where there is none."""
        if self.low is not None and self.high is not None:
            return f"from {self.low:g} to {self.high:g} {self.unit}".strip()
        ends = {"at least": self.low, "at most": self.high}
        return "".join(f"{w} {n:g} {self.unit}".strip() for w, n in ends.items() if n is not None)

    @property
    def path_holds(self) -> tuple[str, ...] | None:
        """Placeholders that a path may hold; None where it is no path."""
        return None if self.text is None else self.text.path_holds

    @property
    def exactly(self) -> int | None:
        """How many members it must have; None where that is open, or it holds none."""
        return next(filter(None, map(members_of, _parts_of(self.kind))), None)


def members_of(kind: Any) -> int | None:
    """How many members a type asks for; None where that is open, or it holds none."""
    parts = get_args(kind)
    is_fixed = get_origin(kind) is tuple and parts[-1] is not ...
    return len(parts) if is_fixed else None


def key(about: str, *, default: Any = MISSING, **told: Any) -> Any:
    """A field of a `keyed` dataclass that book.toml gives; without a default it must be given.

    `told` are low, high, unit, words, least, most, example, parts, names_inks, word and override of
    Key, and `name` where it has another one in the file.
    """
    return field(default=default, metadata={"key": Key(about=about, **told)})


@dataclass_transform(kw_only_default=True, frozen_default=True, field_specifiers=(key, field))
def keyed(kind: type[T]) -> type[T]:
    """A frozen dataclass whose fields are keys of a table; those without `key` are found later."""
    return dataclass(frozen=True, slots=True, kw_only=True)(kind)


@cache
def keys_of(kind: type) -> Mapping[str, Key]:
    """The keys of a table by their names in the file, in the order of the fields."""
    hints = get_type_hints(kind, include_extras=True)
    told = [(f, f.metadata["key"]) for f in fields(kind) if "key" in f.metadata]
    keys = [held_by(f.name, hints[f.name], one, default=f.default) for f, one in told]
    return MappingProxyType({one.name: one for one in keys})


def paths_in(said: Any, one: Key | None = None) -> Iterator[str]:
    """Paths that a value of the book names, those of tables inside it too; `one` is its key."""
    if isinstance(said, tuple | frozenset):
        for member in said if isinstance(said, tuple) else sorted(said):
            yield from paths_in(member, one)
    elif is_dataclass(said):
        kind: type = type(said)
        for inner in keys_of(kind).values():
            yield from paths_in(getattr(said, inner.field), inner)
    elif isinstance(said, str) and one is not None and one.path_holds is not None:
        yield said


def held_by(name: str, kind: Any, one: Key, *, default: Any = MISSING) -> Key:
    """A key with all that the name, the type and the default of its field say about it.

    Raises
    ------
    TypeError
        For a mapping that holds tables or paths: whoever looks for these would pass them over.
    """
    _refuse_mapping(name, kind)
    held = list(_parts_of(kind))
    tables = (part for part in held if is_dataclass(part) and keys_of(part))  # type: ignore[arg-type]
    table: Any = next(tables, None)
    return replace(
        one,
        name=one.name or name,
        field=name,
        kind=GenericAlias(tuple, (kind,) * len(one.parts)) if one.parts else kind,
        default=None if default is MISSING else default,
        is_required=default is MISSING,
        table=table,
        is_tables=table is not None and ... in held,
        text=next((part for part in held if isinstance(part, Text)), None),
    )


def _refuse_mapping(name: str, kind: Any) -> None:
    for mapping in _parts_of(kind):
        is_mapping = get_origin(mapping) in (Mapping, dict)
        for part in _parts_of(mapping) if is_mapping else ():
            if is_dataclass(part) or (isinstance(part, Text) and part.path_holds is not None):
                raise TypeError(f"{name}: a mapping holds no tables or paths; make it a list")


def _parts_of(kind: Any) -> Iterator[Any]:
    """A type and all that it is made of."""
    yield kind
    for part in get_args(kind):
        yield from _parts_of(part)


@dataclass(frozen=True, slots=True, kw_only=True)
class Section(Generic[T]):
    """A table of the book that a check brings, and what the book then says: a T.

    Parameters
    ----------
    table : str
        Its name in the file.
    kind : type
        The `keyed` dataclass that holds one table.
    about : str
        What it means.
    word : str
        What one of a list of tables is called; else as the list. No two have one `name`.
    absent : T
        What holds where the book has none: () for a list of tables, for a single one None, or
        its defaults.
    override : str or None
        REPLACED or MERGED; None where no override may give it.
    """

    table: str
    kind: type
    about: str
    word: str = ""
    absent: T = field(hash=False)
    override: str | None = REPLACED

    @property
    def key(self) -> Key:
        """The key at the top of the book that holds it."""
        one: Any = self.kind if self.absent is not None else Optional[self.kind]  # noqa: UP045
        kind = GenericAlias(tuple, (self.kind, ...)) if self.absent == () else one
        told = Key(about=self.about, word=self.word, override=self.override)
        return held_by(self.table, kind, told, default=self.absent)
