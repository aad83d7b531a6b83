"""Documents of ours against their schemas, each made and looked at once a process."""

from collections.abc import Callable
from functools import cache
from typing import Any

from jsonschema import Draft202012Validator

from inkmix.checks import table

Schema = Callable[[], dict[str, Any]]


def refuse_unlike(schema: Schema, document: object) -> None:
    """Fail where the document does not hold to what `schema` returns."""
    names = tuple(check.name for check in table.CHECKS)  # a test may bring a check of its own
    _validator(schema, names).validate(document)


@cache
def _validator(schema: Schema, checks: tuple[str, ...]) -> Draft202012Validator:
    made = schema()
    Draft202012Validator.check_schema(made)
    return Draft202012Validator(made)
