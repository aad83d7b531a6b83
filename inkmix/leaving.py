"""Leaving at once when a signal asks for it, wherever the program is just then.

An exception would be swallowed by some library's import or lost in a callback, waits for threads,
and a second Ctrl-C would break the clearing up. So a signal removes what is half made and ends the
process there and then. Only the command line asks for that; what is removed is registered by
whoever makes it, and nothing here knows what it is.
"""

import os
import signal
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from types import FrameType

SENTENCE = "inkmix: interrupted; nothing half-written is left behind"
_NAMES = ("SIGINT", "SIGTERM", "SIGHUP")  # not every system has all of them
_SIGNALS = [getattr(signal, name) for name in _NAMES if hasattr(signal, name)]
_BASE = 128  # shells count ends by a signal from here

Undo = Callable[[], None]


class _Leaving:
    """What has to be undone, latest last; whether a signal has to wait."""

    def __init__(self) -> None:
        self.undos: list[Undo] = []
        self.holding = 0
        self.asked: int | None = None

    def ask(self, number: int, frame: FrameType | None) -> None:
        """Leave, or remember it until nothing holds any more."""
        self.asked = number
        if not self.holding:
            self.leave(number)

    def leave(self, number: int) -> None:
        """Undo, say one line, end."""
        ignore_signals()  # impatience changes nothing any more
        for undo in reversed(self.undos):
            with suppress(Exception):
                undo()
        with suppress(OSError):
            os.write(sys.__stderr__.fileno() if sys.__stderr__ else 2, f"{SENTENCE}\n".encode())
        os._exit(_BASE + number)


_LEAVING = _Leaving()


def leave_at_signals() -> None:
    """From now on signals that end a program do so cleanly, with exit code 128 + signal.

    A signal that whoever started the program had switched off stays so.
    """
    for number in _SIGNALS:
        if signal.getsignal(number) != signal.SIG_IGN:
            signal.signal(number, _LEAVING.ask)


def ignore_signals() -> None:
    """All is done but to end: no signal changes the exit code any more."""
    for number in _SIGNALS:
        signal.signal(number, signal.SIG_IGN)


@contextmanager
def undone_when_left(undo: Undo) -> Iterator[None]:
    """If a signal ends the program meanwhile, `undo` is called; it may find that all is done."""
    _LEAVING.undos.append(undo)
    try:
        yield
    finally:
        _LEAVING.undos.remove(undo)


@contextmanager
def held_together() -> Iterator[None]:
    """Steps, few and quick, that no signal parts."""
    _LEAVING.holding += 1
    try:
        yield
    finally:
        _LEAVING.holding -= 1
        if _LEAVING.asked is not None and not _LEAVING.holding:
            _LEAVING.leave(_LEAVING.asked)
