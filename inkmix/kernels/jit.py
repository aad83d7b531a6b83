"""How loops are compiled; the only module that imports numba.

Compiled code is kept on disk and runs without the interpreter's lock, so windows can be worked on
by threads. Raises RuntimeError on import where no folder for compiled code can be written.
"""

from collections.abc import Callable
from typing import Any, TypeVar

from numba import njit

_Function = TypeVar("_Function", bound=Callable[..., Any])


def loop(function: _Function) -> _Function:
    """A function over arrays and numbers, compiled when it is first called with their types."""
    compiled: _Function = njit(cache=True, nogil=True, error_model="numpy")(function)
    return compiled


def inner(function: _Function) -> _Function:
    """A piece of a loop, for loops to call; it becomes part of them."""
    compiled: _Function = njit(cache=True, nogil=True, error_model="numpy", inline="never")(
        function
    )
    return compiled


@loop
def _nothing() -> int:
    return 0  # its decoration already asks for the folder
