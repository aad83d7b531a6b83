"""The check finds what was planted into the demo, nothing else, and its remedies work."""

import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import tifffile

from inkmix.checks.finding import FAIL, MIX, PASS, Finding, Remedy, Step
from inkmix.checks.mending.correction import Correction
from inkmix.checks.mending.ink_off import InkOff, ink_off_correction, ink_off_ground
from inkmix.checks.mending.ink_off_near import cells_of
from inkmix.cli.main import run
from inkmix.demo.faults import NAMES, planted
from inkmix.demo.plates import draw_strip
from inkmix.demo.write import SPREAD, write_demo
from inkmix.jobs.answer import SpreadResult
from inkmix.jobs.books import read_book
from inkmix.jobs.check import check_spread
from inkmix.jobs.spread import open_uncounted

PPI = 60.0


@pytest.fixture(scope="module", autouse=True)
def drawn_once() -> Iterator[None]:
    """The strip is drawn once for each resolution; faults are planted in copies of it."""
    drawn = cache(draw_strip)

    def copied(*, ppi: float):
        return [{name: plate.copy() for name, plate in some.items()} for some in drawn(ppi=ppi)]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("inkmix.demo.write.draw_strip", copied)
        yield


def checked(folder: Path, *, remedies: bool = False) -> SpreadResult:
    return check_spread(read_book(folder / "book.toml"), SPREAD, remedies=remedies)


def key_of(finding: Finding) -> tuple[str, str | None]:
    """Check and area: what a planted fault says of itself; total ink has no named area."""
    return finding.check, None if finding.check == "total ink" else finding.name


def overlaps(finding: Finding, rect_mm) -> bool:
    place = finding.place
    x, y, width, height = rect_mm
    across = place.sheet_x_mm < x + width and x < place.sheet_x_mm + place.width_mm
    down = place.sheet_y_mm < y + height and y < place.sheet_y_mm + place.height_mm
    return across and down


def assert_found(result: SpreadResult, fault: str, seed: int) -> None:
    """Exactly what was planted fails, where it was planted; all else passes."""
    wanted = {(one.check, one.area): one for one in planted(fault, seed)}
    found = [finding for finding in result.findings if finding.verdict != PASS]
    assert {key_of(finding) for finding in found} == set(wanted)
    for finding in found:
        assert finding.verdict == FAIL
        rect_mm = wanted[key_of(finding)].rect_mm
        assert rect_mm is None or overlaps(finding, rect_mm)
    assert result.verdict == (FAIL if wanted else PASS)


@pytest.mark.parametrize("fault", [*NAMES, "none"])
def test_exactly_the_planted_fault_is_found(tmp_path, fault):
    write_demo(tmp_path, ppi=PPI, seed=0, fault=fault)
    assert_found(checked(tmp_path), fault, 0)


@pytest.mark.parametrize(
    "seed", [1, 20261125, *(pytest.param(seed, marks=pytest.mark.long) for seed in (2, 3))]
)
def test_all_faults_are_found_at_places_drawn_by_a_seed(tmp_path, seed):
    write_demo(tmp_path, ppi=PPI, seed=seed, fault="all")
    assert_found(checked(tmp_path), "all", seed)


@pytest.mark.parametrize("seed", [0, 5])
def test_the_named_remedies_mend_the_plates(tmp_path, seed):
    write_demo(tmp_path, ppi=PPI, seed=seed, fault="all")
    result = checked(tmp_path, remedies=True)
    assert_found(result, "all", seed)
    for finding in result.findings:
        if finding.verdict == FAIL:
            (remedy, *_) = finding.remedies
            assert remedy.solves
            do_remedy(tmp_path, remedy)
    take_ink_off(tmp_path)
    mended = checked(tmp_path)
    assert {finding.verdict for finding in mended.findings} <= {PASS}
    assert mended.verdict == PASS


def do_remedy(folder: Path, remedy: Remedy) -> None:
    """Curves by their correction, a mix by hand; ink comes off all at once in the end."""
    if remedy.curves:
        assert remedy.correction is not None
        write_corrected(folder, remedy.correction)
    for step in remedy.steps:
        if step.operation == MIX:
            write_mix(folder, step)


def write_corrected(folder: Path, correction: Correction) -> None:
    spread = open_uncounted(read_book(folder / "book.toml"), SPREAD)
    rows, cols = slice(0, spread.sheet.height_px), slice(0, spread.sheet.width_px)
    after = correction.applied(spread.plates.read(rows, cols), rows=rows, cols=cols)
    for ink, tones in zip(spread.plates.inks, after, strict=True):
        write_plate(folder / "plates" / SPREAD / f"{ink}.tif", tones)


def take_ink_off(folder: Path) -> None:
    """The correction of total ink, found and done anew on the plates as they are."""
    spread = open_uncounted(read_book(folder / "book.toml"), SPREAD)
    rows, cols = slice(0, spread.sheet.height_px), slice(0, spread.sheet.width_px)
    planes = spread.plates.read(rows, cols)
    over = planes.sum(axis=0, dtype=int) > np.floor(260 * 2.55)
    cells = cells_of(spread.sheet)

    def read(rows: slice, cols: slice):
        part = spread.plates.read(rows, cols)
        return part, part.sum(axis=0, dtype=np.int32)

    correction = ink_off_correction(
        InkOff(limit_pct=260),
        ink_off_ground(spread, read),
        cells.map_of([cells.marked(over, rows=rows, cols=cols)]),
    )
    assert correction is not None
    write_corrected(folder, correction)


def plates_of(folder: Path) -> list[Path]:
    return sorted((folder / "plates" / SPREAD).glob("*.tif"))


def write_plate(path: Path, tones) -> None:
    grey = (255 - tones).astype(np.uint8)
    tifffile.imwrite(path, grey, photometric="minisblack", resolution=(PPI, PPI))


def write_mix(folder: Path, step: Step) -> None:
    """Put one ink's amount into the recipe of a named tone in book.toml."""
    path = folder / "book.toml"
    text = path.read_text(encoding="utf-8")
    recipe = re.compile(rf'(name = "{re.escape(str(step.area))}"\nmix = )\{{(.*?)\}}')
    parts = dict(re.findall(r"(\w+) = ([\d.]+)", recipe.search(text)[2]))
    parts[step.plate] = f"{step.amount_pct:g}"
    kept = {ink: pct for ink, pct in parts.items() if float(pct) > 0}
    mix = ", ".join(f"{ink} = {pct}" for ink, pct in kept.items())
    path.write_text(recipe.sub(rf"\1{{ {mix} }}", text), encoding="utf-8")


def test_exit_codes(tmp_path, capsys):
    write_demo(tmp_path / "clean", ppi=PPI, seed=0, fault="none")
    write_demo(tmp_path / "spoilt", ppi=PPI, seed=0, fault="heavy-ink")
    assert run(["check", str(tmp_path / "clean"), "--strict"]) == 0
    assert run(["check", str(tmp_path / "spoilt")]) == 1
    assert "Do not send yet" in capsys.readouterr().err


def test_demo_command_draws_checks_and_leaves_with_0(tmp_path, capsys):
    folder = tmp_path / "demo"
    assert run(["demo", str(folder), "--ppi", "20"]) == 0
    said = capsys.readouterr().err
    page = folder / "reports" / SPREAD / "report.html"
    assert str(page) in said
    assert page.stat().st_size < 5_000_000
    assert run(["demo", str(folder)]) == 2
    assert "already exists" in capsys.readouterr().err
