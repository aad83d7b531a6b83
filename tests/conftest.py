"""Fixtures that several test files share."""

import gc
import os
import signal
import sys
from contextlib import suppress

import pytest
from hypothesis import settings

# Before NumPy is imported, here or in a program that tests start: several threads for matrices
# as small as ours wait for one another, most of all where each core has a test run of its own.
os.environ |= {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}

from inkmix.base.cache import private_folder
from inkmix.base.loops import are_compiled

# As the program itself does; a run of tests has many more objects to look through.
gc.set_threshold(50_000)

# Times are measured elsewhere; here other work, or a first compilation, may hold up any example.
settings.register_profile("any time", deadline=None)
settings.load_profile("any time")


@pytest.fixture(scope="session", autouse=True)
def programs_heed_signals():
    """A run in the background ignores signals, which programs that tests start would inherit.

    With a handler the run still does nothing, but its children start with the usual.
    """
    for name in ("SIGINT", "SIGTERM", "SIGHUP"):
        number = getattr(signal, name, None)  # not every system has all of them
        if number is not None and signal.getsignal(number) == signal.SIG_IGN:
            signal.signal(number, lambda *_: None)


@pytest.fixture(scope="session", autouse=True)
def one_cache(tmp_path_factory):
    """A cache of this run's own, for all its processes: five inks take seconds to build.

    Only compiled loops come from the cache that is there, for to compile them all takes a minute
    and they are never those of another text; they stay as they are for all tests of a process.
    """
    folder = tmp_path_factory.getbasetemp()
    if "PYTEST_XDIST_WORKER" in os.environ:
        folder = folder.parent  # each worker has a folder in that of the run
    cache = folder / "cache"
    cache.mkdir(exist_ok=True)
    with suppress(OSError):  # no home, no links, or another process was first
        (cache / "loops").symlink_to(private_folder("loops"), target_is_directory=True)
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("INKMIX_CACHE", str(cache))
        if sys.dont_write_bytecode:  # programs that tests start would compile our source each time
            patch.delenv("PYTHONDONTWRITEBYTECODE", raising=False)
            patch.setenv("PYTHONPYCACHEPREFIX", str(folder / "bytecode"))
        are_compiled()
        yield
