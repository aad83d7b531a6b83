"""Where the program begins: streams and signals first, so that what is loaded is under them too."""

import gc

from inkmix.base.shutdown import ignore_signals, leave_at_signals
from inkmix.base.streams import keep_streams

_COLLECT_AFTER = 50_000
"""Loading makes many objects that stay; to look through them every 700 takes 0.2 s of a check."""


def main() -> None:
    """Run the command line."""
    keep_streams()
    leave_at_signals()
    gc.set_threshold(_COLLECT_AFTER)
    from inkmix.cli.main import main as command_line

    try:
        command_line()
    finally:
        ignore_signals()


if __name__ == "__main__":
    main()
