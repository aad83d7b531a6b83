"""Total ink: worked sheets whose counts can be done by hand."""

import numpy as np
import pytest

from inkmix.checks.finding import FAIL, NO_LIMIT, PASS
from inkmix.checks.total_ink.check import TotalInkCheck
from inkmix.checks.window import CheckedWindow
from inkmix.sheet.geometry import Sheet, panels_in_a_row

SHEET = Sheet(
    width_px=200,
    height_px=120,
    ppi=50.8,  # two pixels in a millimetre, four in a square millimetre
    panels=panels_in_a_row(2, width_mm=50, height_mm=60),
)


def check(limit_pct: float | None = 280.0, *, whose: str = "printer", **more) -> TotalInkCheck:
    return TotalInkCheck(sheet=SHEET, limit_pct=limit_pct, whose=whose, **more)


def window(planes: np.ndarray, rows: slice) -> CheckedWindow:
    part = planes[:, rows]
    return CheckedWindow(
        rows=rows,
        cols=slice(0, part.shape[2]),
        planes=part,
        lightness=np.zeros(part.shape[1:], dtype=np.int16),
    )


def run(one: TotalInkCheck, planes: np.ndarray, height: int = 50):
    part = one.start()
    for row in range(0, planes.shape[1], height):
        part = one.update(part, window(planes, slice(row, min(row + height, planes.shape[1]))))
    return one.finish(part)


def blank(dtype=np.uint8) -> np.ndarray:
    return np.zeros((3, SHEET.height_px, SHEET.width_px), dtype=dtype)


def test_an_area_over_the_limit_has_its_place_and_size():
    planes = blank()
    planes[:, 40:60, 120:150] = 255  # across the seam between the windows
    result = run(check(), planes)
    (finding,) = result.findings
    assert (finding.verdict, finding.value, finding.limit) == (FAIL, 300.0, 280.0)
    assert (finding.rows_px, finding.cols_px) == ((40, 60), (120, 150))
    assert finding.area_mm2 == pytest.approx(150)
    assert finding.area_pct == pytest.approx(100 * 600 / 24000)
    assert (finding.place.panel, finding.place.x_mm, finding.place.y_mm) == ("panel 2", 10, 20)
    assert "300 %; the printer allows 280 %" in finding.sentence
    assert result.facts.over_area_mm2 == pytest.approx(150)
    assert (result.facts.areas, result.facts.specks) == (1, 0)


def test_the_limit_itself_is_allowed_and_one_step_more_is_not():
    planes = blank()
    planes[0, 10:20, 10:20] = 255
    planes[1, 10:20, 10:20] = 255
    planes[2, 10:20, 10:20] = 204  # 80 %
    assert run(check(), planes).facts.verdict == PASS
    planes[2, 10:20, 10:20] = 205
    result = run(check(), planes)
    assert result.facts.verdict == FAIL
    assert "280.4 %" in result.findings[0].sentence


@pytest.mark.parametrize("dtype", [np.uint8, np.uint16])
def test_both_depths_count_the_same(dtype):
    planes = blank(dtype)
    planes[:, 5:25, 5:25] = np.iinfo(dtype).max
    facts = run(check(), planes).facts
    assert (facts.max_pct, facts.over_area_mm2) == (300.0, 100.0)
    assert facts.histogram[0] == (0.0, pytest.approx(100 * (1 - 400 / 24000)))
    assert facts.histogram[-1] == (300.0, pytest.approx(100 * 400 / 24000))
    assert sum(share for _, share in facts.histogram) == pytest.approx(100)


def test_specks_are_told_apart_and_fail_only_together():
    planes = blank()
    planes[:, 10, 10] = 255
    planes[:, 20, 20] = 255
    result = run(check(), planes)
    assert [(f.name, f.verdict) for f in result.findings] == [("specks", PASS)]
    assert "2 specks over the ink limit" in result.findings[0].sentence
    planes[:, 30:40:2, 30] = 255
    result = run(check(), planes)
    assert result.findings[0].verdict == FAIL
    assert (result.facts.areas, result.facts.specks) == (0, 7)


@pytest.mark.parametrize(("count", "verdict"), [(3, PASS), (4, FAIL)])
def test_specks_fail_once_they_are_as_large_as_an_area_that_counts(count, verdict):
    """Four pixels are a square millimetre here."""
    planes = blank()
    planes[:, 10 : 10 + 2 * count : 2, 10] = 255
    result = run(check(), planes)
    assert [finding.verdict for finding in result.findings] == [verdict]
    assert result.facts.over_area_mm2 == pytest.approx(count / 4)
    assert result.facts.over_area_pct == pytest.approx(100 * count / 24000)
    assert result.findings[0].area_pct == pytest.approx(100 * count / 24000)


@pytest.mark.parametrize(("pixels", "name"), [(3, "specks"), (4, "area 1")])
def test_the_least_area_counts_as_an_area(pixels, name):
    planes = blank()
    planes[:, 10, 10 : 10 + pixels] = 255
    assert [finding.name for finding in run(check(), planes).findings] == [name]


def test_where_most_ink_lies_is_told_before_larger_areas():
    planes = blank()
    planes[:, 10:30, 10:30] = 250
    planes[:, 50:54, 50:54] = 255
    values = [finding.value for finding in run(check(), planes).findings]
    assert values == [300.0, pytest.approx(300 * 250 / 255)]


def test_without_a_limit_the_maximum_is_said():
    planes = blank()
    planes[:2, 70, 33] = 255
    result = run(check(None), planes)
    (finding,) = result.findings
    assert (finding.verdict, finding.value) == (NO_LIMIT, 200.0)
    assert finding.rows_px == (70, 71)
    assert finding.sentence == "Total ink reaches at most 200 %; no ink limit is given."


def test_a_sheet_within_the_limit_passes_and_says_whose_limit_it_is():
    (finding,) = run(check(whose="process default"), blank()).findings
    assert finding.whose == "process default"
    assert (finding.verdict, finding.value, finding.error) == (PASS, 0.0, 0.0)
    assert "up to 280 % is usual for this process and paper" in finding.sentence


def test_many_areas_are_shown_by_the_worst_twelve_and_one_summary():
    planes = blank()
    for row in range(0, 120, 8):
        planes[:, row : row + 3, 0:3] = 240 + row // 8
    result = run(check(), planes)
    assert [f.name for f in result.findings] == [
        *(f"area {k}" for k in range(1, 13)),
        "further areas",
    ]
    assert result.findings[0].value == pytest.approx(300 * 254 / 255)
    assert "3 further areas over the ink limit, together 6.8 mm²." in result.findings[-1].sentence
    assert {finding.whose for finding in result.findings} == {"printer"}
    total = sum(finding.area_mm2 for finding in result.findings)
    assert total == pytest.approx(result.facts.over_area_mm2)


def test_the_height_of_the_windows_changes_nothing():
    planes = np.random.default_rng(5).integers(0, 256, blank().shape).astype(np.uint8)
    whole = run(check(230.0), planes, height=120)
    for height in (1, 7, 64):
        part = run(check(230.0), planes, height=height)
        assert part == whole
