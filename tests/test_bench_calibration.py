"""The benchmark of learning a press measures what it says."""

import importlib.util
import re
from pathlib import Path

import pytest

pytestmark = pytest.mark.long

PATH = Path(__file__).parent / "bench" / "calibration.py"


def test_every_step_is_printed(capsys):
    spec = importlib.util.spec_from_file_location("bench_calibration", PATH)
    bench = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(bench)
    bench.main(["--patches", "160"])
    printed = capsys.readouterr().out
    assert "160 patches of 7 inks" in printed
    assert re.search(r"cross-validate +\d+\.\d +\d+\.\d", printed)
    assert re.search(r"table of colours, apart +\d+\.\d", printed)
    assert re.search(r"peak memory before the table: \d+ MiB", printed)
