"""Whether loops over pixels run compiled or as plain NumPy; said once, never a different result.

The compiled loops are in kernels/, each beside a NumPy twin in the module that calls it, which
gives the same bits and is what runs where numba, or a safe folder for compiled code, is missing:
to compile everything anew takes longer than most runs do without.
Importing this module imports no numba; asking `are_compiled` does.
"""

import logging
import os
from functools import cache

_LOG = logging.getLogger(__name__)
SWITCH = "INKMIX_LOOPS"
"""Environment variable; "numpy" keeps numba out."""


@cache
def are_compiled() -> bool:
    """Whether the functions of kernels/ may be called."""
    if os.environ.get(SWITCH) == "numpy":
        _LOG.info("computing without compiled loops, as %s says", SWITCH)
        return False
    why = _obstacle()
    if why is not None:
        _LOG.warning("computing without compiled loops (%s): the same results, but slower", why)
    return why is None


def _obstacle() -> str | None:
    """Why compiled loops cannot be had, in words; None if they can."""
    try:
        import inkmix.base.kernels.jit  # noqa: F401
    except ModuleNotFoundError:
        return "numba is not installed"
    except ImportError:
        return "numba cannot be loaded"
    except OSError as error:
        return _why_no_folder(error)
    return None


def _why_no_folder(error: OSError) -> str:
    """The folder for compiled code, or a library of numba's that the machine has no room for."""
    if error.filename is not None:
        return f"compiled code cannot be kept in {error.filename}: {error.strerror or error}"
    if isinstance(error, FileNotFoundError):
        return f"there is no folder to keep compiled code in: {error.strerror or error}"
    return "numba cannot be loaded"
