"""Which program answers: a digest of all that may change a byte of a report beside its inputs.

Its own text, templates and swatches, and the versions of the libraries that compute and draw. So
what was kept by one program is never taken for the answer of another.
"""

import platform
import sys
from functools import cache
from hashlib import sha256
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

import inkmix
from inkmix.base.shipped import swatches_folder

_LIBRARIES = ("numpy", "scipy", "pillow", "tifffile", "imagecodecs", "jinja2", "markupsafe")
_PACKAGE = Path(inkmix.__file__).parent
_NO_TEXT = {"__pycache__"}


@cache
def program_digest() -> str:
    """SHA-256, hex; the same on two machines that answer alike to the last bit."""
    sha = sha256()
    for folder in (_PACKAGE, swatches_folder()):
        for path in sorted(folder.rglob("*")):
            if path.is_file() and not _NO_TEXT & set(path.parts):
                sha.update(f"{path.relative_to(folder).as_posix()}\0".encode())
                sha.update(sha256(path.read_bytes()).digest())
    machine = (platform.python_version(), platform.system(), platform.machine(), sys.byteorder)
    for piece in (*map(_version, _LIBRARIES), *machine):
        sha.update(f"{piece}\0".encode())
    return sha.hexdigest()


def _version(library: str) -> str:
    try:
        return version(library)
    except PackageNotFoundError:
        return "none"
