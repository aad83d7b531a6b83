"""What a key of book.toml is, and how a dataclass tells its own: `keyed` and `key`.

A key stands once, as a field of a dataclass: its type and default are the field's, and `key` adds
what it means, its unit and its range. Reader, messages, schema and comments all ask `keys_of`.
Nothing is read here, and no table of a book is known.
"""

import unicodedata
from collections.abc import Callable, Iterator, Mapping
from dataclasses import MISSING, dataclass, field, fields, is_dataclass, replace
from functools import cache
from types import GenericAlias, MappingProxyType
from typing import Annotated, Any, Generic, TypeVar, dataclass_transform, get_args, get_type_hints

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
        Those signs that do something which may stand in it all the same; None: it is not looked at.
    form : callable
        What makes the value of it.
    """

    least: int | None = None
    most: int | None = None
    pattern: str | None = None
    allowed: str | None = None
    form: Callable[[str], str] = str


def composed(name: str) -> str:
    """A name of a spread, as plates are found by it."""
    return unicodedata.normalize("NFC", name)


Name = Annotated[str, Text(least=1, most=MAX_TEXT, allowed="")]
"""Stands in file names, on pages and in a terminal."""
SpreadName = Annotated[str, Text(least=1, most=MAX_TEXT, allowed="", form=composed)]
FilePath = Annotated[str, Text(least=1, most=MAX_TEXT)]
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
        How a table in one line may be written.
    parts : tuple of str
        Fields that the members of a list fill, one each; the key is told of the first.
    override : str or None
        For a table of the book: REPLACED or MERGED where an override may give it.
    name, field, kind, default, is_required
        In the file, in the dataclass, and type and default of that field; `keys_of` fills them in.
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
    override: str | None = None
    name: str = ""
    field: str = ""
    kind: Any = None
    default: Any = None
    is_required: bool = False

    @property
    def range_words(self) -> str:
        """The range as a person reads it."""
        if self.high is None:
            return f"at least {self.low:g} {self.unit}".strip()
        return f"from {self.low:g} to {self.high:g} {self.unit}".strip()

    @property
    def table(self) -> type | None:
        """The dataclass of the table or tables that it holds."""
        return next(_tables_in(self.kind), None)

    @property
    def is_tables(self) -> bool:
        """Whether it holds a list of tables, written [[...]]."""
        return self.table is not None and any(part is ... for part in _parts_of(self.kind))


def key(
    about: str = "",
    *,
    default: Any = MISSING,
    low: float | None = None,
    high: float | None = None,
    unit: str = "",
    words: tuple[str, ...] = (),
    least: int | None = None,
    most: int | None = None,
    example: str = "",
    parts: tuple[str, ...] = (),
    override: str | None = None,
    name: str = "",
) -> Any:
    """A field of a `keyed` dataclass that book.toml gives: a Key; it must be given if no default.

    Without a meaning of its own it is "one of" its words; `name` is for another one in the file.
    """
    told = Key(
        about=about or f"one of {', '.join(words)}",
        low=low,
        high=high,
        unit=unit,
        words=words,
        least=least,
        most=most,
        example=example,
        parts=parts,
        override=override,
        name=name,
    )
    return field(default=default, metadata={"key": told})


@dataclass_transform(kw_only_default=True, frozen_default=True, field_specifiers=(key, field))
def keyed(kind: type[T]) -> type[T]:
    """A frozen dataclass whose fields are keys of a table; those without `key` are found later."""
    return dataclass(frozen=True, slots=True, kw_only=True)(kind)


@cache
def keys_of(kind: type) -> Mapping[str, Key]:
    """The keys of a table by their names in the file, in the order of the fields."""
    hints = get_type_hints(kind, include_extras=True)
    told = [(f, f.metadata["key"]) for f in fields(kind) if "key" in f.metadata]
    keys = (
        replace(
            one,
            name=one.name or f.name,
            field=f.name,
            kind=_parts(hints[f.name], len(one.parts)),
            default=None if f.default is MISSING else f.default,
            is_required=f.default is MISSING,
        )
        for f, one in told
    )
    return MappingProxyType({one.name: one for one in keys})


def _parts(kind: Any, count: int) -> Any:
    """The type of what fills several fields of a type, or one."""
    return GenericAlias(tuple, (kind,) * count) if count else kind


def optional(one: Key, *, about: str) -> Key:
    """A key that need not be given; without it nothing is said."""
    return replace(one, about=about, kind=one.kind | None, default=None, is_required=False)


def _parts_of(annotation: Any) -> Iterator[Any]:
    """A type and all types in it."""
    yield annotation
    for part in get_args(annotation):
        yield from _parts_of(part)


def _tables_in(annotation: Any) -> Iterator[type]:
    for part in _parts_of(annotation):
        if isinstance(part, type) and is_dataclass(part) and keys_of(part):
            yield part


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
    absent : T
        What holds where the book has none: () for a list of tables, for a single one None, or
        its defaults.
    override : str or None
        REPLACED or MERGED; None where no override may give it.
    """

    table: str
    kind: type
    about: str
    absent: T = field(hash=False)
    override: str | None = REPLACED

    @property
    def key(self) -> Key:
        """The key at the top of the book that holds it."""
        one: Any = self.kind if self.absent is not None else self.kind | None
        return Key(
            about=self.about,
            override=self.override,
            name=self.table,
            field=self.table,
            kind=tuple[self.kind, ...] if self.absent == () else one,  # type: ignore[name-defined]
            default=self.absent,
        )
