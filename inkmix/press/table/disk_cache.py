"""A colour table from the folder of tables, or built and put there.

Keeping never changes a colour and never stops anything: where a table cannot be read it is built,
where it cannot be written that is said once, to whoever listens at level info.
"""

import logging
from functools import cache
from pathlib import Path

import numpy as np

from inkmix.base.cache import mark_used, private_folder, read_own_file, write_file
from inkmix.press.table.key import NoKeyError, table_key
from inkmix.press.table.lookup import ColourModel, Lookup, build_lookup
from inkmix.press.table.packed import pack, packed_bytes, unpack

KIND = "tables"
SUFFIX = ".table"
MOST_BYTES = 512 << 20  # some eighty tables of five inks; those not used for longest go first

_LOG = logging.getLogger(__name__)


def kept_lookup(model: ColourModel, *, inks: int, depth: int) -> Lookup:
    """The table that `build_lookup` gives, from disk if it was built before.

    Parameters
    ----------
    model : ColourModel
        A dataclass whose values can be told apart; see `table_key`.
    inks : int
        Number of plates, 1-8.
    depth : int
        Bits of a plate value, 8 or 16.

    Raises
    ------
    TypeError
        If the model holds a value of a kind that cannot be told apart.
    """
    try:
        key = table_key(model, inks=inks, depth=depth)
        path = private_folder(KIND) / f"{key.hex()}{SUFFIX}"
    except (NoKeyError, OSError) as error:
        _say_once(str(error))
        return build_lookup(model, inks=inks, depth=depth)
    lookup = _read(path, key=key, inks=inks, depth=depth)
    if lookup is None:
        lookup = build_lookup(model, inks=inks, depth=depth)
        _write(path, lookup, key=key)
    return lookup


def _read(path: Path, *, key: bytes, inks: int, depth: int) -> Lookup | None:
    size = packed_bytes(inks=inks, depth=depth)
    try:
        if path.stat().st_size != size:
            return None
        data = np.frombuffer(read_own_file(path), np.uint8).copy()  # loops take writable ones
    except OSError:
        return None
    mark_used(path)
    return unpack(data, key=key, inks=inks, depth=depth)


def _write(path: Path, lookup: Lookup, *, key: bytes) -> None:
    try:
        write_file(path, pack(lookup, key=key), most_bytes=MOST_BYTES)
    except OSError as error:
        _say_once(error.strerror or str(error))


@cache
def _say_once(why: str) -> None:
    _LOG.info("colour tables are not kept between runs: %s", why)
