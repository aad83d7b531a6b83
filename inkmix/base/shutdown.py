"""Leaving at once when a signal asks for it, wherever the program is just then.

An exception would be swallowed by some library's import or lost in a callback, waits for threads,
and a second Ctrl-C would break the clearing up. So a signal removes what is half made and ends the
process there and then. Only the command line asks for that; what is removed is registered by
whoever makes it, and nothing here knows what it is.
"""

import os
import signal
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from threading import RLock
from types import FrameType

SENTENCE = "inkmix: interrupted; nothing half-written is left behind"
_NAMES = ("SIGINT", "SIGTERM", "SIGHUP")  # not every system has all of them
_SIGNALS = [getattr(signal, name) for name in _NAMES if hasattr(signal, name)]
_STDERR = 2  # its number: what Python holds for it may be in the middle of writing
_BASE = 128  # shells count ends by a signal from here

Undo = Callable[[], None]


class _Leaving:
    """What has to be undone, latest last; whether a signal has to wait.

    Who leaves keeps the lock, so that meanwhile no other thread begins anything, or undoes it too.
    """

    def __init__(self) -> None:
        self.undos: list[Undo] = []
        self.holding = 0
        self.asked: int | None = None
        self.lock = RLock()  # threads may hold things together at the same time
        self.sentence = SENTENCE

    def ask(self, number: int, frame: FrameType | None) -> None:
        """Leave, or remember it until nothing holds any more."""
        with self.lock:
            self.asked = number
            if not self.holding:
                self.leave(number)

    def leave(self, number: int) -> None:
        """Undo, say one line, end; whatever thread this is."""
        self.holding += 1  # impatience changes nothing any more
        for undo in reversed(self.undos):
            with suppress(Exception):
                undo()
        if self.sentence:
            with suppress(OSError):
                os.write(_STDERR, f"{self.sentence}\n".encode())
        os._exit(_BASE + number)


_LEAVING = _Leaving()


def leave_at_signals(sentence: str = SENTENCE) -> None:
    """From now on signals that end a program do so cleanly, with exit code 128 + signal.

    A signal that whoever started the program had switched off stays so. `sentence` is said then;
    a worker whose program speaks for it says nothing.
    """
    _LEAVING.sentence = sentence
    for number in _SIGNALS:
        if signal.getsignal(number) != signal.SIG_IGN:
            signal.signal(number, _LEAVING.ask)
    if hasattr(signal, "pthread_sigmask"):
        signal.pthread_sigmask(signal.SIG_UNBLOCK, _SIGNALS)


@contextmanager
def signals_wait() -> Iterator[None]:
    """Signals wait outside; what is started inside begins deaf, until it can leave cleanly."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, _SIGNALS)
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def ignore_signals() -> None:
    """All is done but to end: no signal changes the exit code any more."""
    for number in _SIGNALS:
        signal.signal(number, signal.SIG_IGN)


@contextmanager
def undone_when_left(undo: Undo) -> Iterator[None]:
    """If a signal ends the program meanwhile, `undo` is called; it may find that all is done."""
    with _LEAVING.lock:
        _LEAVING.undos.append(undo)
    try:
        yield
    finally:
        with _LEAVING.lock:
            _LEAVING.undos.remove(undo)


@contextmanager
def held_together() -> Iterator[None]:
    """Steps, few and quick, that no signal parts."""
    with _LEAVING.lock:
        _LEAVING.holding += 1
    try:
        yield
    finally:
        with _LEAVING.lock:
            _LEAVING.holding -= 1
            if _LEAVING.asked is not None and not _LEAVING.holding:
                _LEAVING.leave(_LEAVING.asked)
