"""What commands say: lines for people on stderr, answers on stdout."""

import os
import sys
from collections.abc import Iterable

import click

from inkmix.base.plain_text import plain_json, plain_line, plain_text


def say(text: str) -> None:
    """A line for people, on stderr. All words of all commands go through here or `put`."""
    click.echo(plain_line(text), err=True)


def say_all(lines: Iterable[str]) -> None:
    """Lines for people, each as it comes."""
    for line in lines:
        say(line)


def put(text: str, *, colour: bool = False) -> None:
    """An answer of one line or several, on stdout; with `colour` in the colours it holds."""
    click.echo(plain_text(text, keep="\n", colour=colour), color=colour)


def put_json(text: str, *, whole: bool = True) -> None:
    """JSON on stdout, or a piece of it."""
    click.echo(plain_json(text), nl=whole)


def may_be_coloured() -> bool:
    """Whether fields of colour may be shown on stdout (https://no-color.org)."""
    return sys.stdout.isatty() and not os.environ.get("NO_COLOR")
