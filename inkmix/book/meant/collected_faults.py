"""Trying several things and telling all that went wrong at once."""

from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import TypeVar

from inkmix.base.errors import InkmixError

T = TypeVar("T")


def all_of(makers: Iterable[Callable[[], T]]) -> list[T]:
    """What each maker makes.

    Raises
    ------
    InkmixError
        If any fails: of the kind with the highest exit code among them, with the faults of all.
    """
    made: list[T] = []
    errors: list[InkmixError] = []
    for make in makers:
        try:
            made.append(make())
        except InkmixError as error:
            errors.append(error)
    if errors:
        kind = type(max(errors, key=lambda error: error.exit_code))
        raise kind(fault for error in errors for fault in error.faults)
    return made


def placed(error: InkmixError, where: str) -> InkmixError:
    """The same error, each fault under the place in the book that led to it."""
    return type(error)(
        replace(fault, where=f"{where}: {fault.where}" if fault.where else where)
        for fault in error.faults
    )
