"""stdin, stdout and stderr as a program needs them, whatever it was started with.

A stream that whoever started the program had closed is put in its place again: else the next file
that is opened takes its number, and words for people get into it. What cannot be written to stdout
is a fault like any other; of what cannot be written to stderr nobody can be told.
"""

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from errno import EBADF
from io import TextIOWrapper

from inkmix.base.errors import Fault, OutputError

STDIN, STDOUT, STDERR = range(3)
_SEEN_AS = {STDIN: os.O_WRONLY, STDOUT: os.O_RDONLY, STDERR: os.O_WRONLY}
"""How a closed one is opened: from stdin and to stdout nothing goes, which is an error there."""


class _Answers(TextIOWrapper):
    """stdout: what cannot be written ends the run, since the answer was all that was asked for."""

    def write(self, text: str) -> int:
        try:
            return super().write(text)
        except BrokenPipeError:  # nobody reads on, which is no fault
            raise
        except OSError as error:
            raise self._refusal(error) from None

    def flush(self) -> None:
        try:
            super().flush()
        except BrokenPipeError:
            raise
        except OSError as error:
            raise self._refusal(error) from None

    def _refusal(self, error: OSError) -> OutputError:
        why = error.strerror or error
        let_go(STDOUT)  # what is still held back goes nowhere, so that Python ends in peace
        return OutputError(
            Fault(
                where="stdout",
                found="is closed" if error.errno == EBADF else f"cannot be written ({why})",
                expected="the answer is written there",
                do="send it to a file or a program that can take it",
            )
        )


class _Words(TextIOWrapper):
    """stderr: what cannot be told is no reason to leave work undone."""

    def write(self, text: str) -> int:
        try:
            return super().write(text)
        except BrokenPipeError:
            raise
        except OSError:
            let_go(STDERR)
            return len(text)

    def flush(self) -> None:
        try:
            super().flush()
        except BrokenPipeError:
            raise
        except OSError:
            let_go(STDERR)


def keep_streams() -> None:
    """See to it that all three are there and can take any text."""
    for number in (STDIN, STDOUT, STDERR):
        _fill(number)
    if sys.stdin is None:
        sys.stdin = open(STDIN, encoding="utf-8", closefd=False)  # noqa: SIM115 - it stays open
    sys.stdout = _kept(sys.stdout, STDOUT, _Answers)
    sys.stderr = _kept(sys.stderr, STDERR, _Words)


def let_go(number: int) -> None:
    """Whatever is still written to a stream goes nowhere."""
    with suppress(OSError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, number)
        os.close(nowhere)


def _fill(number: int) -> None:
    """Hold the place of a stream that is closed."""
    try:
        os.fstat(number)
    except OSError:
        os.open(os.devnull, _SEEN_AS[number])  # takes the lowest number that is free


def _kept(stream: object, number: int, kind: type[TextIOWrapper]) -> TextIOWrapper:
    """A stream over the bytes of the one that Python made, or over its place if there is none."""
    if isinstance(stream, TextIOWrapper):
        encoding, buffered = stream.encoding, stream.line_buffering
        stream.flush()
        bytes_of = stream.detach()
    else:
        encoding, buffered = "utf-8", True
        bytes_of = open(number, "wb", closefd=False)  # noqa: SIM115 - it stays open
    return kind(
        bytes_of,
        encoding=encoding,
        errors="backslashreplace",
        line_buffering=buffered or number == STDERR,
    )


@contextmanager
def nothing_on_stderr() -> Iterator[None]:
    """Silence while a library works that writes there by itself; words of ours are lost, too."""
    with suppress(OSError, ValueError):
        sys.stderr.flush()
    kept = os.dup(STDERR)
    try:
        let_go(STDERR)
        yield
    finally:
        os.dup2(kept, STDERR)
        os.close(kept)
