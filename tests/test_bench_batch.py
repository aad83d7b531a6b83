"""The benchmark of batches measures what it says: reports are there, and a page was shown."""

import sys
from pathlib import Path

import pytest
from many_spreads import draw_spreads

pytestmark = pytest.mark.long

BENCH = Path(__file__).parent / "bench"


@pytest.fixture(scope="module", autouse=True)
def _beside_the_benchmark():
    sys.path.insert(0, str(BENCH))
    yield
    sys.path.remove(str(BENCH))


def test_a_run_leaves_reports_and_tells_the_memory_of_its_worker(tmp_path):
    from timed_batches import run_batch

    draw_spreads(tmp_path / "book", count=2, damaged=1, width_px=300, height_px=200)
    run = run_batch(tmp_path / "book", tmp_path / "reports", workers=1)
    assert run.reports == 1
    assert run.seconds > 0
    assert run.cpu_s > 0
    if run.worker_mib is not None:
        assert (
            60 < run.worker_mib < 400
        )  # loops and libraries alone take that much; less than a sheet


def test_a_run_that_cannot_be_is_no_measurement(tmp_path):
    from timed_batches import run_batch

    with pytest.raises(RuntimeError, match="exit code 2"):
        run_batch(tmp_path / "nowhere", tmp_path / "reports", workers=1)


def test_a_page_is_shown_after_it_is_loaded(tmp_path):
    import in_browser

    if in_browser.browser() is None:
        pytest.skip(in_browser.NOT_INSTALLED)
    page = tmp_path / "two words.html"
    page.write_text("<!doctype html><title>a</title><p>b", encoding="utf-8")
    opened = in_browser.open_page(page)
    assert 0 < opened.loaded_ms <= opened.shown_ms < 1000 * in_browser.PATIENCE_S
