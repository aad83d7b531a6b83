"""Values of a JSON document as what they should be: dataclasses, lists, numbers, strings.

Strict: nothing is coerced, a field more or less is refused, and it is said where.
"""

from collections.abc import Mapping
from dataclasses import MISSING, fields, is_dataclass
from math import isfinite
from types import NoneType, UnionType
from typing import Annotated, Any, Union, get_args, get_origin, get_type_hints

from inkmix.base.json_document import Rule, usual_rule

_WORDS = {
    bool: "true or false", int: "a whole number", float: "a number", str: "a text",
    list: "a list", dict: "a table", NoneType: "null",
}  # fmt: skip


class MisfitError(ValueError):
    """A value is not what it should be."""

    def __init__(self, where: str, found: str) -> None:
        self.where, self.found = where, found
        super().__init__(f"{where}: {found}")


def value_of(kind: Any, said: Any, where: str) -> Any:
    """A value of a type: a dataclass, a tuple, list or mapping, a number, text, or one of several.

    Parameters
    ----------
    where : str
        Path of the value in the document.

    Raises
    ------
    MisfitError
        Where it is another.
    """
    origin, inner = get_origin(kind), get_args(kind)
    if kind is Any:
        return said
    if origin is Annotated:
        found = value_of(inner[0], said, where)
        for rule in (one for one in inner[1:] if isinstance(one, Rule)):
            _refuse_outside(rule, found, where)
        return found
    if origin in (Union, UnionType):
        return _one_of(inner, said, where)
    if origin in (tuple, list):
        items = enumerate(_as(list, said, where))
        return origin(value_of(inner[0], one, f"{where}[{k}]") for k, one in items)
    if is_dataclass(kind):
        return _record(kind, said, where)
    return _as(dict if origin is Mapping else kind, said, where)


def _one_of(kinds: tuple[Any, ...], said: Any, where: str) -> Any:
    if said is None and NoneType in kinds:
        return None
    return value_of(next(kind for kind in kinds if kind is not NoneType), said, where)


def _record(kind: Any, said: Any, where: str) -> Any:
    hints = get_type_hints(kind, include_extras=True)
    needed = {item.name for item in fields(kind) if item.default is MISSING}
    told = _as(dict, said, where)
    if unknown := sorted(told.keys() - hints.keys()):
        raise MisfitError(f"{where}.{unknown[0]}", "is not known")
    if missing := sorted(needed - told.keys()):
        raise MisfitError(f"{where}.{missing[0]}", "is missing")
    values = {name: value_of(hints[name], one, f"{where}.{name}") for name, one in told.items()}
    try:
        return kind(**values)
    except ValueError as error:
        raise MisfitError(where, str(error)) from error


def _refuse_outside(rule: Rule, said: Any, where: str) -> None:
    """Refuse a number that is less or more than its rule allows."""
    keywords = dict(rule.keywords)
    least, most = keywords.get("minimum"), keywords.get("maximum")
    if (least is not None and said < least) or (most is not None and said > most):
        raise MisfitError(where, f"{said} is out of range")


def _as(kind: Any, said: Any, where: str) -> Any:
    is_number = isinstance(said, int | float) and not isinstance(said, bool)
    fits = is_number and isfinite(said) if kind is float else type(said) is kind
    if not fits:
        raise MisfitError(where, f"is not {_WORDS[kind]}")
    if is_number and (rule := usual_rule(kind, where.rpartition(".")[2])):
        _refuse_outside(rule, said, where)
    return float(said) if kind is float else said
