"""How long a browser takes to show a page from disk."""

import re
import shutil
import subprocess
import tempfile
from dataclasses import dataclass
from pathlib import Path
from threading import Timer

BROWSERS = ("chromium", "chromium-browser", "google-chrome")
NOT_INSTALLED = f"no browser: {', '.join(BROWSERS)} are looked for"
PATIENCE_S = 60.0

_WIDTH_PX, _HEIGHT_PX = 1280, 900
_FRAME = """\
<!doctype html><title>frame</title><body>
<iframe src="{uri}" width="{width}" height="{height}" onload="
  const loaded = performance.now();
  requestAnimationFrame(() => requestAnimationFrame(
    () => console.log('loaded ' + loaded + ' shown ' + performance.now() + ' ms')))
"></iframe>
"""
_SAID = re.compile(r"loaded ([\d.]+) shown ([\d.]+) ms")


@dataclass(frozen=True, slots=True, kw_only=True)
class Opened:
    """From the opening of a page until it is loaded, and until it is painted, ms."""

    loaded_ms: float
    shown_ms: float


def browser() -> str | None:
    """The browser, where there is one."""
    return next(filter(None, map(shutil.which, BROWSERS)), None)


def open_page(page: Path) -> Opened:
    """Open a page once, in a browser that was not running.

    Raises
    ------
    RuntimeError
        If it is not shown within PATIENCE_S.
    """
    with tempfile.TemporaryDirectory(prefix="inkmix-browser-", ignore_cleanup_errors=True) as name:
        frame = Path(name) / "frame.html"
        uri = page.resolve().as_uri()
        text = _FRAME.format(uri=uri, width=_WIDTH_PX, height=_HEIGHT_PX)
        frame.write_text(text, encoding="utf-8")
        return _opened(frame, profile=Path(name) / "profile")


def _opened(frame: Path, *, profile: Path) -> Opened:
    command = [
        browser() or BROWSERS[0],
        "--headless=new",
        "--no-sandbox",
        "--disable-gpu",
        "--enable-logging=stderr",
        f"--window-size={_WIDTH_PX},{_HEIGHT_PX}",
        f"--user-data-dir={profile}",
        frame.as_uri(),
    ]
    with subprocess.Popen(
        command, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True, errors="replace"
    ) as program:
        assert program.stderr is not None
        late = Timer(PATIENCE_S, program.kill)
        late.start()
        try:
            said = next(filter(None, map(_SAID.search, program.stderr)), None)
        finally:
            late.cancel()
            program.terminate()
            program.communicate()
    if said is None:
        raise RuntimeError(f"{frame} was not shown within {PATIENCE_S:g} s")
    loaded_ms, shown_ms = map(float, said.groups())
    return Opened(loaded_ms=loaded_ms, shown_ms=shown_ms)
