"""What the file gives, held against the form of a book, and made into its values.

The only module that imports pydantic, and nothing of pydantic leaves it. Its models are built from
the dataclasses: a list of the file becomes a tuple, a table the dataclass that has its keys.
"""

from collections.abc import Callable, Mapping
from dataclasses import is_dataclass
from functools import cache, partial, reduce
from operator import or_
from types import NoneType, UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    ValidationError,
    WrapValidator,
    create_model,
)
from pydantic_core import PydanticCustomError

from inkmix.base.quoting import acting_sign
from inkmix.book.faults import Problem
from inkmix.book.form import OVERRIDE, Form, Keys
from inkmix.book.keys import MERGED, Key, Text, members_of
from inkmix.book.values import FORMAT, PRINTER, USER, Book, Told


def validated(
    data: Mapping[str, Any], form: Form
) -> tuple[dict[str, Any] | None, tuple[Problem, ...]]:
    """What the top of a book gives, by its fields, or else all that is wrong with it."""
    try:
        return _given(_model(form, "", Book).model_validate(data), form.tables[""]), ()
    except ValidationError as error:
        found = error.errors(include_url=False)
    return None, tuple(
        Problem(
            kind=item["type"],
            path=item["loc"],
            value=item["input"],
            context=dict(item.get("ctx", {})),
            key=form.key_at(item["loc"]) or Key(about=""),
            known=tuple(form.keys_about(item["loc"])),
        )
        for item in found
    )


def schema_of(form: Form) -> dict[str, Any]:
    """JSON Schema of book.toml, for editors that complete and check TOML."""
    schema = _model(form, "", Book).model_json_schema(by_alias=True)
    schema["title"] = f"book.toml of inkmix, format {FORMAT}"
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}


class _Table(BaseModel):
    model_config = ConfigDict(strict=True, extra="forbid", frozen=True, allow_inf_nan=False)


@cache
def _model(form: Form, table: str, kind: type, *, some: bool = False) -> type[BaseModel]:
    """The model of a table's keys; with `some` none of them must be given."""
    keys = form.tables[table].values()
    fields: dict[str, Any] = {one.field: _field(form, table, one, some) for one in keys}
    name = f"{'SomeOf' * some}{kind.__name__.removesuffix('Spec')}"
    return create_model(name, __base__=_Table, **fields)


def _field(form: Form, table: str, one: Key, some: bool) -> tuple[Any, Any]:
    inner = f"{'' if table == OVERRIDE else table}.{one.name}".removeprefix(".")
    merged = table == OVERRIDE and one.override == MERGED
    given = _type(one.kind, one, partial(_of_table, form, inner, some=merged))
    told = partial(Field, alias=one.name, description=one.about)
    if one.is_required and not some:
        return given, told()
    if one.is_required or (one.least and one.default == ()):  # a list may be absent, yet not empty
        return given | None, told(None)
    return given, told(one.default)


def _type(kind: Any, one: Key, of_table: Callable[[Any], Any]) -> Any:
    """What the file may give for a value of a type; that of a table has its own maker."""
    origin, parts = get_origin(kind), get_args(kind)
    inner = partial(_type, one=one, of_table=of_table)
    if origin in (Union, UnionType):
        return _union([inner(part) for part in parts if part is not NoneType], parts)
    if origin is Annotated:
        return _text(*kind.__metadata__)
    if origin is Literal:
        return Annotated[kind, BeforeValidator(_this_format)]
    if origin in (tuple, frozenset):
        exactly = members_of(kind)
        size = Field(min_length=exactly or one.least, max_length=exactly or one.most)
        return Annotated[list[inner(parts[0])], size, AfterValidator(origin)]  # type: ignore[misc]
    if origin is not None:
        return dict[str, inner(parts[1])]  # type: ignore[misc]
    return of_table(kind) if is_dataclass(kind) and kind is not Told else _plain(kind, one)


def _of_table(form: Form, table: str, kind: type, *, some: bool) -> Any:
    keys = form.tables[table]
    if table == OVERRIDE:  # looked at for what is wrong and for its spreads
        return _model(form, table, kind)
    if some and any(one.is_required for one in keys.values()):
        return _model(form, table, kind, some=True)
    model: Any = _model(form, table, kind)
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


def _union(kinds: list[Any], parts: tuple[Any, ...]) -> Any:
    """One of several types, so that one message names all of them; or none."""
    given = reduce(or_, kinds)
    if len(kinds) > 1:
        what = "word_or_number" if float in parts else "text_or_number"
        given = Annotated[given, WrapValidator(partial(_one_of, what))]
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


def _one_of(what: str, value: Any, fits: Callable[[Any], Any]) -> Any:
    try:
        return fits(value)
    except ValidationError:
        raise PydanticCustomError(what, "one of several types") from None
