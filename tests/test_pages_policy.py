"""Every page that is written says what a browser may load for it: nothing; and it keeps to that.

The policy is Content Security Policy, level 3 (W3C), in the head of the page.
"""

from pathlib import Path

import pytest
from drawn_book import BOOK, NIGHT, command, draw_book
from pages_policy import PageTags, keeps_to, loads_nothing, policy_of


@pytest.fixture
def written(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> dict[str, str]:
    """All pages that commands write of a book whose words try to be more than words."""
    title = 'title = "<script>alert(1)</script><img src=//x.example/y>"'
    text = (BOOK + NIGHT).replace('title = "Two panels"', title)
    folder = draw_book(tmp_path / "book", text)
    command(capfd, "batch", folder, "--engine", "threads")
    command(capfd, "palette", folder, "--choose", "1")
    command(capfd, "inks", "Fog", "--page", folder / "inks.html")
    command(capfd, "sheet", folder, "--to", folder / "sheet.svg")
    found = {path.name: path for path in folder.rglob("*") if path.suffix in (".html", ".svg")}
    names = {"index.html", "report.html", "palette.html", "inks.html", "sheet.svg"}
    assert set(found) == names
    return {name: path.read_text("utf-8") for name, path in found.items()}


def test_every_page_keeps_to_its_policy(written):
    for name, text in written.items():
        page = PageTags(text)
        if name.endswith(".html"):
            keeps_to(policy_of(page, name), page, name)
        else:
            loads_nothing(page, name)
            assert not page.scripts, name
