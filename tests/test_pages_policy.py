"""Every page that is written says what a browser may load for it: nothing; and it keeps to that.

The policy is Content Security Policy, level 3 (W3C), in the head of the page.
"""

import re
from base64 import b64encode
from hashlib import sha256
from html.parser import HTMLParser
from pathlib import Path

import pytest
from drawn_book import BOOK, NIGHT, command, draw_book

STYLE_MAY_BE_INLINE = "'unsafe-inline'"  # colours stand in style attributes; no word of a user's
REQUIRED = {"default-src": "'none'", "base-uri": "'none'", "form-action": "'none'"}
_LOADS = ("src", "srcset", "href", "xlink:href", "data", "poster", "action", "formaction")


class Page(HTMLParser):
    """Tags with their attributes, and the text of scripts and styles."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.scripts: list[str] = []
        self.styles: list[str] = []
        self._inside = ""
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        self._inside = tag

    def handle_endtag(self, tag: str) -> None:
        self._inside = ""

    def handle_data(self, data: str) -> None:
        if self._inside == "script":
            self.scripts.append(data)
        if self._inside == "style":
            self.styles.append(data)


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
        page = Page(text)
        if name.endswith(".html"):
            keeps_to(policy_of(page, name), page, name)
        else:
            loads_nothing(page, name)
            assert not page.scripts, name


def policy_of(page: Page, name: str) -> dict[str, str]:
    """Directives by name; the policy stands before anything that it is about."""
    metas = [
        at
        for at, (tag, attributes) in enumerate(page.tags)
        if tag == "meta" and attributes.get("http-equiv") == "Content-Security-Policy"
    ]
    assert len(metas) == 1, name
    before = {tag for tag, _ in page.tags[: metas[0]]}
    assert before <= {"html", "head", "meta"}, name
    content = page.tags[metas[0]][1]["content"] or ""
    parts = [part.strip().partition(" ") for part in content.split(";")]
    return {directive: value for directive, _, value in parts}


def keeps_to(policy: dict[str, str], page: Page, name: str) -> None:
    assert REQUIRED.items() <= policy.items(), name
    assert policy.get("style-src") == STYLE_MAY_BE_INLINE, name
    hashes = {
        f"'sha256-{b64encode(sha256(script.encode()).digest()).decode()}'"
        for script in page.scripts
    }
    assert set(policy.get("script-src", "").split()) == hashes, name
    assert set(policy) <= {*REQUIRED, "style-src", "img-src", "script-src"}, name
    loads_nothing(page, name, pictures=policy.get("img-src") == "data:")


def loads_nothing(page: Page, name: str, *, pictures: bool = False) -> None:
    for tag, attributes in page.tags:
        assert not [key for key in attributes if key.startswith("on")], (name, tag)
        assert tag not in ("iframe", "object", "embed", "link", "base"), (name, tag)
        for key in _LOADS:
            value = attributes.get(key)
            if value is None or tag == "a" or value.startswith("#"):
                continue
            assert pictures, (name, tag, key, value[:40])
            assert value.startswith("data:image/"), (name, tag, key, value[:40])
        assert "url(" not in re.sub(r"url\(#", "", attributes.get("style") or ""), (name, tag)
    for style in page.styles:
        assert "@import" not in style, name
        assert not re.search(r"url\((?!#)", style), name
