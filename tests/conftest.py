"""Fixtures that several test files share."""

import os

import pytest


@pytest.fixture(scope="session", autouse=True)
def one_cache(tmp_path_factory):
    """A cache of this run's own, for all its processes: five inks take seconds to build."""
    folder = tmp_path_factory.getbasetemp()
    if "PYTEST_XDIST_WORKER" in os.environ:
        folder = folder.parent  # each worker has a folder in that of the run
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("INKMIX_CACHE", str(folder / "cache"))
        yield
