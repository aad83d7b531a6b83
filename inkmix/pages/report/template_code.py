"""Compiled templates as files of the user's cache: a run that changes nothing is a tenth faster.

Reading such a file runs what is in it, see base/kernels/code_cache.py, which guards them.
"""

import hashlib
import sys
from contextlib import suppress

import jinja2
from jinja2 import BytecodeCache
from jinja2.bccache import Bucket

from inkmix.base.kernels.code_cache import code_folder, read_code, write_code


class TemplateCode(BytecodeCache):
    """Where Jinja finds what it compiled before; without a safe folder it compiles each time.

    Parameters
    ----------
    options : str
        How the templates are compiled, besides their text and their name.

    Notes
    -----
    Jinja may work out constants while it compiles, and so would keep what our filters made of them.
    No template has any in its output; a test looks.
    """

    def __init__(self, options: str) -> None:
        self._options = f"{options} {jinja2.__version__} {sys.implementation.cache_tag}"

    def load_bytecode(self, bucket: Bucket) -> None:
        """Take the code of a template, if it was kept under the same text and options."""
        with suppress(OSError):
            code = read_code(code_folder(), "template", key=self._key(bucket))
            if code is not None:
                bucket.bytecode_from_string(code)

    def dump_bytecode(self, bucket: Bucket) -> None:
        """Keep the code of a template, if there is room for it."""
        with suppress(OSError):
            code = bucket.bytecode_to_string()
            write_code(code_folder(), "template", code, key=self._key(bucket))

    def _key(self, bucket: Bucket) -> bytes:
        told = f"{self._options} {bucket.key} {bucket.checksum}"
        return hashlib.blake2b(told.encode(), digest_size=32).digest()
