"""Faults planted on purpose: each kind of finding must be found; run: python tests/fuzz/planted.py

Prints a line of JSON: what was planted, and the kinds that were found.
"""

import json
import os
import signal
import sys
import tempfile
import time
import warnings
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE.parent), str(HERE.parent.parent)]
if __name__ == "__main__":  # before numpy is loaded, which else begins threads
    os.environ |= {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}

from fuzz import calls, server  # noqa: E402  the folder of tests is no package by itself
from fuzz.cases import Asked, Plan  # noqa: E402

Work = Callable[[], int]


def _crash() -> int:
    os.kill(os.getpid(), signal.SIGSEGV)
    return 0


def _sleep() -> int:
    time.sleep(60)
    return 0


def _reckon() -> int:
    end = time.process_time() + 0.6
    while time.process_time() < end:
        pass
    return 0


def _take_memory() -> int:
    return len(bytearray(b"x" * (400 << 20))) * 0


def _raise() -> int:
    raise ValueError("planted")


def _write_past() -> int:
    return os.write(2, b"a library says so\n") * 0


def _warn() -> int:
    warnings.warn("planted", DeprecationWarning, stacklevel=1)
    return 0


def _log() -> int:
    import logging

    logging.getLogger("somebody").warning("planted")
    return 0


def _change() -> int:
    return Path("input.txt").write_text("other") * 0


def _remove() -> int:
    Path("input.txt").unlink()
    return 0


def _leave() -> int:
    os.close(tempfile.mkstemp()[0])
    return 0


def _say(text: str) -> Work:
    return lambda: print(f"inkmix: {text}", file=sys.stderr) or 0


def _page(text: str) -> Work:
    return lambda: Path("out/page.html").write_text(f"<html>{text}") * 0


_POLICY = "<meta http-equiv='Content-Security-Policy' content=\"default-src 'none'\">"
PLANTED: dict[str, tuple[str, Work]] = {
    "a crash": ("signal", _crash),
    "no end": ("hang", _sleep),
    "slow": ("time", _reckon),
    "large": ("memory", _take_memory),
    "an error of Python": ("unexpected", _raise),
    "another exit code": ("exit code", lambda: 7),
    "an error without words": ("no message", lambda: 3),
    "a library on the terminal": ("foreign output", _write_past),
    "a warning": ("foreign output", _warn),
    "a log": ("foreign output", _log),
    "an input written to": ("changed input", _change),
    "an input removed": ("changed input", _remove),
    "a temporary file": ("left over", _leave),
    "a long line": ("long line", _say("x" * 5000)),
    "a colour code": ("control characters", _say("\x1b[31m")),
    "text turned over": ("control characters", _say("\u202e")),
    "a page without policy": ("page", _page("")),
    "a picture from outside": ("page", _page(f"{_POLICY}<img src=https://x.example/y>")),
    "a script in an attribute": ("page", _page(f"{_POLICY}<p onclick=x>")),
}
_RULES = {"forbidden": "accepted", "unsaid": "not said"}


def main() -> None:
    """Plant each and say what was found."""
    fast = Path("/dev/shm")
    with tempfile.TemporaryDirectory(dir=fast if fast.is_dir() else None) as folder:
        tried = server.Server(Path(folder))
        found = {name: _found(tried, name, work) for name, (_, work) in PLANTED.items()}
        found |= {rule: _found(tried, rule, lambda: 0, **{rule: "x"}) for rule in _RULES}
        found["nothing"] = _found(tried, "nothing", lambda: 0)
        found["another picture"] = _another_picture(tried)
    expected = {name: kind for name, (kind, _) in PLANTED.items()} | _RULES
    expected |= {"nothing": "", "another picture": "differs"}
    print(json.dumps({"expected": expected, "found": found}))


def _found(tried: server.Server, name: str, work: Work, **rules: str) -> list[str]:
    calls.CALLS[name] = lambda words, answer: work()

    def write(document: None, folder: Path, rng: object) -> Asked:
        (folder / "input.txt").write_text("as it was")
        return Asked(call=name, cpu_s=0.4, **rules)

    server.WALL_S = 1.5 if work is _sleep else 120.0
    tried.modules[name] = SimpleNamespace(build=lambda rng: None, DAMAGES=(_nothing,), write=write)
    return [one.kind for one in tried.tried(Plan(generator=name, seed=0))[1]]


def _nothing(document: None, rng: object) -> None:
    """No damage."""


def _another_picture(tried: server.Server) -> list[str]:
    """A reader of plates that is one step off, of sound files; what the referees say."""
    import numpy as np

    honest = calls.CALLS["plate"]

    def off(words: tuple[str, ...], answer: Path) -> int:
        code = honest(words, answer)
        said = dict(np.load(answer / "plate.npz"))
        np.savez(answer / "plate.npz", **{**said, "amount": said["amount"] ^ 1})
        return code

    calls.CALLS["plate"] = off
    kinds = {
        one.kind
        for seed in range(12)
        for one in tried.tried(Plan(generator="plates", seed=seed, kept=()))[1]
    }
    calls.CALLS["plate"] = honest
    return sorted(kinds)


if __name__ == "__main__":
    main()
