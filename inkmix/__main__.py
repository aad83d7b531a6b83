"""Where the program begins: signals first, so that what takes time to load is under them too."""

from inkmix.leaving import ignore_signals, leave_at_signals


def main() -> None:
    """Run the command line."""
    leave_at_signals()
    from inkmix.cli.main import main as command_line

    try:
        command_line()
    finally:
        ignore_signals()


if __name__ == "__main__":
    main()
