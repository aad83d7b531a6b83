"""What the spreads of a book share is found once, and is never the answer to another question.

Gold: the bytes of a report that a fresh process writes for one spread alone.
"""

import gc
import os
import subprocess
import sys
import tracemalloc
from dataclasses import replace

import numpy as np
import pytest
from drawn_book import BOOK, NIGHT, changed, draw_book
from press_for_checks import inks, paper
from report_cases import spread_result

from inkmix.book.values import NamedTone
from inkmix.checks.tones.check import check_tones
from inkmix.jobs.books import read_book
from inkmix.jobs.check import check_spread
from inkmix.pages.report.page import render_page
from inkmix.pages.report.write import report_files
from inkmix.press.condition import Patches, press_condition
from inkmix.press.processes import find_process

OFFSET, SCREEN = find_process("sheet-fed offset"), find_process("screen print")
MIXES = np.array([[50.0, 50.0], [100.0, 100.0]])
ALONE = """\
import sys
from pathlib import Path
from inkmix.jobs.books import read_book
from inkmix.pages.report.write import write_report
from inkmix.jobs.check import check_spread
book, spread, folder = sys.argv[1:]
write_report(check_spread(read_book(Path(book)), spread), Path(folder))
"""


def told(**other):
    """The parts of a press condition, made anew, some of them otherwise."""
    patches = Patches(tone_pct=MIXES, xyz100=np.array([[20.0, 20, 20], [5, 5, 5]]))
    parts = {"paper": paper(), "inks": inks("Soot", "Fjord"), "process": OFFSET, "patches": patches}
    parts |= other
    return press_condition(parts.pop("paper"), parts.pop("inks"), **parts)


def test_equal_values_give_one_condition():
    assert told() is told()


@pytest.mark.parametrize(
    "other",
    [
        {"paper": replace(paper(), guessed=True)},
        {"paper": replace(paper(), xyz100=paper().xyz100 * 1.0000001)},
        {"inks": inks("Fjord", "Soot")},
        {"inks": [replace(inks("Soot")[0], opacity=0.01), *inks("Fjord")]},
        {"inks": [replace(inks("Soot")[0], name="soot"), *inks("Fjord")]},
        {"process": SCREEN},
        {"process": replace(OFFSET, edge_growth_mm=0.011)},
        {"patches": None},
        {"patches": Patches(tone_pct=MIXES, xyz100=np.array([[20.0, 20, 20], [5, 5, 6]]))},
    ],
)
def test_any_other_value_gives_another(other):
    assert told(**other) is not told()


def tone(**other):
    known = {"name": "dusk", "mix_pct": {"Soot": 20.0, "Fjord": 60.0}, "tolerance_de00": 1.0}
    return NamedTone(**known | {"intended_srgb": "#aa3355"} | other)


@pytest.mark.parametrize(
    "other",
    [
        {"mix_pct": {"Fjord": 60.0, "Soot": 20.0}},  # words keep the order of the book
        {"mix_pct": {"Soot": 20.0, "Fjord": 61.0}},
        {"tolerance_de00": 99.0},
        {"intended_srgb": "#335577"},
        {"name": "dawn"},
    ],
)
def test_tones_that_differ_are_judged_anew(other):
    first, second = (
        check_tones(told(), [one], ink_limit_pct=200) for one in (tone(), tone(**other))
    )
    assert second.facts != first.facts or second.findings != first.findings
    assert check_tones(told(), [tone()], ink_limit_pct=200) is first


def test_an_ink_limit_holds_for_remedies_of_tones():
    narrow, wide = (check_tones(told(), [tone()], ink_limit_pct=limit) for limit in (60, 200))
    assert narrow.findings != wide.findings


TONE = """
[[tones]]
name = "dusk"
mix = { Fjord = 60, Soot = 20 }
intended = "#aa3355"
tolerance_de00 = 1
"""


def test_reports_in_one_process_are_those_of_fresh_ones(tmp_path):
    text = BOOK + NIGHT + TONE
    folder = draw_book(tmp_path / "book", text)
    texts = {
        "book": text,
        "less": changed("ink_limit_pct = 260", "ink_limit_pct = 150", text),
        "other": changed("lab = [52, 58, 40]", "lab = [60, 40, 50]", text),
    }
    for name, written in texts.items():
        (folder / f"{name}.toml").write_text(written, encoding="utf-8")
    asked = [folder / f"{name}.toml" for name in ("book", "less", "other", "book")]
    here = [report_files(check_spread(read_book(book), "front")) for book in asked]
    assert here[0] == here[3]
    assert len({files["report.json"] for files in here}) == 3
    for number in (2, 3):
        alone = tmp_path / str(number)
        subprocess.run(
            [sys.executable, "-c", ALONE, asked[number], "front", alone],
            env={**os.environ, "INKMIX_LOOPS": "numpy"},  # the same bytes, sooner
            check=True,
        )
        assert {name: (alone / name).read_bytes() for name in here[number]} == here[number]


def test_a_page_that_was_written_holds_no_pictures():
    result = spread_result()
    shown = [data for key, data in result.pictures.items() if key != "total ink"]
    pictures = sum(map(len, shown))
    page_bytes = len(render_page(result))  # templates are loaded
    gc.collect()
    gc.disable()
    try:
        tracemalloc.start()
        for _ in range(4):
            render_page(result)
        held = tracemalloc.get_traced_memory()[0]
    finally:
        tracemalloc.stop()
        gc.enable()
    assert page_bytes > 4 / 3 * pictures > 20_000  # all of them in base64
    assert held < 4 * pictures / 2
