"""What a page may load, by the policy in its head, and whether it keeps to that."""

import re
from base64 import b64encode
from hashlib import sha256
from html.parser import HTMLParser

STYLE_MAY_BE_INLINE = "'unsafe-inline'"  # colours stand in style attributes; no word of a user's
REQUIRED = {"default-src": "'none'", "base-uri": "'none'", "form-action": "'none'"}
_LOADS = ("src", "srcset", "href", "xlink:href", "data", "poster", "action", "formaction")


class PageTags(HTMLParser):
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


def policy_of(page: PageTags, name: str) -> dict[str, str]:
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


def keeps_to(policy: dict[str, str], page: PageTags, name: str) -> None:
    assert REQUIRED.items() <= policy.items(), name
    assert policy.get("style-src") == STYLE_MAY_BE_INLINE, name
    hashes = {
        f"'sha256-{b64encode(sha256(script.encode()).digest()).decode()}'"
        for script in page.scripts
    }
    assert set(policy.get("script-src", "").split()) == hashes, name
    assert set(policy) <= {*REQUIRED, "style-src", "img-src", "script-src"}, name
    loads_nothing(page, name, pictures=policy.get("img-src") == "data:")


def loads_nothing(page: PageTags, name: str, *, pictures: bool = False) -> None:
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
