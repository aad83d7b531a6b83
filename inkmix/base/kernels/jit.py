"""How loops are compiled; the only module that imports numba.

Compiled code is kept in the user's cache and runs without the interpreter's lock, so windows can be
worked on by threads. Raises OSError on import where no safe folder for compiled code can be had.
"""

import hashlib
import pickle
import sys
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from types import CodeType
from typing import Any, TypeVar

import numba
import numpy as np
from numba import njit
from numba.core.compiler import CompileResult
from numba.core.serialize import dumps

from inkmix.base.kernels.code_cache import code_folder, read_code, write_code

_Function = TypeVar("_Function", bound=Callable[..., Any])


def loop(function: _Function) -> _Function:
    """A function over arrays and numbers, compiled when it is first called with their types."""
    return _compiled(function, forceinline=False)


def inner(function: _Function) -> _Function:
    """A piece of a loop, for loops to call; it becomes part of them."""
    return _compiled(function, forceinline=True)


def _compiled(function: _Function, *, forceinline: bool) -> _Function:
    dispatcher: Any = njit(nogil=True, error_model="numpy", forceinline=forceinline)(function)
    dispatcher._cache = _Kept(function)
    compiled: _Function = dispatcher
    return compiled


class _Kept:
    """Compiled code of one loop on disk, in the place of numba's own, which lies in the package.

    Any number of programs may write and read at once: the code for each set of types is one file.
    What cannot be read is compiled anew, and where the disk is full it is again the next time.
    """

    def __init__(self, function: Callable[..., Any]) -> None:
        self._name = f"{function.__module__.rpartition('.')[2]}.{function.__qualname__}"
        self._text = _text(function.__code__)
        self.cache_path = str(_FOLDER)  # numba tells it to whoever asks for `stats`

    def load_overload(self, signature: Any, context: Any) -> Any:
        """Code for these types of arguments; None if there is none."""
        context.refresh()  # what the code may call is known only then
        key = self._key(signature, context.codegen())
        code = read_code(_FOLDER, self._name, key=key)
        if code is None:
            return None
        try:
            found = CompileResult._rebuild(context, *pickle.loads(code))
        except Exception:  # written by a library that says it is this version, and is not
            return None
        return found if found.signature.args == signature else None

    def save_overload(self, signature: Any, compiled: Any) -> None:
        """Keep it, if it is of use to another run and there is room."""
        if compiled.lifted or compiled.library.has_dynamic_globals:
            return
        with suppress(Exception):  # what cannot be kept has been compiled all the same
            key = self._key(signature, compiled.codegen)
            write_code(_FOLDER, self._name, dumps(compiled._reduce()), key=key)

    def flush(self) -> None:
        """Nothing: what is compiled once more takes the place of what was."""

    def _key(self, signature: Any, codegen: Any) -> bytes:
        """SHA-256 of all that decides the code: its text, its types, compiler and processor."""
        deciding = (_TOOLS, _SOURCES, self._name, self._text, signature, codegen.magic_tuple())
        return hashlib.sha256(repr(deciding).encode()).digest()


def _text(code: CodeType) -> tuple[Any, ...]:
    """What a loop does, should its module have changed since the digest of all was made."""
    values = (_text(value) if isinstance(value, CodeType) else value for value in code.co_consts)
    return code.co_code, tuple(values), code.co_names


def sources_digest(folder: Path) -> str:
    """Digest of all modules of loops: each holds pieces of others, and the options of this one."""
    digest = hashlib.sha256()
    for path in sorted(folder.glob("*.py")):
        digest.update(path.read_bytes())
    return digest.hexdigest()


_SOURCES = sources_digest(Path(__file__).parent)
_TOOLS = (sys.version, numba.__version__, np.__version__)
_FOLDER = code_folder()
