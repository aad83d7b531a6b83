"""How loops are compiled; the only module that imports numba.

Compiled code is kept on disk and runs without the interpreter's lock, so windows can be worked on
by threads. Raises RuntimeError on import where no folder for compiled code can be written.
"""

from collections.abc import Callable
from contextlib import suppress
from typing import Any, TypeVar

from numba import njit

_Function = TypeVar("_Function", bound=Callable[..., Any])


def loop(function: _Function) -> _Function:
    """A function over arrays and numbers, compiled when it is first called with their types."""
    return _compiled(function, forceinline=False)


def inner(function: _Function) -> _Function:
    """A piece of a loop, for loops to call; it becomes part of them."""
    return _compiled(function, forceinline=True)


def _compiled(function: _Function, *, forceinline: bool) -> _Function:
    dispatcher: Any = njit(cache=True, nogil=True, error_model="numpy", forceinline=forceinline)(
        function
    )
    dispatcher._cache = _Kept(dispatcher._cache)
    compiled: _Function = dispatcher
    return compiled


class _Kept:
    """Compiled code on disk; where the disk is full, it is compiled again the next time."""

    def __init__(self, cache: Any) -> None:
        self._cache = cache

    def save_overload(self, signature: Any, compiled: Any) -> None:
        """Keep it, if there is room."""
        with suppress(OSError):
            self._cache.save_overload(signature, compiled)

    def __getattr__(self, name: str) -> Any:
        return getattr(self._cache, name)


@loop
def _nothing() -> int:
    return 0  # its decoration already asks for the folder
