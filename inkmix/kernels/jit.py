"""How loops are compiled; the only module that imports numba.

Compiled code is kept on disk and runs without the interpreter's lock, so windows can be worked on
by threads. Raises RuntimeError on import where no folder for compiled code can be written.
"""

import hashlib
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
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
    """Compiled code on disk, which any number of programs may write and read at once.

    What cannot be read is compiled anew, and where the disk is full it is again the next time. Of
    two programs that compile the same function for different types at once, the later index may
    name the earlier code, so what comes from disk has to be for the types that were asked for.
    """

    def __init__(self, cache: Any) -> None:
        self._cache = cache
        stamped = cache._cache_file
        stamped._source_stamp = (stamped._source_stamp, _SOURCES)

    def load_overload(self, signature: Any, context: Any) -> Any:
        """Code for these types of arguments; None if there is none."""
        try:
            found = self._cache.load_overload(signature, context)
        except Exception:  # damaged files raise whatever they like
            with suppress(OSError):
                self._cache.flush()
            return None
        return found if found is not None and found.signature.args == signature else None

    def save_overload(self, signature: Any, compiled: Any) -> None:
        """Keep it, if there is room."""
        with suppress(OSError):
            self._cache.save_overload(signature, compiled)

    def __getattr__(self, name: str) -> Any:
        return getattr(self._cache, name)


def sources_digest(folder: Path) -> str:
    """Digest of all modules of loops.

    A loop holds pieces of other modules and the options of this one, of which numba knows nothing:
    it looks for changes in the loop's own module only.
    """
    digest = hashlib.sha256()
    for path in sorted(folder.glob("*.py")):
        digest.update(path.read_bytes())
    return digest.hexdigest()


_SOURCES = sources_digest(Path(__file__).parent)


@loop
def _nothing() -> int:
    return 0  # its decoration already asks for the folder
