"""The `inkmix` command: finds the command asked for, and turns errors into words and exit codes.

Only click is imported here: a command's module is loaded when that command runs, so that
`inkmix --help` stays instant.
"""

import importlib
import os
import sys
from io import StringIO
from typing import Any

import click

from inkmix import __version__
from inkmix.base.allocator import share_one_heap
from inkmix.base.errors import Fault, InkmixError
from inkmix.base.quoting import clipped
from inkmix.base.shutdown import SENTENCE
from inkmix.base.streams import STDERR, STDOUT, let_go
from inkmix.cli.common import say
from inkmix.cli.shortage import shortage

INTERRUPTED = 130
UNREADABLE = 3
NOBODY_READS = 141  # as shells call it when a program writes into a pipe that was closed
_LONGEST_USAGE = 1000  # letters of a line on how a command is used: it quotes what was typed
_LONGEST_PATH = 400  # letters of a path in a message: "File name too long" holds all of it

COMMANDS = {
    "demo": "Draw The Night Ferry, an invented strip in five inks, and check it.",
    "start": "Write a commented book.toml from the plates that lie in a folder.",
    "inks": "List the inks and papers at hand: colour, how known, density curve.",
    "predict": "Write a picture of what will print, for all plates or some.",
    "sheet": "Draw the overprint sheet of a book's inks: solids, overprints, tints, darks.",
    "check": "Check the plates before they go to the printer; write a report.",
    "batch": "Check every spread of a book; write one page over all of them.",
    "calibrate": "Learn a press from measurements of its test form; write what is known of it.",
    "mend": "Write corrected copies of the plates, checked again; say what changed.",
    "palette": "Choose inks that are to print together; show the best side by side.",
    "mix": "Find the mixes that come nearest to colours, or go darkest.",
    "testform": "Write a form to print and measure: plates, picture, list of patches.",
    "score": "Tell the press model part of a measured chart and score the rest.",
}


class _Commands(click.Group):
    """Commands by name, each in a module of its own that is loaded when it runs."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in COMMANDS:
            return None
        module = importlib.import_module(f"inkmix.cli.{cmd_name}")
        command: click.Command = getattr(module, cmd_name)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))


@click.command(cls=_Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, "-V", "--version", prog_name="inkmix")
@click.option(
    "-v", "--verbose", is_flag=True, help="Say what is being done, and where errors arose."
)
@click.pass_context
def inkmix(ctx: click.Context, verbose: bool) -> None:
    """What spot inks will print where they overlap, and whether the plates can go to press.

    A prediction on a screen is not a proof: limits are the printer's to set.
    """
    ctx.obj = verbose
    if verbose:
        import logging

        logging.basicConfig(level=logging.INFO, format="%(message)s", stream=sys.stderr)


def main(arguments: list[str] | None = None) -> None:
    """Run the command line and leave with its exit code."""
    try:
        code = run(arguments)
    except BrokenPipeError:  # nobody reads what is wrong either
        code = _stop_writing()
    sys.exit(code)


def run(arguments: list[str] | None = None) -> int:
    """Exit code of the command line: 0 nothing fails, 1 something fails, 2 usage, 3 unreadable."""
    share_one_heap()
    arguments = sys.argv[1:] if arguments is None else arguments
    verbose = "-v" in arguments or "--verbose" in arguments
    try:
        code: Any = inkmix.main(args=arguments, prog_name="inkmix", standalone_mode=False)
        return code if isinstance(code, int) else 0
    except click.ClickException as error:
        return _say_usage(error)
    except InkmixError as error:
        return _say_faults(error, verbose=verbose)
    except (click.Abort, KeyboardInterrupt):
        say(SENTENCE)
        return INTERRUPTED
    except SystemExit:  # outside of its standalone mode click leaves so for a closed pipe only
        return _stop_writing()
    except BrokenPipeError:
        raise
    except Exception as error:
        if verbose:
            raise
        return _say_unexpected(error)


def _stop_writing() -> int:
    """Let nothing be written to the closed pipe, not even when Python ends."""
    for number in (STDOUT, STDERR):
        let_go(number)
    return NOBODY_READS


def _say_usage(error: click.ClickException) -> int:
    """What click has to say of a command line that cannot be."""
    words = StringIO()
    error.show(file=words)
    for line in words.getvalue().splitlines():
        text = line.replace("\t", "  ")  # its lists of words are set in with tabs
        say(text if len(text) <= _LONGEST_USAGE else clipped(text, _LONGEST_USAGE))
    return error.exit_code


def _say_unexpected(error: Exception) -> int:
    """A shortage, a file out of reach, or a mistake of ours."""
    lacking = shortage(error)
    if lacking is not None:
        say(f"inkmix: {lacking}")
    elif isinstance(error, OSError):
        say(f"inkmix: {_out_of_reach(error)}")
    else:
        say(f"inkmix: unexpected {type(error).__name__}: {error}")
        say("Run again with `inkmix -v ...` to see where it arose.")
    return UNREADABLE


def _out_of_reach(error: OSError) -> Fault:
    """The fault of a file; without a name it may be the folder that paths begin in."""
    if error.filename is None and not _is_anywhere():
        found, do = (
            "the current folder no longer exists",
            "change to another folder and start again",
        )
        return Fault(where="here", found=found, do=do)
    where, found = error.filename or "input or output", error.strerror or str(error)
    return Fault(where=clipped(str(where), _LONGEST_PATH), found=found)


def _is_anywhere() -> bool:
    """Whether there is a folder that relative paths begin in."""
    try:
        os.getcwd()
    except OSError:
        return False
    return True


def _say_faults(error: InkmixError, *, verbose: bool) -> int:
    if verbose:
        import traceback

        traceback.print_exception(error)
    for fault in error.faults:
        say(f"inkmix: {fault}")
    return error.exit_code
