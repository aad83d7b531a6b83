"""What counts as a finding. Outcomes in, findings out; nothing runs here."""

import hashlib
import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from html.parser import HTMLParser
from pathlib import Path

from fuzz.cases import Asked

EXITS = (0, 1, 2, 3)
LONGEST_LINE = 1500
"""Letters of a message; a screen of 24 lines."""
SPARE_KIB = 160 << 10
TIMES_INPUT = 64
"""Memory that a case may take beyond an idle child: this much, and so many times its input."""
_FOREIGN = re.compile(
    r"Traceback|^\s+File \"|Warning:|libpng|TIFF\w+:|\bat 0x[0-9a-f]+|Exception ignored|^python",
    re.M,
)
_OURS_PAGE = re.compile(rb"<html", re.I)
_BIDI = set("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
_OUTSIDE = re.compile(r"^\s*(?:https?:|//|file:|javascript:|ftp:)", re.I)
_LEFT_OVER = (".inkmix-scratch-", ".inkmix-part")


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """How a case ended.

    Parameters
    ----------
    code : int
        Exit code; minus the signal where one ended it.
    cpu_s, wall_s : float
        Time it took.
    peak_kib, idle_kib : int
        Greatest memory as wait4 tells it, and that of a child that does nothing.
    foreign : str
        What went to the terminal past the program: by libraries, warnings, logging.
    """

    code: int
    cpu_s: float
    wall_s: float
    peak_kib: int
    idle_kib: int
    stdout: bytes
    stderr: bytes
    foreign: str
    hung: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing that must not be: its kind, and what was seen."""

    kind: str
    seen: str


def digests(folder: Path) -> dict[str, str]:
    """Digest of each plain file below a folder, by its path."""
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and not path.is_symlink()
    }


def judged(
    asked: Asked, outcome: Outcome, *, folder: Path, before: dict[str, str], spare: Path
) -> list[Finding]:
    """All findings of a case; `spare` is its folder for temporary files."""
    after = digests(folder)
    input_bytes = sum((folder / name).stat().st_size for name in before if name in after)
    return [
        *_ending(outcome),
        *_cost(asked, outcome, input_bytes),
        *_words(outcome, is_verbose=not {"-v", "--verbose"}.isdisjoint(asked.words)),
        *_files(before, after, spare),
        *_rules(asked, outcome),
        *(found for name in after if name.endswith((".html", ".htm")) and name not in before
          for found in _page(name, (folder / name).read_bytes())),
    ]  # fmt: skip


def _ending(outcome: Outcome) -> Iterator[Finding]:
    if outcome.hung:
        yield Finding(kind="hang", seen=f"no end after {outcome.wall_s:.0f} s")
    elif outcome.code < 0:
        yield Finding(
            kind="signal", seen=f"ended by signal {-outcome.code} {outcome.foreign[-300:]}"
        )
    elif outcome.code not in EXITS:
        yield Finding(kind="exit code", seen=f"{outcome.code}")
    elif outcome.code in (2, 3) and not _says_why(outcome):
        yield Finding(
            kind="no message", seen=f"exit code {outcome.code}, said {outcome.stderr!r:.200}"
        )


def _says_why(outcome: Outcome) -> bool:
    """Whether there is a message; batch tells of each spread in its summary."""
    said = rb"inkmix: .|Error: .|^  .+: cannot be (read|checked): ."
    return bool(re.search(said, outcome.stderr, re.M))


def _cost(asked: Asked, outcome: Outcome, input_bytes: int) -> Iterator[Finding]:
    if outcome.cpu_s > asked.cpu_s and not outcome.hung:
        yield Finding(kind="time", seen=f"{outcome.cpu_s:.1f} s of computing, {input_bytes} bytes")
    most_kib = outcome.idle_kib + SPARE_KIB + TIMES_INPUT * input_bytes // 1024
    if outcome.peak_kib > most_kib:
        beyond = (outcome.peak_kib - outcome.idle_kib) >> 10
        yield Finding(kind="memory", seen=f"{beyond} MiB, {input_bytes} bytes")


def _words(outcome: Outcome, *, is_verbose: bool) -> Iterator[Finding]:
    try:
        text = outcome.stderr.decode("utf-8")
    except UnicodeDecodeError as error:
        yield Finding(kind="no text", seen=f"stderr is not UTF-8: {error}")
        text = outcome.stderr.decode("utf-8", "replace")
    if found := re.search(r"inkmix: unexpected .*", text):
        yield Finding(kind="unexpected", seen=found[0][:300])
    ours_is_plain = is_verbose or not _FOREIGN.search(text)  # -v tells where errors arose
    if foreign := outcome.foreign.strip() or (not ours_is_plain and text.strip()):
        yield Finding(kind="foreign output", seen=foreign[:400])
    lines = text.split("\n")
    if (longest := max(map(len, lines))) > LONGEST_LINE:
        yield Finding(kind="long line", seen=f"{longest} letters: {max(lines, key=len)[:200]}")
    if raw := sorted({sign for sign in text if _is_raw(sign)}):
        line = next(line for line in text.split("\n") if raw[0] in line)
        yield Finding(kind="control characters", seen=f"{raw!r} in {line[:200]!r}")


def _is_raw(sign: str) -> bool:
    """What moves the cursor, turns the line over or rings: not for a terminal."""
    return sign in _BIDI or (unicodedata.category(sign) in ("Cc", "Cs") and sign not in "\n\t")


def _files(before: dict[str, str], after: dict[str, str], spare: Path) -> Iterator[Finding]:
    for name, digest in before.items():
        if after.get(name) != digest:
            how = "is changed" if name in after else "is gone"
            yield Finding(kind="changed input", seen=f"{name} {how}")
    left = [name for name in after if any(part in name for part in _LEFT_OVER)]
    left += [path.name for path in spare.iterdir()]
    if left:
        yield Finding(kind="left over", seen=", ".join(left))


def _rules(asked: Asked, outcome: Outcome) -> Iterator[Finding]:
    if outcome.code not in (0, 1):
        return
    if asked.forbidden:
        yield Finding(kind="accepted", seen=asked.forbidden)
    if asked.unsaid and b"note: " not in outcome.stderr:
        yield Finding(kind="not said", seen=asked.unsaid)


class _Page(HTMLParser):
    """What a page would load or run."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.policy = False
        self.wrong: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Look at one tag."""
        given = {name: value or "" for name, value in attrs}
        if tag == "meta" and given.get("http-equiv", "").lower() == "content-security-policy":
            self.policy = self.policy or "default-src 'none'" in given.get("content", "")
        if tag in ("iframe", "object", "embed", "base", "link"):
            self.wrong.append(f"<{tag}>")
        for name, value in given.items():
            if name.startswith("on"):
                self.wrong.append(f"{name}={value[:60]}")
            if name in ("src", "href", "xlink:href", "srcset", "action") and _OUTSIDE.match(value):
                self.wrong.append(f"{name}={value[:60]}")


def _page(name: str, data: bytes) -> Iterator[Finding]:
    """A page carries its policy and loads nothing from outside."""
    if not _OURS_PAGE.search(data[:4096]):
        return
    page = _Page()
    page.feed(data.decode("utf-8", "replace"))
    if not page.policy:
        yield Finding(kind="page", seen=f"{name} has no content policy")
    if page.wrong:
        yield Finding(kind="page", seen=f"{name} holds {', '.join(page.wrong[:5])}")
