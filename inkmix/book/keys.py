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
        How a table in one line may be written.
    parts : tuple of str
        Fields that the members of a list fill, one each; the key is told of the first.
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
        """The range as a person reads it."""
        if self.low is None or self.high is None:
            end = f"at most {self.high:g}" if self.low is None else f"at least {self.low:g}"
            return f"{end} {self.unit}".strip()
        return f"from {self.low:g} to {self.high:g} {self.unit}".strip()


def key(about: str, *, default: Any = MISSING, **told: Any) -> Any:
    """A field of a `keyed` dataclass that book.toml gives; without a default it must be given.

    `told` are low, high, unit, words, least, most, example, parts and override of Key, and `name`
    where it has another one in the file.
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


def paths_in(table: Any) -> Iterator[str]:
    """Paths that the values of a table name."""
    kind: type = type(table)
    for one in keys_of(kind).values():
        said = getattr(table, one.field)
        if one.text is not None and one.text.path_holds is not None and said is not None:
            yield from said if isinstance(said, tuple) else (said,)


def held_by(name: str, kind: Any, one: Key, *, default: Any = MISSING) -> Key:
    """A key with all that the name, the type and the default of its field say about it."""
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
        one: Any = self.kind if self.absent is not None else Optional[self.kind]  # noqa: UP045
        kind = GenericAlias(tuple, (self.kind, ...)) if self.absent == () else one
        told = Key(about=self.about, override=self.override)
        return held_by(self.table, kind, told, default=self.absent)
