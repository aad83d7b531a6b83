"""The benchmark of choosing inks measures what it says: every step is there, with its pieces."""

import importlib.util
from pathlib import Path

import pytest
from palette_cases import compiled_only

pytestmark = pytest.mark.long

PATH = Path(__file__).parent / "bench" / "palette.py"


@compiled_only
def test_every_step_is_printed_with_its_pieces(capsys):
    spec = importlib.util.spec_from_file_location("bench_palette", PATH)
    bench = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(bench)
    bench.main(["--inks", "8"])
    printed = capsys.readouterr().out
    for words in ("8 inks, 35 palettes", "mixes, 35 ", "palettes, 35 ", "best palettes, 35 "):
        assert words in printed
    assert "one measured in full" in printed
