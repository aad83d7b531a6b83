"""Fixtures that several test files share."""

import numpy as np
import pytest

from inkmix.lookup import Lookup, build_lookup
from inkmix.simulate import check, predict, spread

_TABLES: dict[tuple[object, ...], Lookup] = {}


def _cached_lookup(model, *, inks, depth):
    """The real table, built once for every model that predicts alike."""
    probe = np.random.default_rng(0).uniform(0, 100, (20, inks))
    key = inks, depth, model.xyz100(probe).tobytes(), model.coverage(probe).tobytes()
    if key not in _TABLES:
        _TABLES[key] = build_lookup(model, inks=inks, depth=depth)
    return _TABLES[key]


@pytest.fixture
def one_table(monkeypatch):
    """Build the table of a press condition once for all tests: five inks take seconds."""
    for module in (check, predict, spread):
        monkeypatch.setattr(module, "build_lookup", _cached_lookup)
