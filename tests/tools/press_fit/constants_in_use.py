"""The model with other constants, for as long as a block lasts.

The whole package shares one table of constants that nothing else changes; here it is filled anew.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import fields

from inkmix.press import condition
from inkmix.press.constants import MODEL, ModelConstants


@contextmanager
def in_use(constants: ModelConstants) -> Iterator[None]:
    """All predictions inside the block are made with these constants."""
    before = {field.name: getattr(MODEL, field.name) for field in fields(MODEL)}
    _fill({field.name: getattr(constants, field.name) for field in fields(constants)})
    try:
        yield
    finally:
        _fill(before)


def _fill(values: dict[str, object]) -> None:
    condition._put_together.cache_clear()  # conditions are kept by what was told, not by constants
    for name, value in values.items():
        object.__setattr__(MODEL, name, value)


def snapshot() -> ModelConstants:
    """The constants as they are, as a table of its own."""
    return ModelConstants(**{field.name: getattr(MODEL, field.name) for field in fields(MODEL)})
