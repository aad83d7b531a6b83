"""What the file gives, held against the form of a book, and made into its values.

The only module that imports pydantic, and nothing of pydantic leaves it. Its models are built from
the dataclasses: a list of the file becomes a tuple, a table the dataclass that has its keys.
"""

from collections.abc import Callable, Mapping
from functools import cache, partial
from types import NoneType, UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    ValidationError,
    create_model,
)
from pydantic_core import PydanticCustomError

from inkmix.base.quoting import acting_sign
from inkmix.book.faults import Problem
from inkmix.book.form import OVERRIDE, Form, Keys
from inkmix.book.keys import MERGED, Key, Text
from inkmix.book.values import FORMAT, PRINTER, USER, Book, Told


def validated(
    data: Mapping[str, Any], form: Form
) -> tuple[dict[str, Any] | None, tuple[Problem, ...]]:
    """What the top of a book gives, by its fields, or else all that is wrong with it."""
    try:
        return _given(_book(form).model_validate(data), form.tables[""]), ()
    except ValidationError as error:
        found = error.errors(include_url=False)
    return None, tuple(
        Problem(
            kind=item["type"],
            path=item["loc"],
            value=item["input"],
            context=dict(item.get("ctx", {})),
            key=form.key_at(item["loc"]),
            known=tuple(form.keys_about(item["loc"])),
        )
        for item in found
    )


def schema_of(form: Form) -> dict[str, Any]:
    """JSON Schema of book.toml, for editors that complete and check TOML."""
    schema = _book(form).model_json_schema(by_alias=True)
    schema["title"] = f"book.toml of inkmix, format {FORMAT}"
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}


@cache
def _book(form: Form) -> type[BaseModel]:
    return _Models(form).model("", Book)


class _Table(BaseModel):
    model_config = ConfigDict(strict=True, extra="forbid", frozen=True, allow_inf_nan=False)


class _Models:
    """The models of the tables of a form, each made once."""

    def __init__(self, form: Form) -> None:
        self._tables = form.tables
        self._made: dict[tuple[str, bool], type[BaseModel]] = {}

    def model(self, table: str, kind: type, *, some: bool = False) -> type[BaseModel]:
        """The model of a table's keys; with `some` none of them must be given."""
        if (table, some) not in self._made:
            keys = self._tables[table].values()
            fields: dict[str, Any] = {one.field: self._field(one, table, some) for one in keys}
            name = f"{'SomeOf' * some}{kind.__name__.removesuffix('Spec')}"
            self._made[table, some] = create_model(name, __base__=_Table, **fields)
        return self._made[table, some]

    def _field(self, one: Key, table: str, some: bool) -> tuple[Any, Any]:
        inner = f"{'' if table == OVERRIDE else table}.{one.name}".removeprefix(".")
        given = self._type(one.kind, one, inner, some=table == OVERRIDE and one.override == MERGED)
        default = ... if one.is_required and not some else one.default
        if one.is_required is not (default is ...) or (one.least and default == ()):
            given, default = given | None, None
        return given, Field(default, alias=one.name, description=one.about)

    def _type(self, told: Any, one: Key, table: str, *, some: bool = False) -> Any:
        """What the file may give for a value of a type; `table` is the key's, should it be one."""
        origin, parts = get_origin(told), get_args(told)
        inner = partial(self._type, one=one, table=table, some=some)
        if origin in (Union, UnionType):
            return _union(parts, one, inner)
        if origin is Annotated:
            return _text(told.__metadata__[0])
        if origin is Literal:
            return Annotated[told, BeforeValidator(_this_format)]
        if origin in (tuple, frozenset):
            exactly = len(parts) if origin is tuple and parts[-1] is not ... else None
            size = Field(min_length=exactly or one.least, max_length=exactly or one.most)
            return Annotated[list[inner(parts[0])], size, AfterValidator(origin)]  # type: ignore[misc]
        if origin is not None:
            return dict[str, inner(parts[1])]  # type: ignore[misc]
        return self._value(told, table, some) if told is one.table else _plain(told, one)

    def _value(self, kind: Any, table: str, some: bool) -> Any:
        some = some and any(one.is_required for one in self._tables[table].values())
        model = self.model(table, kind, some=some)
        if some or table == OVERRIDE:  # not looked at but for what is wrong, and for the spreads
            return model
        keys = self._tables[table]
        return Annotated[model, AfterValidator(lambda told: kind(**_given(told, keys)))]


def _given(model: BaseModel, keys: Keys) -> dict[str, Any]:
    """What a table gives, by the fields of its dataclass."""
    confirmed = getattr(model, "confirmed_by_printer", ())
    given: dict[str, Any] = {}
    for one in keys.values():
        value = getattr(model, one.field)
        if value is None and not one.is_required:
            value = one.default
        elif Told in (one.kind, *get_args(one.kind)):
            value = Told(value=value, whose=PRINTER if one.name in confirmed else USER)
        given |= zip(one.parts, value, strict=True) if one.parts else {one.field: value}
    return given


def _union(parts: tuple[Any, ...], one: Key, inner: Callable[[Any], Any]) -> Any:
    """One of several types; a word or a number at once, so that one message names both."""
    kinds = [part for part in parts if part is not NoneType]
    given = inner(kinds[0])
    if str in kinds and float in kinds:
        either = BeforeValidator(partial(_word_or_number, one))
        given = Annotated[given | inner(float), either]
    elif str in kinds and int in kinds:
        given = Annotated[str | int, BeforeValidator(_text_or_number)]
    return given | None if NoneType in parts else given


def _plain(kind: Any, one: Key) -> Any:
    """A text, number, true or false."""
    if kind is str and one.words:
        return Literal[one.words]
    if kind in (int, float, Told):
        number = float if kind is Told else kind
        return Annotated[number, Field(ge=one.low, le=one.high)]
    return kind


def _text(text: Text) -> Any:
    told: list[Any] = [Field(min_length=text.least, max_length=text.most, pattern=text.pattern)]
    if text.allowed is not None:
        told.append(AfterValidator(partial(_without_signs, text.allowed)))
    if text.form is not str:
        told.append(AfterValidator(text.form))
    return Annotated[str, *told]


def _this_format(value: Any) -> Any:
    if type(value) is not int or value != FORMAT:  # true equals 1, and is no format
        raise PydanticCustomError("format_1", "1")
    return value


def _without_signs(allowed: str, value: str) -> str:
    if sign := acting_sign(value, allowed=allowed):
        raise PydanticCustomError("acting_sign", "{sign}", {"sign": sign, "lines": bool(allowed)})
    return value


def _word_or_number(one: Key, value: Any) -> Any:
    is_number = isinstance(value, int | float) and not isinstance(value, bool)
    low, high = one.low, one.high
    in_range = is_number and (low is None or low <= value) and (high is None or value <= high)
    if value in one.words if isinstance(value, str) else in_range:
        return value
    raise PydanticCustomError("word_or_number", "a word or a number")


def _text_or_number(value: Any) -> Any:
    if isinstance(value, bool) or not isinstance(value, str | int):
        raise PydanticCustomError("text_or_number", "a name or a number from 1")
    return value
