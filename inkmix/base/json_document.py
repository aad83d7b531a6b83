"""Dataclasses as JSON documents: plain values, bytes, and the schema that states their shape.

One walk over values and one over types, so that a document and its schema cannot part. Constraints
stand where a value is declared, as a rule in an `Annotated` type, or follow from the unit in its
name; descriptions are what its class says of it. What a document means is not known here.
"""

import inspect
import json
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, fields, is_dataclass
from functools import cache
from math import isfinite
from numbers import Integral, Real
from types import NoneType, UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin, get_type_hints

from inkmix import __version__
from inkmix.base.errors import Fault, OutputError

INLINE = "inline"
"""Marks a field, a mapping whose items are written as fields, with what gives type by name."""

UNTOLD = "untold"
"""Marks a field that is not written: what computes on, and is nothing to read."""

DIALECT = "https://json-schema.org/draft/2020-12/schema"


@dataclass(frozen=True, slots=True, kw_only=True)
class Program:
    """What wrote the document."""

    name: Literal["inkmix"] = "inkmix"
    version: str = __version__


# --- values --------------------------------------------------------------------------------------


def plain(value: object, *, digits: int) -> Any:
    """A value as JSON has it: every field under its own name, but for bytes, which stay behind.

    Parameters
    ----------
    value : object
        A number, string, None, tuple, list, mapping or dataclass of such values.
    digits : int
        Decimals that numbers keep; finer than any figure is known, so that the last bits of a
        platform stay out of a file.

    Raises
    ------
    TypeError
        If it holds anything else.
    """
    if value is None or isinstance(value, str | bool):
        return value
    if isinstance(value, Integral):
        return int(value)
    if isinstance(value, Real):
        return round(float(value), digits) + 0.0  # + 0.0: no minus zero
    if isinstance(value, Mapping):
        return {str(key): plain(item, digits=digits) for key, item in value.items()}
    if isinstance(value, tuple | list):
        return [plain(item, digits=digits) for item in value]
    return {name: plain(said, digits=digits) for name, said in _members(value)}


def json_bytes(document: Mapping[str, Any], *, name: str) -> bytes:
    """A plain document as UTF-8 text; same document, same bytes.

    A file name that is not proper Unicode is kept as JSON's own escape of its bytes.

    Raises
    ------
    OutputError
        Where numbers are not finite, all of them together; `name` is the document's.
    """
    try:
        text = json.dumps(document, indent=1, ensure_ascii=False, allow_nan=False)
    except ValueError:
        raise OutputError(
            Fault(where=f"{name}: {where}", found=f"{value}, not a number")
            for where, value in _not_finite(document)
        ) from None
    return (text + "\n").encode("utf-8", "backslashreplace")


def _members(value: Any) -> Iterator[tuple[str, object]]:
    """Fields of a dataclass that are written; the items of an inline one are fields, too."""
    kind: type = type(value)
    for name in _names(kind):
        said = getattr(value, name)
        yield from said.items() if name in _inline(kind) else ((name, said),)


@cache
def _names(kind: type) -> tuple[str, ...]:
    """Fields of a dataclass that are written."""
    return tuple(
        item.name for item in fields(kind) if item.type is not bytes and UNTOLD not in item.metadata
    )


@cache
def _inline(kind: type) -> Mapping[str, Callable[[], Mapping[str, Any]]]:
    """Its mappings whose items are written as fields, each with what tells their types."""
    return {item.name: item.metadata[INLINE] for item in fields(kind) if INLINE in item.metadata}


def _not_finite(value: object, where: str = "") -> Iterator[tuple[str, float]]:
    if isinstance(value, float) and not isfinite(value):
        yield where, value
    elif isinstance(value, Mapping):
        for key, item in value.items():
            yield from _not_finite(item, f"{where}.{key}".lstrip("."))
    elif isinstance(value, list):
        for k, item in enumerate(value):
            yield from _not_finite(item, f"{where}[{k}]")


# --- rules ---------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Rule:
    """What a value must hold to beside its type, as keywords of JSON Schema."""

    keywords: tuple[tuple[str, Any], ...]


def one_of(values: Iterable[str | int]) -> Rule:
    """One of these."""
    return Rule((("enum", tuple(values)),))


def at_least(least: float) -> Rule:
    """A number not below this."""
    return Rule((("minimum", least),))


def between(least: float, most: float) -> Rule:
    """A number in this range."""
    return Rule((("minimum", least), ("maximum", most)))


def matching(pattern: str) -> Rule:
    """A string of this form."""
    return Rule((("pattern", pattern),))


def holding(least: int, most: int) -> Rule:
    """A list of so many items."""
    return Rule((("minItems", least), ("maxItems", most)))


SHA256 = matching("^[0-9a-f]{64}$")

#: What a type and the end of a name say; the first that fits counts.
_BY_NAME: tuple[tuple[type, str, Rule], ...] = (
    (int, "srgb8$", between(0, 255)),
    (int, "", at_least(0)),
    (float, "(_tone|_coverage)_pct$", between(0, 100)),
    (float, "(_pct|_mm2|_m2|de00|ppi|error(_L)?|(width|height|bleed)_mm)$", at_least(0)),
    (str, "(sha256|digests?)$", SHA256),
)
_NAMES = {bool: "boolean", int: "integer", float: "number", str: "string", NoneType: "null"}


# --- schemas -------------------------------------------------------------------------------------


def field_types(kind: type) -> dict[str, Any]:
    """What a dataclass writes: type by name of field, rules included.

    Raises
    ------
    TypeError
        If it is no dataclass.
    """
    hints, inline = get_type_hints(kind, include_extras=True), _inline(kind)
    each = (inline[name]() if name in inline else {name: hints[name]} for name in _names(kind))
    return {name: told for types in each for name, told in types.items()}


def document_schema(
    members: Mapping[str, Any],
    *,
    name: str,
    about: str,
    said: type,
    rules: Mapping[str, Rule],
) -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of a document with these members.

    Parameters
    ----------
    members : mapping of str to type
        Of any type that `plain` takes: fields of dataclasses (`field_types`), and more beside them.
    name : str
        Of the document and its format: "report, format 1".
    about : str
        One sentence.
    said : type
        The class whose words describe the members.
    rules : mapping of str to Rule
        Of strings by their name, where their class cannot know them.

    Raises
    ------
    TypeError
        If a member holds what no document can.
    """
    walk = _Walk(rules)
    body = walk.object_of(members, _said_of(said))
    return {
        "$schema": DIALECT,
        "$id": f"urn:inkmix:{name.replace(', format ', ':')}",
        "title": f"inkmix {name}",
        "description": about,
        **body,
        "$defs": dict(sorted(walk.definitions.items())),
    }


def usual_rule(kind: type, name: str) -> Rule | None:
    """What a value of a type and of this name must hold to, if nothing else is said."""
    return next((rule for of, end, rule in _BY_NAME if of is kind if re.search(end, name)), None)


class _Walk:
    """One walk over types; dataclasses on its way become definitions."""

    def __init__(self, rules: Mapping[str, Rule]) -> None:
        self._rules = rules
        self.definitions: dict[str, dict[str, Any]] = {}

    def object_of(self, members: Mapping[str, Any], said: Mapping[str, str]) -> dict[str, Any]:
        """All members have to be there, and no others."""
        return {
            "type": "object",
            "additionalProperties": False,
            "required": list(members),
            "properties": {
                name: self.of(kind, name) | ({"description": said[name]} if name in said else {})
                for name, kind in members.items()
            },
        }

    def of(self, kind: Any, name: str) -> dict[str, Any]:
        """The schema of a type, for a value of this name."""
        origin, inner = get_origin(kind), get_args(kind)
        if origin is Annotated:
            said = self.of(inner[0], name)
            for rule in (one for one in inner[1:] if isinstance(one, Rule)):
                said |= _keywords(rule)
            return said
        if origin in (Union, UnionType):
            return {"anyOf": [self.of(one, name) for one in inner]}
        if origin is Literal:
            return {"enum": list(inner)}
        if origin is tuple:
            return self._array(inner, name)
        if isinstance(origin, type) and issubclass(origin, Mapping):
            return {"type": "object", "additionalProperties": self.of(inner[1], name)}
        if isinstance(kind, type) and is_dataclass(kind):
            return self._defined(kind)
        return self._scalar(kind, name)

    def _array(self, inner: tuple[Any, ...], name: str) -> dict[str, Any]:
        """A list of items of one kind, of any length or of this one."""
        first, *others = (kind for kind in inner if kind is not Ellipsis)
        if any(kind != first for kind in others):
            raise TypeError(f"{name}: a tuple of several types has no place in a document")
        size = {} if Ellipsis in inner else _keywords(holding(len(inner), len(inner)))
        return {"type": "array", "items": self.of(first, name), **size}

    def _defined(self, kind: type) -> dict[str, Any]:
        if kind.__name__ not in self.definitions:
            self.definitions[kind.__name__] = {}  # it may hold its like
            body = self.object_of(field_types(kind), _said_of(kind))
            first = inspect.cleandoc(kind.__doc__ or "").partition("\n\n")[0]
            self.definitions[kind.__name__] = {"description": " ".join(first.split()), **body}
        return {"$ref": f"#/$defs/{kind.__name__}"}

    def _scalar(self, kind: Any, name: str) -> dict[str, Any]:
        if kind not in _NAMES:
            raise TypeError(f"{name}: {kind} has no place in a document")
        rule = self._rules.get(name) if kind is str else None
        rule = rule or usual_rule(kind, name)
        return {"type": _NAMES[kind]} | ({} if rule is None else _keywords(rule))


def _keywords(rule: Rule) -> dict[str, Any]:
    return {key: list(value) if isinstance(value, tuple) else value for key, value in rule.keywords}


def _said_of(kind: type) -> dict[str, str]:
    """What a class says of its fields: beside them, or under Parameters."""
    return _beside(kind) | _under_parameters(inspect.cleandoc(kind.__doc__ or ""))


def _beside(kind: type) -> dict[str, str]:
    try:
        source = inspect.getsource(kind)
    except OSError:  # a program without its source
        return {}
    return dict(re.findall(r"^    (\w+): .*  # (.+)$", source, re.MULTILINE))


def _under_parameters(text: str) -> dict[str, str]:
    said: dict[str, str] = {}
    names: list[str] = []
    for line in text.partition("\nParameters\n----------\n")[2].splitlines():
        if line.startswith(" "):
            said |= {name: f"{said.get(name, '')} {line.strip()}".lstrip() for name in names}
        else:
            names = line.partition(" : ")[0].split(", ")
    return said
